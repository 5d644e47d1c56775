"""Lines in and lines out, for people, screen readers, pipes and scripts alike.

Everything printed is made safe here, once. Where input does not come from a keyboard it is written after its
prompt, so that what a script did reads like what a person did.
"""

import select
import sys
from collections.abc import Iterable
from typing import TextIO

from runner.plain.grammar import LONGEST
from runner.safe_text import plain_ascii, safe


class Console:
    """Where line mode reads and writes."""

    def __init__(self, source: TextIO, target: TextIO, *, ascii_only: bool = False) -> None:
        self._source = source
        self._target = target
        self._ascii = ascii_only
        self._typed_here = source.isatty()
        self.typed_ahead = False
        """Whether the last line was there before its prompt was: at a keyboard only, never in a script."""

    def say(self, lines: Iterable[str]) -> None:
        """Print lines; a line end inside one starts another line. Raises BrokenPipeError, OSError."""
        for line in lines:
            for part in line.split("\n"):
                print(self._shown(part), file=self._target)
        self._target.flush()

    def ask(self, prompt: str) -> str | None:
        """Return the line typed; None at the end of input. A line that is too long counts as not typed."""
        self.typed_ahead = self._typed_here and self._waits()
        self._target.write(self._shown(prompt))
        self._target.flush()
        while True:
            line = self._source.readline(LONGEST + 1)
            if not line:
                self._target.write("\n")
                return None
            if len(line) <= LONGEST or line.endswith("\n"):
                break
            self._drop_rest()
            self.say([f"\nA line has at most {LONGEST} letters; nothing of that one was used."])
            self._target.write(self._shown(prompt))
            self._target.flush()
        text = line.rstrip("\r\n")
        if not self._typed_here:
            print(self._shown(text), file=self._target)
        return text

    def _waits(self) -> bool:
        """Whether a line waits to be read; False where that cannot be told."""
        try:
            return bool(select.select([self._source], [], [], 0)[0])
        except (OSError, ValueError):  # no file that can be waited for, as a console of Windows
            return False

    def _drop_rest(self) -> None:
        while (rest := self._source.readline(LONGEST)) and not rest.endswith("\n"):
            pass

    def _shown(self, text: str) -> str:
        return plain_ascii(text) if self._ascii else safe(text)


def standard_console(*, ascii_only: bool) -> Console:
    """Return the console of this process; input that is not UTF-8 is read with marks instead of failing."""
    reconfigure = getattr(sys.stdin, "reconfigure", None)
    if reconfigure is not None:
        reconfigure(errors="replace")
    return Console(sys.stdin, sys.stdout, ascii_only=ascii_only)
