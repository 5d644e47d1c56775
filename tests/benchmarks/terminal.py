"""A program on a real pty, driven byte by byte: when a text is first drawn, and how long a key takes."""

import fcntl
import os
import pty
import select
import signal
import struct
import sys
import termios
import time
from collections.abc import Sequence
from types import TracebackType
from typing import Self

LIMIT_S = 30.0


class Terminal:
    """One program on a pty of the given size. `seen` is everything it wrote, raw."""

    def __init__(
        self, command: Sequence[str], *, rows: int = 24, columns: int = 80, env: dict[str, str] | None = None
    ) -> None:
        self.started = time.perf_counter()
        self.pid, self.fd = pty.fork()
        if self.pid == 0:
            # A program that is installed has its compiled modules beside it; so has this one, after its first start.
            os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
            os.environ.update({"TERM": "xterm-256color", "COLORTERM": "truecolor", **(env or {})})
            os.execvp(command[0], list(command))
        fcntl.ioctl(self.fd, termios.TIOCSWINSZ, struct.pack("HHHH", rows, columns, 0, 0))
        self.seen = b""

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        os.kill(self.pid, signal.SIGKILL)
        os.waitpid(self.pid, 0)
        os.close(self.fd)

    def write(self, data: bytes) -> None:
        """Send keys."""
        os.write(self.fd, data)

    def read(self, seconds: float) -> None:
        """Take in what the program writes within so many seconds."""
        ready, _, _ = select.select([self.fd], [], [], seconds)
        if ready:
            try:
                self.seen += os.read(self.fd, 65536)
            except OSError:
                sys.exit(f"the program ended:\n{self.seen[-2000:].decode(errors='replace')}")

    def wait_for(self, text: bytes, start: int = 0) -> float:
        """Seconds since the program started until `text` was drawn after byte `start`; ends the benchmark if never."""
        end = time.perf_counter() + LIMIT_S
        while text not in self.seen[start:]:
            self.read(0.5)
            if time.perf_counter() > end:
                sys.exit(f"{text!r} was never drawn:\n{self.seen[-2000:].decode(errors='replace')}")
        return time.perf_counter() - self.started
