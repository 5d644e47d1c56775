"""Where the fasteners of a group stand: round a circle, or in rows one behind another.

Numbers count positions: clockwise from the top of a circle, along the first row and then along the next. The places
serve the orders of `joint.pattern` and the drawings of the bench; they are a picture, not dimensions: neighbours in a
row stand one apart, rows stand one apart, and every row is centred.
"""

import math
from collections.abc import Sequence
from fractions import Fraction
from typing import NamedTuple


class Place(NamedTuple):
    """Right of and below the centroid of the group, exactly, in spaces between neighbours."""

    x: Fraction
    y: Fraction

    @property
    def away(self) -> Fraction:
        """The square of the distance from the centroid."""
        return self.x * self.x + self.y * self.y

    @property
    def opposite(self) -> "Place":
        """The place across the centroid."""
        return Place(-self.x, -self.y)


def in_rows(rows: Sequence[int]) -> tuple[Place, ...]:
    """The place of each fastener by number, `rows` of so many each.

    Raises ValueError where there is no row or a row has no fastener.
    """
    if not rows or min(rows) < 1:
        raise ValueError("every row has at least one fastener")
    middle = Fraction(sum(at * many for at, many in enumerate(rows)), sum(rows))
    return tuple(
        Place(number - Fraction(many - 1, 2), at - middle)
        for at, many in enumerate(rows)
        for number in range(many)
    )


def on_circle(n: int) -> tuple[tuple[float, float], ...]:
    """The place (right, below) of each of `n` fasteners on a circle of radius 1, clockwise from the top."""
    turns = (2 * math.pi * number / n for number in range(n))
    return tuple((math.sin(turn), -math.cos(turn)) for turn in turns)
