"""A source line shown under a message, with carets under the text that is meant."""

import unicodedata

from runner.safe_text import safe

WIDEST = 100
"""Columns of the source line that are shown around the place meant."""

_BEFORE = 60
"""Characters kept before the place meant when a line is too long to show."""


def columns(text: str) -> int:
    """Give how many terminal columns `text` takes: wide characters two, combining marks none."""
    if text.isascii():
        return len(text)
    return sum(map(_width, text))


def _width(character: str) -> int:
    if unicodedata.category(character) in {"Mn", "Me", "Cf"}:
        return 0
    return 2 if unicodedata.east_asian_width(character) in {"W", "F"} else 1


def underlined(line: str, column: int, length: int) -> tuple[str, str]:
    """Give a source line made harmless and a line of carets under `length` characters from `column` (from 1).

    A long line is cut around the place, with `…` where something was left out.
    """
    start = min(max(column - 1, 0), len(line))
    stop = min(start + max(length, 1), len(line))
    first = max(0, start - _BEFORE) if len(line) > WIDEST or columns(safe(line)) > WIDEST else 0
    before = ("…" if first else "") + safe(line[first:start])
    meant, after = safe(line[start : start + min(stop - start, WIDEST)]), safe(line[stop : stop + WIDEST])
    meant = _cut(meant, WIDEST - min(columns(before), _BEFORE))
    after = _cut(after, max(0, WIDEST - columns(before) - columns(meant)))
    return before + meant + after, " " * columns(before) + "^" * max(columns(meant), 1)


def _cut(text: str, room: int) -> str:
    if columns(text) <= room:
        return text
    kept, taken = "", 0
    for character in text:
        taken += _width(character)
        if taken > room - 1:
            break
        kept += character
    return kept + "…"
