"""The paint stripe down the left edge: one mark per item, from the first of the ledger at the top to the last.

It grows by solid paint through each item that is final, stays bare track where nothing was opened, and breaks where
something is still open. The marks differ in shape, so it reads the same without colour.
"""

from collections.abc import Sequence

from runner.bench.rows import Row, span
from runner.bench.theme import Ink, Signs
from runner.view import ItemLine, MarkState

WIDTH = 3

_WORST_FIRST: tuple[MarkState, ...] = ("open", "not done", "part", "whole", "not applicable", "final")
_INK: dict[MarkState, Ink] = {
    "final": "paint",
    "part": "paint",
    "open": "gap",
    "not done": "gap",
    "whole": "track",
    "not applicable": "track",
}


def mark_sign(mark: MarkState, signs: Signs) -> str:
    """Three cells for a mark."""
    return {
        "final": signs.final,
        "part": signs.part,
        "open": signs.open,
        "not done": signs.not_done,
        "whole": signs.whole,
        "not applicable": signs.not_applicable,
    }[mark]


def stripe(items: Sequence[ItemLine], height: int, signs: Signs) -> list[Row]:
    """`height` rows. With more rows than items each takes its share; with fewer, a row shows the worst of its items."""
    if not items:
        return [(span(signs.whole, "track"),)] * height
    rows: list[Row] = []
    for line in range(height):
        first = line * len(items) // height
        last = max((line + 1) * len(items) // height, first + 1)
        marks = {item.mark for item in items[first:last]}
        worst = next(mark for mark in _WORST_FIRST if mark in marks)
        rows.append((span(mark_sign(worst, signs), _INK[worst]),))
    return rows


def legend(signs: Signs) -> tuple[str, ...]:
    """What the marks mean, for the explanation."""
    words: tuple[tuple[MarkState, str], ...] = (
        ("final", "final: brought to its last state"),
        ("part", "part of the way"),
        ("open", "open: the stripe is broken here"),
        ("not done", "left not done"),
        ("whole", "not opened"),
        ("not applicable", "not on this work piece"),
    )
    return tuple(f"[{mark_sign(mark, signs)}]  {text}" for mark, text in words)
