"""Taking up a file that is there already: its lock, its bytes from the medium, its healed end.

The lock of a run is had or refused at once: it is kept for as long as the run is open. That of a file which several
write in turn is kept for an entry, so it is waited for, but not for ever.
"""

import errno
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import BinaryIO, Final, Protocol

from runner.log import line, record
from runner.log.chainfile import ChainFile
from runner.log.errors import Broken, Held, Refused
from runner.log.record import Record, Report
from runner.log.scan import Scanner, scan_all
from runner.log.source import reading, source
from runner.outside import Files, Outside

PATIENCE_MS: Final = 2_000
"""How long a file that several write in turn is waited for. An entry takes some hundredths of a second."""
_BETWEEN_MS: Final = 1
"""Short, for whoever asks rarely is seldom first where several ask."""


class Reader(Protocol):
    """What is handed the entries of a log one at a time."""

    def say(self, raw: bytes) -> line.Said:
        """What a line says, as `line.read` or read further."""

    def take(self, entry: Record) -> None:
        """The next entry. It must not raise: the verdict on the file comes first."""


def lock(files: Files, fd: int, path: Path) -> None:
    """Take the lock of an open file; Held where another process has it, Refused where locks do not work."""
    try:
        files.flock(fd)
    except BlockingIOError as error:
        raise _held(path, files) from error
    except OSError as error:
        raise _no_lock(path, error) from error


def lock_in_turn(outside: Outside, fd: int, path: Path) -> None:
    """Take the lock of an open file that several write in turn.

    Refused where another program keeps it for `PATIENCE_MS`, be it a backup or a stopped process, and where locks do
    not work.
    """
    until: int | None = None
    while True:
        try:
            outside.files.flock(fd)
        except BlockingIOError as error:
            now = outside.now().mono_ms
            until = now + PATIENCE_MS if until is None else until
            if now >= until:
                raise _kept(outside.files, fd, path) from error
            outside.pause(_BETWEEN_MS)
        except OSError as error:
            raise _no_lock(path, error) from error
        else:
            return


def _no_lock(path: Path, error: OSError) -> Refused:
    why = error.strerror or errno.errorcode.get(error.errno or 0, "no reason given")
    return Refused(f"{path.name} cannot be locked here ({why}); keep logs on a local disk.")


def _kept(files: Files, fd: int, path: Path) -> Refused:
    """Who has the lock is asked of the system: whoever has it need not have written into the file."""
    try:
        pid = files.lock_holder(fd)
    except OSError:  # it is not told here: that the lock is kept is what matters
        pid = None
    who = f" (process {pid})" if pid is not None else ""
    return Refused(f"{path.name} is held by another program{who} and was not given free in time.")


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


def reread(
    chain: ChainFile, fd: int, files: Files, first: str = record.RUN, reader: Reader | None = None
) -> Report:
    """Read an open, locked file from the medium and put `chain` at its end, a missing line feed healed.

    Each entry is handed to the `reader` as it is read, and the report then holds the last one alone: a long log needs
    no more room than a short one. Without a reader the report holds all of them.

    Raises Refused for what is no started log, Broken, NotRecorded when healing fails.
    """
    name = chain.path.name
    try:
        files.fdatasync(fd)
        # After a failed sync the cache may show as written what the medium never got: read the medium.
        files.fadvise(fd)
        report = _scanned(source(files, fd), first, reader)
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
        healed = _scanned(source(files, fd), first, reader, report.count)
    except OSError as error:
        raise Refused(f"{name} cannot be resumed: {error.strerror}.") from error
    chain.go_on_from(healed.count, healed.head, healed.good_bytes, b"")
    return replace(healed, tail=report.tail)


def _scanned(source: BinaryIO, first: str, reader: Reader | None, known: int = 0) -> Report:
    """The verdict; entries from the number `known` on are handed over, those before it were already."""
    if reader is None:
        return scan_all(source, first)
    scanner, last = Scanner(source, first, reader.say), None
    for last in scanner:
        if last.n >= known:
            reader.take(last)
    return replace(scanner.report, records=(last,) if last is not None else ())


@contextmanager
def closing_on_error(chain: ChainFile) -> Iterator[None]:
    """Close the file, and so give its lock free, when what follows ends in an error."""
    try:
        yield
    except BaseException:
        chain.close()
        raise
