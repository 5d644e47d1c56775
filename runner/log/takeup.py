"""Taking up a file that is there already: its lock, its bytes from the medium, its healed end."""

import errno
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path

from runner.log import record
from runner.log.chainfile import ChainFile
from runner.log.errors import Broken, Held, Refused
from runner.log.record import Report
from runner.log.scan import Scanner, scan_all
from runner.log.source import reading, source
from runner.outside import Files


def lock(files: Files, fd: int, path: Path, *, wait: bool = False) -> None:
    """Take the lock of an open file; Held where another process has it, Refused where locks do not work."""
    try:
        files.flock(fd, wait=wait)
    except BlockingIOError as error:
        raise _held(path, files) from error
    except OSError as error:
        why = error.strerror or errno.errorcode.get(error.errno or 0, "no reason given")
        raise Refused(f"{path.name} cannot be locked here ({why}); keep logs on a local disk.") from error


def _held(path: Path, files: Files) -> Held:
    """Who holds the run, as its own latest opening states it."""
    pid, since = None, None
    try:
        with reading(path, files) as data:
            for entry in Scanner(data):
                if entry.kind in (record.RUN, record.OPENED):
                    pid, since = entry.data.get("pid"), entry.stamp.iso()
    except (OSError, Refused):
        return Held(path.name)
    return Held(path.name, pid if isinstance(pid, int) else None, since)


def reread(chain: ChainFile, fd: int, files: Files, first: str = record.RUN) -> Report:
    """Read an open, locked file from the medium and put `chain` at its end, a missing line feed healed.

    Raises Refused for what is no started log, Broken, NotRecorded when healing fails.
    """
    name = chain.path.name
    try:
        files.fdatasync(fd)
        # After a failed sync the cache may show as written what the medium never got: read the medium.
        files.fadvise(fd)
        report = scan_all(source(files, fd), first)
        if report.state == "broken":
            raise Broken(name, report)
        if report.header is None:
            raise Refused(f"{name} cannot be resumed: {report.summary()}")
        files.fsync_dir(chain.path.parent)
        leftover = files.read(fd, report.tail.size, report.tail.byte) if report.tail else b""
        chain.go_on_from(report.count, report.head, report.good_bytes, leftover)
        if report.tail is None or report.tail.kind != "whole":
            return report
        chain.heal_line_end()
        chain.sync()
        healed = scan_all(source(files, fd), first)
    except OSError as error:
        raise Refused(f"{name} cannot be resumed: {error.strerror}.") from error
    chain.go_on_from(healed.count, healed.head, healed.good_bytes, b"")
    return replace(healed, tail=report.tail)


@contextmanager
def closing_on_error(chain: ChainFile) -> Iterator[None]:
    """Close the file, and so give its lock free, when what follows ends in an error."""
    try:
        yield
    except BaseException:
        chain.close()
        raise
