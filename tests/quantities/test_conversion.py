"""Conversion against published factors, and what it costs to have it."""

import subprocess
import sys
from decimal import Context, Decimal, localcontext
from pathlib import Path

import platformdirs
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import constants

from runner.quantities import KINDS, QuantityError, conversion, convert, convert_difference, units_of


# NIST SP 811 (2008), Appendix B, the factor as printed, seven digits (reference.md section 1): lbf·ft, lbf·in, ozf·in,
# kgf·m and psi TS2, the others M.
@pytest.mark.provisional
@pytest.mark.parametrize(
    ("unit", "to", "printed"),
    [
        ("lbf·ft", "N·m", "1.355818"),
        ("lbf·in", "N·m", "0.1129848"),
        ("ozf·in", "N·m", "0.007061552"),
        ("kgf·m", "N·m", "9.80665"),
        ("lbf", "N", "4.448222"),
        ("kgf", "N", "9.80665"),
        ("psi", "kPa", "6.894757"),
        ("in", "mm", "25.4"),
    ],
)
def test_factors_printed_in_nist_sp_811(unit: str, to: str, printed: str) -> None:
    assert Context(prec=7).plus(convert(Decimal(1), unit, to)) == Decimal(printed)


# scipy.constants (CODATA and the definitions of the units): equal in all 12 digits that a conversion keeps.
@pytest.mark.parametrize(
    ("unit", "to", "factor"),
    [
        ("lbf·ft", "N·m", constants.lbf * constants.foot),
        ("lbf·in", "N·m", constants.lbf * constants.inch),
        ("ozf·in", "N·m", constants.lbf / 16 * constants.inch),
        ("kgf·m", "N·m", constants.kgf),
        ("kgf·cm", "N·m", constants.kgf * constants.centi),
        ("lbf", "N", constants.lbf),
        ("kgf", "N", constants.kgf),
        ("psi", "kPa", constants.psi / 1000),
        ("psi", "bar", constants.psi / constants.bar),
        ("in", "mm", constants.inch * 1000),
        ("thou", "µm", constants.mil * 1e6),
        ("lb", "kg", constants.lb),
        ("mi", "km", constants.mile / 1000),
        ("l", "ml", constants.liter * 1e6),
        ("°", "turn", constants.degree / (2 * constants.pi)),
        ("week", "s", constants.week),
        ("day", "h", constants.day / constants.hour),
        ("h", "min", constants.hour / constants.minute),
    ],
)
def test_factors_of_scipy_constants(unit: str, to: str, factor: float) -> None:
    assert convert(Decimal(1), unit, to) == Context(prec=12).create_decimal_from_float(factor)


@pytest.mark.parametrize(
    ("value", "unit", "to", "expected"),
    [
        ("12", "lbf·in", "lbf·ft", "1"),
        ("16", "ozf·in", "lbf·in", "1"),
        ("100", "kgf·cm", "kgf·m", "1"),
        ("0.25", "turn", "°", "90"),
        ("25.4", "mm", "in", "1"),
        ("50", "%", "ratio", "0.5"),
        ("-40", "°C", "°F", "-40"),
        ("98.6", "°F", "°C", "37"),
        ("1.5", "kΩ", "Ω", "1500"),
        ("60.0", "N·m", "Nm", "60"),
    ],
)
def test_exact_relations(value: str, unit: str, to: str, expected: str) -> None:
    assert convert(Decimal(value), unit, to) == Decimal(expected)


def test_a_difference_of_temperatures_has_no_offset() -> None:
    assert convert_difference(Decimal(9), "°F", "°C") == 5
    assert convert_difference(Decimal(1), "kgf·m", "N·m") == Decimal("9.80665")


@given(
    st.sampled_from(
        [(a, b) for kind in KINDS if kind != "temperature" for a in units_of(kind) for b in units_of(kind)]
    ),
    st.decimals(allow_nan=False, allow_infinity=False, min_value=Decimal("0.001"), max_value=10**6, places=3),
)
def test_there_and_back_is_the_same_to_eleven_digits(pair: tuple[str, str], value: Decimal) -> None:
    unit, to = pair
    there = convert(value, unit, to)
    back = convert(there, to, unit)
    assert len(there.as_tuple().digits) <= 12 or unit == to or there == there.to_integral_value()
    assert abs(back - value) <= value * Decimal("1e-11")


@pytest.mark.parametrize(
    ("unit", "to"), [("N·m", "J"), ("J", "N·m"), ("m", "km"), ("kg", "kgf"), ("N·m", "mm")]
)
def test_no_way_between_kinds(unit: str, to: str) -> None:
    with pytest.raises(QuantityError):
        convert(Decimal(1), unit, to)


@pytest.mark.parametrize("value", ["NaN", "sNaN", "Infinity", "-Infinity", "1E+41", "1E-41", "1E+999999"])
def test_values_out_of_all_proportion_are_refused(value: str) -> None:
    for to in ("mm", "in"):
        with pytest.raises(QuantityError):
            convert(Decimal(value), "mm", to)


def test_the_callers_decimal_context_changes_nothing() -> None:
    with localcontext(Context(prec=3, traps=[])):
        assert str(convert(Decimal(44), "lbf·ft", "N·m")) == "59.6559897266"


def test_only_a_conversion_loads_pint() -> None:
    code = (
        "import sys; from runner.quantities import *; from decimal import Decimal as D\n"
        "parse_band('60 N·m ±4 %'); parse_duration('1 h 30 min'); parse_entry('60', 'N·m')\n"
        "convert(D(60), 'Nm', 'N·m'); print('pint' in sys.modules, 'platformdirs' in sys.modules)\n"
        "parse_entry('44 ft-lb', 'N·m'); print('pint' in sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.split() == ["False", "False", "True"]


def test_the_registry_is_kept_and_a_damaged_copy_does_no_harm(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(platformdirs, "user_cache_path", lambda name: tmp_path / name)
    build = conversion._registry.__wrapped__
    build()
    kept = list((tmp_path / "witnessmark").rglob("*.pickle"))
    assert kept
    for file in kept:
        file.write_bytes(file.read_bytes()[:100])
    assert build().convert(Decimal(1), "inch", "millimeter") == Decimal("25.4")


def test_a_cache_folder_that_cannot_be_made_does_no_harm(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "file").write_text("in the way")
    monkeypatch.setattr(platformdirs, "user_cache_path", lambda name: tmp_path / "file" / name)
    assert conversion._registry.__wrapped__().convert(Decimal(1), "inch", "millimeter") == Decimal("25.4")
