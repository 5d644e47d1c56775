"""Tolerances and bands: which values of a reading are accepted."""

import re
from dataclasses import dataclass
from decimal import Decimal, localcontext

from runner.quantities import units
from runner.quantities.conversion import check_size, convert, convert_difference
from runner.quantities.errors import QuantityError
from runner.quantities.number import EXACT, plain_blanks, tidy
from runner.quantities.quantity import (
    Quantity,
    check_count,
    parse_quantity,
    show,
    show_number,
    split_quantity,
)
from runner.quantities.units import Kind

_EXPECTED_TOLERANCE = "a tolerance such as ±5 %, ±3 N·m or +3/-0 N·m"
_EXPECTED_BAND = "a band such as 60 N·m ±4 %, 1.4 to 2.2 mm, at most 0.05 mm or at least 3 mm"
_MOST_CHARACTERS = 120

_BOTH_WAYS = re.compile(r"(?:±|\+ ?/ ?[-−]|\+[-−]) *(?P<amount>[^ ].*)", re.DOTALL)
_EACH_WAY = re.compile(
    r"(?P<first>[+\-−]) *(?P<one>[\d.,]+) *(?P<unit>[^\d/+\-−]*?) */ *"
    r"(?P<second>[+\-−]) *(?P<two>[\d.,]+) *(?P<rest>.*)",
    re.ASCII | re.DOTALL,
)
_AROUND = re.compile(r"(?P<target>.+?) *(?P<tolerance>(?:±|\+ ?/|\+[-−]|[+\-−] *[\d.,]+[^/]*/).*)", re.DOTALL)
_ONE_SIDE = re.compile(r"(?P<side>at most|up to|at least|above|below|exactly) +(?P<limit>.+)", re.DOTALL)
_RANGE = re.compile(r"(?P<low>.+?) +to +(?P<high>.+)", re.DOTALL)
_UNIT_AT_END = re.compile(r"[^\d.,/+\-−± ].*$", re.ASCII | re.DOTALL)


@dataclass(frozen=True)
class Tolerance:
    """How far a value may lie above (`plus`) and below (`minus`) a target, in `unit` or in `%` of it."""

    plus: Decimal
    minus: Decimal
    unit: str


@dataclass(frozen=True)
class Band:
    """The accepted interval of a reading, in `unit`; None on a side means no limit there.

    Limits belong to the band, except where `low_open` or `high_open` says that the limit itself is outside
    (`above 5 mm`). Raises QuantityError where low is above high or there is no limit at all.
    """

    low: Decimal | None
    high: Decimal | None
    target: Decimal | None
    unit: str
    kind: Kind
    low_open: bool = False
    high_open: bool = False

    def __post_init__(self) -> None:
        for number in (self.low, self.high, self.target):
            if number is not None:
                check_size(number)
        if self.low is None and self.high is None:
            raise QuantityError("", "has no limit", _EXPECTED_BAND)
        if self.low is not None and self.high is not None:
            empty = self.low == self.high and (self.low_open or self.high_open)
            if self.low > self.high or empty:
                found = f"{show_number(self.low)} to {show(self.high, self.unit)}"
                raise QuantityError(found, "has no value in it", "the low limit first, then the high one")

    def holds(self, value: Decimal) -> bool:
        """Tell whether `value`, in the unit of the band, lies in it; compared exactly, without rounding."""
        if not value.is_finite():
            return False
        above = self.low is None or value > self.low or (value == self.low and not self.low_open)
        below = self.high is None or value < self.high or (value == self.high and not self.high_open)
        return above and below

    def text(self) -> str:
        """Return the band as shown, and as `parse_band` reads it: `57.6 to 62.4 N·m`, `at most 0.05 mm`.

        A band with two limits has no words for a limit left out; no text gives such a band.
        """
        if self.low is None:
            assert self.high is not None
            return f"{'below' if self.high_open else 'at most'} {show(self.high, self.unit)}"
        if self.high is None:
            return f"{'above' if self.low_open else 'at least'} {show(self.low, self.unit)}"
        if self.low == self.high:
            return f"exactly {show(self.low, self.unit)}"
        return f"{show_number(self.low)} to {show(self.high, self.unit)}"


def parse_tolerance(text: str, kind: Kind) -> Tolerance:
    """Return the tolerance that `text` states for a quantity of this kind.

    Accepted: `±5 %`, `± 3 N·m`, `+/-3 N·m`, `+3/-0 N·m`, `+10/-5 %`. Per cent are of the target, so they are
    refused where that has no clear meaning: for a temperature, a ratio and a count. Raises QuantityError.
    """
    plain = _short(text, _EXPECTED_TOLERANCE)
    if both := _BOTH_WAYS.fullmatch(plain):
        amount, unit = _amount(text, both["amount"], kind)
        return Tolerance(amount, amount, unit)
    each = _EACH_WAY.fullmatch(plain)
    if each is None or (each["first"] == "+") == (each["second"] == "+"):
        raise QuantityError(text, "is not a tolerance", _EXPECTED_TOLERANCE)
    two, unit = _amount(text, f"{each['two']} {each['rest']}", kind)
    if each["unit"] and _amount(text, f"0 {each['unit']}", kind)[1] != unit:
        raise QuantityError(text, "has two units", _EXPECTED_TOLERANCE)
    one, _ = _amount(text, f"{each['one']} {each['rest']}", kind)
    return Tolerance(one, two, unit) if each["first"] == "+" else Tolerance(two, one, unit)


def _short(text: str, expected: str) -> str:
    """Return the text without odd blanks; refuse one so long that no person wrote it."""
    if len(text) > _MOST_CHARACTERS:
        raise QuantityError(text, "is too long", expected)
    return plain_blanks(text)


def _amount(whole: str, text: str, kind: Kind) -> tuple[Decimal, str]:
    """Return the size of a tolerance and its unit, which is of the kind or per cent."""
    if text.endswith("%"):
        if kind in ("temperature", "ratio", "count"):
            raise QuantityError(
                whole, f"gives per cent of {units.named(kind)}", "the two limits, as in 18 to 22"
            )
        amount = parse_quantity(text, "ratio")
    else:
        amount = parse_quantity(text, kind)
    if amount.value < 0:
        raise QuantityError(whole, "has a negative size", _EXPECTED_TOLERANCE)
    return amount.value, amount.unit


def band_from(quantity: Quantity, tolerance: Tolerance) -> Band:
    """Return the band around a target, in the target's unit; the limits are exact (see the package).

    Raises QuantityError where the tolerance is of another kind, or per cent of a temperature or ratio.
    """
    for number in (quantity.value, tolerance.plus, tolerance.minus):
        check_size(number)
    if tolerance.unit == "%" and quantity.kind in ("temperature", "ratio", "count"):
        raise QuantityError("%", f"is no tolerance for {units.named(quantity.kind)}", "the two limits")
    with localcontext(EXACT):
        if tolerance.unit == "%":
            plus, minus = (abs(quantity.value) * side / 100 for side in (tolerance.plus, tolerance.minus))
        else:
            plus = convert_difference(tolerance.plus, tolerance.unit, quantity.unit)
            minus = convert_difference(tolerance.minus, tolerance.unit, quantity.unit)
        low, high = tidy(quantity.value - minus), tidy(quantity.value + plus)
    return Band(low, high, quantity.value, quantity.unit, quantity.kind)


def parse_band(text: str, kind: Kind | None = None, unit: str | None = None) -> Band:
    """Return the band that `text` states.

    Accepted: a target with a tolerance (`60 N·m ±4 %`, `60 ±3 N·m`, `60 N·m +3/-0 N·m`), two limits
    (`1.4 to 2.2 mm`, `3 to 5`), one limit (`at most`, `up to`, `at least`; `above` and `below` leave it
    out), `exactly 5`. unit: a bare number is in this unit, and the band comes back in it. Raises
    QuantityError, also where the low limit is above the high one or a measured value has no tolerance.
    """
    plain = _short(text, _EXPECTED_BAND)
    asked = units.find(unit, kind) if unit is not None else None
    kind = asked.kind if asked else kind
    if match := _ONE_SIDE.fullmatch(plain):
        return _one_side(match["side"], _limit(text, match["limit"], kind, asked))
    if match := _RANGE.fullmatch(plain):
        high = _limit(text, match["high"], kind, asked)
        low = _limit(
            text,
            _with_unit_of(match["high"], match["low"], high.kind),
            high.kind,
            asked or units.find(high.unit),
        )
        return Band(low.value, high.value, None, high.unit, high.kind)
    if match := _AROUND.fullmatch(plain):
        return _around(text, match["target"], match["tolerance"], kind, asked)
    lone = _limit(text, plain, kind, asked)
    if lone.kind != "count":
        raise QuantityError(text, "has no tolerance", _EXPECTED_BAND)
    return _one_side("exactly", lone)


def _with_unit_of(high: str, low: str, kind: Kind) -> str:
    """Return the low limit with the unit written behind the high one, where it has none of its own."""
    written = split_quantity(high, kind)[1]
    return low if written is None or split_quantity(low, kind)[1] is not None else f"{low} {written.name}"


def _limit(whole: str, text: str, kind: Kind | None, asked: units.Unit | None) -> Quantity:
    """Return one quantity of a band; a bare number is in the unit asked for, and so is the result."""
    value, unit = split_quantity(text, kind)
    meant = unit or asked
    if meant is None:
        return parse_quantity(text, kind)
    check_count(value, meant, whole)
    to = asked or meant
    return Quantity(convert(value, meant.name, to.name), to.name, to.kind)


def _around(whole: str, target: str, tolerance: str, kind: Kind | None, asked: units.Unit | None) -> Band:
    """Return the band of a target with a tolerance; each may leave its unit to the other (`60 ±3 N·m`)."""
    _, unit = split_quantity(target, kind)
    written = _UNIT_AT_END.search(tolerance)
    if unit is None and asked is None and written and written[0] != "%":
        asked = units.find(written[0], kind, whole)
    middle = _limit(whole, target, kind, asked)
    if written is None:
        tolerance = f"{tolerance} {unit.name if unit else middle.unit}"
    return band_from(middle, parse_tolerance(tolerance, middle.kind))


def _one_side(side: str, limit: Quantity) -> Band:
    value, unit, kind = limit.value, limit.unit, limit.kind
    if side == "exactly":
        return Band(value, value, value, unit, kind)
    if side in ("at least", "above"):
        return Band(value, None, None, unit, kind, low_open=side == "above")
    return Band(None, value, None, unit, kind, high_open=side == "below")
