"""The open end of a chained file: the only code that writes into a log.

One entry is one write. Before each write the file must still be the one that was opened, as long as it was
left. A failed sync ends this object for good: what the system answers to a second try says nothing about
the medium.
"""

import errno
import os
from collections.abc import Mapping
from contextlib import suppress
from hashlib import sha256
from pathlib import Path
from typing import Any, Final

from runner.log import line, record
from runner.log.errors import Latched, NotRecorded, Unwritable
from runner.outside import Files
from runner.stamp import Stamp

_FULL: Final = {
    errno.ENOSPC: "the disk is full",
    errno.EDQUOT: "the disk quota is used up",
    errno.EFBIG: "the file has reached the largest size allowed",
}
_FRAME = 300
"""More than every line's bytes besides its data and kind."""
_SCAR_ROOM = 512 + 2 * len(line.CUT)
"""More than a scar with its cut mark, and the next cut mark should that scar be torn too."""
_OWN_PARTS = 8
"""Of a line beside its data: itself and its keys, and room to spare."""


class ChainFile:
    """Appends entries to an open, locked file whose bytes have been verified."""

    def __init__(self, files: Files, path: Path, fd: int, root: bytes) -> None:
        """An empty file, not yet begun."""
        self.path = path
        self._files = files
        self._fd = fd
        self._ours: os.stat_result | None = None  # which file it is; that stays so while it is open
        self._size = 0
        self._fragment = b""
        self._why_latched: str | None = None
        self.count = 0
        self.head = root

    def go_on_from(self, count: int, head: bytes, good_bytes: int, fragment: bytes) -> None:
        """Take up a verified file; `fragment` is what a crash left behind the good bytes."""
        self.count = count
        self.head = head
        self._size = good_bytes + len(fragment)
        self._fragment = fragment

    def put(self, kind: str, data: Mapping[str, Any], stamp: Stamp, limit: int = line.LINE_LIMIT) -> None:
        """Write one entry (and before it the scar of an unfinished one). Not durable before `sync`.

        Raises Unwritable for data that has no place in a log, NotRecorded, and Latched ever after.
        """
        if self._why_latched is not None:
            raise Latched(self._why_latched)
        canonical = line.encode(data if type(data) is dict else dict(data))
        if len(canonical) + _FRAME > limit:
            raise Unwritable(f"The entry is longer than {limit // 1024} KiB and cannot be written.")
        if limit > line.LINE_LIMIT and line.parts(canonical) + _OWN_PARTS > line.PARTS_LIMIT:
            raise Unwritable(f"The entry has more than {line.PARTS_LIMIT} parts and cannot be written.")
        self.mend(stamp)
        self._put_line(kind, canonical, stamp)

    def mend(self, stamp: Stamp) -> None:
        """Write the scar of an unfinished entry, if there is one, durably. Errors as for `put`."""
        if self._why_latched is not None:
            raise Latched(self._why_latched)
        if self._fragment:
            self._put_scar(stamp)

    def heal_line_end(self) -> None:
        """Write the one missing line feed of a whole last entry; NotRecorded if that fails."""
        self._write(b"\n")

    def sync(self) -> None:
        """Bring everything written to the medium. A failure latches: it is never tried again."""
        if self._why_latched is not None:
            raise Latched(self._why_latched)
        try:
            self._files.fdatasync(self._fd)
        except OSError as error:
            raise self._latch(f"the disk did not confirm the entry ({_reason(error)})") from error

    def close(self) -> None:
        """Close the file, and with it the lock. May be called again."""
        self._why_latched = self._why_latched or "the log is closed"
        if self._fd >= 0:
            fd, self._fd = self._fd, -1
            # What was confirmed is on the medium already; a failing close takes nothing of that back.
            with suppress(OSError):
                self._files.close(fd)

    def _put_scar(self, stamp: Stamp) -> None:
        # Sectors reach the medium in any order: a scar that were there before the fragment which it counts in, or
        # an entry before the scar, would be damage after a power cut. So only one write at a time is on its way.
        self.sync()
        fragment = self._fragment
        if len(fragment) + _SCAR_ROOM > line.SCAR_LIMIT:
            # Nothing may follow what no reader would step over: it would be recorded, and lost.
            raise self._latch("too much was left unfinished at the end of the log")
        data = {
            "byte": self._size - len(fragment),
            "sha256": sha256(fragment).hexdigest(),
            "size": len(fragment),
        }
        self._write(line.CUT)
        self._fragment += line.CUT
        self.sync()
        self._put_line(record.SCAR, line.encode(data), stamp)
        self._fragment = b""
        self.sync()

    def _put_line(self, kind: str, canonical: bytes, stamp: Stamp) -> None:
        whole, head = line.link(self.head, line.body(self.count, kind, canonical, stamp.iso(), stamp.mono_ms))
        self._write(whole)
        self.count += 1
        self.head = head

    def _write(self, data: bytes) -> None:
        self._require_untouched()
        try:
            written = self._files.write(self._fd, data)
        except OSError as error:
            if error.errno in _FULL:
                raise NotRecorded(_FULL[error.errno], may_retry=True) from error
            raise self._latch(f"the disk refused the entry ({_reason(error)})") from error
        if written == len(data):
            self._size += written
            return
        if written == len(data) - 1:
            # All but the line feed: only reading the file again can tell whether that entry counts.
            raise self._latch("the disk took the entry only in part")
        self._size += written
        self._fragment += data[:written]
        raise NotRecorded("the disk took the entry only in part; it may be full", may_retry=True)

    def _require_untouched(self) -> None:
        """The file is ours alone: same length, one name, and that name still leads to it."""
        try:
            ours = self._ours = self._ours or self._files.fstat(self._fd)
            found = self._files.stat(self.path)
        except OSError as error:
            raise self._latch(f"the log file cannot be found any more ({_reason(error)})") from error
        if not os.path.samestat(ours, found):
            raise self._latch("the log file was moved away and another stands in its place")
        if found.st_size != self._size:
            raise self._latch("something else has written to the log file")
        if found.st_nlink != 1:
            raise self._latch("the log file has a second name")

    def _latch(self, why: str) -> NotRecorded:
        self._why_latched = why
        self.close()
        return NotRecorded(why, may_retry=False)


def _reason(error: OSError) -> str:
    return (error.strerror or type(error).__name__).lower()
