"""Switching off any one rule is noticed: by the judge from the log, or by the player on the way."""

from pathlib import Path

import pytest

from runner.job import aiming
from tests.job.properties.campaign import campaign
from tests.job.properties.mutants import CORE, MORE, MORE_WRENCHES, WRENCHES, Mutant

MOST_RUNS = 160


def killed(mutant: Mutant, patch: pytest.MonkeyPatch, folder: Path) -> str:
    """The first fault that was reported, or nothing."""
    patch.setattr(aiming, "aim_on", aiming.aim_on.__wrapped__)  # what a wrench is set to is remembered
    mutant.change(patch)
    seeds = (*range(mutant.first, MOST_RUNS), *range(mutant.first))
    tally = campaign(seeds, folder, enough=1, wrong=55, motif=mutant.motif)
    return tally.faults[0] if tally.faults else ""


@pytest.mark.parametrize("mutant", [*CORE, *WRENCHES], ids=lambda mutant: mutant.rule)
def test_a_rule_of_the_gate_switched_off_is_noticed(
    mutant: Mutant, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
):
    assert killed(mutant, monkeypatch, tmp_path), f"nobody noticed that it no longer holds: {mutant.rule}"


@pytest.mark.deep
def test_every_rule_switched_off_is_noticed(tmp_path: Path, capsys: pytest.CaptureFixture[str]):
    """The whole table, printed with what noticed each."""
    rows = []
    for number, mutant in enumerate((*CORE, *MORE, *WRENCHES, *MORE_WRENCHES)):
        with pytest.MonkeyPatch.context() as patch:
            rows.append((mutant.rule, killed(mutant, patch, tmp_path / str(number))))
    with capsys.disabled():
        print()
        for rule, fault in rows:
            print(f"{rule:42} {fault.replace(str(tmp_path), '')[:100] or 'NOT NOTICED'}")
    assert not [rule for rule, fault in rows if not fault]
