"""The engine soak: a few runs here, 10,000 in the deep tier, by a process of its own (it forks; pytest has threads).

`WITNESSMARK_SOAK=FIRST:LAST` plays a range of seeds, so that two processes can share the 10,000.
"""

import os
import re
import secrets
import subprocess
import sys
from pathlib import Path

import pytest

from runner.log.writer import Recorded
from tests.soak import campaign, driver
from tests.soak.counts import KINDS, SEMANTICS, Tally
from tests.soak.driver import Driver

ROOT = Path(__file__).parents[2]
DEEP_RUNS = 10_000
QUICK = (7, 8)
"""Two runs in which every kind of interruption occurs, twice at least, as they come four times as often as in the deep
tier: when a process is killed is nobody's choice, and what comes after differs a little each time."""


def soak_of(first: int, last: int, folder: Path, often: int = 1) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-m", "tests.soak", str(first), str(last), str(folder), str(often)],
        stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, cwd=ROOT,
    )  # fmt: skip


def test_runs_interrupted_in_every_way_are_in_order(tmp_path: Path):
    with soak_of(*QUICK, tmp_path, often=4) as soak:
        said, _ = soak.communicate()
    assert soak.returncode == 0, said
    assert "2 runs, 2 sealed" in said


@pytest.mark.deep
def test_many_runs_interrupted_in_every_way(tmp_path: Path, capsys: pytest.CaptureFixture[str]):
    seed = int(os.environ.get("WITNESSMARK_SEED") or secrets.randbelow(1_000_000_000))
    first, _, last = os.environ.get("WITNESSMARK_SOAK", f"{seed}:{seed + DEEP_RUNS - 1}").partition(":")
    with capsys.disabled(), soak_of(int(first), int(last), tmp_path) as soak:
        print(f"\nWITNESSMARK_SOAK={first}:{last}")
        assert soak.stdout is not None
        for line in soak.stdout:
            print(line, end="", flush=True)
    assert soak.returncode == 0


class Losing(Driver):
    """Its disk loses the last confirmed entry at every death."""

    def take_up(self, told: int = 0, *, by_another: bool = False) -> None:
        data = self.path.read_bytes()
        self.path.write_bytes(data[: data.rindex(b"\n", 0, self.run.size - 1) + 1])
        super().take_up(told, by_another=by_another)


class Exchanged(Driver):
    """What it was told of one entry is not what stands in the file at the end."""

    def confirmed(self, recorded: Recorded) -> None:
        super().confirmed(recorded)
        if recorded.n == 20:
            self.heads[20] = bytes(32)


def played(kind: type[Driver], folder: Path, seed: int, monkeypatch: pytest.MonkeyPatch) -> Tally:
    monkeypatch.setattr(campaign, "Driver", kind)
    monkeypatch.setattr(campaign, "FORKS_PERCENT", 0)
    monkeypatch.setattr(driver, "FATES", (("killed", 30),))
    return campaign.soak([seed], folder)


@pytest.mark.deep
@pytest.mark.parametrize(
    ("kind", "words"), [(Losing, "0 entries|another|exists"), (Exchanged, r"not in the file: \[20\]")]
)
def test_what_is_lost_or_exchanged_is_noticed(
    kind: type[Driver], words: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
):
    tally = played(kind, tmp_path, 7, monkeypatch)
    assert re.search(words, "".join(tally.faults)), tally.faults


@pytest.mark.deep
def test_a_run_taken_up_as_another_is_noticed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr("runner.run.interrupted", lambda job: job.but(performer="Somebody"))
    tally = played(Driver, tmp_path, 7, monkeypatch)
    assert "taken up as another job: ['performer'" in tally.faults[0]


@pytest.mark.deep
def test_an_engine_without_a_rule_is_noticed_by_the_judge(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    """No notice is acknowledged: the log is in order and replays to the same job, and yet it is wrong."""
    monkeypatch.setattr("runner.job.gate._notice", lambda job, node: None)
    assert "NOTICE" in played(Driver, tmp_path, 7, monkeypatch).faults[0]


def test_too_few_interruptions_are_too_few():
    tally = Tally(runs=2_000)
    tally.seen.update({name: 100 for names in (*KINDS.values(), *SEMANTICS.values()) for name in names})
    assert tally.too_few() == []
    tally.seen["reopened"] = 99
    assert tally.too_few() == ["reopenings: 99 of 100"]
