"""Real files of a process that dies, a disk that is full, a medium that does not confirm: each at one chosen write."""

import errno
import os
from pathlib import Path

from runner.outside import Files

TORN = ("part", "all but its line feed", "whole", "empty sectors")
"""What is on the medium of an entry in whose write the process died; `whole`: nobody was told."""


class Killed(BaseException):
    """The process is gone: whoever catches this has only the files left. No `except Exception` may outlive it."""


class MortalFiles(Files):
    """Real files. `strike` says what happens at the next write or sync, once; `share` how much of a write arrives.

    `waits` says whether to wait for the medium: a killed process loses nothing by it, a machine does.
    """

    def __init__(self, *, waits: bool) -> None:
        self.waits = waits
        self.strike = ""
        self.share = 0.0

    def write(self, fd: int, data: bytes) -> int:
        strike = self.strike
        if not strike or strike == "sync":
            return super().write(fd, data)
        self.strike = ""
        arrives = int(self.share * (len(data) - 1))  # never all but the line feed, never all
        if strike == "full":
            if not arrives:
                raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
            return super().write(fd, data[:arrives])
        left = {
            "part": data[:arrives],
            "all but its line feed": data[:-1],
            "whole": data,
            "empty sectors": data[:arrives] + bytes(len(data) - arrives),
        }[strike]
        if left:
            super().write(fd, left)
        raise Killed(strike)

    def fdatasync(self, fd: int) -> None:
        if self.strike == "sync":
            self.strike = ""
            raise OSError(errno.EIO, os.strerror(errno.EIO))
        if self.waits:
            super().fdatasync(fd)

    def fsync_dir(self, folder: Path) -> None:
        if self.waits:
            super().fsync_dir(folder)
