"""A real terminal around the bench: a pty, a screen that understands what is written to it, and nothing of ours."""

import fcntl
import os
import pty
import select
import signal
import struct
import sys
import termios
import time
from pathlib import Path

import pyte

ROOT = Path(__file__).parents[2]


class Terminal:
    """A program on a pty. `until` waits for text, never for time alone; `raw` is everything the program wrote."""

    def __init__(
        self, code: str, *, env: dict[str, str] | None = None, size: tuple[int, int] = (80, 24)
    ) -> None:
        self.screen = pyte.Screen(*size)
        self._stream = pyte.ByteStream(self.screen)
        self.raw = b""
        self.status: int | None = None
        known = {
            "TERM": "xterm-256color",
            "PATH": os.environ["PATH"],
            "HOME": "/nonexistent",
            "LANG": "C.UTF-8",
        }
        self.pid, self.fd = pty.fork()
        if self.pid == 0:
            fcntl.ioctl(0, termios.TIOCSWINSZ, struct.pack("HHHH", size[1], size[0], 0, 0))
            os.chdir(ROOT)
            os.execve(sys.executable, [sys.executable, "-c", code], {**known, **(env or {})})

    def _read(self, seconds: float) -> bool:
        if not select.select([self.fd], [], [], seconds)[0]:
            return True
        try:
            data = os.read(self.fd, 65536)
        except OSError:
            return False
        self.raw += data
        # pyte does not know the private key-protocol sequences and would print their letters.
        self._stream.feed(data)
        return bool(data)

    def press(self, key: str, text: str) -> str:
        """Press a key until a text comes: a busy machine may show a picture before the bench takes keys for it."""
        for _ in range(5):
            self.send(key)
            try:
                return self.until(text, seconds=6.0)
            except AssertionError:
                continue
        return self.until(text)

    def until(self, text: str, seconds: float = 30.0) -> str:
        """The screen once `text` is on it."""
        end = time.monotonic() + seconds
        alive = True
        while text not in self.text:
            assert time.monotonic() < end, f"{text!r} did not come:\n{self.text}"
            assert alive, f"the program ended before {text!r} came:\n{self.text}"
            alive = self._read(0.05)
        return self.text

    def changed(self, screen: str, seconds: float = 20.0) -> str:
        """The screen once it differs from `screen` and nothing more comes for a moment."""
        end = time.monotonic() + seconds
        while self.text == screen and self._read(0.05):
            assert time.monotonic() < end, f"nothing changes:\n{self.text}"
        while select.select([self.fd], [], [], 0.08)[0] and self._read(0):
            pass
        return self.text

    @property
    def text(self) -> str:
        """The screen as text."""
        return "\n".join(self.screen.display)

    def send(self, data: str | bytes) -> None:
        """Keys."""
        os.write(self.fd, data.encode() if isinstance(data, str) else data)

    def signal(self, number: int) -> None:
        """A signal to the program."""
        os.kill(self.pid, number)

    def wait(self, seconds: float = 20.0) -> int:
        """The exit code (negative: the signal that killed it), after reading all it still wrote."""
        end = time.monotonic() + seconds
        while self.status is None:
            assert time.monotonic() < end, f"it does not end:\n{self.text}"
            if self.fd >= 0:
                self._read(0.02)
            pid, status = os.waitpid(self.pid, os.WNOHANG)
            if pid:
                self.status = os.waitstatus_to_exitcode(status)
        while self.fd >= 0 and select.select([self.fd], [], [], 0)[0] and self._read(0):
            pass
        return self.status

    def hang_up(self) -> None:
        """The terminal is gone."""
        os.close(self.fd)
        self.fd = -1

    def close(self) -> None:
        """Whatever is left of it goes."""
        if self.status is None:
            pid, _ = os.waitpid(self.pid, os.WNOHANG)
            if not pid:
                os.kill(self.pid, signal.SIGKILL)
                os.waitpid(self.pid, 0)
        if self.fd >= 0:
            os.close(self.fd)
