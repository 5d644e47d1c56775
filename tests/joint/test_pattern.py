"""Orders of tightening against the published rows and their invariants."""

import itertools

import pytest

from runner.joint.pattern import sequence

# ASME PCC-1 legacy cross pattern, bolts numbered clockwise (reference.md section 7; 4 to 24 and 32 from
# secondary transcriptions that cite the standard, 28 from memory: provisional until the standard is checked).
PCC_1 = {
    4: "1 3 2 4",
    8: "1 5 3 7 2 6 4 8",
    12: "1 7 4 10 2 8 5 11 3 9 6 12",
    16: "1 9 5 13 3 11 7 15 2 10 6 14 4 12 8 16",
    24: "1 13 7 19 4 16 10 22 2 14 8 20 5 17 11 23 3 15 9 21 6 18 12 24",
    28: "1 15 8 22 4 18 11 25 6 20 13 27 2 16 9 23 5 19 12 26 3 17 10 24 7 21 14 28",
    32: "1 17 9 25 5 21 13 29 3 19 11 27 7 23 15 31 2 18 10 26 6 22 14 30 4 20 12 28 8 24 16 32",
}


@pytest.mark.parametrize("n", PCC_1)
def test_star_is_the_legacy_cross_pattern(n):
    assert sequence("star", n) == tuple(int(number) for number in PCC_1[n].split())


def test_wheel_with_five_studs_is_the_step_of_two_star():
    """Consumer wheel page (reference.md section 7), the same as the {5/2} polygon."""
    assert sequence("star", 5) == (1, 3, 5, 2, 4)


def test_six_studs_go_across_then_diagonal():
    """Repair video transcript (reference.md section 7): positions 1-2, 3-4, 5-6 are opposite."""
    order = sequence("star", 6)
    assert [abs(a - b) for a, b in zip(order[::2], order[1::2], strict=True)] == [3, 3, 3]


@pytest.mark.parametrize("n", range(1, 65))
@pytest.mark.parametrize("order", ["star", "around", "from the middle", "in line"])
def test_every_fastener_once(order, n):
    assert sorted(sequence(order, n)) == list(range(1, n + 1))


@pytest.mark.parametrize("n", range(5, 65))
def test_star_never_goes_to_a_neighbour(n):
    order = sequence("star", n)
    assert all((b - a) % n not in (1, n - 1) for a, b in itertools.pairwise(order))


@pytest.mark.parametrize("n", range(2, 65, 2))
def test_even_star_goes_in_opposite_pairs(n):
    order = sequence("star", n)
    assert all((b - a) % n == n // 2 for a, b in zip(order[::2], order[1::2], strict=True))


@pytest.mark.parametrize("n", range(1, 65))
def test_from_the_middle_goes_outwards_with_sides_in_turn(n):
    away = [2 * number - (n + 1) for number in sequence("from the middle", n)]
    assert [abs(step) for step in away] == sorted(abs(step) for step in away)
    sides = [step > 0 for step in away if step]
    assert all(a != b for a, b in itertools.pairwise(sides))


def test_given_order_is_kept():
    assert sequence("given", 3, (2, 3, 1)) == (2, 3, 1)


@pytest.mark.parametrize("given", [(), (1, 2), (1, 2, 2), (1, 2, 4), (0, 1, 2), (1, 2, 3, 3)])
def test_given_order_that_is_no_permutation_is_refused(given):
    with pytest.raises(ValueError, match="each fastener from 1 to 3 once"):
        sequence("given", 3, given)


def test_no_fastener_is_refused():
    with pytest.raises(ValueError, match="at least one"):
        sequence("star", 0)
