"""A value known only to lie between two limits, and arithmetic on it that never loses a possible result.

Friction is never known exactly, so neither is a preload. Every operation rounds its limits outwards by one place
of the float, so that each result of exact arithmetic on values within the inputs lies within the answer. Where
one unknown stands twice in a formula the answer may be wider than need be, never narrower.
"""

import math
from decimal import Context, Decimal
from typing import TypeVar

from runner.frozen import Frozen
from runner.quantities.quantity import show, show_number

_EXPECTED = "two limits, finite or not, the lower one first"
_NOTHING = 1e-30  # below this a limit is 0 that was rounded outwards


class Between(Frozen):
    """A closed interval. Raises ValueError where the lower limit is above the upper one or either is no number."""

    low: float
    high: float

    def __init__(self, low: float, high: float) -> None:
        if not low <= high:
            raise ValueError(f"{low} to {high} is no interval; expected: {_EXPECTED}")
        super().__init__(float(low), float(high))

    @classmethod
    def exactly(cls, value: float) -> "Between":
        """One value, as an interval of no width."""
        return cls(value, value)

    @property
    def mid(self) -> float:
        """The middle."""
        return self.low + (self.high - self.low) / 2

    def holds(self, value: float) -> bool:
        """Whether a value lies in it, limits included."""
        return self.low <= value <= self.high

    def __neg__(self) -> "Between":
        return Between(-self.high, -self.low)

    def __add__(self, other: "Between | float") -> "Between":
        its = _interval(other)
        return _outwards(self.low + its.low, self.high + its.high)

    __radd__ = __add__

    def __sub__(self, other: "Between | float") -> "Between":
        return self + -_interval(other)

    def __rsub__(self, other: float) -> "Between":
        return -self + other

    def __mul__(self, other: "Between | float") -> "Between":
        its = _interval(other)
        ends = [mine * yours for mine in (self.low, self.high) for yours in (its.low, its.high)]
        return _outwards(min(ends), max(ends))

    __rmul__ = __mul__

    def __truediv__(self, other: "Between | float") -> "Between":
        its = _interval(other)
        if its.holds(0):
            raise ZeroDivisionError(f"{its.low} to {its.high} holds 0: nothing is divided by it")
        ends = [mine / yours for mine in (self.low, self.high) for yours in (its.low, its.high)]
        return _outwards(min(ends), max(ends))

    def __rtruediv__(self, other: float) -> "Between":
        return _interval(other) / self


N = TypeVar("N", float, Between)
"""A number or an interval: formulas are written once, for both."""


def root(value: N) -> N:
    """The square root. Raises ValueError below zero."""
    if isinstance(value, Between):
        return _outwards(math.sqrt(value.low), math.sqrt(value.high))
    return math.sqrt(value)


def hull(first: Between, second: Between) -> Between:
    """The smallest interval that holds both."""
    return Between(min(first.low, second.low), max(first.high, second.high))


def shown(value: Between | float, unit: str, digits: int = 3) -> str:
    """A value as people read it, to so many significant digits: `27.3 to 40.1 kN`, `48.1 kN`, `0.1 to 0.16`.

    Raises QuantityError for an unknown unit or a value out of all proportion.
    """
    if not isinstance(value, Between):
        return show(_decimal(value), unit, digits)
    low, high = (show(_decimal(end), unit, digits) for end in (value.low, value.high))
    if low == high:
        return high
    return f"{show_number(Context(prec=digits).plus(_decimal(value.low)))} to {high}"


def _decimal(value: float) -> Decimal:
    return Decimal(0) if abs(value) < _NOTHING else Decimal(repr(float(value)))


def _interval(value: Between | float) -> Between:
    return value if isinstance(value, Between) else Between(value, value)


def _outwards(low: float, high: float) -> Between:
    return Between(math.nextafter(low, -math.inf), math.nextafter(high, math.inf))
