"""The fasteners of a group by number: the next one stands in the arrow, those done carry paint.

Every drawing is made here from places in cells; where labels would touch or leave the room there is none.
"""

from collections.abc import Mapping, Sequence

from runner.bench.rows import Row, Span, span
from runner.bench.theme import Ink, Signs
from runner.frozen import Frozen


class Group(Frozen):
    """A group in the middle of a round: its order of tightening, those done in this round, whose turn it is."""

    order: tuple[int, ...]
    done: tuple[int, ...]
    now: int

    @property
    def cells(self) -> int:
        """The width of a label: a sign, the number, a blank."""
        return max(2, len(str(len(self.order)))) + 2

    def label(self, number: int, signs: Signs) -> Span:
        """A fastener with its sign, `cells` wide."""
        digits = self.cells - 2
        if number == self.now:
            return span(f"{signs.prompt}{number:>{digits}} ", "chip")
        ink: Ink = "paint" if number in self.done else "plain"
        return span(f"{signs.member_done if number in self.done else ' '}{number:>{digits}} ", ink)


def drawn(group: Group, places: Mapping[int, tuple[int, int]], signs: Signs) -> list[Row] | None:
    """The labels at their places (column, row), from 0; None where two would touch."""
    lines: list[Row] = []
    for y in range(max((y for _, y in places.values()), default=-1) + 1):
        line: list[Span] = []
        at = 0
        for x, number in sorted((x, number) for number, (x, row) in places.items() if row == y):
            if x < at:
                return None
            line += [Span(" " * (x - at)), group.label(number, signs)]
            at = x + group.cells
        lines.append(tuple(line))
    return lines


def line_of_members(group: Group, width: int, signs: Signs) -> list[Row]:
    """The group in its order of tightening, as many rows of `width` as it needs."""
    each = max(width // group.cells, 1)
    return [
        tuple(group.label(number, signs) for number in group.order[first : first + each])
        for first in range(0, len(group.order), each)
    ]


def in_numbers(places: Sequence[tuple[int, int]]) -> dict[int, tuple[int, int]]:
    """Places in the order of the numbers, by number."""
    return dict(enumerate(places, start=1))
