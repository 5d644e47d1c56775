"""Random runs of random procedures end in a seal, and the judge finds nothing against any of them.

The judge (`tests.judge`) reads the log alone. The player checks on the way that `decide` never raises, gives an
entry or a refusal, and that decide, evolve and replay agree: after every entry the bytes read back give the job.
"""

import os
import secrets
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from runner.procedure.link import load_procedure
from tests.job.properties.campaign import Tally, campaign, play, procedure_of
from tests.job.properties.dice import Dice, Script

QUICK_RUNS = 72
SEALED_AT_LEAST = 68
DEEP_RUNS = int(os.environ.get("WITNESSMARK_DEEP_RUNS", "8000"))

MUST_BE_SEEN = {
    "acknowledged", "part_confirmed", "acted", "tightened", "confirmed", "reading_taken", "worked_out", "answered",
    "hold_released", "hold_refused", "waived", "deviated", "not_applicable", "condition_set", "step_done", "loop_taken",
    "stopped_at", "listed", "put_off_unplanned", "window_opened", "taken_up", "owed_done", "passed_by", "owed_again",
    "wait_over", "too_late", "corrected", "asked_again", "taken_back", "reopened", "extra_work_added",
    "extra_work_done", "condition_found", "noted", "tool_changed", "paused", "resumed",
    "reconfirmed", "handover_offered", "handed_over",
    "taken_over", "close_out_confirmed", "abandoning", "made_safe", "sealed", "refused", "overdue", "time_told",
    "order_changed", "detour_began", "detour_ended", "chosen", "reproved", "extension_fitted",
}  # fmt: skip
"""Kinds of event without which the runs would be too tame to say anything."""

SHIPPED = sorted(Path(__file__).parents[3].glob("procedures/*.yaml"))


def test_random_runs_reach_a_seal_that_the_judge_accepts(tmp_path: Path):
    tally = campaign(range(QUICK_RUNS), tmp_path)
    assert not tally.faults, "\n".join(tally.faults[:10])
    assert "left_proof" not in tally.seen, "the proof excluded what could happen"
    assert tally.proved >= QUICK_RUNS // 2, (
        "most generated procedures prove, so that the proof is asked in the runs"
    )
    assert tally.proved < QUICK_RUNS, "some do not, so that runs without a proof are played too"
    assert tally.sealed >= SEALED_AT_LEAST, tally.text()
    assert min(tally.outcomes[kind] for kind in ("finished", "finished with open points", "abandoned")) >= 5
    never = MUST_BE_SEEN - set(tally.seen)
    assert len(never) <= 3, f"never seen: {sorted(never)}"


@given(which=st.integers(0, 30), numbers=st.lists(st.integers(0, 99), max_size=150))
@settings(
    max_examples=20,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
def test_a_run_by_any_script_is_accepted(
    tmp_path_factory: pytest.TempPathFactory, which: int, numbers: list[int]
):
    """The same by choices that hypothesis makes smaller: when the script has run out, all goes by the book."""
    tally = Tally()
    play(tally, procedure_of(which), Script(numbers), tmp_path_factory.mktemp("run"), f"procedure {which}")
    assert not tally.faults, "\n".join(tally.faults)


@pytest.mark.parametrize("path", SHIPPED, ids=[path.stem for path in SHIPPED])
def test_runs_of_the_shipped_procedures_are_accepted(path: Path, tmp_path: Path):
    tally = shipped(path, tmp_path, range(1))
    assert not tally.faults, "\n".join(tally.faults[:10])
    assert tally.sealed == 1, tally.text()


def shipped(path: Path, folder: Path, seeds: range) -> Tally:
    procedure, found = load_procedure(path)
    assert procedure is not None, "\n".join(finding.text() for finding in found)
    tally = Tally()
    for seed in seeds:
        play(tally, procedure, Dice(seed), folder / str(seed), f"{path.stem}, seed {seed}")
    return tally


@pytest.mark.deep
def test_many_random_runs(tmp_path: Path, capsys: pytest.CaptureFixture[str]):
    first = int(os.environ.get("WITNESSMARK_SEED") or secrets.randbelow(1_000_000_000)) // 4 * 4
    tally = campaign(range(first, first + DEEP_RUNS), tmp_path)
    with capsys.disabled():
        print(f"\nWITNESSMARK_SEED={first}: {tally.text()}")
    assert not tally.faults, "\n".join(tally.faults[:10])
    assert "left_proof" not in tally.seen
    assert tally.sealed >= DEEP_RUNS * 0.96, tally.text()
    assert set(tally.seen) >= MUST_BE_SEEN, f"never seen: {sorted(MUST_BE_SEEN - set(tally.seen))}"


@pytest.mark.deep
@pytest.mark.parametrize("path", SHIPPED, ids=[path.stem for path in SHIPPED])
def test_many_runs_of_the_shipped_procedures(path: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]):
    tally = shipped(path, tmp_path, range(100, 300))
    with capsys.disabled():
        print(f"\n{path.stem}, seeds 100 to 299: {tally.text()}")
    assert not tally.faults, "\n".join(tally.faults[:10])
    assert tally.sealed >= 190, tally.text()
