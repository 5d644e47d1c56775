"""How wide text is, in columns of a terminal and in print, and how it is cut with … where there is no room."""

import unicodedata
from collections.abc import Callable
from functools import lru_cache

_NARROW = frozenset("iljtfrI.,:;'|!()[]/ -·`\"")
_WIDE = frozenset("mwMWOQ@%&—…→")


def columns(text: str) -> int:
    """How many columns of a terminal a safe text takes."""
    if text.isascii():
        return len(text)
    return sum(_columns(character) for character in text)


def _columns(character: str) -> int:
    if unicodedata.combining(character) or character == "\u200d":
        return 0
    return 2 if unicodedata.east_asian_width(character) in ("W", "F") else 1


@lru_cache(8192)  # a layout is tried in dozens of styles, in each of which the same words are measured
def printed(text: str) -> float:
    """How wide a safe text is in print, in heights of its type.

    Reckoned generously, by the widths of a wide sans serif: which type a viewer takes is not known, and text must
    stay inside its box with any.
    """
    return sum(_printed(character) for character in text)


@lru_cache(4096)  # letters beyond ASCII are looked up
def _printed(character: str) -> float:
    if character in _NARROW:
        return 0.41
    if character in _WIDE:
        return 1.0
    if character.isascii():
        return 0.72 if character.isupper() else 0.63
    if unicodedata.combining(character):
        return 0.0
    wide = unicodedata.east_asian_width(character)
    return 1.0 if (wide in ("W", "F", "A", "N") and not character.isalpha()) or wide in ("W", "F") else 0.75


def cut(text: str, room: float, width: Callable[[str], float] = columns, mark: str = "…") -> str:
    """The text, or as much of its beginning as fits into `room` with a mark after it."""
    if width(text) <= room:
        return text
    left = room - width(mark)
    if left < 0:
        return ""
    kept = 0
    for kept, character in enumerate(text):  # noqa: B007 - how many fit is asked after the loop
        left -= width(character)
        if left < 0:
            break
    return text[:kept].rstrip() + mark


def wrapped(text: str, room: float, most: int, width: Callable[[str], float] = columns) -> tuple[str, ...]:
    """The text in at most `most` lines of `room`; a long word is broken, what is left over is cut with …"""
    lines: list[str] = []
    rest = text.strip()
    while rest and len(lines) < most - 1 and width(rest) > room:
        line = _fitting(rest, room, width)
        lines.append(line.rstrip())
        rest = rest[len(line) :].lstrip()
    if rest:
        lines.append(cut(rest, room, width))
    return tuple(lines)


def _fitting(text: str, room: float, width: Callable[[str], float]) -> str:
    """The longest beginning that fits, up to a blank if there is one; at least one character."""
    left, blank = room, 0
    for index, character in enumerate(text):
        left -= width(character)
        if left < 0:
            return text[: blank or max(index, 1)]
        if character == " ":
            blank = index + 1
    return text
