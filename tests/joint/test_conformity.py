"""In, out, or too close to tell: guard bands and the certificate's uncertainty (reference.md section 6)."""

from decimal import Decimal
from statistics import NormalDist

import pytest
from hypothesis import given
from hypothesis import strategies as st

from runner.joint.conformity import NO_CERTIFICATE, acceptance, decide, expanded_at, guard, working
from runner.joint.wrench import Certificate, Extension, Wrench
from runner.quantities import QuantityError

D = Decimal


def wrench(uncertainty: str | None, unit: str = "%", coverage: str = "2", type_class: str = "") -> Wrench:
    certificate = (
        Certificate(uncertainty=uncertainty, unit=unit, coverage=coverage)
        if uncertainty is not None
        else None
    )
    return Wrench(
        name="w", kind="click", low="20", high="130", unit="N·m", length="400", type_class=type_class,
        certificate=certificate,
    )  # fmt: skip


@pytest.mark.parametrize(("rule", "low", "high"), [("U", "96", "104"), ("1.65 u", "95.825", "104.175")])
def test_the_zone_that_is_surely_in(rule, low, high):
    """D: 95 to 105 with u = 0.5 (U = 1): 96 to 104, or 95.825 to 104.175."""
    zone = acceptance(D(95), D(105), D(1), rule)
    assert (zone.low, zone.high) == (D(low), D(high))


@pytest.mark.provisional
@pytest.mark.parametrize(
    ("value", "verdict"),
    [
        ("96", "in"), ("100", "in"), ("104", "in"),
        ("95.99", "too close"), ("94", "too close"), ("104.01", "too close"), ("106", "too close"),
        ("93.99", "out"), ("106.01", "out"),
    ],
)  # fmt: skip
def test_three_verdicts_with_the_guard_band_of_u(value, verdict):
    """JCGM 106:2012 with r = 1, ISO 14253-1:2013, M: out is beyond TL − w or TU + w."""
    assert decide(D(value), D(95), D(105), D(1)) == verdict


@pytest.mark.provisional
def test_the_edition_of_2017_guards_less():
    """ISO 14253-1:2017, M: w = 1.65 u."""
    assert decide(D("95.9"), D(95), D(105), D(1)) == "too close"
    assert decide(D("95.9"), D(95), D(105), D(1), "1.65 u") == "in"
    assert decide(D("94.1"), D(95), D(105), D(1), "1.65 u") == "out"


def test_the_factors_are_those_of_the_normal_distribution():
    """D: one-sided 95 % is z = 1.64485, which ISO 14253-1:2017 rounds to 1.65; 99.9 % is 3.09, 107 km/h by JCGM 106."""
    assert f"{NormalDist().inv_cdf(0.95):.5f}" == "1.64485"
    one_sided = float(guard(D(2), "1.65 u"))  # U = 2 at k = 2 is u = 1
    assert 0.95 < NormalDist().cdf(one_sided) < 0.951
    z = round(NormalDist().inv_cdf(0.999), 2)
    assert (z, f"{100 / (1 - 0.02 * z):.2f}") == (3.09, "106.59")


@pytest.mark.provisional
@pytest.mark.parametrize(("speed", "verdict"), [("106.5", "too close"), ("106.6", "out")])
def test_the_speed_of_jcgm_106(speed, verdict):
    """JCGM 106 speed example, M (D 106.59): limit 100 km/h, u = 2 %, z = 3.09; the guard band is z · u."""
    assert decide(D(speed), None, D(100), D(speed) * D("0.02") * D("3.09")) == verdict


def test_without_a_certificate_the_bare_band_decides_and_that_is_said():
    assert [decide(D(v), D(95), D(105), None) for v in ("94.99", "95", "105", "105.01")] == [
        "out",
        "in",
        "in",
        "out",
    ]
    said = working(D(95), D(95), D(105), "N·m", None)
    assert NO_CERTIFICATE in said.result
    assert not said.from_memory


def test_a_band_narrower_than_the_guard_bands_can_never_be_met():
    assert acceptance(D(59), D(61), D("1.5")).empty
    assert decide(D(60), D(59), D(61), D("1.5")) == "too close"


def test_limits_on_one_side_only():
    assert decide(D(50), None, D(60), D(1)) == "in"
    assert decide(D("59.5"), None, D(60), D(1)) == "too close"
    assert decide(D("58.9"), D(60), None, D(1)) == "out"


def test_an_uncertainty_below_zero_is_refused():
    with pytest.raises(ValueError, match="from 0 on"):
        decide(D(60), D(59), D(61), D(-1))


def test_the_class_is_never_taken_for_an_uncertainty():
    assert expanded_at(wrench(None, type_class="II A"), D(60), "N·m") is None


@pytest.mark.parametrize(
    ("tool", "value", "unit", "expanded"),
    [
        (wrench("1.2"), "60", "N·m", "0.72"),
        (wrench("1.2"), "44", "lbf·ft", "0.528"),
        (wrench("0.5", "N·m"), "60", "N·m", "0.5"),
        (wrench("1.8", coverage="3"), "60", "N·m", "0.72"),
        (wrench("0.6", coverage="1"), "60", "N·m", "0.72"),
    ],
)
def test_the_certificates_uncertainty_at_a_reading_is_given_at_k_two(tool, value, unit, expanded):
    assert expanded_at(tool, D(value), unit) == D(expanded)


def test_an_extension_carries_an_amount_and_leaves_per_cent():
    straight = Extension(length="100")
    assert expanded_at(wrench("0.5", "N·m"), D(75), "N·m", straight) == D("0.625")
    assert expanded_at(wrench("1"), D(75), "N·m", straight) == D("0.75")


def test_an_amount_is_converted_to_the_unit_asked():
    found = expanded_at(wrench("1", "N·m"), D(44), "lbf·ft")
    assert found == pytest.approx(D("0.737562149277"), rel=D("1e-11"))


@pytest.mark.parametrize(("uncertainty", "k"), [("-1", "2"), ("1", "0")])
def test_a_certificate_that_cannot_be_is_refused(uncertainty, k):
    with pytest.raises(QuantityError):
        expanded_at(wrench(uncertainty, coverage=k), D(60), "N·m")


def test_the_working_says_rule_uncertainty_and_that_it_is_from_memory():
    said = working(D("95.5"), D(95), D(105), "N·m", D(1))
    assert said.result == "too close to a limit to tell with this wrench"
    assert ("w, guard band", "1 N·m") in said.inputs
    assert said.from_memory
    assert {source.name for source in said.sources} == {"ISO 14253-1", "JCGM 106"}
    other = working(D("95.5"), D(95), D(105), "N·m", D(1), "1.65 u")
    assert ("w, guard band", "0.825 N·m") in other.inputs
    assert [source.edition for source in other.sources] == ["2017"]


numbers = st.decimals("-1000", "1000", places=3)


@given(numbers, numbers, st.decimals("0", "500", places=3), st.decimals("0", "50", places=3))
def test_more_uncertainty_never_turns_one_verdict_into_the_other(value, low, width, expanded):
    bare = decide(value, low, low + width, None)
    for rule in ("U", "1.65 u"):
        assert decide(value, low, low + width, expanded, rule) in (bare, "too close")
    assert decide(value, low, low + width, D(0)) == bare
