"""The comparison notices what it is for: faults planted in the proof, and a changed row in an item's table."""

import pytest

from runner.job import items
from runner.proof.prove import prove
from tests.procedure.procedure_text import linked
from tests.proof.agreement import AT_RUN, Tally, compare, said
from tests.proof.brute import Broken, brute
from tests.proof.generate import seeded
from tests.proof.planted import PLANTED, Planted

PUT_BACK_TWICE = """
items: {lid: {kind: cover}}
steps:
  - {step: look, do: Look at it.}
  - {step: lid-on, do: Put the lid on., puts back: [lid]}
"""


@pytest.mark.parametrize("planted", PLANTED, ids=lambda planted: planted.what.replace(" ", "-"))
def test_a_planted_fault_is_noticed(planted: Planted) -> None:
    made = seeded(planted.seed)
    right = Tally()
    compare(right, f"seed {planted.seed}", made)
    assert not right.wrong, right.wrong[0]
    with pytest.MonkeyPatch.context() as patch:
        planted.plant(patch)
        wrong = Tally()
        try:
            compare(wrong, f"seed {planted.seed}", made)
        except AssertionError as error:
            wrong.wrong.append(str(error))
    assert wrong.wrong, f"nobody noticed that {planted.what}"


def test_a_changed_row_of_a_table_changes_both_verdicts() -> None:
    procedure = linked(PUT_BACK_TWICE)
    before = _both(procedure)
    with pytest.MonkeyPatch.context() as patch:
        right = items._two_states
        patch.setattr(items, "_two_states", lambda kind: {**right(kind), ("on", "puts back"): "on"})
        items.table.cache_clear()
        after = _both(procedure)
        tally = Tally()
        for seed in range(40):
            compare(tally, f"seed {seed}", seeded(seed))
    items.table.cache_clear()
    assert before == ({("wrong-state", "lid-on", "lid")}, {("wrong-state", "lid-on", "lid")})
    assert after == (set(), set())
    assert not tally.wrong, tally.wrong[0]


def _both(procedure) -> tuple[set[tuple[str, ...]], set[tuple[str, ...]]]:
    found = brute(procedure)
    assert isinstance(found, Broken)
    return {tuple(fault) for fault in said(prove(procedure))}, {
        tuple(f) for f in found.faults if f.rule in AT_RUN
    }
