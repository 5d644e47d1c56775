"""Unit factors (reference.md section 1): exact by definition (D), as NIST SP 811 App. B prints them (TS2, M)."""

from decimal import Context, Decimal

import pytest
from scipy import constants

from runner.joint import imperial
from runner.quantities import convert

# reference.md section 1, column "exact / full value" (D)
EXACT = {
    ("lbf·ft", "N·m"): "1.3558179483314004",
    ("lbf·in", "N·m"): "0.1129848290276167",
    ("ozf·in", "N·m"): "0.00706155181422604375",
    ("kgf·m", "N·m"): "9.80665",
    ("kgf·cm", "N·m"): "0.0980665",
    ("lbf", "N"): "4.4482216152605",
    ("kgf", "N"): "9.80665",
    ("psi", "kPa"): "6.89475729316836134",
    ("in", "mm"): "25.4",
    ("turn", "°"): "360",
}


@pytest.mark.parametrize(("units", "value"), EXACT.items(), ids=str)
def test_what_people_type_is_converted_exactly_to_twelve_digits(units, value):
    assert convert(Decimal(1), *units) == Context(prec=12).plus(Decimal(value))


# reference.md section 1: exact values (D); scipy.constants is the oracle to 1e-12.
@pytest.mark.parametrize(
    ("ours", "oracle", "printed"),
    [
        (imperial.POUND_FORCE_INCH, constants.lbf * constants.inch, 0.1129848290276167),
        (imperial.POUND_FORCE, constants.lbf, 4.4482216152605),
        (imperial.KSI, constants.psi * 1000 / 1e6, 6.894757293168361),
        (imperial.INCH, constants.inch * 1000, 25.4),
    ],
)
def test_factors_of_inch_and_pound_rows(ours, oracle, printed):
    assert ours == pytest.approx(oracle, rel=1e-12)
    assert ours == pytest.approx(printed, rel=1e-15)


# reference.md section 1, NIST SP 811 App. B printed (TS2; lbf, kgf, ksi, inch: M)
@pytest.mark.provisional
@pytest.mark.parametrize(
    ("ours", "printed"),
    [
        (imperial.POUND_FORCE_INCH, "0.1129848"),
        (imperial.POUND_FORCE, "4.448222"),
        (imperial.KSI, "6.894757"),
        (imperial.INCH, "25.4"),
    ],
)
def test_nist_prints_the_same_seven_digits(ours, printed):
    assert f"{ours:.7g}" == printed


@pytest.mark.parametrize(
    ("value", "unit", "to", "there"),
    [("12", "lbf·in", "lbf·ft", "1"), ("16", "ozf·in", "lbf·in", "1"), ("100", "kgf·cm", "kgf·m", "1")],
)
def test_cross_checks(value, unit, to, there):
    """reference.md section 1, cross-checks (D, exact)."""
    assert convert(Decimal(value), unit, to) == Decimal(there)


def test_a_printed_table_of_an_army_manual():
    """reference.md section 1: 29.5 lbf·ft is printed as 40 N·m (TS, S21); exact 39.997."""
    there = convert(Decimal("29.5"), "lbf·ft", "N·m")
    assert round(there, 3) == Decimal("39.997")
    assert round(there) == 40


def test_the_wrong_public_factor_is_not_ours():
    """reference.md section 1: one public converter prints ozf·in = 0.0070615478, wrong from the 7th digit."""
    assert abs(convert(Decimal(1), "ozf·in", "N·m") / Decimal("0.0070615478") - 1) > Decimal("5e-7")
