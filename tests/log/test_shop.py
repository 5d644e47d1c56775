"""The shop's list of runs: several hands, a hand that keeps it, crashes, and a log that has gone."""

import fcntl
import os
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from runner.log import line
from runner.log.errors import Broken, NotRecorded, Refused
from runner.log.names import SHOP_NAME, find_logs
from runner.log.scan import scan_file
from runner.log.shop import is_list, missing_runs, note_seal, note_start, read_list, read_shop
from runner.log.writer import create
from runner.outside import Files
from tests.doubles import FaultyFiles, SetOutside
from tests.log.makelog import fill

ROOT = Path(__file__).parents[2]


def run_jobs(folder: Path, outside: SetOutside, *names: str) -> None:
    """Short runs, each started, sealed and listed."""
    for name in names:
        with create(folder, f"{name}.jsonl", {}, outside) as writer:
            note_start(folder, writer.run, name, writer.head, outside)
            sealed = writer.seal({"end": "finished"}, outside.now())
            note_seal(folder, writer.run, sealed.n, sealed.head, outside)


def test_starts_and_seals_are_listed(tmp_path: Path) -> None:
    outside = SetOutside()
    assert read_shop(tmp_path) == ()
    run_jobs(tmp_path, outside, "first", "second")
    with create(tmp_path, "third.jsonl", {}, outside) as writer:
        note_start(tmp_path, writer.run, "third", writer.head, outside)
    listed = read_shop(tmp_path)
    assert [each.procedure for each in listed] == ["first", "second", "third"]
    assert [each.sealed_head is not None for each in listed] == [True, True, False]
    assert missing_runs(listed, find_logs(tmp_path)) == ()
    assert scan_file(tmp_path / SHOP_NAME, first="shop").state == "open"
    assert (tmp_path / SHOP_NAME).stat().st_mode & 0o777 == 0o600


def test_a_log_taken_away_or_cut_back_is_missed(tmp_path: Path) -> None:
    run_jobs(tmp_path, SetOutside(), "first", "second", "third")
    (tmp_path / "second.jsonl").unlink()
    third = tmp_path / "third.jsonl"
    third.write_bytes(b"".join(third.read_bytes().splitlines(keepends=True)[:-1]))
    missing = missing_runs(read_shop(tmp_path), find_logs(tmp_path))
    assert [(each.listed.procedure, each.why) for each in missing] == [
        ("second", "its log is not in the folder"),
        ("third", "third.jsonl does not end in the seal that was listed"),
    ]


def test_a_list_that_is_named_must_be_there(tmp_path: Path) -> None:
    assert read_shop(tmp_path / "gone") == ()
    with pytest.raises(FileNotFoundError):
        read_list(tmp_path / SHOP_NAME)


@contextmanager
def open_job(folder: Path, *, sealed: bool) -> Iterator[tuple[Path, list[bytes]]]:
    """A listed run of five entries (and its seal), its log still held open: the file and its lines."""
    outside = SetOutside()
    with create(folder, "a.jsonl", {}, outside) as writer:
        note_start(folder, writer.run, "wheel", writer.head, outside)
        fill(writer, outside, 4)
        if sealed:
            end = writer.seal({"end": "finished"}, outside.now())
            note_seal(folder, writer.run, end.n, end.head, outside)
        yield writer.path, writer.path.read_bytes().splitlines(keepends=True)


def why_missing(folder: Path) -> list[str]:
    return [each.why for each in missing_runs(read_shop(folder), find_logs(folder))]


def anew(lines: list[bytes], old: bytes, new: bytes) -> bytes:
    """The lines with `old` made `new`, and the chain computed again behind it, as a forger would."""
    head, made = line.root(), []
    for each in lines:
        whole, head = line.link(head, each[:-73].replace(old, new) + b"}")
        made.append(whole)
    return b"".join(made)


Change = Callable[[list[bytes]], bytes]
SEALED_AND_CHANGED: dict[str, tuple[Change, str]] = {
    "its first line changed and its last": (
        lambda lines: lines[0].replace(b"4711", b"4712") + lines[-1],
        "a.jsonl is broken at line 1: its bytes do not give its chain value",
    ),
    "its first line and its last": (
        lambda lines: lines[0] + lines[-1],
        "a.jsonl is broken at line 2: it says entry 5 where entry 1 belongs",
    ),
    "one letter in the middle": (
        lambda lines: b"".join(lines).replace(b"2,5 N", b"3,5 N"),
        "a.jsonl is broken at line 4: its bytes do not give its chain value",
    ),
    "its seal taken off": (
        lambda lines: b"".join(lines[:-1]),
        "a.jsonl does not end in the seal that was listed",
    ),
    "torn in its seal": (
        lambda lines: b"".join(lines)[:-40],
        "a.jsonl does not end in the seal that was listed",
    ),
}


@pytest.mark.parametrize("how", SEALED_AND_CHANGED)
def test_only_a_whole_log_that_ends_in_the_listed_seal_bears_it_out(tmp_path: Path, how: str) -> None:
    change, why = SEALED_AND_CHANGED[how]
    with open_job(tmp_path, sealed=True) as (path, lines):
        assert why_missing(tmp_path) == []
    path.write_bytes(change(lines))
    assert why_missing(tmp_path) == [why]


def test_an_unsealed_run_is_borne_out_by_a_log_in_order_with_the_listed_start(tmp_path: Path) -> None:
    with open_job(tmp_path, sealed=False) as (path, lines):
        assert why_missing(tmp_path) == []
    for data in (b"".join(lines[:3]), b"".join(lines) + b'{"data":{"ra'):  # cut back, torn: open all the same
        path.write_bytes(data)
        assert why_missing(tmp_path) == []
    path.write_bytes(b"".join(lines).replace(b"2,5 N", b"3,5 N"))
    (why,) = why_missing(tmp_path)
    assert why == "a.jsonl is broken at line 4: its bytes do not give its chain value"
    path.write_bytes(anew(lines, b"2,5 N", b"3,5 N"))
    assert why_missing(tmp_path) == []  # made anew behind its start: only a receipt code finds that
    path.write_bytes(anew(lines, b"4711", b"4712"))
    assert scan_file(path).state == "open"
    assert why_missing(tmp_path) == ["a.jsonl does not begin as the run that was listed"]


@pytest.mark.parametrize("sealed", [True, False])
def test_any_intact_log_of_the_run_will_do(tmp_path: Path, sealed: bool) -> None:
    """Copies of an earlier state, and a damaged one, before it and behind it by name."""
    with open_job(tmp_path, sealed=sealed) as (path, lines):
        for name in ("0-earlier.jsonl", "z-earlier.jsonl"):
            (tmp_path / name).write_bytes(b"".join(lines[:3]))
        for name in ("0-damaged.jsonl", "z-damaged.jsonl"):
            (tmp_path / name).write_bytes(b"".join(lines).replace(b"2,5 N", b"3,5 N"))
        assert why_missing(tmp_path) == []
    path.unlink()
    said = why_missing(tmp_path)
    if sealed:
        assert [each.count("; ") for each in said] == [3]
        assert "0-damaged.jsonl is broken at line 4" in said[0]
        assert "z-earlier.jsonl does not end in the seal that was listed" in said[0]
    else:
        assert said == []


def test_a_log_that_cannot_be_read_bears_nothing_out(tmp_path: Path) -> None:
    with open_job(tmp_path, sealed=True) as (path, _):
        found, listed = find_logs(tmp_path), read_shop(tmp_path)
    failing = FaultyFiles("read", 1)
    assert [each.why for each in missing_runs(listed, found, failing)] == [
        "a.jsonl cannot be read (Input/output error)"
    ]
    path.unlink()
    assert [each.why for each in missing_runs(listed, found)] == [
        "a.jsonl cannot be read (No such file or directory)"
    ]


class Waits(SetOutside):
    """A clock that waiting moves on, and nothing else; after `free_after` waits the other hand lets go."""

    def __init__(self, let_go: Callable[[], None] | None = None, free_after: int = 0) -> None:
        super().__init__(step_ms=0)
        self.let_go, self.free_after = let_go, free_after
        self.waited: list[int] = []

    def pause(self, ms: int) -> None:
        self.waited.append(ms)
        self.pass_time(ms)
        if self.let_go is not None and len(self.waited) == self.free_after:
            self.let_go()


def held_list(folder: Path) -> int:
    """A list of one run, whose lock another hand has (flock knows an open file, not a process)."""
    run_jobs(folder, SetOutside(), "first")
    fd = os.open(folder / SHOP_NAME, os.O_RDONLY)
    fcntl.flock(fd, fcntl.LOCK_EX)
    return fd


def test_a_list_that_somebody_keeps_is_given_up_after_two_seconds(tmp_path: Path) -> None:
    fd, outside = held_list(tmp_path), Waits()
    before = (tmp_path / SHOP_NAME).read_bytes()
    open_files = len(os.listdir("/proc/self/fd")) if Path("/proc/self/fd").is_dir() else None
    for note in (
        lambda: note_start(tmp_path, "r", "wheel", bytes(32), outside),
        lambda: note_seal(tmp_path, "r", 3, bytes(32), outside),
    ):
        outside.waited.clear()
        with pytest.raises(Refused, match=r"^shop\.jsonl is held by another program"):
            note()
        assert 1_900 <= sum(outside.waited) <= 2_100
        assert max(outside.waited) <= 50
    assert open_files in (None, len(os.listdir("/proc/self/fd")))
    os.close(fd)
    assert (tmp_path / SHOP_NAME).read_bytes() == before
    note_start(tmp_path, "r", "wheel", bytes(32), outside)
    assert [each.run for each in read_shop(tmp_path)][1:] == ["r"]


def test_a_list_that_is_given_free_in_time_is_kept(tmp_path: Path) -> None:
    fd = held_list(tmp_path)
    outside = Waits(lambda: os.close(fd), free_after=7)
    note_start(tmp_path, "r", "wheel", bytes(32), outside)
    assert len(outside.waited) == 7
    assert [each.run for each in read_shop(tmp_path)][1:] == ["r"]


def test_who_keeps_the_list_is_named_where_the_system_tells(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    fd, outside = held_list(tmp_path), Waits()
    for pid, who in ((815, r"another program \(process 815\)"), (None, "another program and")):
        monkeypatch.setattr(outside.files, "lock_holder", lambda _, pid=pid: pid)
        with pytest.raises(Refused, match=f"held by {who}"):
            note_start(tmp_path, "r", "wheel", bytes(32), outside)

    def untold(_: int) -> int | None:
        raise FileNotFoundError(2, "No such file or directory")

    monkeypatch.setattr(outside.files, "lock_holder", untold)
    with pytest.raises(Refused, match="held by another program and"):
        note_start(tmp_path, "r", "wheel", bytes(32), outside)
    os.close(fd)


def test_linux_tells_who_has_a_lock(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Lines as proc_locks(5) shows them: of another file, of one who waits, of another kind of lock, ours."""
    if sys.platform != "linux":
        pytest.skip("not run here: only Linux tells who has a lock")
    fd, told = held_list(tmp_path), tmp_path / "locks"
    info = os.fstat(fd)
    device = f"{os.major(info.st_dev):02x}:{os.minor(info.st_dev):02x}"
    others = (
        f"1: FLOCK  ADVISORY  WRITE 801 {device}:{info.st_ino + 1} 0 EOF\n"
        f"2: POSIX  ADVISORY  WRITE 802 {device}:{info.st_ino} 0 EOF\n"
        f"3: -> FLOCK  ADVISORY  WRITE 803 {device}:{info.st_ino} 0 EOF\n"
        "4: FLOCK\n"
    )
    monkeypatch.setattr("runner.outside._LOCKS", told)
    for pid, named in ((815, 815), (0, None), (-1, None)):
        told.write_text(f"{others}5: FLOCK  ADVISORY  WRITE {pid} {device}:{info.st_ino} 0 EOF\n")
        assert Files().lock_holder(fd) == named
    told.write_text(others)
    assert Files().lock_holder(fd) is None
    told.unlink()
    with pytest.raises(FileNotFoundError):
        Files().lock_holder(fd)
    os.close(fd)


def test_a_list_is_known_by_its_first_line(tmp_path: Path) -> None:
    run_jobs(tmp_path, SetOutside(), "first")
    (tmp_path / SHOP_NAME).rename(tmp_path / "copy.jsonl")
    assert is_list(tmp_path / "copy.jsonl")
    assert not is_list(tmp_path / "first.jsonl")
    assert not is_list(tmp_path / "gone.jsonl")
    assert not is_list(tmp_path)


def test_several_processes_list_their_runs_at_once(tmp_path: Path) -> None:
    """With more patience than a run has: here nobody pauses between entries, and the disk may be a slow one."""
    code = (
        "import sys; from pathlib import Path; from runner.log import takeup; from runner.log.shop import note_start\n"
        "from runner.outside import Outside\n"
        "takeup.PATIENCE_MS = 60_000\n"
        "for n in range(20):\n"
        "    note_start(Path(sys.argv[1]), f'{sys.argv[2]}{n}', 'wheel', bytes(32), Outside())"
    )
    hands = [subprocess.Popen([sys.executable, "-c", code, tmp_path, hand], cwd=ROOT) for hand in "abc"]
    assert [hand.wait() for hand in hands] == [0, 0, 0]
    assert {each.run for each in read_shop(tmp_path)} == {f"{hand}{n}" for hand in "abc" for n in range(20)}


def test_a_torn_list_is_mended_and_a_changed_one_is_not(tmp_path: Path) -> None:
    outside = SetOutside()
    run_jobs(tmp_path, outside, "first")
    path = tmp_path / SHOP_NAME
    with path.open("ab") as torn:
        torn.write(b'{"data":{"he')
    run_jobs(tmp_path, outside, "second")
    assert len(scan_file(path, first="shop").scars) == 1
    assert [each.procedure for each in read_shop(tmp_path)] == ["first", "second"]
    path.write_bytes(path.read_bytes().replace(b"first", b"thirt"))
    with pytest.raises(Broken):
        read_shop(tmp_path)
    with pytest.raises(Broken):
        run_jobs(tmp_path, outside, "third")


def test_a_run_log_is_no_list_and_a_list_no_run(tmp_path: Path) -> None:
    run_jobs(tmp_path, SetOutside(), "first")
    assert scan_file(tmp_path / SHOP_NAME).state == "broken"
    (tmp_path / "first.jsonl").rename(tmp_path / SHOP_NAME)
    with pytest.raises(Broken):
        read_shop(tmp_path)
    (tmp_path / SHOP_NAME).write_bytes(b"hello\n")
    with pytest.raises(Refused):
        read_shop(tmp_path)


@pytest.mark.parametrize("op", ["write", "fdatasync", "fsync_dir", "flock", "fstat", "stat", "open", "read"])
def test_failing_calls_are_answers_not_crashes(tmp_path: Path, op: str) -> None:
    run_jobs(tmp_path, SetOutside(), "first")
    failed = 0
    for at in range(1, 30):
        files = FaultyFiles(op, at)
        try:
            note_start(tmp_path, "f" * 32, "wheel", bytes(32), SetOutside(files=files))
        except (NotRecorded, Refused):
            failed += 1
        if not files.struck:
            break
    assert failed >= 1
    assert scan_file(tmp_path / SHOP_NAME, first="shop").state == "open"
