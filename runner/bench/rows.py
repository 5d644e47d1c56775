"""Rows of inked text: what every part of the bench draws, and nothing that knows Textual.

A row is a tuple of spans. Widths are terminal cells, so wide and combining characters stay in their columns.
"""

from collections.abc import Iterable, Sequence
from typing import NamedTuple

from rich.cells import cell_len, set_cell_size

from runner.bench.literal import literal
from runner.bench.theme import Ink


class Span(NamedTuple):
    """Text in one ink. `hit` names the key that a mouse click on it stands for; empty for none."""

    text: str
    ink: Ink = "plain"
    hit: str = ""


Row = tuple[Span, ...]
EMPTY: Row = ()


def span(text: str, ink: Ink = "plain", hit: str = "") -> Span:
    """A span of text made safe for the terminal. All text enters rows here."""
    return Span(literal(text), ink, hit)


def row(*parts: Span | str) -> Row:
    """A row of spans; plain strings are in plain ink."""
    return tuple(part if isinstance(part, Span) else span(part) for part in parts)


def width_of(line: Row) -> int:
    """Width in cells."""
    return sum(cell_len(part.text) for part in line)


def text_of(line: Row) -> str:
    """The row without its inks."""
    return "".join(part.text for part in line)


def clip(line: Row, width: int, more: str = "…") -> Row:
    """The row cut to `width` cells; where something is lost, `more` stands at the end."""
    if width_of(line) <= width:
        return line
    keep = max(width - cell_len(more), 0)
    kept: list[Span] = []
    for part in line:
        size = cell_len(part.text)
        if size > keep:
            kept.append(Span(set_cell_size(part.text, keep), part.ink, part.hit))
            break
        kept.append(part)
        keep -= size
    last = kept[-1] if kept else Span("")
    return (*kept, Span(more, last.ink, last.hit)) if width >= cell_len(more) else tuple(kept)


def fit(line: Row, width: int, more: str = "…") -> Row:
    """The row cut or filled up to exactly `width` cells."""
    line = clip(line, width, more)
    lack = width - width_of(line)
    return (*line, Span(" " * lack)) if lack > 0 else line


def spread(left: Row, right: Row, width: int, more: str = "…") -> Row:
    """`left` at the left and `right` whole at the right; `left` gives way."""
    right = clip(right, width, more)
    return (*fit(left, width - width_of(right), more), *right)


def wrap(text: str, width: int) -> list[str]:
    """Lines of at most `width` cells, broken between words, in a word only where it is longer than a line."""
    lines: list[str] = []
    for part in text.split("\n") if text else []:
        lines.extend(_wrap_line(literal(part.rstrip("\r").replace("\t", "  ")), max(width, 2)))
    return lines


def _wrap_line(text: str, width: int) -> list[str]:
    if cell_len(text) <= width:
        return [text]  # as it stands: a sketch lives from its spaces
    lines: list[str] = []
    line = ""
    size = 0
    for word in text.split():
        length = cell_len(word)
        if size and size + 1 + length > width:
            lines.append(line)
            line, size = "", 0
        rest = word
        while length > width:
            head = set_cell_size(rest, width).rstrip() or rest[0]
            lines.append(head)
            rest = rest[len(head) :]
            length = cell_len(rest)
        line = f"{line} {rest}" if size else rest
        size = cell_len(line)
    lines.append(line)
    return lines


def paragraph(text: str, width: int, ink: Ink = "plain", *, limit: int = 0, more: str = "…") -> list[Row]:
    """Wrapped rows; with `limit`, at most that many and the last marked where text is left out."""
    lines = wrap(text, width)
    if limit and len(lines) > limit:
        last = clip(row(Span(lines[limit - 1] + "  " + lines[limit], ink)), max(width - len(more), 1), more)
        return [*(row(Span(line, ink)) for line in lines[: limit - 1]), last]
    return [row(Span(line, ink)) for line in lines]


def hanging(
    lead: Row, text: str, width: int, ink: Ink = "plain", *, limit: int = 0, more: str = "…"
) -> list[Row]:
    """`lead` before the first line, and the lines after it indented as far."""
    indent = width_of(lead)
    body = paragraph(text, width - indent, ink, limit=limit, more=more) or [EMPTY]
    return [(*lead, *body[0]), *((Span(" " * indent), *line) for line in body[1:])]


def beside(left: Sequence[Row], right: Sequence[Row], left_width: int, gap: int = 2) -> list[Row]:
    """Two blocks side by side, tops level."""
    lines = []
    for index in range(max(len(left), len(right))):
        a = left[index] if index < len(left) else EMPTY
        b = right[index] if index < len(right) else EMPTY
        lines.append((*fit(a, left_width), Span(" " * gap), *b) if b else a)
    return lines


def block(lines: Iterable[Row], height: int) -> list[Row]:
    """Exactly `height` rows: the first ones, filled up with empty ones."""
    kept = list(lines)[:height]
    return kept + [EMPTY] * (height - len(kept))


def cut(lines: list[Row], limit: int, width: int, more: str) -> list[Row]:
    """At most `limit` rows; where rows are left out the last one says so."""
    if len(lines) <= limit:
        return lines
    kept = lines[: max(limit, 1)]
    mark = span(f" {more}", "strong")
    return [*kept[:-1], (*clip(kept[-1], width - cell_len(mark.text), ""), mark)]


def texts(lines: Iterable[Row]) -> list[str]:
    """The rows as plain lines, for tests and goldens."""
    return [text_of(line).rstrip() for line in lines]
