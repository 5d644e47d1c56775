"""System calls that fail: the n-th one, once and for ever; short writes; a real limit on the file's size.

The way of SQLite's own tests ("How SQLite Is Tested", I/O error testing): let call 1 fail, then call 2, until
a whole run meets no fault.
"""

import errno
import resource
from pathlib import Path

import pytest

from runner.log.errors import Latched, LogError, NotRecorded
from runner.log.scan import scan_file
from runner.log.writer import LogWriter, create, reopen
from tests.doubles import FaultyFiles, SetOutside
from tests.log.makelog import fill, start

OPS = [
    "open",
    "write",
    "read",
    "fdatasync",
    "fsync_dir",
    "fstat",
    "stat",
    "flock",
    "fadvise",
    "close",
    "mkdir",
]


def numbers(path: Path) -> list[int]:
    """The caller's entries found in the file, which must be a valid prefix."""
    report = scan_file(path)
    assert report.state in ("open", "torn", "complete"), report.summary()
    return [entry.data["number"] for entry in report.records if entry.kind == "note"]


def try_notes(writer: LogWriter, outside: SetOutside, wanted: range, confirmed: list[int]) -> None:
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
    """A run in two openings; the numbers that were said to be recorded."""
    confirmed: list[int] = []
    try:
        with create(folder, "a.jsonl", {}, outside) as writer:
            try_notes(writer, outside, range(3), confirmed)
        with reopen(folder / "a.jsonl", outside)[0] as writer:
            try_notes(writer, outside, range(3, 6), confirmed)
    except LogError:
        pass
    return confirmed


def check_after(folder: Path, confirmed: list[int]) -> None:
    """Everything confirmed is there, at most one entry more, and the run goes on once the fault is gone."""
    path = folder / "a.jsonl"
    if not path.exists() or scan_file(path).header is None:
        assert confirmed == []
        return
    found = numbers(path)
    assert [number for number in found if number in confirmed] == confirmed
    # One entry per opening may be there that no screen called recorded: the one whose sync failed.
    assert len(found) <= len(confirmed) + 2
    assert found == sorted(set(found))
    outside = SetOutside()
    with reopen(path, outside)[0] as writer:
        try_notes(writer, outside, range(90, 92), more := [])
        assert more == [90, 91]
    healed = numbers(path)[:-2]
    assert healed[: len(found)] == found
    assert len(healed) <= len(found) + 1


def test_the_order_of_calls_is_what_durability_rests_on(tmp_path: Path) -> None:
    files = FaultyFiles()
    outside = SetOutside(files=files)
    with create(tmp_path / "logs", "a.jsonl", {}, outside) as writer:
        made = [op for op in files.order if op not in ("stat", "fstat")]
        assert made == ["mkdir", "fsync_dir", "open", "flock", "write", "fdatasync", "fsync_dir"]
        files.order.clear()
        writer.append("note", {}, outside.now())
        assert files.order == ["fstat", "stat", "write", "fdatasync"]
    files.order.clear()
    with reopen(writer.path, outside)[0]:
        taken = [op for op in files.order if op not in ("stat", "fstat")]
        assert taken[:5] == ["open", "flock", "fdatasync", "fadvise", "read"]
        assert taken[-3:] == ["fsync_dir", "write", "fdatasync"]


@pytest.mark.parametrize("for_ever", [False, True])
@pytest.mark.parametrize("op", OPS)
def test_the_nth_call_fails(tmp_path: Path, op: str, for_ever: bool) -> None:
    met = 0
    for error in (errno.EIO, errno.ENOSPC):
        for at in range(1, 200):
            folder = tmp_path / f"{error}-{at}"
            files = FaultyFiles(op, at, error, for_ever=for_ever)
            confirmed = whole_run(folder, SetOutside(files=files))
            if not files.struck:
                assert confirmed == list(range(6))
                break
            met += 1
            check_after(folder, confirmed)
    assert met >= 2


@pytest.mark.parametrize("error", [errno.EIO, errno.ENOSPC, errno.EDQUOT, errno.EINVAL])
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


@pytest.mark.parametrize("error", [errno.ENOSPC, errno.EDQUOT, errno.EFBIG])
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


def length_of_one_entry(folder: Path) -> int:
    outside = SetOutside()
    with start(folder, outside) as writer:
        before = writer.path.stat().st_size
        fill(writer, outside, 1)
        return writer.path.stat().st_size - before


def test_short_writes_of_every_length_leave_one_scar(tmp_path: Path) -> None:
    length = length_of_one_entry(tmp_path)
    for short in range(1, length):
        outside = SetOutside(files=FaultyFiles("write", 2, short=short))
        with start(tmp_path, outside, f"{short}.jsonl") as writer:
            with pytest.raises(NotRecorded, match="only in part") as refused:
                fill(writer, outside, 1)
            assert refused.value.may_retry == (short < length - 1)
            assert scan_file(writer.path).state == "torn"
            if refused.value.may_retry:
                fill(writer, outside, 2)
                writer.seal({"end": "finished"}, outside.now())
                report = scan_file(writer.path)
                assert report.state == "complete"
                assert [entry.kind for entry in report.records] == [
                    "run",
                    "scar",
                    "reading",
                    "reading",
                    "seal",
                ]
                assert report.scars[0].size == short


def test_a_seal_may_follow_a_short_write_at_once(tmp_path: Path) -> None:
    outside = SetOutside(files=FaultyFiles("write", 2, short=30))
    with start(tmp_path, outside) as writer:
        with pytest.raises(NotRecorded):
            writer.seal({"end": "finished"}, outside.now())
        writer.seal({"end": "finished"}, outside.now())
    assert [entry.kind for entry in scan_file(writer.path).records] == ["run", "scar", "seal"]
    assert scan_file(writer.path).state == "complete"


def test_short_writes_while_mending_are_mended_too(tmp_path: Path) -> None:
    """The write that heals is itself cut, at a sample of lengths; then the run is left, or goes on."""
    cut_again = 0
    for second in range(1, 400, 3):
        files = FaultyFiles("write", 2, short=20)
        outside = SetOutside(files=files)
        with start(tmp_path, outside, f"{second}.jsonl") as writer:
            with pytest.raises(NotRecorded):
                fill(writer, outside, 1)
            files.at, files.short = 3, second
            try:
                fill(writer, outside, 1)
            except NotRecorded as error:
                cut_again += 1
                if error.may_retry and second % 2:
                    fill(writer, outside, 1)
        with reopen(writer.path, SetOutside())[0] as writer:
            writer.seal({"end": "finished"}, outside.now())
        report = scan_file(writer.path)
        assert report.state == "complete", (second, report.summary())
        assert len(report.scars) == 1
    assert cut_again > 50


def test_a_real_limit_on_the_files_size(tmp_path: Path) -> None:
    """The kernel itself cuts the write short, then refuses with EFBIG (setrlimit(2))."""
    outside = SetOutside()
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    with start(tmp_path, outside) as writer:
        fill(writer, outside, 1)
        limit = writer.path.stat().st_size + 50
        answers = []
        resource.setrlimit(resource.RLIMIT_FSIZE, (limit, hard))
        try:
            for _ in range(3):
                try:
                    fill(writer, outside, 1)
                except NotRecorded as error:
                    answers.append(error)
        finally:
            resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))
        assert [error.may_retry for error in answers] == [True, True, True]
        assert "largest size" in str(answers[-1])
        fill(writer, outside, 1)
    report = scan_file(writer.path)
    assert [entry.kind for entry in report.records] == ["run", "reading", "scar", "reading"]
    assert report.scars[0].size == 50


def test_a_full_disk_at_the_start_starts_no_run(tmp_path: Path) -> None:
    outside = SetOutside(files=FaultyFiles("write", 1, errno.ENOSPC))
    with pytest.raises(NotRecorded, match="the disk is full"):
        start(tmp_path, outside)
    assert scan_file(tmp_path / "a.jsonl").state == "not a log"
    outside = SetOutside(files=FaultyFiles("write", 1, short=100))
    with pytest.raises(NotRecorded):
        start(tmp_path, outside, "b.jsonl")
    report = scan_file(tmp_path / "b.jsonl")
    assert report.summary() == "TORN TAIL: the first line is incomplete; the run was never started."
