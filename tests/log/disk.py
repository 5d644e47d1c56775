"""Real disks for the tests of real disks: made inside a mount namespace of their own, gone with the process.

`inside(job, …)` runs `python -m tests.log.disk JOB …` under `unshare`, where mounting changes nothing outside; the
process prints what it counted as JSON. A machine that allows no such thing is told of in words, and the test skipped.
"""

import json
import os
import subprocess
import sys
from collections import Counter
from pathlib import Path
from random import Random
from typing import Any

import pytest

from runner.log.errors import LogError, NotRecorded, Refused
from runner.log.record import Tail
from runner.log.scan import scan_file
from runner.log.writer import LogWriter, create, reopen
from tests.doubles import SetOutside

ROOT = Path(__file__).parents[2]


def inside(job: str, *args: object, root: bool = False) -> dict[str, int]:
    """What `job` counted; skips the test where this machine cannot run it."""
    if sys.platform != "linux":
        pytest.skip("not run here: mount namespaces are Linux's")
    if root and os.geteuid() != 0:
        pytest.skip("not run here: loop devices need the administrator (root)")
    if os.geteuid() == 0:
        enter = ["unshare", "--mount", "--propagation", "private"]
    else:
        enter = ["unshare", "--user", "--map-root-user", "--mount"]
    try:
        tried = subprocess.run([*enter, "true"], capture_output=True, text=True, check=False)
    except FileNotFoundError:
        pytest.skip("not run here: there is no unshare(1)")
    if tried.returncode:
        pytest.skip(f"not run here: no mount namespace ({tried.stderr.strip()})")
    command = [*enter, sys.executable, "-m", "tests.log.disk", job, *map(str, args)]
    told = subprocess.run(command, capture_output=True, text=True, check=False, cwd=ROOT)
    if told.returncode == CANNOT:
        pytest.skip(f"not run here: {told.stderr.strip().splitlines()[-1]}")
    assert told.returncode == 0, told.stdout + told.stderr
    counted: dict[str, int] = json.loads(told.stdout.splitlines()[-1])
    return counted


CANNOT = 77
"""The exit code of a job that this machine does not allow."""


def mount(*args: object) -> None:
    """mount(8); ends the process where that is not allowed here."""
    done = subprocess.run(["mount", *map(str, args)], capture_output=True, text=True, check=False)
    if done.returncode:
        print(f"mount {' '.join(map(str, args))}: {done.stderr.strip()}", file=sys.stderr)
        raise SystemExit(CANNOT)


def file_system(image: Path, megabytes: int, *options: str, kind: str = "ext4") -> None:
    """A new file system in a file."""
    with image.open("wb") as made:
        made.truncate(megabytes << 20)
    quiet = ["-q", "-F"] if kind == "ext4" else ["-q"]
    try:
        subprocess.run([f"mkfs.{kind}", *quiet, *options, image], check=True, capture_output=True)
    except FileNotFoundError as error:
        print(f"there is no mkfs.{kind}", file=sys.stderr)
        raise SystemExit(CANNOT) from error


def notes(path: Path) -> list[int]:
    """The numbered notes of a log."""
    return [entry.data["number"] for entry in scan_file(path).records if entry.kind == "note"]


# A full disk


def full_disk(kind: str, folder: str, seed: str, levels: str) -> Counter[str]:
    """A disk filled to another level each time, a run that meets its end, and room again."""
    draw, seen, disk = Random(int(seed)), Counter[str](), Path(folder) / "disk"
    disk.mkdir()
    if kind == "tmpfs":
        mount("-t", "tmpfs", "-o", "size=160k", "tmpfs", disk)
    else:
        file_system(Path(folder) / "image", 8, "-b", "1024", "-m", "0")
        mount("-o", "loop", Path(folder) / "image", disk)
    for level in range(int(levels)):
        one_level(disk, level, draw, seen)
        seen["fill levels"] += 1
    return seen


def one_level(disk: Path, level: int, draw: Random, seen: Counter[str]) -> None:
    outside, ballast, confirmed = SetOutside(), disk / "ballast", []
    writer = create(disk / "logs", f"{level}.jsonl", {"pad": "p" * (level * 53 % 4_096)}, outside)
    fill_up(ballast, spare=draw.randrange(6) * 1_024)
    number, tries, writing = 0, 0, True
    while tries < 40 and writing:
        answer = full(writer, number, draw.randrange(2_500), outside, seen)
        writing = answer != "all but its line feed"
        if answer == "recorded":
            confirmed.append(number)
        else:
            tries += 1
        number += 1
    ballast.unlink()
    if not writing:  # it has stopped; whoever resumes is told that this one was found
        writer, _ = reopen(writer.path, outside)
        confirmed.append(number - 1)
    with writer:
        for _ in range(2):
            writer.append("note", {"number": number}, outside.now())
            confirmed.append(number)
            number += 1
        assert notes(writer.path) == confirmed
        writer.seal({"end": "finished"}, outside.now())
    report = scan_file(writer.path)
    assert report.state == "complete", report.summary()
    seen["scars"] += len(report.scars)
    seen["confirmed and found"] += len(confirmed)
    writer.path.unlink()


def full(writer: LogWriter, number: int, size: int, outside: SetOutside, seen: Counter[str]) -> str:
    """What the disk made of a note of that size."""
    try:
        writer.append("note", {"number": number, "text": "n" * size}, outside.now())
    except NotRecorded as error:
        if not error.may_retry and scan_file(writer.path).tail != Tail("whole", *_behind(writer)):
            raise
        answer = "short writes" if "in part" in error.why else "refused in whole"
        seen[answer] += 1
        return answer if error.may_retry else "all but its line feed"
    return "recorded"


def _behind(writer: LogWriter) -> tuple[int, int]:
    """Where the bytes begin that stand behind the last good line, and how many they are."""
    good = scan_file(writer.path).good_bytes
    return good, writer.path.stat().st_size - good


def fill_up(ballast: Path, spare: int) -> None:
    """Fill the disk to its last block, then give some bytes back."""
    fd = os.open(ballast, os.O_WRONLY | os.O_CREAT)
    size = 0
    try:
        for chunk in (65_536, 1_024):
            while True:
                try:
                    size += os.write(fd, b"b" * chunk)
                    os.fdatasync(fd)
                except OSError:
                    break
        os.ftruncate(fd, max(size - spare, 0))
        os.fsync(fd)
    finally:
        os.close(fd)


# A read-only disk


def read_only(folder: str) -> Counter[str]:
    """A folder that is read-only for everybody: it is read, and every act is refused."""
    seen, outside, logs = Counter[str](), SetOutside(), Path(folder) / "logs"
    with create(logs, "a.jsonl", {}, outside) as writer:
        writer.append("note", {"number": 1}, outside.now())
    before = writer.path.read_bytes()
    mount("--bind", logs, logs)
    mount("-o", "remount,bind,ro", logs)
    assert scan_file(writer.path).state == "open"
    seen["read"] += 1
    for attempt, sort in (
        (lambda: reopen(writer.path, outside), Refused),
        (lambda: create(logs, "b.jsonl", {}, outside), NotRecorded),
    ):
        try:
            attempt()
        except sort as refusal:
            seen["refused"] += "Read-only file system" in str(refusal)
    assert writer.path.read_bytes() == before
    assert [each.name for each in logs.iterdir()] == ["a.jsonl"]
    return seen


def append_only(folder: str) -> Counter[str]:
    """A log with the append-only attribute: written, torn, healed, resumed and sealed; nothing else is possible."""
    seen, outside, path = Counter[str](), SetOutside(), Path(folder) / "a.jsonl"
    create(path.parent, path.name, {}, outside).close()
    done = subprocess.run(["chattr", "+a", path], capture_output=True, text=True, check=False)
    if done.returncode:
        print(f"chattr +a: {done.stderr.strip()}", file=sys.stderr)
        raise SystemExit(CANNOT)
    try:
        for act in (lambda: path.write_bytes(b""), path.unlink, lambda: os.truncate(path, 5)):
            try:
                act()
            except PermissionError:
                seen["other acts refused by the system"] += 1
        for torn in (b"", b'{"data":{"nu'):
            with path.open("ab") as file:
                file.write(torn)
            with reopen(path, outside)[0] as writer:
                for number in range(3):
                    writer.append("note", {"number": number}, outside.now())
                    seen["recorded"] += 1
        with reopen(path, outside)[0] as writer:
            writer.seal({"end": "finished"}, outside.now())
        report = scan_file(path)
        assert report.state == "complete", report.summary()
        seen["scars"] += len(report.scars)
    finally:
        subprocess.run(["chattr", "-a", path], check=True)
    return seen


# A disk that fails


def failing_device(folder: str, *options: str) -> Counter[str]:
    """A file system whose device has no room left under it: the system takes writes and fails the sync.

    The device is a sparse file on a small disk that is full, so that blocks which were never written cannot be. What
    is found when it works again must be what was confirmed, and at most the one entry whose sync failed. Whether a
    sync that answered had reached the device is looked up on the device itself and told apart: ext4 without a journal
    tells some failures only at the next sync (seen on Linux 6.18), and no program above it can know.
    """
    seen, outside, under = Counter[str](), SetOutside(), Path(folder) / "under"
    under.mkdir()
    mount("-t", "tmpfs", "-o", "size=6m", "tmpfs", under)
    image, disk, ballast = under / "image", Path(folder) / "disk", under / "ballast"
    made, _, mounted = " ".join(options).partition("--")
    # Blocks as large as the pages of the small disk: one that was written once can be written again.
    file_system(image, 64, "-b", "4096", "-E", "lazy_itable_init=1,nodiscard", *made.split())
    disk.mkdir()
    mount("-o", "loop" + mounted.strip(), image, disk)
    confirmed: list[int] = []
    with create(disk / "logs", "a.jsonl", {}, outside) as writer:
        fill_up(ballast, spare=65_536)
        for number in range(5_000):
            try:
                recorded = writer.append("note", {"number": number, "text": "n" * 900}, outside.now())
            except NotRecorded as error:
                if error.may_retry:
                    raise
                seen[error.why] += 1
                break
            if holds(image, recorded.head.hex().encode()):
                confirmed.append(number)
            else:
                seen["syncs that answered and had not reached the medium"] += 1
    assert seen, "the device never failed"
    ballast.unlink()
    try:
        again, report = reopen(writer.path, outside)
    except LogError as error:
        # The file system itself has stopped (a failed journal): the administrator mounts it anew.
        seen[f"resumed only after mounting anew ({type(error).__name__})"] += 1
        subprocess.run(["umount", disk], check=True)
        subprocess.run(["e2fsck", "-p", image], check=False, capture_output=True)
        mount("-o", "loop", image, disk)
        again, report = reopen(writer.path, outside)
    with again:
        found = [entry.data["number"] for entry in report.records if entry.kind == "note"]
        assert found[: len(confirmed)] == confirmed, (found, confirmed, seen)
        assert len(found) <= len(confirmed) + 1
        again.append("note", {"number": 9_999}, outside.now())
    subprocess.run(["umount", disk], check=True)
    mount("-o", "loop", image, disk)
    assert notes(writer.path) == [*found, 9_999], "what was read at resuming is what the medium holds"
    seen["confirmed and found"] += len(confirmed)
    seen["found, not confirmed"] += len(found) - len(confirmed)
    return seen


def holds(image: Path, text: bytes) -> bool:
    """Whether the device under a file system holds some bytes, read past that file system."""
    fd = os.open(image, os.O_RDONLY)
    try:
        at, size = 0, os.fstat(fd).st_size
        while at < size:
            try:
                begin = os.lseek(fd, at, os.SEEK_DATA)
            except OSError:  # nothing but holes from here
                return False
            at = os.lseek(fd, begin, os.SEEK_HOLE)
            if text in os.pread(fd, at - begin, begin):
                return True
        return False
    finally:
        os.close(fd)


def main(job: str, *args: str) -> None:
    from tests.log.power import cut_often  # it needs what stands above

    jobs: dict[str, Any] = {
        "full": full_disk,
        "read-only": read_only,
        "append-only": append_only,
        "failing": failing_device,
        "power": cut_often,
    }
    print(json.dumps(jobs[job](*args)))


if __name__ == "__main__":
    main(*sys.argv[1:])
