"""Slips of the hand are named, and nothing else is."""

from decimal import Decimal

import pytest

from runner.quantities import QuantityError, mark_slip, slip, unit_slip


@pytest.mark.parametrize(
    ("value", "unit", "target", "words"),
    [
        ("600", "N·m", "60", "about ten times 60 N·m"),
        ("6", "N·m", "60", "about a tenth of 60 N·m"),
        ("25", "mm", "0.25", "about a hundred times 0.25 mm"),
        ("0.9", "°", "90", "about a hundredth of 90°"),
        ("44", "N·m", "60", "what 60 N·m reads in lbf·ft"),
        ("530", "N·m", "60", "what 60 N·m reads in lbf·in"),
        ("6.1", "N·m", "60", "what 60 N·m reads in kgf·m"),
        ("60", "lbf·ft", "44", "what 44 lbf·ft reads in N·m"),
        ("0.25", "°", "90", "what 90° reads in turn"),
        ("35", "bar", "2.4", "what 2.4 bar reads in psi"),
        ("77", "°C", "25", "what 25 °C reads in °F"),
    ],
)
def test_slips_that_are_named(value: str, unit: str, target: str, words: str) -> None:
    said = slip(Decimal(value), unit, Decimal(target))
    assert said is not None
    assert words in said


@pytest.mark.parametrize(
    ("value", "unit", "target"),
    [("50", "N·m", "60"), ("-600", "N·m", "60"), ("0", "N·m", "60"), ("5", "mm", "0"), ("7", "count", "5")],
)
def test_a_mere_miss_is_no_slip(value: str, unit: str, target: str) -> None:
    assert slip(Decimal(value), unit, Decimal(target)) is None


def test_the_value_of_the_bolt_before() -> None:
    assert (
        slip(Decimal(50), "N·m", Decimal(90), Decimal(50)) == "50 N·m is the same as the one before, 50 N·m"
    )
    assert slip(Decimal(50), "N·m", Decimal(90), Decimal(51)) is None


@pytest.mark.parametrize("odd", ["NaN", "sNaN", "Infinity", "1E+999"])
def test_numbers_out_of_all_proportion_are_refused(odd: str) -> None:
    for place in range(3):
        value, target, previous = (Decimal(odd) if place == at else Decimal(60) for at in range(3))
        with pytest.raises(QuantityError):
            slip(value, "N·m", target, previous)


@pytest.mark.parametrize(
    ("typed", "typed_unit", "target", "unit", "words"),
    [
        ("60", "lbf·ft", "60", "N·m", "the number of 60 N·m, in lbf·ft"),
        ("61.5", "ft-lb", "60", "Nm", "the number of 60 N·m, in lbf·ft"),
        ("44", "N·m", "44.25", "lbf·ft", "the number of 44.25 lbf·ft, in N·m"),
        ("0.3", "in", "0.3", "mm", "the number of 0.3 mm, in in"),
        ("60", "N·m", "60", "N·m", None),
        ("50", "lbf·ft", "60", "N·m", None),
        ("0", "in", "0", "mm", None),
    ],
)
def test_the_right_number_in_a_neighbouring_unit(
    typed: str, typed_unit: str, target: str, unit: str, words: str | None
) -> None:
    assert unit_slip(Decimal(typed), typed_unit, Decimal(target), unit) == words
    with pytest.raises(QuantityError):
        unit_slip(Decimal("NaN"), typed_unit, Decimal(target), unit)


@pytest.mark.parametrize(
    ("value", "low", "high", "meant"),
    [
        ("180.2", "18", "18.05", "18.02 mm"),
        ("1802", "18", "18.05", "18.02 mm"),
        ("1.802", "18", "18.05", "18.02 mm"),
        ("0.1802", "18", "18.05", "18.02 mm"),
    ],
)
def test_a_decimal_mark_in_another_place_is_named_where_only_limits_are_known(
    value: str, low: str, high: str, meant: str
) -> None:
    assert mark_slip(Decimal(value), "mm", Decimal(low), Decimal(high)) == (
        f"{meant} with its decimal mark in another place"
    )


@pytest.mark.parametrize(
    ("value", "low", "high"),
    [
        ("17.9", "18", "18.05"),
        ("181", "18", "18.05"),
        ("40", "0", "3"),
        ("25", "0.3", "3"),
        ("-180.2", "18", "18.05"),
    ],
)
def test_no_mark_is_in_another_place_in_a_mere_miss_or_where_the_limits_are_far_apart(
    value: str, low: str, high: str
) -> None:
    assert mark_slip(Decimal(value), "mm", Decimal(low), Decimal(high)) is None
