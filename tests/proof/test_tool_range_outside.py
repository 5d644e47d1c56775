"""The reach of a tool in another unit, against published factors: NIST SP 811 (2008), App. B, and scipy.constants."""

from decimal import Decimal

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy import constants

from runner.procedure.linked import Interval, Stage
from runner.proof.local.tools import spans

TO_NEWTON_METRES = {
    "N·m": 1.0,
    "lbf·ft": constants.lbf * constants.foot,
    "lbf·in": constants.lbf * constants.inch,
    "ozf·in": constants.lbf / 16 * constants.inch,
    "kgf·m": constants.kgf,
    "kgf·cm": constants.kgf * constants.centi,
}
TO_RADIANS = {"°": constants.degree, "turn": 2 * constants.pi}


def covers(low: str, high: str, unit: str) -> Interval:
    return Interval(low=low, high=high, unit=unit, text=f"{low} to {high} {unit}")


def stage(target: str, unit: str, kind: str = "torque") -> Stage:
    return Stage(kind=kind, text=target, target=target, unit=unit)  # type: ignore[arg-type]


# NIST SP 811 prints seven digits: the last one down is inside the reach, the last one up is outside.
@pytest.mark.parametrize(
    ("unit", "inside", "outside"),
    [
        ("lbf·ft", "135.5817", "135.5819"),
        ("lbf·in", "11.29848", "11.29849"),
        ("ozf·in", "0.7061551", "0.7061553"),
        ("kgf·m", "980.665", "980.6651"),
    ],
)
def test_a_hundred_of_a_unit_in_newton_metres(unit: str, inside: str, outside: str):
    assert spans(covers("0", "100", unit), stage(inside, "N·m"))
    assert not spans(covers("0", "100", unit), stage(outside, "N·m"))


@given(
    st.sampled_from([TO_NEWTON_METRES, TO_RADIANS]).flatmap(
        lambda units: st.tuples(st.just(units), st.sampled_from(list(units)), st.sampled_from(list(units)))
    ),
    st.tuples(*[st.decimals("0.5", "400", places=2)] * 3),
)
@settings(deadline=None)  # the first conversion loads pint
def test_any_setting_against_any_range(
    units: tuple[dict[str, float], str, str], numbers: tuple[Decimal, Decimal, Decimal]
):
    factors, of_tool, of_stage = units
    low, high = sorted(numbers[:2])
    target = float(numbers[2]) * factors[of_stage] / factors[of_tool]
    # What lies within the rounding of binary numbers of a limit is left to the exact tests.
    assume(all(abs(target / float(limit) - 1) > 1e-9 for limit in (low, high)))
    kind = "torque" if factors is TO_NEWTON_METRES else "angle"
    inside = float(low) <= target <= float(high)
    assert spans(covers(f"{low:f}", f"{high:f}", of_tool), stage(f"{numbers[2]:f}", of_stage, kind)) == inside


def test_a_torque_is_no_angle():
    assert not spans(covers("0", "360", "°"), stage("90", "N·m"))
    assert not spans(covers("0", "360", "N·m"), stage("90", "°", "angle"))
    assert not spans(None, stage("90", "N·m"))
