"""Tolerances and bands: what is accepted of a reading, exactly."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from runner.quantities import (
    Band,
    Kind,
    Quantity,
    QuantityError,
    Tolerance,
    band_from,
    parse_band,
    parse_quantity,
    parse_tolerance,
    units_of,
)


@pytest.mark.parametrize(
    ("text", "kind", "plus", "minus", "unit"),
    [
        ("±5 %", "torque", "5", "5", "%"),
        ("± 3 N·m", "torque", "3", "3", "N·m"),
        ("+/-3 N·m", "torque", "3", "3", "N·m"),
        ("+/- 3 Nm", "torque", "3", "3", "N·m"),
        ("+3/-0 N·m", "torque", "3", "0", "N·m"),
        ("-0/+3 N·m", "torque", "3", "0", "N·m"),
        ("+3/−0 N·m", "torque", "3", "0", "N·m"),
        ("+ 10 / - 5 %", "torque", "10", "5", "%"),
        ("+3 N·m/-1 Nm", "torque", "3", "1", "N·m"),
        ("±5°", "angle", "5", "5", "°"),
        ("±1/4 turn", "angle", "0.25", "0.25", "turn"),
        ("±2 °C", "temperature", "2", "2", "°C"),
    ],
)
def test_tolerances(text: str, kind: Kind, plus: str, minus: str, unit: str) -> None:
    assert parse_tolerance(text, kind) == Tolerance(Decimal(plus), Decimal(minus), unit)


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("5 %", "torque"),
        ("±", "torque"),
        ("±5", "torque"),
        ("±-5 %", "torque"),
        ("±5 mm", "torque"),
        ("+3/+0 N·m", "torque"),
        ("+3/-0", "torque"),
        ("+3 N·m/-1 lbf·ft", "torque"),
        ("±5 %", "temperature"),
        ("±5 %", "ratio"),
        ("±3 J", "torque"),
        ("", "torque"),
        ("±" + "1" * 200, "torque"),
    ],
)
def test_no_tolerances(text: str, kind: Kind) -> None:
    with pytest.raises(QuantityError):
        parse_tolerance(text, kind)


@pytest.mark.parametrize(
    ("text", "low", "high", "target", "shown"),
    [
        ("60 N·m ±4 %", "57.6", "62.4", "60", "57.6 to 62.4 N·m"),
        ("60 N·m ±3 N·m", "57", "63", "60", "57 to 63 N·m"),
        ("60 ±3 N·m", "57", "63", "60", "57 to 63 N·m"),
        ("60 N·m ± 3", "57", "63", "60", "57 to 63 N·m"),
        ("60 N·m +3/-0 N·m", "60", "63", "60", "60 to 63 N·m"),
        ("60 N·m +10/-5 %", "57", "66", "60", "57 to 66 N·m"),
        ("44 ft-lb +/-2 ft-lb", "42", "46", "44", "42 to 46 lbf·ft"),
        ("90°±5°", "85", "95", "90", "85 to 95°"),
        ("1/4 turn ± 9°", "0.225", "0.275", "0.25", "0.225 to 0.275 turn"),
        ("77 °F ±5 °C", "68", "86", "77", "68 to 86 °F"),
        ("-5 °C ±2 °C", "-7", "-3", "-5", "−7 to −3 °C"),
        ("1.4 to 2.2 mm", "1.4", "2.2", None, "1.4 to 2.2 mm"),
        ("1,4 mm to 2,2 mm", "1.4", "2.2", None, "1.4 to 2.2 mm"),
        ("1 cm to 25 mm", "10", "25", None, "10 to 25 mm"),
        ("20 to 130 N·m", "20", "130", None, "20 to 130 N·m"),
        ("-5 to 5 °C", "-5", "5", None, "−5 to 5 °C"),
        ("18 to 22 %", "18", "22", None, "18 to 22 %"),
        ("at most 0.05 mm", None, "0.05", None, "at most 0.05 mm"),
        ("up to 0.10 mm", None, "0.1", None, "at most 0.1 mm"),
        ("at least 3 mm", "3", None, None, "at least 3 mm"),
        ("above 5 mm", "5", None, None, "above 5 mm"),
        ("below 5 mm", None, "5", None, "below 5 mm"),
        ("3 to 5", "3", "5", None, "3 to 5"),
        ("exactly 5", "5", "5", "5", "exactly 5"),
        ("5", "5", "5", "5", "exactly 5"),
        ("5 ±1", "4", "6", "5", "4 to 6"),
    ],
)
def test_bands(text: str, low: str | None, high: str | None, target: str | None, shown: str) -> None:
    band = parse_band(text)
    wanted = tuple(None if limit is None else Decimal(limit) for limit in (low, high, target))
    assert (band.low, band.high, band.target) == wanted
    assert band.text() == shown
    again = parse_band(shown)
    assert (again.low, again.high, again.low_open, again.high_open) == (
        band.low,
        band.high,
        band.low_open,
        band.high_open,
    )


@pytest.mark.parametrize(
    ("text", "kind", "unit"),
    [
        ("60 N·m", None, None),  # a measured value is judged only by a band the author wrote
        ("60", "torque", "N·m"),
        ("5 to 3 mm", None, None),
        ("1 in to 2 mm", None, None),
        ("3 N·m to 5 mm", None, None),
        ("60 ±4 %", None, None),
        ("50 % ±5 %", None, None),
        ("60 N·m ±3 mm", None, None),
        ("3 to 5.5", None, None),
        ("3 to 5", "length", None),
        ("60 N·m ±4 %", "angle", None),
        ("60 N·m ±4 %", None, "mm"),
        ("at most", None, None),
        ("above", "length", "mm"),
        ("1-2 mm", None, None),
        ("60 J ±4 %", None, None),
        ("", None, None),
        ("1 to " * 100, None, None),
    ],
)
def test_no_bands(text: str, kind: Kind | None, unit: str | None) -> None:
    with pytest.raises(QuantityError):
        parse_band(text, kind, unit)


def test_a_band_comes_back_in_the_unit_of_its_reading() -> None:
    assert parse_band("1.4 to 2.2", unit="mm") == parse_band("1.4 to 2.2 mm")
    assert parse_band("at most 1 in", unit="mm").high == Decimal("25.4")
    assert parse_band("60 ±4 %", unit="N·m") == parse_band("60 N·m ±4 %")
    assert parse_band("60 ±3", unit="N·m") == parse_band("60 N·m ±3 N·m")
    # a bare tolerance is in the unit that its own target was written in
    inches = parse_band("1 in ±1/2", unit="mm")
    assert (inches.low, inches.high) == (Decimal("12.7"), Decimal("38.1"))


def test_limits_belong_to_the_band_unless_said_otherwise() -> None:
    band = parse_band("60 N·m ±4 %")
    assert band.holds(Decimal("57.6"))
    assert band.holds(Decimal("62.400"))
    assert not band.holds(Decimal("57.59999999999999999999999999999999999999999"))
    assert not parse_band("above 5 mm").holds(Decimal(5))
    assert parse_band("above 5 mm").holds(Decimal("5.0000000001"))
    assert not parse_band("below 5 mm").holds(Decimal(5))
    assert parse_band("at least 5 mm").holds(Decimal(5))
    for odd in ("NaN", "Infinity", "-Infinity"):
        assert not parse_band("at least 5 mm").holds(Decimal(odd))


def test_a_band_without_a_value_in_it_cannot_be_made() -> None:
    for low, high in ((None, None), (Decimal(5), Decimal(3)), (Decimal("NaN"), None)):
        with pytest.raises(QuantityError):
            Band(low, high, None, "mm", "length")
    with pytest.raises(QuantityError):
        Band(Decimal(5), Decimal(5), None, "mm", "length", low_open=True)


def test_a_tolerance_of_another_kind_is_refused() -> None:
    with pytest.raises(QuantityError):
        band_from(parse_quantity("60 N·m"), Tolerance(Decimal(1), Decimal(1), "mm"))
    with pytest.raises(QuantityError):
        band_from(parse_quantity("60 °C"), Tolerance(Decimal(1), Decimal(1), "%"))


@pytest.mark.parametrize("odd", ["NaN", "sNaN", "Infinity", "1E+999"])
def test_a_tolerance_out_of_all_proportion_is_refused(odd: str) -> None:
    for unit in ("%", "N·m"):
        with pytest.raises(QuantityError):
            band_from(parse_quantity("60 N·m"), Tolerance(Decimal(1), Decimal(odd), unit))
    with pytest.raises(QuantityError):
        band_from(Quantity(Decimal(odd), "N·m", "torque"), Tolerance(Decimal(1), Decimal(1), "%"))


NUMBERS = st.decimals(allow_nan=False, allow_infinity=False, min_value=-(10**6), max_value=10**6, places=3)
SIZES = st.decimals(allow_nan=False, allow_infinity=False, min_value=0, max_value=10**4, places=3)


@given(NUMBERS, SIZES, SIZES, st.sampled_from(["%", "N·m"]))
def test_a_band_holds_its_target_and_its_limits_and_nothing_beyond(
    target: Decimal, plus: Decimal, minus: Decimal, unit: str
) -> None:
    band = band_from(Quantity(target, "N·m", "torque"), Tolerance(plus, minus, unit))
    assert band.low is not None
    assert band.high is not None
    step = Decimal("1e-15")
    assert all(band.holds(value) for value in (target, band.low, band.high))
    assert not band.holds(band.low - step)
    assert not band.holds(band.high + step)
    size = abs(target) / 100 if unit == "%" else 1
    assert (band.high - target, target - band.low) == (plus * size, minus * size)


@given(
    NUMBERS,
    SIZES,
    st.sampled_from([unit for kind in ("torque", "angle", "length") for unit in units_of(kind)]),
)
def test_a_band_that_is_shown_is_read_back(low: Decimal, width: Decimal, unit: str) -> None:
    band = parse_band(f"{low} to {low + width} {unit}")
    again = parse_band(band.text())
    assert (again.low, again.high, again.unit) == (band.low, band.high, band.unit)


WORDS = st.sampled_from(
    ["at most ", "above ", "60", " N·m", "±", "+3/-0", " to ", " %", "+", "-", "/", "1,5", " ", "mm"]
)


@given(
    st.text(max_size=40) | st.lists(WORDS, max_size=8).map("".join),
    st.sampled_from([None, "N·m", "count", "%"]),
)
def test_any_text_is_a_band_or_refused(text: str, unit: str | None) -> None:
    for read in (lambda: parse_band(text, unit=unit), lambda: parse_tolerance(text, "torque")):
        refusal = ""
        try:
            read()
        except QuantityError as error:
            refusal = str(error)
        assert refusal.isprintable()


def test_a_unit_written_once_behind_a_range_is_the_unit_of_both_limits():
    band = parse_band("0.2 to 0.3 cm", None, "mm")
    assert (band.low, band.high, band.unit) == (Decimal(2), Decimal(3), "mm")
