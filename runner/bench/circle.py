"""A group round a circle, numbered clockwise from the top as `joint.pattern` numbers it.

Where a true circle has no room for its labels, it is pressed into a ring: a row at the top, one at the bottom, and the
sides between them. What is opposite stays opposite.
"""

from collections.abc import Sequence

from runner.bench.members import Group, drawn, in_numbers
from runner.bench.rows import Row
from runner.bench.theme import Signs
from runner.joint.pattern import sequence as pattern_sequence
from runner.joint.places import on_circle

_ROUND = 2.2
"""So many columns are as wide as a row is high."""


def is_star(order: Sequence[int]) -> bool:
    """Whether this order only makes sense round a circle."""
    return len(order) > 3 and tuple(order) == pattern_sequence("star", len(order))


def circle(group: Group, width: int, height: int, signs: Signs) -> list[Row] | None:
    """The group round a circle in at most `width` cells and `height` rows; None where it does not fit."""
    return _true_circle(group, width, height, signs) or _ring(group, width, height, signs)


def _true_circle(group: Group, width: int, height: int, signs: Signs) -> list[Row] | None:
    count = len(group.order)
    radius = min((height - 1) / 2, max(2.0, count / 2.2))
    wide = round(radius * _ROUND)
    if radius < 2 or count > radius * 6 or 2 * wide + group.cells + 1 > width:
        return None
    places = [(wide + 1 + round(wide * x), round(radius) + round(radius * y)) for x, y in on_circle(count)]
    lines = drawn(group, in_numbers(places), signs)
    return lines if lines is not None and len(lines) <= height else None


def _ring(group: Group, width: int, height: int, signs: Signs) -> list[Row] | None:
    """The ring that is nearest to round among those that fit."""
    count, cell = len(group.order), group.cells
    shapes = []
    for side in range(1, height - 1):
        top = (count - 2 * side + 1) // 2
        wide = cell * (top + 2)
        if 2 * top + 2 * side - count <= 1 and top >= 2 and wide <= width:
            shapes.append((abs(wide - _ROUND * (side + 2)), side, top))
    if not shapes:
        return None
    _, side, top = min(shapes)
    bottom = count - top - 2 * side
    right = cell * (top + 1)
    inset = cell + (top - bottom) * cell // 2
    round_it = [
        *((cell * (1 + at), 0) for at in range(top)),
        *((right, 1 + at) for at in range(side)),
        *((inset + cell * at, side + 1) for at in reversed(range(bottom))),
        *((0, side - at) for at in range(side)),
    ]
    first = (top - 1) // 2
    return drawn(group, in_numbers(round_it[first:] + round_it[:first]), signs)
