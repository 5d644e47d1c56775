"""A medium in memory: one file whose written bytes are not durable before a sync, and a power that can go.

It stands in for the system's calls, so that a crash can be had after every one of them and each state that the
medium may then be in can be judged. What is written waits in the cache; `fdatasync` brings it to the medium;
`fsync_dir` brings the file's name there. A sync that fails leaves the pages clean, as ext4, XFS and btrfs do ("Can
applications recover from fsync failures?", USENIX ATC 2020): the next sync succeeds and brings nothing, and only
`fadvise` makes a reader see the medium instead of the cache.
"""

import errno
import os
import stat
from collections import Counter
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path
from random import Random

from runner.outside import Files

FOLDER = Path("/nowhere-simulated")
PATH = FOLDER / "a.jsonl"
SECTOR = 512
_FD = 77


class PowerGone(BaseException):
    """The machine stops here; no `except Exception` of the program sees it."""


class Medium(Files):
    """The calls of `Files` on that one file.

    `stop_after`: the power goes when that many calls have been made. `short`: by number of the write (from 1), how
    many bytes it takes. `failing`: by number of the sync (from 1), its errno. `lying`: syncs answer and do nothing.
    """

    def __init__(self, durable: bytes | None = None) -> None:
        self.durable = durable
        """What the medium holds of the file; none while it has no name there."""
        self.cached = durable
        """What a reader sees."""
        self._synced = durable or b""
        self._named = durable is not None
        self.stop_after = 0
        self.short: dict[int, int] = {}
        self.failing: dict[int, int] = {}
        self.lying = False
        self.keeps_cache = False
        self.calls: Counter[str] = Counter()
        self.made = 0
        self._locked = False

    @property
    def pending(self) -> bytes:
        """Written and not yet on the medium."""
        return (self.cached or b"")[len(self._synced) :]

    def images(self, draw: Random, garbage: int = 20) -> Iterator[tuple[str, bytes | None]]:
        """Everything that the medium may hold when the power goes now, and of which sort each is."""
        if not self._named:
            yield "no file", None
        done, last = self._synced, self.pending
        for size in range(len(last) + 1):
            yield "prefix", done + last[:size]
        if not last:
            return
        for size in range(0, len(last), 3):
            yield "length first", done + last[:size] + bytes(draw.randrange(1, len(last) - size + 1))
        edges = [0, *range(SECTOR - len(done) % SECTOR, len(last), SECTOR), len(last)]
        for lost in range(1, 2 ** (len(edges) - 1)):
            image = bytearray(last)
            for i, (begin, end) in enumerate(pairwise(edges)):
                if lost >> i & 1:
                    image[begin:end] = bytes(end - begin)
            yield "lost sectors", done + bytes(image)
        for _ in range(garbage):
            yield "garbage", done + draw.randbytes(draw.randrange(1, len(last) + 1))

    def _call(self, op: str) -> None:
        self.calls[op] += 1
        self.made += 1

    def _after(self) -> None:
        if self.made == self.stop_after:
            raise PowerGone

    def open(self, path: Path, flags: int, mode: int = 0o600) -> int:
        self._call("open")
        if flags & os.O_EXCL and self.cached is not None:
            raise FileExistsError(errno.EEXIST, os.strerror(errno.EEXIST))
        if self.cached is None:
            if not flags & os.O_CREAT:
                raise FileNotFoundError(errno.ENOENT, os.strerror(errno.ENOENT))
            self.cached = b""
        self._after()
        return _FD

    def write(self, fd: int, data: bytes) -> int:
        self._call("write")
        size = self.short.get(self.calls["write"], len(data))
        self.cached = (self.cached or b"") + data[:size]
        self._after()
        if size == 0:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        return min(size, len(data))

    def read(self, fd: int, size: int, offset: int) -> bytes:
        self._call("read")
        self._after()
        return (self.cached or b"")[offset : offset + size]

    def fdatasync(self, fd: int) -> None:
        self._call("fdatasync")
        error = self.failing.get(self.calls["fdatasync"])
        if error is not None:
            # The pages are dropped: the length has arrived, the bytes never will.
            self.durable = (self.durable or b"") + bytes(len(self.pending))
        elif not self.lying:
            self.durable = (self.durable or b"") + self.pending
        if not self.lying:
            self._synced = self.cached or b""
        self._after()
        if error is not None:
            raise OSError(error, os.strerror(error))

    def fsync_dir(self, folder: Path) -> None:
        self._call("fsync_dir")
        self._named = self._named or (folder == FOLDER and self.cached is not None)
        self._after()

    def fstat(self, fd: int) -> os.stat_result:
        self._call("fstat")
        self._after()
        return self._about_file()

    def stat(self, path: Path, *, follow: bool = False) -> os.stat_result:
        self._call("stat")
        self._after()
        if path == FOLDER:
            return os.stat_result((stat.S_IFDIR | 0o700, 2, 1, 2, os.geteuid(), 0, 0, 0, 0, 0))
        if self.cached is None:
            raise FileNotFoundError(errno.ENOENT, os.strerror(errno.ENOENT))
        return self._about_file()

    def _about_file(self) -> os.stat_result:
        size = len(self.cached or b"")
        return os.stat_result((stat.S_IFREG | 0o600, 3, 1, 1, os.geteuid(), 0, size, 0, 0, 0))

    def flock(self, fd: int) -> None:
        self._call("flock")
        if self._locked:
            raise BlockingIOError(errno.EWOULDBLOCK, os.strerror(errno.EWOULDBLOCK))
        self._locked = True
        self._after()

    def fadvise(self, fd: int) -> None:
        self._call("fadvise")
        if not self.keeps_cache and not self.pending:
            self.cached = self.durable
            self._synced = self.durable or b""
        self._after()

    def close(self, fd: int) -> None:
        self._call("close")
        self._locked = False
        self._after()

    def mkdir(self, folder: Path) -> None:
        self._call("mkdir")
        self._after()
