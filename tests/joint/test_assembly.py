"""VDI 2230 assembly values at 90 % of yield (reference.md 4b, 4c), tolerances 0.5 % in FM and 1.5 % in MA."""

import math
import random

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from runner.joint.assembly import assembly_preload, assembly_torque, worked
from runner.joint.between import Between
from runner.joint.friction import half_width, least_preload
from runner.joint.heads import bearing_for, bearing_of
from runner.joint.strength import strength, yield_load
from runner.joint.threads import parse_thread

CLASSES = ("8.8", "10.9", "12.9")

# reference.md 4b, fine threads (TS: S6, VDI 2230:2001): thread, μ, FM kN by class, MA N·m by class
FINE = """
M8x1 0.10 20.7 30.4 35.6 22.8 33.5 39.2
M8x1 0.12 20.2 29.7 34.7 26.1 38.3 44.9
M8x1 0.14 19.7 28.9 33.9 29.2 42.8 50.1
M10x1.25 0.10 32.4 47.5 55.6 44 65 76
M10x1.25 0.12 31.6 46.4 54.3 51 75 87
M10x1.25 0.14 30.8 45.2 52.9 57 83 98
M14x1.5 0.10 66.4 97.5 114.1 124 182 213
M14x1.5 0.12 64.8 95.2 111.4 142 209 244
M14x1.5 0.14 63.2 92.9 108.7 159 234 274
M16x1.5 0.10 89.6 131.6 154.0 189 278 325
M16x1.5 0.12 87.6 128.7 150.6 218 320 374
M16x1.5 0.14 85.5 125.5 146.9 244 359 420
M20x1.5 0.10 151 215 252 392 558 653
M20x1.5 0.12 148 211 246 454 646 756
M20x1.5 0.14 144 206 241 511 728 852
M22x1.5 0.10 186 264 309 529 754 882
M22x1.5 0.12 182 259 303 613 873 1022
M22x1.5 0.14 178 253 296 692 985 1153
M24x2 0.10 213 304 355 666 949 1110
M24x2 0.12 209 297 348 769 1095 1282
M24x2 0.14 204 290 339 865 1232 1442
"""

# reference.md 4c, coarse threads (VDI 2230-1:2003/2015 Table A1, M+: provisional)
COARSE = """
M6 0.10 10.4 15.3 17.9 9.0 13.2 15.4
M6 0.12 10.2 14.9 17.5 10.1 14.9 17.4
M6 0.14 9.9 14.5 17.0 11.3 16.5 19.3
M8 0.10 19.1 28.0 32.8 21.6 31.8 37.2
M8 0.12 18.6 27.3 32.0 24.6 36.1 42.2
M8 0.14 18.1 26.6 31.1 27.3 40.1 46.9
M10 0.10 30.3 44.5 52.1 43 63 73
M10 0.12 29.6 43.4 50.8 48 71 83
M10 0.14 28.8 42.2 49.4 54 79 93
M12 0.10 44.1 64.8 75.9 73 108 126
M12 0.12 43.0 63.2 74.0 84 123 144
M12 0.14 41.9 61.5 72.0 93 137 160
M16 0.10 82.9 121.7 142.4 180 264 309
M16 0.12 80.9 118.8 139.0 206 302 354
M16 0.14 78.8 115.7 135.4 230 338 395
M20 0.10 134 190 223 363 517 605
M20 0.12 130 186 217 415 592 692
M20 0.14 127 181 212 464 661 773
"""


def rows(table):
    return [line.split() for line in table.split("\n") if line]


def check(row):
    size, friction, *cells = row
    thread = parse_thread(size)
    face = bearing_for(thread)
    for name, load, torque in zip(CLASSES, cells[:3], cells[3:], strict=True):
        of = strength(name, thread.d)
        assert assembly_preload(thread, of, float(friction)) / 1000 == pytest.approx(float(load), rel=0.005)
        assert assembly_torque(thread, of, float(friction), face) == pytest.approx(float(torque), rel=0.015)


@pytest.mark.parametrize("row", rows(FINE), ids=lambda row: "-".join(row[:2]))
def test_fine_threads(row):
    check(row)


@pytest.mark.provisional
@pytest.mark.parametrize("row", rows(COARSE), ids=lambda row: "-".join(row[:2]))
def test_coarse_threads(row):
    check(row)


@pytest.mark.provisional
def test_other_published_tables_are_not_mixed_in():
    """reference.md 4c (M+): M10 8.8 at 0.14 is 47, 49 and 50 N·m elsewhere, 7 to 13 % under ours, 54."""
    ours = assembly_torque(parse_thread("M10"), strength("8.8", 10), 0.14, bearing_for(parse_thread("M10")))
    assert round(ours) == 54
    assert [round(100 * (1 - other / ours)) for other in (47, 50)] == [13, 7]


def test_the_one_coarse_cell_that_was_seen():
    """reference.md 4c (TS, S7): M12, μ 0.14, FM 41.9 kN; with αA 1.8 FMmin 23.3 kN (23.28 D)."""
    load = assembly_preload(parse_thread("M12"), strength("8.8", 12), 0.14) / 1000
    assert load == pytest.approx(41.9, rel=0.005)
    assert f"{least_preload(41.9, 1.8):.2f}" == "23.28"
    assert f"{least_preload(41.9, 1.8):.1f}" == "23.3"


# reference.md 4g (D): αA as a half-width
@pytest.mark.parametrize(
    ("factor", "per_cent"), [(1.4, "16.7"), (1.6, "23.1"), (1.8, "28.6"), (2.5, "42.9"), (4, "60.0")]
)
def test_tightening_factor_as_a_scatter(factor, per_cent):
    assert f"{100 * half_width(factor):.1f}" == per_cent
    least, most = 1 - half_width(factor), 1 + half_width(factor)
    assert most / least == pytest.approx(factor)


@pytest.mark.provisional
def test_the_edition_matters():
    """reference.md 4a (M): the 1986 edition takes 2 for 3/2: M8 8.8 at 0.12 falls from 18.63 to 17.21 kN."""
    m8, of = parse_thread("M8"), strength("8.8", 8)
    loads = [assembly_preload(m8, of, 0.12, edition=edition) / 1000 for edition in ("2015", "2003", "1986")]
    assert [f"{load:.2f}" for load in loads] == ["18.63", "18.63", "17.21"]
    _, _, working = worked(m8, of, Between(0.12, 0.12), bearing_for(m8), edition="1986")
    assert working.sources[0].text().startswith("VDI 2230-1:1986")
    assert working.from_memory
    with pytest.raises(ValueError, match="expected: 2003, 2015, 1986"):
        assembly_preload(m8, of, 0.12, edition="2001")


def test_the_combined_stress_is_ninety_per_cent_of_yield():
    """Not the formula again: tension over As and twist over d0 put together as von Mises does reach 0.9 Rp0.2.

    The twist taken is the torque in the thread over a fully plastic section, π d0³/12, from which 3/2 comes.
    """
    for size, name, friction in (("M8", "8.8", 0.12), ("M16x1.5", "12.9", 0.10), ("M24", "10.9", 0.14)):
        thread, of = parse_thread(size), strength(name, parse_thread(size).d)
        load = assembly_preload(thread, of, friction)
        core = (thread.pitch_diameter + thread.root_diameter) / 2
        twisting = (
            load
            * (thread.pitch_diameter / 2)
            * (thread.pitch / (math.pi * thread.pitch_diameter) + 1.155 * friction)
        )
        tension, twist = load / thread.stress_area, twisting / (math.pi * core**3 / 12)
        # As is π/4 d0², so that F (3/2)(d2/d0) tan = τ As with τ = twisting / (π d0³/12)
        assert math.hypot(tension, math.sqrt(3) * twist) == pytest.approx(0.9 * of.yield_, rel=1e-9)


def test_a_root_finder_inverts_preload_and_torque():
    m10, of, face = parse_thread("M10"), strength("10.9", 10), bearing_of(12.815)
    load = assembly_preload(m10, of, 0.13)
    assert brentq(lambda mu: assembly_preload(m10, of, mu) - load, 0.01, 0.9) == pytest.approx(0.13)
    torque = assembly_torque(m10, of, 0.13, face)
    assert brentq(lambda mu: assembly_torque(m10, of, mu, face) - torque, 0.01, 0.9) == pytest.approx(0.13)


def test_intervals_enclose_ten_thousand_draws():
    draw = random.Random(2230)
    m10, of, face = parse_thread("M10"), strength("10.9", 10), bearing_for(parse_thread("M10"))
    friction = Between(0.08, 0.2)
    loads, torques = assembly_preload(m10, of, friction), assembly_torque(m10, of, friction, face)
    for _ in range(10_000):
        one = draw.uniform(0.08, 0.2)
        assert loads.holds(assembly_preload(m10, of, one))
        assert torques.holds(assembly_torque(m10, of, one, face))
    assert loads.high < yield_load(m10, of)


@given(
    st.sampled_from(["M3", "M8", "M10x1", "M24"]).map(parse_thread),
    st.floats(0.01, 0.9),
    st.floats(0.01, 0.9),
)
def test_with_friction_the_load_falls_and_the_torque_rises(thread, one, other):
    """What `assembly_torque` relies on for an interval, on the narrowest face too."""
    less, more = sorted((one, other))
    of = strength("8.8", thread.d)
    assert assembly_preload(thread, of, less) >= assembly_preload(thread, of, more)
    for face in (bearing_of(0.01 * thread.d), bearing_of(2 * thread.d)):
        rising = assembly_torque(thread, of, more, face) / assembly_torque(thread, of, less, face)
        assert rising >= 1 - 1e-12


def test_friction_is_asked_for():
    with pytest.raises(ValueError, match="more than 0"):
        assembly_preload(parse_thread("M8"), strength("8.8", 8), 0.0)
