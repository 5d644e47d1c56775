"""Stand-ins for the outside: a clock that is set, identities that count, files that fail when told to."""

import errno
import os
from collections import Counter
from pathlib import Path

from runner.outside import Files, Outside
from runner.stamp import Stamp

NINE = 1_780_000_000_000
"""An invented Thursday, 2026-05-28T20:26:40Z, as Unix milliseconds."""


class SetOutside(Outside):
    """Real files, a clock that moves only by `step_ms` per look or by `pass_time`, identities 1, 2, 3, ..."""

    def __init__(self, wall_ms: int = NINE, step_ms: int = 10, files: Files | None = None) -> None:
        self.files = files or Files()
        self.wall_ms = wall_ms
        self.mono_ms = 5_000
        self.offset_min = 120
        self.boot = "b" * 32
        self.step_ms = step_ms
        self.drawn = 0

    def now(self) -> Stamp:
        self.pass_time(self.step_ms)
        return Stamp(self.wall_ms, self.offset_min, self.mono_ms, self.boot)

    def new_id(self) -> str:
        self.drawn += 1
        return f"{self.drawn:032x}"

    def pid(self) -> int:
        return 4711

    def pass_time(self, ms: int) -> None:
        """Let time pass for both clocks."""
        self.wall_ms += ms
        self.mono_ms += ms

    def set_wall(self, ms_from_now: int) -> None:
        """Somebody sets the wall clock; the running clock does not notice."""
        self.wall_ms += ms_from_now

    def reboot(self) -> None:
        """The machine starts anew: another boot identity, the running clock from its beginning."""
        self.boot = f"{int(self.boot, 16) + 1:032x}"[-32:]
        self.mono_ms = 1_000


class FaultyFiles(Files):
    """Real files of which the n-th call of one operation fails, once or for ever.

    `short` makes a failing write take that many bytes instead of raising. `calls` counts the operations,
    `order` lists them.
    """

    def __init__(
        self,
        op: str = "",
        at: int = 0,
        error: int = errno.EIO,
        *,
        for_ever: bool = False,
        short: int | None = None,
    ) -> None:
        self.op = op
        self.at = at
        self.error = error
        self.for_ever = for_ever
        self.short = short
        self.calls: Counter[str] = Counter()
        self.order: list[str] = []

    @property
    def struck(self) -> bool:
        """Whether the fault has happened."""
        return self.calls[self.op] >= self.at > 0

    def mend(self) -> None:
        """Nothing fails any more."""
        self.op = ""

    def _fails(self, op: str) -> bool:
        self.calls[op] += 1
        self.order.append(op)
        if op != self.op:
            return False
        return self.calls[op] == self.at or (self.for_ever and self.calls[op] > self.at > 0)

    def _meet(self, op: str) -> None:
        if self._fails(op):
            raise OSError(self.error, os.strerror(self.error))

    def open(self, path: Path, flags: int, mode: int = 0o600) -> int:
        self._meet("open")
        return super().open(path, flags, mode)

    def write(self, fd: int, data: bytes) -> int:
        if self._fails("write"):
            if self.short is None:
                raise OSError(self.error, os.strerror(self.error))
            return super().write(fd, data[: self.short])
        return super().write(fd, data)

    def read(self, fd: int, size: int, offset: int) -> bytes:
        self._meet("read")
        return super().read(fd, size, offset)

    def fdatasync(self, fd: int) -> None:
        self._meet("fdatasync")
        super().fdatasync(fd)

    def fsync_dir(self, folder: Path) -> None:
        self._meet("fsync_dir")
        super().fsync_dir(folder)

    def fstat(self, fd: int) -> os.stat_result:
        self._meet("fstat")
        return super().fstat(fd)

    def stat(self, path: Path, *, follow: bool = False) -> os.stat_result:
        self._meet("stat")
        return super().stat(path, follow=follow)

    def flock(self, fd: int) -> None:
        self._meet("flock")
        super().flock(fd)

    def fadvise(self, fd: int) -> None:
        self._meet("fadvise")
        super().fadvise(fd)

    def close(self, fd: int) -> None:
        # As on Linux: the file is closed even where close reports an error (close(2)).
        super().close(fd)
        self._meet("close")

    def mkdir(self, folder: Path) -> None:
        self._meet("mkdir")
        super().mkdir(folder)

    def listdir(self, folder: Path) -> list[str]:
        self._meet("listdir")
        return super().listdir(folder)
