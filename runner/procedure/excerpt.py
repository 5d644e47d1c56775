"""Text of unknown origin made visible on one line: for messages and for the source line under them."""

import unicodedata

WIDEST = 100
"""Columns of the source line that are shown around the place meant."""

_BEFORE = 60
"""Characters kept before the place meant when a line is too long to show."""


def visible(text: str) -> str:
    r"""Give `text` on one line, control, format and odd blank characters as escapes (`\t`, `\x1b`)."""
    if text.isprintable():
        return text
    return "".join(map(_shown, text))


def _shown(character: str) -> str:
    if character.isprintable():
        return character
    return ascii(character)[1:-1]


def columns(text: str) -> int:
    """Give how many terminal columns `text` takes: wide characters two, combining marks none."""
    if text.isascii():
        return len(text)
    return sum(map(_width, text))


def _width(character: str) -> int:
    if unicodedata.category(character) in {"Mn", "Me"}:
        return 0
    return 2 if unicodedata.east_asian_width(character) in {"W", "F"} else 1


def underlined(line: str, column: int, length: int) -> tuple[str, str]:
    """Give a source line made harmless and a line of carets under `length` characters from `column` (from 1).

    A long line is cut around the place, with `…` where something was left out.
    """
    start = min(max(column - 1, 0), len(line))
    stop = min(start + max(length, 1), len(line))
    first = max(0, start - _BEFORE) if columns(visible(line)) > WIDEST else 0
    before = ("…" if first else "") + visible(line[first:start])
    meant, after = visible(line[start:stop]), visible(line[stop : stop + WIDEST])
    meant = _cut(meant, WIDEST - min(columns(before), _BEFORE))
    after = _cut(after, max(0, WIDEST - columns(before) - columns(meant)))
    return before + meant + after, " " * columns(before) + "^" * max(columns(meant), 1)


def _cut(text: str, room: int) -> str:
    if columns(text) <= room:
        return text
    kept = ""
    for character in text:
        if columns(kept) + _width(character) > room - 1:
            break
        kept += character
    return kept + "…"
