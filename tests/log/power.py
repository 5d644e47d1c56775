"""Power cuts of a real file system: the writer is frozen, its block device copied as it is, and the copy taken up.

Run inside a mount namespace by `tests.log.disk`. What a cut loses is what the system had not yet sent to the device;
a drive that lies about its own cache is not in it.
"""

import filecmp
import os
import shutil
import signal
import subprocess
from collections import Counter
from contextlib import suppress
from pathlib import Path
from random import Random

from runner.log.errors import LogError
from runner.log.writer import create, reopen
from runner.outside import Files, Outside
from tests.doubles import SetOutside
from tests.log.disk import file_system, mount, notes


class NoSync(Files):
    """The control: a writer that never waits for the medium."""

    def fdatasync(self, fd: int) -> None:
        pass

    def fsync_dir(self, folder: Path) -> None:
        pass


def cut_often(kind: str, options: str, control: str, folder: str, seed: str, cuts: str) -> Counter[str]:
    """So many cuts of one run that goes on meanwhile; the image is mounted elsewhere after each."""
    here, seen, draw = Path(folder), Counter[str](), Random(int(seed))
    image, disk = here / "image", here / "disk"
    disk.mkdir()
    file_system(image, 24 if kind == "ext4" else 320, kind=kind)
    mount("-o", f"loop,{options}", image, disk)
    path = disk / "logs" / "a.jsonl"
    reading, writing = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(reading)
        _write_for_ever(path, writing, draw, NoSync() if control == "control" else Files())
    os.close(writing)
    said = b""
    try:
        for _ in range(int(cuts)):
            wanted = said.count(b"\n") + draw.randrange(1, 40)
            while said.count(b"\n") < wanted:
                said += os.read(reading, 65_536)
            for _ in range(draw.randrange(30_000)):  # no moment is named
                pass
            os.kill(child, signal.SIGSTOP)
            os.waitpid(child, os.WUNTRACED)
            os.set_blocking(reading, False)
            with suppress(BlockingIOError):
                said += os.read(reading, 1 << 20)
            os.set_blocking(reading, True)
            _copy(image, here / "copy")
            seen[_taken_up(here, kind, path.relative_to(disk), said.count(b"\n"), seen)] += 1
            os.kill(child, signal.SIGCONT)
    finally:
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        os.close(reading)
    seen["confirmed"] = said.count(b"\n")
    return seen


def _write_for_ever(path: Path, say: int, draw: Random, files: Files) -> None:
    outside = Outside()
    outside.files = files
    try:
        with create(path.parent, path.name, {}, outside) as writer:
            for number in range(100_000):
                writer.append("note", {"number": number, "text": "n" * draw.randrange(600)}, outside.now())
                os.write(say, b"%d\n" % number)
    finally:
        os._exit(1)


def _copy(image: Path, copy: Path) -> None:
    """The device as it is; once more where the system wrote to it meanwhile."""
    while True:
        shutil.copyfile(image, copy)
        if filecmp.cmp(image, copy, shallow=False):
            return


def _taken_up(here: Path, kind: str, name: Path, confirmed: int, seen: Counter[str]) -> str:
    """Mount the copy, resume the run there and tell how it was found; AssertionError for an entry made up."""
    elsewhere = here / "elsewhere"
    elsewhere.mkdir(exist_ok=True)
    # Its copy has the same identity, which XFS refuses beside the original unless told so.
    mount("-o", "loop,nouuid" if kind == "xfs" else "loop", here / "copy", elsewhere)
    try:
        path = elsewhere / name
        try:
            writer, report = reopen(path, outside := SetOutside())
        except (LogError, OSError) as error:
            return f"lost: {type(error).__name__}" if confirmed else "not started"
        with writer:
            found = [entry.data["number"] for entry in report.records if entry.kind == "note"]
            writer.append("note", {"number": 1_000_000}, outside.now())
            writer.append("note", {"number": 1_000_001}, outside.now())
        assert found == list(range(len(found)))
        assert len(found) <= confirmed + 1
        assert notes(path) == [*found, 1_000_000, 1_000_001]
        seen["torn tails met"] += report.tail is not None
        if len(found) < confirmed:
            seen["entries lost"] += confirmed - len(found)
            return "lost: entries"
        return "all there" if len(found) == confirmed else "one more, found and not confirmed"
    finally:
        subprocess.run(["umount", elsewhere], check=True)
