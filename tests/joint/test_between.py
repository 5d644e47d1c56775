"""Interval arithmetic encloses every result of what lies within it."""

import math
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from runner.joint.between import Between, hull, root, shown

numbers = st.floats(-1e12, 1e12, allow_nan=False)
shares = st.floats(0, 1)


def within(interval, share):
    """An exact value of the interval."""
    return Fraction(interval.low) + (Fraction(interval.high) - Fraction(interval.low)) * Fraction(share)


def holds(interval, exact):
    return Fraction(interval.low) <= exact <= Fraction(interval.high)


intervals = st.tuples(numbers, numbers).map(lambda ends: Between(min(ends), max(ends)))


@given(intervals, intervals, shares, shares)
def test_sums_differences_and_products_are_enclosed_exactly(a, b, at, bt):
    x, y = within(a, at), within(b, bt)
    assert holds(a + b, x + y)
    assert holds(a - b, x - y)
    assert holds(a * b, x * y)
    assert holds(-a, -x)


@given(intervals, st.floats(1e-6, 1e6), st.floats(0, 1e6), shares, shares)
def test_quotients_are_enclosed_exactly(a, low, width, at, bt):
    b = Between(low, low + width)
    assert holds(a / b, within(a, at) / within(b, bt))
    assert holds(a / -b, within(a, at) / -within(b, bt))
    assert holds(3.7 / b, Fraction(3.7) / within(b, bt))


@given(numbers, intervals, shares)
def test_numbers_mix_with_intervals(number, a, at):
    x, n = within(a, at), Fraction(number)
    assert holds(number + a, n + x)
    assert holds(number - a, n - x)
    assert holds(a - number, x - n)
    assert holds(number * a, n * x)


@given(st.floats(0, 1e12), st.floats(0, 1e6), shares)
def test_roots_are_enclosed_exactly(low, width, at):
    a = Between(low, low + width)
    found = root(a)
    x = within(a, at)
    assert found.low <= 0 or Fraction(found.low) ** 2 <= x
    assert Fraction(found.high) ** 2 >= x
    assert root(4.0) == 2.0


def test_what_is_no_interval_is_refused():
    for ends in ((2, 1), (math.nan, 1), (0, math.nan)):
        with pytest.raises(ValueError, match="the lower one first"):
            Between(*ends)


def test_nothing_is_divided_by_an_interval_that_holds_zero():
    with pytest.raises(ZeroDivisionError):
        1 / Between(-1, 1)
    with pytest.raises(ZeroDivisionError):
        Between(1, 2) / Between(0, 1)


def test_middle_hull_and_membership():
    a = Between(0.10, 0.16)
    assert a.mid == pytest.approx(0.13)
    assert a.holds(0.10)
    assert a.holds(0.16)
    assert not a.holds(0.17)
    assert hull(a, Between(0.3, 0.4)) == Between(0.10, 0.4)
    assert Between.exactly(3) == Between(3, 3)


def test_how_people_read_it():
    assert shown(Between(27.34, 40.06), "kN") == "27.3 to 40.1 kN"
    assert shown(48.13, "kN") == "48.1 kN"
    assert shown(Between(48.131, 48.134), "kN") == "48.1 kN"
    assert shown(1234.0, "N") == "1230 N"
    assert shown(0 * Between(1, 2), "kN") == "0 kN"
    assert "e" not in shown(Between(123456.0, 2345678.0), "N")
