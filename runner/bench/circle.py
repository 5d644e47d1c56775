"""Where the fasteners of a group are, and which one comes next.

A star is drawn round a circle, numbered clockwise from the top as `joint.pattern` numbers them; every other order is
a row in the order of tightening. The next one stands in arrows, those done carry paint.
"""

import math
from collections.abc import Sequence

from runner.bench.rows import Row, Span, span
from runner.bench.theme import Ink, Signs
from runner.joint.pattern import sequence as pattern_sequence


def is_star(order: Sequence[int]) -> bool:
    """Whether this order only makes sense round a circle."""
    return len(order) > 3 and tuple(order) == pattern_sequence("star", len(order))


def circle(
    order: Sequence[int], done: Sequence[int], now: int, height: int, signs: Signs
) -> list[Row] | None:
    """The group round a circle, at most `height` rows; None where the labels would touch."""
    count = len(order)
    radius = min((height - 1) / 2, max(2.0, count / 2.2))
    if radius < 2 or count > radius * 6:
        return None
    middle_x = round(radius * 2.2) + 3
    middle_y = round(radius)
    grid: dict[int, list[tuple[int, Span]]] = {}
    for number in range(1, count + 1):
        turn = 2 * math.pi * (number - 1) / count
        x = middle_x + round(radius * 2.2 * math.sin(turn)) - 2
        y = middle_y - round(radius * math.cos(turn))
        grid.setdefault(y, []).append((x, _label(number, done, now, signs)))
    lines: list[Row] = []
    for y in range(2 * middle_y + 1):
        line: list[Span] = []
        at = 0
        for x, label in sorted(grid.get(y, [])):
            if x < at:
                return None
            line += [Span(" " * (x - at)), label]
            at = x + len(label.text)
        lines.append(tuple(line))
    return lines


def line_of_members(
    order: Sequence[int], done: Sequence[int], now: int, width: int, signs: Signs
) -> list[Row]:
    """The group in its order of tightening, as many rows of `width` as it needs."""
    lines: list[list[Span]] = [[]]
    used = 0
    for number in order:
        label = _label(number, done, now, signs)
        if used + len(label.text) > width and lines[-1]:
            lines.append([])
            used = 0
        lines[-1].append(label)
        used += len(label.text)
    return [tuple(line) for line in lines]


def _label(number: int, done: Sequence[int], now: int, signs: Signs) -> Span:
    if number == now:
        return span(f"{signs.prompt}{number:>2} ", "chip")
    ink: Ink = "paint" if number in done else "plain"
    return span(f"{signs.member_done if number in done else ' '}{number:>2} ", ink)
