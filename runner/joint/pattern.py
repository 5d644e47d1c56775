"""The order in which the fasteners of a group are tightened, written out by number.

Fasteners are numbered by position, clockwise round a circle or along a row, never by the order of tightening.
The star follows the legacy cross pattern of ASME PCC-1 for flanges and the step-of-two star of a wheel with
five studs; `tests/joint/test_pattern.py` holds the published rows.
"""

from collections.abc import Sequence
from typing import Literal

Order = Literal["star", "around", "from the middle", "in line", "given"]

# PCC-1 writes 28 bolts in an order of its own; every other published row follows the rule of `_star`.
_TWENTY_EIGHT = (
    1, 15, 8, 22, 4, 18, 11, 25, 6, 20, 13, 27, 2, 16, 9, 23, 5, 19, 12, 26, 3, 17, 10, 24, 7, 21, 14, 28,
)  # fmt: skip


def sequence(order: Order, n: int, given: Sequence[int] = ()) -> tuple[int, ...]:
    """The numbers 1 to `n` in the order of tightening; `given` is the author's own order for "given".

    Raises ValueError where there is no fastener or `given` does not name each one once.
    """
    if n < 1:
        raise ValueError("a group has at least one fastener")
    if order == "star":
        return _star(n)
    if order == "from the middle":
        return _from_the_middle(n)
    if order == "given":
        if sorted(given) != list(range(1, n + 1)):
            raise ValueError(f"the order must name each fastener from 1 to {n} once")
        return tuple(given)
    return tuple(range(1, n + 1))


def _star(n: int) -> tuple[int, ...]:
    """Across and across again.

    Even: the star of half as many gives the pairs, each with its opposite. Odd: no fastener has an opposite,
    so each step goes (n - 1) / 2 on, which visits all because that number and n share no factor.
    """
    if n == 28:
        return _TWENTY_EIGHT
    if n % 2 == 0:
        half = n // 2
        return tuple(number for first in _star(half) for number in (first, first + half))
    step = (n - 1) // 2
    return tuple(place * step % n + 1 for place in range(n)) if n > 1 else (1,)


def _from_the_middle(n: int) -> tuple[int, ...]:
    """Along a row: the middle first, then outwards, sides in turn."""
    middle = (n + 1) / 2
    return tuple(sorted(range(1, n + 1), key=lambda number: (abs(number - middle), number)))
