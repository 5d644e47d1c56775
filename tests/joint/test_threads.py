"""Threads: designations as people write them, and the geometry of reference.md section 2."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from runner.joint.imperial import INCH
from runner.joint.threads import ThreadError, parse_thread

# reference.md 2a: d2, d3, D1 in mm and As computed (D, printed digits); As as ISO 898-1 prints it (TS: S4, S5)
COARSE = """
M3 0.5 2.675 2.387 2.459 5.031 5.03
M4 0.7 3.545 3.141 3.242 8.779 8.78
M5 0.8 4.480 4.019 4.134 14.183 14.2
M6 1 5.350 4.773 4.917 20.123 20.1
M8 1.25 7.188 6.466 6.647 36.609 36.6
M10 1.5 9.026 8.160 8.376 57.990 58.0
M12 1.75 10.863 9.853 10.106 84.267 84.3
M14 2 12.701 11.546 11.835 115.439 115
M16 2 14.701 13.546 13.835 156.668 157
M18 2.5 16.376 14.933 15.294 192.473 192
M20 2.5 18.376 16.933 17.294 244.794 245
M22 2.5 20.376 18.933 19.294 303.399 303
M24 3 22.051 20.319 20.752 352.504 353
"""

# reference.md 2b: geometry and As computed (D); As as ISO 898-1 prints it (M+, provisional)
FINE = """
M8x1 1 7.350 6.773 6.917 39.167 39.2
M10x1.25 1.25 9.188 8.466 8.647 61.199 61.2
M10x1 1 9.350 8.773 8.917 64.494 64.5
M12x1.5 1.5 11.026 10.160 10.376 88.126 88.1
M12x1.25 1.25 11.188 10.466 10.647 92.072 92.1
M14x1.5 1.5 13.026 12.160 12.376 124.546 125
M16x1.5 1.5 15.026 14.160 14.376 167.248 167
M18x1.5 1.5 17.026 16.160 16.376 216.234 216
M20x1.5 1.5 19.026 18.160 18.376 271.503 272
M22x1.5 1.5 21.026 20.160 20.376 333.056 333
M24x2 2 22.701 21.546 21.835 384.416 384
"""
ROWS = [line.split() for table in (COARSE, FINE) for line in table.split("\n") if line]


def figures(value, digits=3):
    return float(f"{value:.{digits}g}")


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row[0])
def test_metric_geometry_as_computed(row):
    """reference.md 2a, 2b (D), to the printed digits."""
    thread = parse_thread(row[0])
    assert thread.system == "metric"
    assert thread.pitch == float(row[1])
    found = (thread.pitch_diameter, thread.root_diameter, thread.minor_diameter, thread.stress_area)
    assert [f"{value:.3f}" for value in found] == row[2:6]


@pytest.mark.parametrize("row", [line.split() for line in COARSE.split("\n") if line], ids=lambda row: row[0])
def test_metric_stress_area_of_coarse_threads_as_printed(row):
    """reference.md 2a (TS: S4, S5), three figures."""
    thread = parse_thread(row[0])
    assert thread.coarse
    assert figures(thread.stress_area) == float(row[6])


@pytest.mark.provisional
@pytest.mark.parametrize("row", [line.split() for line in FINE.split("\n") if line], ids=lambda row: row[0])
def test_metric_stress_area_of_fine_threads_as_printed(row):
    """reference.md 2b (M+), three figures."""
    thread = parse_thread(row[0])
    assert not thread.coarse
    assert figures(thread.stress_area) == float(row[6])


@pytest.mark.parametrize(("name", "area"), [("M3.5", 6.78), ("M7", 28.9)])
def test_two_more_coarse_threads(name, area):
    """reference.md 2a, "Also TS": M3.5×0.6 and M7×1."""
    assert figures(parse_thread(name).stress_area) == area


# reference.md 2c: At and Ar in² as Shigley 9th ed. Table 8-2 prints them (TS); At by the formula (D)
UNIFIED = """
#8-32 0.0140 0.01401 0.01196
#10-24 0.0175 0.01753 0.01450
#10-32 0.0200 0.01999 0.0175
1/4-20 0.0318 0.03182 0.0269
1/4-28 0.0364 0.03637 0.0326
5/16-18 0.0524 0.05243 0.0454
5/16-24 0.0580 0.05807 0.0524
3/8-16 0.0775 0.07749 0.0678
3/8-24 0.0878 0.08783 0.0809
7/16-14 0.1063 0.10631 0.0933
7/16-20 0.1187 0.11872 0.1090
1/2-13 0.1419 0.14190 0.1257
1/2-20 0.1599 0.15995 0.1486
3/4-16 0.373 0.37296 0.351
"""


@pytest.mark.parametrize(
    "row", [line.split() for line in UNIFIED.split("\n") if line], ids=lambda row: row[0]
)
def test_unified_areas(row):
    """reference.md 2c. The printed At are the formula's, cut or rounded at the fourth place (0.0580 for 0.05807)."""
    size, printed, computed, root_area = row
    thread = parse_thread(size)
    area = thread.stress_area / INCH**2
    assert thread.system == "unified"
    assert f"{area:.5f}" == computed
    assert area == pytest.approx(float(printed), abs=10.0 ** -len(printed.partition(".")[2]))
    root = math.pi / 4 * (thread.root_diameter / INCH) ** 2
    assert root == pytest.approx(float(root_area), rel=2e-3)


def test_constants_of_the_profile():
    """reference.md section 2 (D, of ISO 68-1/724 and of ASME B1.1; dr TS, Shigley): what a pitch of 1 takes off d."""
    metric, unified = parse_thread("M10x1"), parse_thread("1/2-20")
    found = [metric.d - each for each in (metric.pitch_diameter, metric.minor_diameter, metric.root_diameter)]
    assert found == pytest.approx([0.649519052838, 1.082531755, 1.226869322028], abs=5e-10)
    of_area = [
        (each.d - 2 * math.sqrt(each.stress_area / math.pi)) / each.pitch for each in (metric, unified)
    ]
    assert of_area == pytest.approx([0.938194187, 0.974278579], abs=5e-10)
    assert (unified.d - unified.root_diameter) / unified.pitch == pytest.approx(1.299038, abs=5e-7)


def test_the_misprint_of_number_5_is_not_followed():
    """reference.md 2c: #5-44 is 0.00880 in one book, 0.0083 elsewhere; the formula says 0.00831 (D)."""
    assert f"{parse_thread('#5-44').stress_area / INCH**2:.5f}" == "0.00831"


def test_each_system_has_its_own_constant():
    """reference.md 2 trap: the unified constant on M8 would give 36.126 mm², ISO gives 36.609 mm² (D)."""
    m8 = parse_thread("M8")
    assert f"{m8.stress_area:.3f}" == "36.609"
    assert "0.9382" in m8.stress_area_formula
    unified = parse_thread("1/2-20")
    assert "0.9743" in unified.stress_area_formula
    as_metric = math.pi / 4 * (unified.d - 0.938194187 * unified.pitch) ** 2
    assert unified.stress_area < as_metric
    with_unified = math.pi / 4 * (8 - 9 * math.sqrt(3) / 16 * 1.25) ** 2
    assert f"{with_unified:.3f}" == "36.126"
    assert m8.stress_area / with_unified == pytest.approx(1.013, abs=5e-4)


# Spellings of people: the issue's own, and what catalogues write.
@pytest.mark.parametrize(
    ("text", "designation", "d", "pitch"),
    [
        ("M10x1.5", "M10x1.5", 10, 1.5),
        ("M10", "M10x1.5", 10, 1.5),
        ("M12×1.25", "M12x1.25", 12, 1.25),
        ("M10×1,5", "M10x1.5", 10, 1.5),
        ("½-20", "1/2-20 UNF", 12.7, 1.27),
        ("1⅛-12 UNF", "1 1/8-12 UNF", 28.575, 25.4 / 12),
        ("1 ¼-12", "1 1/4-12 UNF", 31.75, 25.4 / 12),
        ("m12 x 1,25", "M12x1.25", 12, 1.25),
        (" M8-1.25 ", "M8x1.25", 8, 1.25),
        ("M14X1.5", "M14x1.5", 14, 1.5),
        ("M30x3.5", "M30x3.5", 30, 3.5),
        ("1/2-20 UNF", "1/2-20 UNF", 12.7, 1.27),
        ("5/16-18", "5/16-18 UNC", 7.9375, 25.4 / 18),
        ("#10-32", "#10-32 UNF", 4.826, 25.4 / 32),
        ("10-32", "#10-32 UNF", 4.826, 25.4 / 32),
        ('1/4"-28', "1/4-28 UNF", 6.35, 25.4 / 28),
        ("1-14", "1-14 UNS", 25.4, 25.4 / 14),
        ("1 1/8-12", "1 1/8-12 UNF", 28.575, 25.4 / 12),
        ("1-1/8-12 unf", "1 1/8-12 UNF", 28.575, 25.4 / 12),
        ("1/2-28 UNEF", "1/2-28 UNEF", 12.7, 25.4 / 28),
    ],
)
def test_spellings(text, designation, d, pitch):
    thread = parse_thread(text)
    assert thread.designation == designation
    assert (thread.d, thread.pitch) == pytest.approx((d, pitch))
    assert parse_thread(thread.designation).but(sources=()) == thread.but(sources=())


@pytest.mark.parametrize(
    ("text", "near"),
    [
        ("M10x1.15", "M10x1.25"),
        ("M10x1.75", "M10x1.5"),
        ("M10x15", "M10x1.5"),
        ("M11", "M10x1.5"),
        ("M10x1.5-6g", "M10x1.5"),
        ("M10x1.5 LH", "M10x1.5"),
        ("1/2-20 UNC", "1/2-20 UNF"),
        ("1/2-24 UNF", "1/2-20 UNF"),
        ("1/2 UNF", "1/2-20 UNF"),
        ("1/2", "1/2-13 UNC"),
        ("#10", "#10-24 UNC"),
        ("1/2-21", "1/2-20 UNF"),
        ("10", None),
        ("", None),
        ("1/0-20", None),
        ("#13-24", None),
        ("M10x0", "M10x0.35"),
        ("M1000x2", None),
        ("M" + "1" * 100, None),
        ("\u0661/2-20", None),
    ],
)
def test_what_is_no_thread_is_refused_with_the_nearest(text, near):
    with pytest.raises(ThreadError) as refused:
        parse_thread(text)
    assert refused.value.found == text
    assert refused.value.expected
    assert refused.value.near == near or near is None
    assert "expected" in str(refused.value)


WILD = st.text(max_size=30) | st.from_regex(r"[M#]?[0-9/ .,]{1,8}[x-]?[0-9.,]{0,5}( UN[CF])?", fullmatch=True)


def outcome(text):
    """The thread, or the refusal as a value."""
    try:
        return parse_thread(text)
    except ThreadError as error:
        return error


@pytest.mark.parametrize("text", ["M0", "M0.5", "M200x2", "13/16", "1/2 UNS"])
def test_no_thread_is_called_near_that_is_not(text):
    assert isinstance(outcome(text), ThreadError)
    assert outcome(text).near is None


@given(WILD)
def test_any_text_is_a_thread_or_a_refusal(text):
    found = outcome(text)
    if isinstance(found, ThreadError):
        assert found.found == text
        assert str(found).isprintable()
        return
    assert 0 < found.root_diameter < found.minor_diameter < found.pitch_diameter < found.d
    assert parse_thread(found.designation).stress_area == found.stress_area
