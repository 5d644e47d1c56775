"""The grammar of a line: who, and a command with its words, or a value.

    [as NAME:] [= TEXT | :COMMAND WORDS | TEXT]

A line that begins with `=` is a value whatever it looks like; `?` alone is `:why`.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass

from runner.job.demand import Option

LONGEST = 4096
"""Letters of one line; more is refused before it is looked at."""
_AS = re.compile(r"as +([^:]+?)( *): *(.*)", re.IGNORECASE | re.DOTALL)
_NUMBER = re.compile(r"[1-9][0-9]{0,3}", re.ASCII)


@dataclass(frozen=True, slots=True)
class Typed:
    """One line, taken apart. `command` is None for a value; `text` are the command's words or the value."""

    text: str
    name: str = ""
    command: bool = False
    literal: bool = False


def parse_line(line: str) -> Typed:
    """Take a line apart; any text gives something."""
    text = line.strip()
    if text == "?":
        return Typed("why", command=True)
    name = ""
    match = _AS.fullmatch(text)
    if match is not None:
        name, gap, text = match[1].strip(), match[2], match[3]
        # `as Ben :note dry` has no colon after the name: the colon belongs to the command.
        if gap and not text.startswith(":"):
            text = ":" + text
    if text.startswith("="):
        return Typed(text[1:].strip(), name, literal=True)
    if text.startswith(":"):
        return Typed(text[1:].strip(), name, command=True)
    return Typed(text, name)


def folded(text: str) -> str:
    """Return words as they are compared: case and blanks do not count."""
    return " ".join(text.split()).casefold()


def picked(text: str, options: Sequence[Option]) -> Option | None:
    """Return the option meant: by its key or label, or else by its number from 1."""
    wanted = folded(text)
    for option in options:
        if wanted in (folded(option.key), folded(option.label)):
            return option
    if _NUMBER.fullmatch(text.strip()) and int(text) <= len(options):
        return options[int(text) - 1]
    return None


def halves(text: str, mark: str) -> tuple[str, str]:
    """Return what stands before and after the first `mark`; the second is empty where there is none."""
    before, _, after = text.partition(mark)
    return before.strip(), after.strip()
