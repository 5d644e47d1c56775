"""Writes that take only a part of an entry, at every length, and what may follow one."""

import errno
from collections.abc import Callable
from pathlib import Path
from random import Random

import pytest

from runner.log import line
from runner.log.errors import NotRecorded
from runner.log.scan import scan, scan_file
from runner.log.writer import LogWriter, create, reopen
from tests.doubles import FaultyFiles, SetOutside
from tests.log.makelog import fill, start
from tests.log.medium import FOLDER, PATH, Medium
from tests.log.tally import Tally


class Case:
    """A log of one note, then a write that took `short` bytes of the next one."""

    def __init__(self, short: int) -> None:
        self.medium = Medium()
        self.medium.short = {3: short}
        self.outside = SetOutside(files=self.medium)
        self.short = short
        self.recorded = [0]
        self.writer = create(FOLDER, PATH.name, {}, self.outside)
        self.note(0)
        with pytest.raises(NotRecorded, match="only in part") as refused:
            self.note(1)
        self.may_retry = refused.value.may_retry
        assert scan(self.medium.cached or b"").state == "torn"

    def note(self, number: int) -> None:
        """One note, told of as recorded."""
        self.writer.append("note", {"number": number}, self.outside.now())
        if number:
            self.recorded.append(number)

    def resume(self) -> None:
        """The writer is left and the run resumed."""
        self.writer.close()
        self.writer, report = reopen(PATH, self.outside)
        self.recorded = [entry.data["number"] for entry in report.records if entry.kind == "note"]

    def refused(self, number: int) -> None:
        """One more note that the disk does not take."""
        with pytest.raises(NotRecorded):
            self.note(number)

    def next_write_takes(self, size: int) -> None:
        """The disk is full again: so many bytes of the next write, and no more."""
        self.medium.short[self.medium.calls["write"] + 1] = size


def go_on(case: Case) -> None:
    case.note(1)
    case.note(2)


def seal_at_once(case: Case) -> None:
    case.writer.seal({"end": "finished"}, case.outside.now())


def leave_and_resume(case: Case) -> None:
    case.resume()
    case.note(3)


def full_again(case: Case) -> None:
    case.next_write_takes(0)
    case.refused(1)
    case.note(1)


def short_again(case: Case) -> None:
    case.next_write_takes(3)  # of the cut mark
    case.refused(1)
    case.note(1)


def short_scar(case: Case) -> None:
    case.medium.short[case.medium.calls["write"] + 2] = 40
    case.refused(1)
    case.note(1)


def clock_jumps(case: Case) -> None:
    case.outside.set_wall(-3_600_000)
    case.note(1)


def short_then_resume(case: Case) -> None:
    case.next_write_takes(3)
    case.refused(1)
    case.resume()
    case.note(4)


FOLLOW_UPS: tuple[Callable[[Case], None], ...] = (
    go_on, seal_at_once, leave_and_resume, full_again, short_again, short_scar, clock_jumps, short_then_resume,
)  # fmt: skip


def one_length() -> int:
    """Bytes of the entry that is cut short below."""
    case = Case(1)
    before = len(case.medium.cached or b"")
    case.note(1)
    return len(case.medium.cached or b"") - before - 5 - len(_scar_line(case))


def _scar_line(case: Case) -> bytes:
    return (case.medium.cached or b"").split(b"\n")[-3] + b"\n"


def try_follow_up(short: int, length: int, follow: Callable[[Case], None], tally: Tally) -> None:
    case = Case(short)
    assert case.may_retry == (short < length - 1)
    if not case.may_retry:  # the whole entry but its line feed: only reading the file can tell
        case.refused(1)
        case.resume()
        assert case.recorded == [0, 1]
        case.note(2)
    else:
        follow(case)
    data = case.medium.durable or b""
    report = scan(data)
    assert report.state == ("complete" if follow is seal_at_once and case.may_retry else "open"), (
        follow.__name__
    )
    assert [entry.data["number"] for entry in report.records if entry.kind == "note"] == case.recorded
    assert len(report.scars) == (1 if case.may_retry else 0)
    assert case.medium.cached == data
    tally.add(follow.__name__.replace("_", " ") if case.may_retry else "resumed, nothing lost")


def test_short_writes_leave_one_scar() -> None:
    length = one_length()
    draw = Random(11)
    tally = Tally("short writes and what follows", least=200, seed=11)
    for follow in FOLLOW_UPS:
        for short in [*draw.sample(range(1, length - 1), 28), length - 1]:
            try_follow_up(short, length, follow, tally)
    tally.close()


@pytest.mark.deep
def test_short_writes_of_every_length_leave_one_scar() -> None:
    length = one_length()
    tally = Tally("short writes and what follows", least=888)
    for follow in FOLLOW_UPS:
        for short in range(1, length):
            try_follow_up(short, length, follow, tally)
    tally.close()
    assert tally.seen["go on"] == length - 2 > 140
    assert len(tally.seen) == len(FOLLOW_UPS) + 1


def test_a_seal_may_follow_a_short_write_at_once(tmp_path: Path) -> None:
    outside = SetOutside(files=FaultyFiles("write", 2, short=30))
    with start(tmp_path, outside) as writer:
        with pytest.raises(NotRecorded):
            writer.seal({"end": "finished"}, outside.now())
        writer.seal({"end": "finished"}, outside.now())
    assert [entry.kind for entry in scan_file(writer.path).records] == ["run", "scar", "seal"]
    assert scan_file(writer.path).state == "complete"


def mend_and_be_cut_again(write: int, size: int, tally: Tally) -> None:
    """The `write`-th write after a short one takes `size` bytes: the cut mark (1), the scar (2), the entry (3)."""
    case = Case(20)
    case.medium.short[case.medium.calls["write"] + write] = size
    try:
        case.note(1)
    except NotRecorded as error:
        tally.add("cut again")
        if error.may_retry and size % 2:
            case.note(1)
            tally.add("tried once more")
    else:
        tally.add("longer than the write")
    case.resume()
    case.writer.seal({"end": "finished"}, case.outside.now())
    report = scan(case.medium.durable or b"")
    assert report.state == "complete", (write, size, report.summary())
    assert [entry.data["number"] for entry in report.records if entry.kind == "note"] == case.recorded
    assert 1 <= len(report.scars) <= (2 if write == 3 else 1)


def test_short_writes_while_mending_are_mended_too() -> None:
    tally = Tally("short writes while mending", least=150)
    for write in (1, 2, 3):
        for size in range(0, 400, 1 if write == 1 else 5)[: 5 if write == 1 else 80]:
            mend_and_be_cut_again(write, size, tally)
    tally.close()
    assert tally.seen["cut again"] > 60


def test_what_is_torn_again_and_again_is_never_more_than_a_reader_steps_over() -> None:
    """A disk that takes half a scar at every try: the writer gives up while all of it is still a torn tail."""
    case = Case(50)
    for _ in range(1_400):  # 205 bytes each
        case.medium.short[case.medium.calls["write"] + 2] = 200
        with pytest.raises(NotRecorded) as refused:
            case.note(1)
        if not refused.value.may_retry:
            break
    assert not refused.value.may_retry
    report = scan(case.medium.cached or b"")
    assert report.state == "torn"
    assert [entry.data["number"] for entry in report.records if entry.kind == "note"] == [0]
    assert report.tail is not None
    assert line.SCAR_LIMIT - 2_000 < report.tail.size <= line.SCAR_LIMIT - len(line.CUT)
    with pytest.raises(NotRecorded, match="too much was left unfinished"):
        reopen(PATH, case.outside)


@pytest.mark.parametrize("marks", [1, 1_000, 52_000])
def test_whatever_is_torn_and_can_be_resumed_stays_readable(tmp_path: Path, marks: int) -> None:
    outside = SetOutside()
    start(tmp_path, outside).close()
    path = tmp_path / "a.jsonl"
    path.write_bytes(path.read_bytes() + line.CUT * marks)
    assert scan_file(path).state == "torn"
    writer, _ = reopen(path, outside)
    with writer:
        fill(writer, outside, 1)
    report = scan_file(path)
    assert (report.state, [entry.kind for entry in report.records][-2:]) == (
        "open",
        ["opened", "reading"],
    )


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


def test_what_a_short_write_left_counts_for_nothing(tmp_path: Path) -> None:
    """The writer's own number, head and receipt stay those of the last recorded entry."""
    outside = SetOutside(files=FaultyFiles("write", 3, short=50))
    with start(tmp_path, outside) as writer:
        fill(writer, outside, 1)
        before = _told(writer)
        with pytest.raises(NotRecorded):
            fill(writer, outside, 1)
        assert _told(writer) == before


def _told(writer: LogWriter) -> tuple[int, bytes, str]:
    return writer.n, writer.head, writer.receipt
