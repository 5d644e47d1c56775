"""System calls that fail: the n-th one, once and for ever, with every errno that it can have.

The way of SQLite's own tests ("How SQLite Is Tested", I/O error testing): let call 1 fail, then call 2, until
a whole run meets no fault.
"""

import errno
from collections.abc import Iterable, Iterator
from contextlib import suppress
from itertools import count
from pathlib import Path

import pytest

from runner.log.errors import Latched, LogError, NotRecorded
from runner.log.scan import scan_file
from runner.log.writer import LogWriter, create, reopen
from tests.doubles import FaultyFiles, SetOutside
from tests.log.makelog import fill, start
from tests.log.tally import Tally

FULL = (errno.ENOSPC, errno.EDQUOT, errno.EFBIG)
ERRORS = {
    "write": (*FULL, errno.EIO, errno.EROFS, errno.EINVAL, errno.EBADF, errno.EPERM),
    "fdatasync": (errno.EIO, errno.ENOSPC, errno.EDQUOT, errno.EROFS, errno.EINVAL),
    "fsync_dir": (errno.EIO, errno.EINVAL, errno.EACCES),
    "open": (errno.EACCES, errno.EROFS, errno.EMFILE, errno.EIO),
    "read": (errno.EIO,),
    "fstat": (errno.EIO,),
    "stat": (errno.EIO, errno.ENOENT),
    "flock": (errno.ENOLCK, errno.EIO),
    "fadvise": (errno.EINVAL,),
    "close": (errno.EIO,),
    "mkdir": (errno.EROFS, errno.ENOSPC),
}


class NoMedium(FaultyFiles):
    """The same without waiting for a real disk: what is tested here is what is made of the answers."""

    def fdatasync(self, fd: int) -> None:
        self._meet("fdatasync")

    def fsync_dir(self, folder: Path) -> None:
        self._meet("fsync_dir")


def numbers(path: Path) -> list[int]:
    """The caller's entries found in the file, which must be a valid prefix."""
    report = scan_file(path)
    assert report.state in ("open", "torn", "complete"), report.summary()
    return [entry.data["number"] for entry in report.records if entry.kind == "note"]


def try_notes(writer: LogWriter, outside: SetOutside, wanted: Iterable[int], confirmed: list[int]) -> None:
    """Append each number, once more where that may help, until the log stops for good."""
    for number in wanted:
        for _ in range(2):
            try:
                writer.append("note", {"number": number}, outside.now())
            except NotRecorded as error:
                if not error.may_retry:
                    with pytest.raises(Latched):
                        writer.append("note", {"number": -1}, outside.now())
                    return
            else:
                confirmed.append(number)
                break


def whole_run(folder: Path, outside: SetOutside) -> list[int]:
    """A run in two openings, with a clock that jumps; the numbers that were said to be recorded."""
    confirmed: list[int] = []
    with suppress(LogError), create(folder, "a.jsonl", {}, outside) as writer:
        try_notes(writer, outside, range(2), confirmed)
        outside.set_wall(-3_600_000)
        try_notes(writer, outside, [2], confirmed)
    with suppress(LogError), reopen(folder / "a.jsonl", outside)[0] as writer:
        try_notes(writer, outside, range(3, 6), confirmed)
    return confirmed


def check_after(folder: Path, confirmed: list[int]) -> str:
    """Everything confirmed is there, at most one entry more, and the run goes on once the fault is gone."""
    path = folder / "a.jsonl"
    if not path.exists() or scan_file(path).header is None:
        assert confirmed == []
        return "not started"
    found = numbers(path)
    assert [number for number in found if number in confirmed] == confirmed
    # One entry per opening may be there that no screen called recorded: the one whose sync failed.
    assert len(found) <= len(confirmed) + 2
    assert found == sorted(set(found))
    outside = SetOutside(files=NoMedium())
    with reopen(path, outside)[0] as writer:
        try_notes(writer, outside, range(90, 92), more := [])
        assert more == [90, 91]
    healed = numbers(path)[:-2]
    assert healed[: len(found)] == found
    assert len(healed) <= len(found) + 1
    return "all recorded" if confirmed == list(range(6)) else "some refused"


def faults(op: str, error: int, for_ever: bool) -> Iterator[tuple[int, NoMedium]]:
    """The n-th call fails, n = 1, 2, … until a run has met no fault: then the last one yielded has not struck."""
    for at in count(1):
        files = NoMedium(op, at, error, for_ever=for_ever)
        yield at, files
        if not files.struck:
            return


def fail_every_call(folder: Path, op: str, errors: Iterable[int], tally: Tally) -> None:
    for error in errors:
        for for_ever in (False, True):
            for at, files in faults(op, error, for_ever):
                here = folder / f"{error}-{for_ever}-{at}"
                confirmed = whole_run(here, SetOutside(files=files))
                if files.struck:
                    tally.add(check_after(here, confirmed))
                else:
                    assert confirmed == list(range(6))
                    tally.add("no fault met")


@pytest.mark.parametrize("op", ERRORS)
def test_the_nth_call_fails(tmp_path: Path, op: str) -> None:
    tally = Tally(f"the n-th {op} fails", least=3)
    fail_every_call(tmp_path, op, ERRORS[op][:1], tally)
    tally.close()


@pytest.mark.deep
def test_the_nth_call_fails_with_every_errno(tmp_path: Path) -> None:
    tally = Tally("the n-th call fails", least=400)
    for op, errors in ERRORS.items():
        fail_every_call(tmp_path / op, op, errors, tally)
    tally.close()
    assert {"not started", "some refused", "all recorded", "no fault met"} <= set(tally.seen)


def test_the_order_of_calls_is_what_durability_rests_on(tmp_path: Path) -> None:
    files = FaultyFiles()
    outside = SetOutside(files=files)
    with create(tmp_path / "logs", "a.jsonl", {}, outside) as writer:
        made = [op for op in files.order if op not in ("stat", "fstat")]
        assert made == ["mkdir", "fsync_dir", "open", "flock", "write", "fdatasync", "fsync_dir"]
        files.order.clear()
        writer.append("note", {}, outside.now())
        assert files.order == ["stat", "write", "fdatasync"]
    files.order.clear()
    with reopen(writer.path, outside)[0]:
        taken = [op for op in files.order if op not in ("stat", "fstat")]
        assert taken[:5] == ["open", "flock", "fdatasync", "fadvise", "read"]
        assert taken[-3:] == ["fsync_dir", "write", "fdatasync"]


def test_each_write_is_on_the_medium_before_the_next_one(tmp_path: Path) -> None:
    """Also a clock's entry, a cut mark and a scar: two on their way at once could arrive in the wrong order."""
    files = FaultyFiles("write", 2, short=20)
    outside = SetOutside(files=files)
    with start(tmp_path, outside) as writer:
        with pytest.raises(NotRecorded):
            fill(writer, outside, 1)
        outside.set_wall(60_000)
        fill(writer, outside, 1)
    made = [op for op in files.order if op in ("write", "fdatasync")]
    cut_short = made[2:4]
    assert cut_short == ["write", "fdatasync"], (
        "what a short write left comes to the medium before its cut mark"
    )
    assert made == ["write", "fdatasync"] * (len(made) // 2)
    assert [entry.kind for entry in scan_file(writer.path).records] == ["run", "scar", "clock", "reading"]


@pytest.mark.parametrize("error", ERRORS["fdatasync"])
def test_a_failed_sync_is_never_tried_again(tmp_path: Path, error: int) -> None:
    files = FaultyFiles("fdatasync", 3, error)
    outside = SetOutside(files=files)
    with start(tmp_path, outside) as writer:
        fill(writer, outside, 1)
        confirmed = writer.head
        with pytest.raises(NotRecorded) as refused:
            fill(writer, outside, 1)
        assert not refused.value.may_retry
        calls = files.calls["fdatasync"]
        for _ in range(3):
            with pytest.raises(Latched):
                fill(writer, outside, 1)
            with pytest.raises(Latched):
                writer.seal({}, outside.now())
        assert files.calls["fdatasync"] == calls
        assert writer.head == confirmed
    again, report = reopen(writer.path, SetOutside())
    again.close()
    assert report.count in (2, 3)


@pytest.mark.parametrize("error", FULL)
def test_a_full_disk_may_be_tried_again_and_leaves_no_trace(tmp_path: Path, error: int) -> None:
    files = FaultyFiles("write", 3, error, for_ever=True)
    outside = SetOutside(files=files)
    with start(tmp_path, outside) as writer:
        fill(writer, outside, 1)
        for _ in range(4):
            with pytest.raises(NotRecorded, match=r"NOT RECORDED: the .* try again") as refused:
                fill(writer, outside, 1)
            assert refused.value.may_retry
        files.mend()
        fill(writer, outside, 2)
        writer.seal({"end": "finished"}, outside.now())
    report = scan_file(writer.path)
    assert report.state == "complete"
    assert [entry.kind for entry in report.records] == ["run", "reading", "reading", "reading", "seal"]


@pytest.mark.parametrize("error", [each for each in ERRORS["write"] if each not in FULL])
def test_any_other_failed_write_ends_the_writer(tmp_path: Path, error: int) -> None:
    files = FaultyFiles("write", 3, error)
    outside = SetOutside(files=files)
    with start(tmp_path, outside) as writer:
        fill(writer, outside, 1)
        with pytest.raises(NotRecorded, match="the disk refused the entry") as refused:
            fill(writer, outside, 1)
        assert not refused.value.may_retry
        writes = files.calls["write"]
        with pytest.raises(Latched, match="the disk refused the entry"):
            fill(writer, outside, 1)
        assert files.calls["write"] == writes
    with reopen(writer.path, SetOutside())[0] as writer:
        fill(writer, outside, 1)
    assert [entry.kind for entry in scan_file(writer.path).records] == ["run", "reading", "opened", "reading"]
