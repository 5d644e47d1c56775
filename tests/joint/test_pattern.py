"""Orders of tightening against the published rows and their invariants."""

import itertools

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from runner.joint.pattern import sequence, sources
from runner.joint.places import in_rows

# ASME PCC-1 legacy cross pattern, bolts numbered clockwise (reference.md section 7): 4 to 24 TS2, 32 M, and for 12
# bolts also TS (S24, low authority). The row of 28 (M) is data in `pattern` and so not compared with itself: the
# invariants below hold it.
PCC_1 = {
    4: "1 3 2 4",
    8: "1 5 3 7 2 6 4 8",
    12: "1 7 4 10 2 8 5 11 3 9 6 12",
    16: "1 9 5 13 3 11 7 15 2 10 6 14 4 12 8 16",
    24: "1 13 7 19 4 16 10 22 2 14 8 20 5 17 11 23 3 15 9 21 6 18 12 24",
    32: "1 17 9 25 5 21 13 29 3 19 11 27 7 23 15 31 2 18 10 26 6 22 14 30 4 20 12 28 8 24 16 32",
}


@pytest.mark.parametrize(
    "n", [n if n == 12 else pytest.param(n, marks=pytest.mark.provisional) for n in PCC_1]
)
def test_star_is_the_legacy_cross_pattern(n):
    assert sequence("star", n) == tuple(int(number) for number in PCC_1[n].split())


def test_wheel_with_five_studs_is_the_step_of_two_star():
    """Consumer wheel page (reference.md section 7, TS), the same as the {5/2} polygon (D)."""
    assert sequence("star", 5) == (1, 3, 5, 2, 4)


def test_six_studs_go_across_then_diagonal():
    """Repair video transcript (reference.md section 7, TS): positions 1-2, 3-4, 5-6 are opposite."""
    order = sequence("star", 6)
    assert [abs(a - b) for a, b in zip(order[::2], order[1::2], strict=True)] == [3, 3, 3]


# The codes of reference.md section 7 by number of fasteners; M rows are said to be from memory.
@pytest.mark.parametrize(
    ("n", "seen"),
    [
        *[(n, ["secondary"]) for n in (4, 8, 16, 24)],
        (12, ["text", "secondary"]),
        (28, ["memory"]),
        (32, ["memory"]),
        (5, ["text"]),
        (6, ["text"]),
        (20, ["secondary", "worked out"]),
        (7, ["secondary", "worked out"]),
        (3, []),
    ],
)
def test_a_star_says_how_its_row_was_seen(n, seen):
    assert [source.seen for source in sources("star", n)] == seen


def test_low_authority_is_said_and_an_order_of_no_standard_too():
    for n in (5, 6, 12):
        assert "low authority" in sources("star", n)[0].note
    assert "no standard" in sources("from the middle", 10)[0].note
    for order in ("around", "in line", "given"):
        assert sources(order, 12) == ()


@pytest.mark.parametrize("order", ["star", "around", "from the middle", "in line"])
def test_every_fastener_once(order):
    for n in range(1, 65):
        assert sorted(sequence(order, n)) == list(range(1, n + 1)), n


def test_star_never_goes_to_a_neighbour():
    """Invariant of section 7 (D); with 4 bolts "3 2" cannot be helped, with fewer all are neighbours."""
    for n in range(5, 65):
        order = sequence("star", n)
        assert all((b - a) % n not in (1, n - 1) for a, b in itertools.pairwise(order)), n


def test_even_star_goes_in_opposite_pairs():
    """Invariant of section 7 (D)."""
    for n in range(2, 65, 2):
        order = sequence("star", n)
        assert all((b - a) % n == n // 2 for a, b in zip(order[::2], order[1::2], strict=True)), n


def test_star_of_fours_steps_by_a_quarter_between_its_pairs():
    """Invariant of section 7 (D): in each group of four the pairs stand crosswise."""
    for n in range(4, 65, 4):
        order = sequence("star", n)
        for first in range(0, n, 4):
            assert (order[first + 2] - order[first]) % n == n // 4, n


ROWS = st.lists(st.integers(1, 8), min_size=1, max_size=8)
HEADS = (
    [[n, n] for n in range(1, 33)] + [[2] * n for n in range(1, 33)] + [[3] * 3, [4] * 3, [5] * 5, [8] * 8]
)


def ends(rows, order):
    """Which end of the longer side each fastener in turn is towards, -1 or 1, without those in its middle."""
    places = in_rows(rows)
    wide, high = max(place.x for place in places), max(place.y for place in places)
    along = [places[number - 1].y if high > wide else places[number - 1].x for number in order]
    return [1 if at > 0 else -1 for at in along if at]


@given(ROWS, st.sampled_from(["around", "from the middle", "in line"]))
@settings(deadline=None)
def test_every_fastener_of_rows_once(rows, order):
    assert sorted(sequence(order, sum(rows), rows=rows)) == list(range(1, sum(rows) + 1))


@given(ROWS)
@settings(deadline=None)
def test_rows_from_the_middle_go_outwards(rows):
    """Rectangles, section 7: no numeric standard; the distance from the centroid never falls (invariant)."""
    places = in_rows(rows)
    away = [places[number - 1].away for number in sequence("from the middle", sum(rows), rows=rows)]
    assert away == sorted(away)


@pytest.mark.parametrize("rows", HEADS, ids=str)
def test_rectangles_from_the_middle_change_sides_every_time(rows):
    """Rectangles, section 7: sides alternate (invariant), and each pair goes across the centroid."""
    order = sequence("from the middle", sum(rows), rows=rows)
    assert all(a != b for a, b in itertools.pairwise(ends(rows, order)))
    places = in_rows(rows)
    paired = [number for number in order if places[number - 1].away]
    for one, other in zip(paired[::2], paired[1::2], strict=True):
        assert places[other - 1] == places[one - 1].opposite


@given(st.lists(st.integers(1, 8), min_size=1, max_size=4))
@settings(deadline=None)
def test_unequal_rows_change_sides_as_well(rows):
    mirrored = [*rows, *reversed(rows)]
    for each in (mirrored, [*rows, max(rows) + len(rows)]):
        order = sequence("from the middle", sum(each), rows=each)
        assert all(a != b for a, b in itertools.pairwise(ends(each, order)))


def test_a_cylinder_head_from_the_middle():
    """Two rows of five: the middle ones, then across the centroid and to the other end, outwards."""
    assert sequence("from the middle", 10, rows=(5, 5)) == (3, 8, 2, 9, 7, 4, 1, 10, 6, 5)


def test_a_circular_pass_goes_from_each_to_its_neighbour_and_ends_beside_the_first():
    """PCC-1's last round is circular (reference.md section 7, M; and two circular passes, S24, TS)."""
    for n in range(1, 65):
        order = sequence("around", n)
        assert order[0] == 1, n
        assert all((b - a) % n == 1 % n for a, b in zip(order, (*order[1:], order[0]), strict=True)), n


@pytest.mark.parametrize("rows", [rows for rows in HEADS if len(set(rows)) == 1], ids=str)
def test_a_circular_pass_of_a_grid_never_leaps(rows):
    places = in_rows(rows)
    order = [places[number - 1] for number in sequence("around", sum(rows), rows=rows)]
    nearest = min((abs(a.x - b.x) + abs(a.y - b.y) for a in places for b in places if a != b), default=0)
    assert all(abs(a.x - b.x) + abs(a.y - b.y) == nearest for a, b in itertools.pairwise(order))


def test_one_row_is_a_line():
    for n in range(1, 65):
        for order in ("from the middle", "around", "in line"):
            assert sequence(order, n, rows=(n,)) == sequence(order, n), n


@pytest.mark.parametrize(
    ("rows", "order"),
    [
        ((5, 5), (1, 2, 3, 4, 5, 10, 9, 8, 7, 6)),
        ((3, 3, 3), (1, 2, 3, 6, 9, 8, 7, 4, 5)),
        ((3, 2, 3), (1, 2, 3, 5, 8, 7, 6, 4)),
        ((4, 4, 4, 4), (1, 2, 3, 4, 8, 12, 16, 15, 14, 13, 9, 5, 6, 7, 11, 10)),
        ((3, 1, 3), (1, 2, 3, 4, 7, 6, 5)),
    ],
    ids=str,
)
def test_around_rows_goes_along_the_rim_and_then_inwards(rows, order):
    assert sequence("around", sum(rows), rows=rows) == order


@pytest.mark.parametrize("rows", [(5, 4), (10, 1), (5, 0, 5), (-5, 15)], ids=str)
def test_rows_that_hold_another_number_are_refused(rows):
    with pytest.raises(ValueError, match="the rows must hold 10 fasteners"):
        sequence("around", 10, rows=rows)


def test_a_star_of_rows_is_refused():
    with pytest.raises(ValueError, match="a star goes across a circle"):
        sequence("star", 10, rows=(5, 5))


def test_from_the_middle_goes_outwards_with_sides_in_turn():
    for n in range(1, 65):
        away = [2 * number - (n + 1) for number in sequence("from the middle", n)]
        assert [abs(step) for step in away] == sorted(abs(step) for step in away), n
        sides = [step > 0 for step in away if step]
        assert all(a != b for a, b in itertools.pairwise(sides)), n


def test_given_order_is_kept():
    assert sequence("given", 3, (2, 3, 1)) == (2, 3, 1)


@pytest.mark.parametrize("given", [(), (1, 2), (1, 2, 2), (1, 2, 4), (0, 1, 2), (1, 2, 3, 3)])
def test_given_order_that_is_no_permutation_is_refused(given):
    with pytest.raises(ValueError, match="each fastener from 1 to 3 once"):
        sequence("given", 3, given)


def test_no_fastener_is_refused():
    with pytest.raises(ValueError, match="at least one"):
        sequence("star", 0)
