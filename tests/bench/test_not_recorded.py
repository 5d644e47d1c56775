"""The disk says no while somebody works: the screen says NOT RECORDED, the step does not advance, nothing is lost.

The demonstration job by keys, through the real log, with every write refused in turn and every sync failed in turn;
each time the job on the screen must be the one that the file holds.
"""

import errno
import os
from collections.abc import Callable
from pathlib import Path
from random import Random
from typing import Any

import pytest

from runner.bench.app import BenchApp
from runner.bench.desk import EXIT_NOT_RECORDED, EXIT_SEALED, EXIT_UNSEALED, Pace
from runner.bench.engine import BenchRun
from runner.bench.opening import leaving_code
from runner.bench.theme import UNICODE, Look
from runner.bench.writer import Outcome
from runner.log.record import OWN_KINDS
from runner.log.scan import scan_file
from runner.procedure.linked import Procedure
from runner.replaying import replay
from runner.run import Run
from tests.bench.hands import Hands, Immediate
from tests.bench.samples import SampleRun, disk_full, sample
from tests.bench.test_whole_job import carry_on, procedure
from tests.doubles import FaultyFiles, SetOutside
from tests.log.tally import SHARE, Tally

__all__ = ["procedure"]
FULL = (errno.ENOSPC, errno.EDQUOT, errno.EFBIG)
DEAD = (errno.EIO, errno.EROFS)


class Disk(FaultyFiles):
    """Real files without the wait for a real medium. `drops`: what a failed sync was to bring never arrives."""

    def __init__(self, op: str = "", at: int = 0, error: int = errno.EIO, **how: Any) -> None:
        self.drops = how.pop("drops", False)
        self._synced: dict[int, int] = {}
        super().__init__(op, at, error, **how)

    def fill(self) -> None:
        """No room from here on."""
        self.op, self.at, self.error, self.for_ever = "write", self.calls["write"] + 1, errno.ENOSPC, True

    def fdatasync(self, fd: int) -> None:
        found = os.fstat(fd)
        try:
            self._meet("fdatasync")
        except OSError:
            if self.drops:
                os.ftruncate(fd, self._synced.get(found.st_ino, 0))
            raise
        self._synced[found.st_ino] = found.st_size

    def fsync_dir(self, folder: Path) -> None:
        self._meet("fsync_dir")


def what_was_done(path: Path) -> list[tuple[str, Any]]:
    """What a log says was done, without what the log and the resuming added."""
    added = (OWN_KINDS - {"seal"}) | {"resumed", "reconfirmed"}
    return [
        (each.kind, each.data.get("events")) for each in scan_file(path).records if each.kind not in added
    ]


class Drawn(SetOutside):
    """Identities that differ from their first letter on, as real ones do: a second start has another file's name."""

    def new_id(self) -> str:
        self.drawn += 1
        return f"{self.drawn:06x}" + "0" * 26


class Bench:
    """A run of the demonstration by keys on such a disk."""

    def __init__(self, procedure: Procedure, folder: Path, disk: Disk) -> None:
        self.disk = disk
        self.outside = Drawn(files=disk)
        self.run = Run.begin(procedure, self.outside, folder, rehearsal=True)
        self.hands = Hands(self.run)

    def work(self, answers: int) -> bool:
        """Answer until something is not recorded (false), the run is sealed, or so many answers are given."""
        for _ in range(answers):
            if self.hands.desk.view.demand.kind == "sealed":
                return True
            seq = self.hands.desk.view.seq
            try:
                carry_on(self.hands, self.outside, 1)
            except AssertionError:
                if self.hands.desk.message.kind != "not recorded":
                    raise
                assert self.hands.desk.view.seq == seq
                return False
        return True

    @property
    def words(self) -> str:
        """The screen's words, wherever its lines break."""
        return " ".join(self.hands.screen().replace("░", " ").split())

    def require_not_recorded(self) -> None:
        """The screen says so, and shows no more than the file holds."""
        screen = self.words
        assert "NOT RECORDED: " in screen
        assert "The step has not advanced." in screen
        assert self.hands.desk.exit_code == EXIT_NOT_RECORDED
        if self.run.path is not None:
            # Only the entry whose sync failed may be in the file without the screen's having called it recorded.
            may_be_more = self.disk.op == "fdatasync" and not self.disk.drops
            assert len(what_was_done(self.run.path)) in (self.run.job.seq, self.run.job.seq + may_be_more)


@pytest.fixture(scope="module")
def undisturbed(procedure: Procedure, tmp_path_factory: pytest.TempPathFactory) -> tuple[list[Any], int, int]:
    """What is done when nothing fails, and how many writes and syncs that takes."""
    disk = Disk()
    bench = Bench(procedure, tmp_path_factory.mktemp("undisturbed"), disk)
    assert bench.work(500)
    assert bench.run.path is not None
    bench.run.close()
    assert scan_file(bench.run.path).state == "complete"
    return what_was_done(bench.run.path), disk.calls["write"], disk.calls["fdatasync"]


def space_comes_back(
    procedure: Procedure, folder: Path, at: int, error: int, short: int | None, done: list[Any], more: int
) -> str:
    """Write number `at` and all after it are refused, then there is room again."""
    disk = Disk("write", at, error, for_ever=short is None, short=short)
    bench = Bench(procedure, folder, disk)
    if bench.work(500):
        return "the shop's list only"
    bench.require_not_recorded()
    if short is None:
        bench.hands.press("enter")
        bench.require_not_recorded()
    disk.mend()
    bench.hands.press("enter")
    assert "NOT RECORDED" not in bench.hands.screen()
    assert bench.work(more)
    sealed = bench.run.sealed
    bench.run.close()
    assert bench.run.path is not None
    report = scan_file(bench.run.path)
    assert report.state == ("complete" if sealed else "open")
    assert replay(report) == bench.run.job
    told = what_was_done(bench.run.path)
    assert told == done[: len(told)]
    assert len(told) == len(done) or not sealed
    return "with a scar" if report.scars else "without a trace"


def resumed(procedure: Procedure, folder: Path, disk: Disk, done: list[Any], more: int) -> str:
    """The call fails once; no key tries it again; the run is closed and taken up from the disk itself."""
    bench = Bench(procedure, folder, disk)
    if bench.work(500):
        return "the shop's list only"
    bench.require_not_recorded()
    assert "The run must be closed and resumed: F10." in bench.words
    calls = disk.calls[disk.op]
    bench.hands.press("enter", "escape", "enter")
    assert disk.calls[disk.op] == calls
    bench.require_not_recorded()
    shown, path = bench.run.job, bench.run.path
    bench.run.close()
    if path is None:
        return "never started"
    found = what_was_done(path)
    assert found == done[: len(found)]
    disk.mend()
    if not found:
        assert shown.seq == 0
        return "started, and nothing recorded"
    bench.run = Run.resume(path, bench.outside)
    bench.hands = Hands(bench.run)
    assert bench.work(more)
    sealed = bench.run.sealed
    bench.run.close()
    told = what_was_done(path)
    assert told == done[: len(told)]
    assert len(told) == len(done) or not sealed
    assert replay(scan_file(path)) == bench.run.job
    return "as confirmed" if len(found) == shown.seq else "one more, found and not confirmed"


def test_the_disk_is_full_at_a_write_of_the_job(
    procedure: Procedure, tmp_path: Path, undisturbed: tuple[list[Any], int, int]
) -> None:
    done, writes, _ = undisturbed
    draw, tally = Random(31), Tally("the disk full in mid-job", least=6, seed=31)
    for number, at in enumerate([1, *draw.sample(range(2, writes + 1), 5)]):
        short = 40 if number % 3 == 2 else None
        tally.add(space_comes_back(procedure, tmp_path / str(at), at, FULL[number % 3], short, done, 10))
    tally.close()
    assert {"with a scar", "without a trace"} <= set(tally.seen)


@pytest.mark.parametrize("drops", [False, True])
def test_a_sync_of_the_job_fails(
    procedure: Procedure, tmp_path: Path, undisturbed: tuple[list[Any], int, int], drops: bool
) -> None:
    done, _, syncs = undisturbed
    draw, tally = Random(32), Tally("a sync fails in mid-job", least=4, seed=32)
    for at in [1, *draw.sample(range(5, syncs + 1), 3)]:
        disk = Disk("fdatasync", at, draw.choice((*DEAD, *FULL)), drops=drops)
        tally.add(resumed(procedure, tmp_path / str(at), disk, done, 60))
    tally.close()


def test_a_write_of_the_job_fails_for_good(
    procedure: Procedure, tmp_path: Path, undisturbed: tuple[list[Any], int, int]
) -> None:
    done, writes, _ = undisturbed
    draw, tally = Random(33), Tally("a write fails in mid-job", least=3, seed=33)
    for at in [1, *draw.sample(range(5, writes + 1), 2)]:
        tally.add(resumed(procedure, tmp_path / str(at), Disk("write", at, draw.choice(DEAD)), done, 60))
    tally.close()


def test_left_while_a_pause_cannot_be_recorded(procedure: Procedure, tmp_path: Path) -> None:
    """The disk full for ever: the exit code says so whether the pause is still offered, or dropped."""
    disk = Disk()
    bench = Bench(procedure, tmp_path, disk)
    bench.work(5)
    disk.fill()
    bench.hands.press("f10")
    bench.hands.enter("1")
    bench.hands.enter("next is the plate")
    bench.require_not_recorded()
    bench.hands.press("escape")
    assert "dropped. It is not recorded." in bench.words
    assert bench.hands.desk.exit_code == EXIT_NOT_RECORDED, "a lost terminal leaves with this"
    bench.hands.press("f10")
    bench.hands.enter("2")
    assert bench.hands.desk.left == EXIT_NOT_RECORDED
    bench.run.close()


def test_what_was_dropped_is_not_held_against_a_run_that_records_again(
    procedure: Procedure, tmp_path: Path
) -> None:
    disk = Disk()
    bench = Bench(procedure, tmp_path, disk)
    bench.work(5)
    disk.fill()
    assert not bench.work(1)
    bench.hands.press("escape")
    disk.mend()
    bench.work(1)
    bench.hands.press("f10")
    bench.hands.enter("2")
    assert bench.hands.desk.left == EXIT_UNSEALED
    bench.run.close()


class Late(Immediate):
    """A writer that is not done before the screen is gone."""

    def __init__(self, run: BenchRun, told: Callable[[Outcome], None]) -> None:
        super().__init__(run.record, told, hold=True)


@pytest.mark.parametrize(
    ("fail", "code"), [([disk_full()], EXIT_NOT_RECORDED), ([], EXIT_SEALED)], ids=["full", "recorded"]
)
async def test_left_before_the_writer_was_done(fail: list[Exception], code: int) -> None:
    """What came of the last entry is known only after the screen: the exit code is true of it all the same."""
    run = SampleRun([sample("act"), sample("sealed", seq=42)], fail=fail)
    app = BenchApp(run, Look(UNICODE), pace=Pace(0.0, 0.0, 0.0), recorder=Late)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        await pilot.press("enter")
        await pilot.pause()
        assert app.desk.saving
        app.leave(app.desk.exit_code)
        await pilot.pause()
    assert app.return_value == EXIT_UNSEALED
    app.close()
    assert app.desk.exit_code == code
    assert leaving_code(EXIT_UNSEALED, app) == code
    assert leaving_code(143, app) == 143, "a signal is told as such"


@pytest.mark.deep
def test_every_write_and_every_sync_of_the_job(
    procedure: Procedure, tmp_path: Path, undisturbed: tuple[list[Any], int, int]
) -> None:
    done, writes, syncs = undisturbed
    tally = Tally("every write and every sync of a job", least=int((2 * writes + 2 * syncs) * SHARE))
    step = round(1 / SHARE)
    for at in range(1, writes + 1, step):
        more = 500 if at % 10 == 0 else 40  # every tenth to the seal
        short = at % 200 if at % 2 else None
        here = tmp_path / f"w{at}"
        tally.add("full: " + space_comes_back(procedure, here / "a", at, FULL[at % 3], short, done, more))
        disk = Disk("write", at, DEAD[at % 2])
        tally.add("write: " + resumed(procedure, here / "b", disk, done, more))
    for at in range(1, syncs + 1, step):
        more = 500 if at % 10 == 0 else 40
        for drops in (False, True):
            disk = Disk("fdatasync", at, (*DEAD, *FULL)[at % 5], drops=drops)
            here = tmp_path / f"s{at}-{drops}"
            tally.add("sync: " + resumed(procedure, here, disk, done, more))
    tally.close()
