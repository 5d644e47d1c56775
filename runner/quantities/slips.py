"""Slips of the hand, named: a decimal mark, a neighbouring unit, the value of the bolt before."""

from decimal import Decimal

from runner.quantities.conversion import check_size, convert
from runner.quantities.errors import QuantityError
from runner.quantities.quantity import show
from runner.quantities.units import kind_of, unit_named, units_of

_TENFOLD_MATCH = Decimal("0.1")
_UNIT_MATCH = Decimal("0.05")
_TIMES = {
    Decimal(10): "about ten times",
    Decimal(100): "about a hundred times",
    Decimal("0.1"): "about a tenth of",
    Decimal("0.01"): "about a hundredth of",
}


def slip(value: Decimal, unit: str, target: Decimal, previous: Decimal | None = None) -> str | None:
    """Return, in words, a likely slip behind an out-of-band `value`, or None. Not asked of values in band.

    All three numbers are in `unit`. Named are: the same value as `previous` (exactly equal); ten or a hundred
    times too large or small (within 10 % of that); a number that fits the target in another unit of the same
    kind (within 5 % of the target in that unit). Several may be named, joined by "or". May load pint.
    Raises QuantityError for an unknown unit and for numbers out of all proportion.
    """
    for number in (value, target, target if previous is None else previous):
        check_size(number)
    unit = unit_named(unit)
    named = []
    if previous is not None and value == previous and previous != target:
        named.append(f"the same as the one before, {show(value, unit)}")
    if target != 0:
        named += [
            f"{words} {show(target, unit)}"
            for times, words in _TIMES.items()
            if abs(value / target / times - 1) <= _TENFOLD_MATCH
        ]
        named += [
            f"what {show(target, unit)} reads in {other}"
            for other in units_of(kind_of(unit))
            if other != unit and _fits(value, target, unit, other)
        ]
    return f"{show(value, unit)} is " + ", or ".join(named) if named else None


def unit_slip(typed: Decimal, typed_unit: str, target: Decimal, unit: str) -> str | None:
    """Return, in words, that a number is the one wanted, but typed in another unit (within 5 %); else None.

    Not asked of values in band. Raises QuantityError for an unknown unit and for numbers out of all proportion.
    """
    for number in (typed, target):
        check_size(number)
    typed_unit, unit = unit_named(typed_unit), unit_named(unit)
    if typed_unit == unit or target == 0 or abs(typed / target - 1) > _UNIT_MATCH:
        return None
    return f"the number of {show(target, unit)}, in {typed_unit}"


def mark_slip(value: Decimal, unit: str, low: Decimal, high: Decimal) -> str | None:
    """Return, in words, that a number would lie within limits with its decimal mark one or two places off; else None.

    Not asked of values in band, nor of limits so far apart that most numbers would. May load pint.
    Raises QuantityError for an unknown unit and for numbers out of all proportion.
    """
    for number in (value, low, high):
        check_size(number)
    if not 0 < low <= high < 10 * low:
        return None
    meant = next((value / times for times in _TIMES if low <= value / times <= high), None)
    return None if meant is None else f"{show(meant, unit)} with its decimal mark in another place"


def _fits(value: Decimal, target: Decimal, unit: str, other: str) -> bool:
    """Tell whether the bare number is the target in another unit."""
    try:
        there = convert(target, unit, other)
    except QuantityError:
        return False  # a target that large has no neighbour worth naming
    return there != 0 and abs(value / there - 1) <= _UNIT_MATCH
