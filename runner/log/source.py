"""Reading a file through the replaceable system calls."""

import io
import os
import stat
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import BinaryIO, cast

from runner.log.errors import Refused
from runner.outside import Files

_BUFFER = 1 << 18


class _Raw(io.RawIOBase):
    """An open file from its first byte, without ever moving its own position."""

    def __init__(self, files: Files, fd: int) -> None:
        super().__init__()
        self._files = files
        self._fd = fd
        self._at = 0

    def readable(self) -> bool:
        return True

    def seekable(self) -> bool:
        return True

    def seek(self, offset: int, whence: int = os.SEEK_SET) -> int:
        if whence == os.SEEK_END:
            raise io.UnsupportedOperation(
                "a log may grow while it is read: its end is no place to count from"
            )
        self._at = offset if whence == os.SEEK_SET else self._at + offset
        return self._at

    def readinto(self, buffer: memoryview) -> int:  # type: ignore[override]
        data = self._files.read(self._fd, len(buffer), self._at)
        buffer[: len(data)] = data
        self._at += len(data)
        return len(data)


def source(files: Files, fd: int) -> BinaryIO:
    """The bytes of the open file `fd` from its beginning; the file stays open when this is dropped."""
    return cast("BinaryIO", io.BufferedReader(_Raw(files, fd), _BUFFER))


@contextmanager
def reading(path: Path, files: Files) -> Iterator[BinaryIO]:
    """The bytes of the file at `path`, for anyone who may read it: no lock, no write permission.

    Raises Refused for what is no regular file, OSError where it cannot be read.
    """
    # Without O_NONBLOCK the opening of a FIFO would wait for a writer for ever.
    fd = files.open(path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0))
    try:
        if not stat.S_ISREG(files.fstat(fd).st_mode):
            raise Refused(f"{path.name} is not a regular file.")
        yield source(files, fd)
    finally:
        files.close(fd)
