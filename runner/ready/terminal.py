"""The ready sheet in a terminal: safe lines, wrapped under their beginning."""

from collections.abc import Iterator

from runner.map.widths import columns, wrapped
from runner.ready.facts import Sheet
from runner.ready.wording import CAUTIONS, Line, heading, sections, warnings
from runner.safe_text import plain_ascii, safe

_MOST_LINES = 1000
"""Lines that one text may take; nothing is cut before."""
_NARROWEST = 40
_STEP_IN = 2
_BOX = "[ ] "


def terminal_lines(sheet: Sheet, width: int = 80, *, ascii_only: bool = False) -> list[str]:
    """The sheet as safe lines no wider than `width` columns (at least 40)."""
    return list(_Drawing(max(width, _NARROWEST), ascii_only=ascii_only).lines(sheet))


class _Drawing:
    """One sheet at one width."""

    def __init__(self, width: int, *, ascii_only: bool) -> None:
        self._width = width
        self._ascii = ascii_only

    def lines(self, sheet: Sheet) -> Iterator[str]:
        for each in heading(sheet):
            yield from self._put("", each)
        for warning in warnings(sheet):
            yield ""
            yield from self._put("! ", warning)
        yield ""
        for caution in CAUTIONS:
            yield from self._put("", caution)
        for section in sections(sheet):
            yield ""
            yield from self._put("", section.title.upper())
            for line in section.lines:
                yield from self._line(line, _STEP_IN)

    def _line(self, line: Line, indent: int) -> Iterator[str]:
        before = " " * indent + (_BOX if line.tick else "! " if line.strong else "")
        yield from self._put(before, line.text)
        for under in line.under:
            # What stands under a line begins where its words do, boxes apart.
            yield from self._line(under, indent + (len(_BOX) if line.tick else _STEP_IN))

    def _put(self, before: str, text: str) -> Iterator[str]:
        said = plain_ascii(text) if self._ascii else safe(text)
        room = max(self._width - len(before), 10)
        rest = " " * len(before)
        for number, part in enumerate(wrapped(said, room, _MOST_LINES, columns) or ("",)):
            yield f"{rest if number else before}{part}".rstrip()
