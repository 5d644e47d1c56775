"""A number with its unit: how people write it, how it is shown, and what is typed at the bench."""

import re
from dataclasses import dataclass
from decimal import Context, Decimal
from fractions import Fraction

from runner.quantities import units
from runner.quantities.conversion import check_size, convert
from runner.quantities.errors import QuantityError
from runner.quantities.number import exact_number, parse_number, plain_blanks, tidy, why_no_number
from runner.quantities.units import Kind

_MOST_CHARACTERS = 80
_SPLIT = re.compile(r"([+\-−]?[\d.,/ ]*)(.*)", re.ASCII | re.DOTALL)
_DURATION_PART = re.compile(r" *([\d.,/ ]*\d) *([A-Za-z]+)", re.ASCII)
_MILLISECONDS = {"s": 1000, "min": 60_000, "h": 3_600_000, "day": 86_400_000, "week": 604_800_000}
_LONGEST_DURATION = 100 * 366 * 86_400_000


@dataclass(frozen=True)
class Quantity:
    """A value in a unit; `unit` is the display form."""

    value: Decimal
    unit: str
    kind: Kind

    def text(self) -> str:
        """Return the quantity as it is shown."""
        return show(self.value, self.unit)


@dataclass(frozen=True)
class Entry:
    """What was typed for a reading: `raw` as typed, `value` in the unit asked for, and what was meant."""

    raw: str
    value: Decimal
    typed_value: Decimal
    typed_unit: str


def show(value: Decimal, unit: str, digits: int | None = None) -> str:
    """Return the one way in which this value is shown: `60 N·m`, `90°`, `4 %`, `−5 °C`, `2 turns`.

    No exponent, no trailing zeros. Nothing is rounded, except to `digits` significant digits where asked (for
    a converted value shown beside the one that counts). A count and a bare ratio show the number alone.
    Raises QuantityError for an unknown unit or a value out of all proportion.
    """
    known = units.find(unit)
    number = show_number(value if digits is None else Context(prec=digits).plus(value))
    if known.name in ("count", "ratio"):
        return number
    name = known.many if known.many and abs(value) > 1 else known.name
    return f"{number}{'' if known.tight else ' '}{name}"


def show_number(value: Decimal) -> str:
    """Return a number alone as it is shown. Raises QuantityError for a value out of all proportion."""
    check_size(value)
    return f"{tidy(value):f}".replace("-", "−")


def parse_quantity(text: str, kind: Kind | None = None) -> Quantity:
    """Return the quantity that `text` states: `60 N·m`, `44 ft-lb`, `90°`, `1/4 turn`, `2,5 mm`, `10 min`.

    A bare number is a count (whole, not negative), or a ratio where a ratio is asked. Raises QuantityError
    for anything else, also for a unit of another kind than the one asked for.
    """
    value, unit = split_quantity(text, kind)
    if unit is None:
        if kind not in (None, "count", "ratio"):
            raise QuantityError(text, "has no unit", units.example(kind))
        unit = units.find("ratio" if kind == "ratio" else "count")
        if kind is None and value != value.to_integral_value():
            raise QuantityError(text, "has no unit", units.example(kind))
    check_count(value, unit, text)
    return Quantity(value, unit.name, unit.kind)


def check_count(value: Decimal, unit: units.Unit, found: str) -> None:
    """Raise QuantityError where the unit is a count and the value is negative or not whole."""
    if unit.kind == "count" and (value < 0 or value != value.to_integral_value()):
        raise QuantityError(found, "is not a whole number from 0 on", units.example("count"))


def split_quantity(text: str, kind: Kind | None) -> tuple[Decimal, units.Unit | None]:
    """Return the number and the unit in `text`, None where there is no unit. Raises QuantityError."""
    plain = plain_blanks(text)
    if len(plain) > _MOST_CHARACTERS:
        raise QuantityError(text, "is too long", units.example(kind))
    match = _SPLIT.fullmatch(plain)
    number, unit = match.groups() if match else ("", plain)
    if not re.search(r"\d", number, re.ASCII) or re.search(r"\d", unit):
        raise QuantityError(text, why_no_number(plain) or "is not a number and a unit", units.example(kind))
    try:
        value = parse_number(number)
    except QuantityError as error:
        raise QuantityError(text, error.because, error.expected) from None
    return value, units.find(unit, kind, text) if unit else None


def parse_entry(text: str, unit: str) -> Entry:
    """Return what was typed at the bench for a reading asked for in `unit`.

    Without a unit the one asked for is meant; another unit of the same kind is converted. Raises
    QuantityError.
    """
    asked = units.find(unit)
    value, typed = split_quantity(text, asked.kind)
    check_count(value, asked, text)
    meant = typed or asked
    return Entry(text, convert(value, meant.name, asked.name), value, meant.name)


def parse_duration(text: str) -> int:
    """Return a duration in whole milliseconds: `10 min`, `4 h`, `1 h 30 min`, `7 days`.

    Parts go from the longest unit to the shortest, each at most once. Raises QuantityError, also for parts of
    a millisecond and for more than 100 years.
    """
    plain = plain_blanks(text)
    total, position, shortest = Fraction(0), 0, _LONGEST_DURATION
    expected = "a duration such as 10 min or 1 h 30 min"
    if len(plain) > _MOST_CHARACTERS:
        raise QuantityError(text, "is too long", expected)
    while position < len(plain) or not plain:
        match = _DURATION_PART.match(plain, position)
        if match is None:
            because = "has no unit" if re.search(r"\d$", plain) else "is not a duration"
            raise QuantityError(text, because, expected)
        size = _MILLISECONDS[units.find(match[2], "time", text).name]
        if size >= shortest:
            raise QuantityError(text, "does not go from the longest unit to the shortest", expected)
        total, position, shortest = total + exact_number(match[1]) * size, match.end(), size
    if total.denominator != 1:
        raise QuantityError(text, "has parts of a millisecond", "whole milliseconds")
    if total > _LONGEST_DURATION:
        raise QuantityError(text, "is too long a time", "at most 100 years")
    return int(total)
