"""Friction as written, nut factors as published, scatter about a preload (reference.md 4d, 4g)."""

import statistics

import pytest
from hypothesis import given
from hypothesis import strategies as st

from runner.joint.between import Between
from runner.joint.friction import (
    CONDITIONS,
    friction_text,
    least_preload,
    parse_friction,
    published_nut_factor,
    scatter,
    scattered,
)
from runner.joint.imperial import INCH, POUND_FORCE, POUND_FORCE_INCH
from runner.joint.preload import preload_by_factor
from runner.quantities import QuantityError


@pytest.mark.parametrize(
    ("text", "low", "high"),
    [
        ("0.10..0.16", 0.10, 0.16),
        ("0.10 to 0.16", 0.10, 0.16),
        ("0,1..0,16", 0.1, 0.16),
        ("0.12", 0.12, 0.12),
        ("0.10–0.16", 0.10, 0.16),
        ("0.10 - 0.16", 0.10, 0.16),
        (" 0.08 .. 0.2 ", 0.08, 0.2),
    ],
)
def test_friction_as_written(text, low, high):
    assert parse_friction(text) == Between(low, high)


@pytest.mark.parametrize(
    "text", ["", "0", "1", "0.16..0.10", "10..16", "0.1..", "a", "nan", "0.1 to 0.2 to 0.3", "-0.1", "0.12 %"]
)
def test_what_is_no_friction_is_refused(text):
    with pytest.raises(QuantityError) as refused:
        parse_friction(text)
    assert refused.value.found == text
    assert "0.10..0.16" in str(refused.value)


@pytest.mark.parametrize(
    ("text", "because"),
    [
        ("-0.1", "is no coefficient of friction"),
        ("−0.1 to 0.2", "is no coefficient of friction"),
        ("1e-5", "has an exponent"),
        ("0.1..", "has one limit only"),
        ("..0.1", "has one limit only"),
    ],
)
def test_a_refusal_says_what_is_wrong_with_it(text, because):
    with pytest.raises(QuantityError, match=because):
        parse_friction(text)


@given(st.integers(1, 999), st.integers(1, 999))
def test_friction_is_read_as_it_is_shown(one, other):
    low, high = sorted((one / 1000, other / 1000))
    assert parse_friction(friction_text(Between(low, high))) == Between(low, high)


def test_friction_shows_two_decimals_at_least():
    assert friction_text(Between(0.1, 0.16)) == "0.10 to 0.16"
    assert friction_text(0.125) == "0.125"
    assert friction_text(0.0004) == "0.0004"
    assert friction_text(Between(0.1, 0.1)) == "0.10"


def test_sources_that_disagree_are_both_held():
    """reference.md 4d: nonplated is 0.30 (Shigley, TS) but 0.20 (IFI, TS); none is picked."""
    row = published_nut_factor("nonplated")
    assert row.factor.holds(0.30)
    assert row.factor.holds(0.20)
    assert len(row.sources) == 2
    assert published_nut_factor("lubricated").factor == Between(0.18, 0.18)


def test_less_friction_less_factor():
    """reference.md 4d (TS): nonplated, zinc, lubricated, anti-seize, low-friction nuts, in falling order."""
    order = ("nonplated", "zinc-plated", "lubricated", "anti-seize", "low-friction nuts")
    highs = [published_nut_factor(condition).factor.high for condition in order]
    assert highs == sorted(highs, reverse=True)
    assert set(order) < set(CONDITIONS)


@pytest.mark.parametrize(
    ("condition", "near"),
    [
        ("oiled", None),
        ("", None),
        ("Lubricated", "lubricated"),
        ("zinc plated", "zinc-plated"),
        ("z" * 10**5, None),
    ],
)
def test_no_factor_is_guessed(condition, near):
    with pytest.raises(ValueError, match="expected: nonplated") as refused:
        published_nut_factor(condition)
    hint = f"low-friction nuts (did you mean {near}?)" if near else "low-friction nuts"
    assert str(refused.value).endswith(hint)
    assert len(str(refused.value)) < 300


# reference.md 4g, S14 (TS formula; D example): T 60 lbf·in, D 0.25 in, k 0.2 gives 1200 lbf; Γ 0.35 and 0.25
@pytest.mark.parametrize(
    ("method", "low", "high"),
    [("torque, unlubricated", 780, 1620), ("torque, lubricated", 900, 1500), ("torque wrench", 900, 1500)],
)
def test_scatter_about_a_preload(method, low, high):
    load = preload_by_factor(60 * POUND_FORCE_INCH, 0.2, 0.25 * INCH) / POUND_FORCE
    assert load == pytest.approx(1200)
    found = scattered(load, scatter(method).share)
    assert (found.low, found.high) == pytest.approx((low, high))


# reference.md 4e (TS, Shigley Tables 8-13 and 8-14): preload in kN at 90 N·m on about M12×1.25; mean and s (TS), their
# further digits (D). The book takes n − 1.
UNLUBRICATED = """23.6 27.6 28.0 29.4 30.3 30.7 32.9 33.8 33.8 33.8
34.7 35.6 35.6 37.4 37.8 37.8 39.2 40.0 40.5 42.7"""
LUBRICATED = "30.3 32.5 32.5 32.9 32.9 33.8 34.3 34.7 37.4 40.5"


@pytest.mark.parametrize(
    ("method", "measured", "mean", "deviation"),
    [
        ("torque, unlubricated", UNLUBRICATED, "34.26", "4.909"),
        ("torque, lubricated", LUBRICATED, "34.18", "2.881"),
    ],
)
def test_published_scatter_holds_what_was_measured(method, measured, mean, deviation):
    """NASA's ±35 and ±25 % (TS, S13) against Shigley's measurements: all within, and two deviations too."""
    loads = [float(load) for load in measured.split()]
    assert (f"{statistics.fmean(loads):.2f}", f"{statistics.stdev(loads):.3f}") == (mean, deviation)
    found = scattered(statistics.fmean(loads), scatter(method).share)
    assert all(found.holds(load) for load in loads)
    assert found.holds(float(mean) - 2 * float(deviation))
    assert found.holds(float(mean) + 2 * float(deviation))


def test_scatter_that_is_none():
    assert scattered(1200, 0).holds(1200)
    for share in (-0.1, 1.0):
        with pytest.raises(ValueError, match="below 1"):
            scattered(1200, share)
    with pytest.raises(ValueError, match="expected: torque wrench"):
        scatter("by ear")
    with pytest.raises(ValueError, match="1 or more"):
        least_preload(10, 0.9)
