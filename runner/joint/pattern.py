"""The order in which the fasteners of a group are tightened, written out by number.

Fasteners are numbered by position, clockwise round a circle or along a row and then along the next
(`joint.places`), never by the order of tightening. The star follows the legacy cross pattern of ASME PCC-1 for
flanges and the step-of-two star of a wheel with five studs; `tests/joint/test_pattern.py` holds the published rows,
and `sources` says what each order rests on, since no row was read in the standard itself.
For rows no standard has numbers: from the middle outwards is the common shape of makers' orders, and where a maker
gives one it is written out ("given").
"""

from collections.abc import Sequence
from itertools import groupby
from typing import Literal

from runner.joint.places import Place, in_rows
from runner.joint.sourced import Source

Order = Literal["star", "around", "from the middle", "in line", "given"]

# PCC-1 writes 28 bolts in an order of its own; every other published row follows the rule of `_star`.
_TWENTY_EIGHT = (
    1, 15, 8, 22, 4, 18, 11, 25, 6, 20, 13, 27, 2, 16, 9, 23, 5, 19, 12, 26, 3, 17, 10, 24, 7, 21, 14, 28,
)  # fmt: skip

# Rows 28 and 32 of the same pattern are known from memory only.
_PCC_1 = Source("ASME PCC-1, legacy cross pattern", "secondary")
_PCC_1_RECALLED = Source("ASME PCC-1, legacy cross pattern", "memory")
_TWELVE = Source("a public page on the order of 12 bolts", "text", note="of low authority")
_WHEELS = {
    5: Source("a consumer page on wheels with five studs", "text", note="of low authority"),
    6: Source(
        "a repair video on wheels with six studs",
        "text",
        note="of low authority: it says across, diagonal, across",
    ),
}
_PUBLISHED = (4, 8, 12, 16, 24)
_CARRIED_ON = Source(
    "the rule of the published orders carried on to this many",
    "worked out",
    note="no published row of it is known here",
)
_MAKERS = Source(
    "the common shape of makers' orders", "text",
    note="no standard has numbers for it; where the maker gives an order, that one counts",
)  # fmt: skip


def sources(order: Order, n: int) -> tuple[Source, ...]:
    """What the order of `n` fasteners rests on; nothing for one of a few that has no choice, by number, or given.

    An order round a circle or along a row needs no source, and one that is given has the procedure's own.
    """
    if order == "from the middle" and n > 2:
        return (_MAKERS,)
    if order != "star" or n < 4:
        return ()
    if n in (28, 32):
        return (_PCC_1_RECALLED,)
    if n in _PUBLISHED:
        return (_TWELVE, _PCC_1) if n == 12 else (_PCC_1,)
    return (_WHEELS[n],) if n in _WHEELS else (_PCC_1, _CARRIED_ON)


def sequence(order: Order, n: int, given: Sequence[int] = (), rows: Sequence[int] = ()) -> tuple[int, ...]:
    """The numbers 1 to `n` in the order of tightening.

    given: the author's own order, for "given". rows: how many fasteners stand in each row; none for a circle or
    a line. "around" goes clockwise round a circle, or round the rim of the rows and inwards from there; "in line"
    goes by number. Raises ValueError where there is no fastener, where `given` does not name each one once, where
    `rows` hold another number of them, and for a star of rows, which have no circle to go across.
    """
    if n < 1:
        raise ValueError("a group has at least one fastener")
    if rows and (min(rows) < 1 or sum(rows) != n):
        raise ValueError(f"the rows must hold {n} fasteners, and each row one at least")
    if order == "star":
        if rows:
            raise ValueError("a star goes across a circle, and rows have none")
        return _star(n)
    if order == "from the middle":
        return _outwards(in_rows(rows or (n,)))
    if order == "around" and rows:
        return tuple(_round_the_rim(_numbered(rows)))
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


def _outwards(places: Sequence[Place]) -> tuple[int, ...]:
    """The nearest to the centroid first, and then outwards, the two ends of the group in turn.

    Of those that are equally far, each is followed by the one across the centroid; where rows of different length leave
    none there, by its mirror image. Rows are centred, so one of the two exists for each that is not in the middle.
    """
    down = _longer_down(places)
    number_of = {place: number for number, place in enumerate(places, start=1)}
    ordered: list[int] = []
    for _, same in groupby(sorted(places, key=lambda place: place.away), key=lambda place: place.away):
        ring = sorted(same, key=number_of.__getitem__)
        for place in [each for each in ring if (each.y if down else each.x) <= 0]:
            mirrored = Place(place.x, -place.y) if down else Place(-place.x, place.y)
            partner = place.opposite if place.opposite in ring else mirrored
            ordered += [number_of[place], number_of.get(partner, number_of[place])]
    return tuple(dict.fromkeys(ordered))


def _longer_down(places: Sequence[Place]) -> bool:
    """Whether the two ends of the group are its first and last row; only where one is the mirror of the other."""
    wide = max(place.x for place in places)
    high = max(place.y for place in places)
    return high > wide and {Place(place.x, -place.y) for place in places} == set(places)


def _numbered(rows: Sequence[int]) -> list[list[int]]:
    numbered, first = [], 1
    for many in rows:
        numbered.append(list(range(first, first + many)))
        first += many
    return numbered


def _round_the_rim(rows: list[list[int]]) -> list[int]:
    """Clockwise along the outermost fasteners from the first of the first row, then the same with those inside."""
    if len(rows) < 2:
        return rows[0] if rows else []
    top, *between, bottom = rows
    right = [row[-1] for row in between]
    left = [row[0] for row in reversed(between) if len(row) > 1]
    inside = [row[1:-1] for row in between if len(row) > 2]
    return [*top, *right, *reversed(bottom), *left, *_round_the_rim(inside)]
