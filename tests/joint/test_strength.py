"""Strength classes and grades (reference.md section 3) and the loads of a thread (2a, 2b)."""

import pytest

from runner.joint.imperial import KSI, POUND_FORCE
from runner.joint.strength import StrengthError, proof_load, strength, strength_for, tensile_load, yield_load
from runner.joint.threads import parse_thread
from tests.joint.test_threads import figures

# reference.md 2a: proof loads in kN of 8.8, 10.9, 12.9 (TS: S4); tolerance 0.7 % as stated under the table.
PROOF = """
M3 2.92 4.18 4.88
M3.5 3.94 5.63 6.58
M4 5.1 7.29 8.52
M5 8.23 11.8 13.8
M6 11.6 16.7 19.5
M7 16.8 24.0 28.0
M8 21.2 30.4 35.5
M10 33.7 48.1 56.3
M12 48.9 70 81.8
M14 66.7 95.5 112
M16 91 130 152
M18 115 159 186
M20 147 203 238
M22 182 252 294
M24 212 293 342
"""
CELLS = [
    (row.split()[0], name, float(value))
    for row in PROOF.split("\n")
    if row
    for name, value in zip(("8.8", "10.9", "12.9"), row.split()[1:], strict=True)
]


@pytest.mark.parametrize(("size", "name", "printed"), CELLS)
def test_proof_loads_of_coarse_threads(size, name, printed):
    thread = parse_thread(size)
    assert proof_load(thread, strength(name, thread.d)) / 1000 == pytest.approx(printed, rel=0.007)


# reference.md 2b: Fp = As·Sp to three figures (D)
FINE = """
M8x1 22.7 32.5 38
M10x1.25 35.5 50.8 59.4
M10x1 37.4 53.5 62.6
M12x1.5 51.1 73.1 85.5
M12x1.25 53.4 76.4 89.3
M14x1.5 72.2 103 121
M16x1.5 97 139 162
M18x1.5 130 179 210
M20x1.5 163 225 263
M22x1.5 200 276 323
M24x2 231 319 373
"""


@pytest.mark.parametrize("row", [line.split() for line in FINE.split("\n") if line], ids=lambda row: row[0])
def test_proof_loads_of_fine_threads(row):
    thread = parse_thread(row[0])
    loads = [proof_load(thread, strength(name, thread.d)) / 1000 for name in ("8.8", "10.9", "12.9")]
    assert [figures(load) for load in loads] == [float(cell) for cell in row[1:]]


# reference.md section 3: minimum ultimate loads in kN (TS: S5). No tolerance is stated there; the page is not a clean
# rounding either (M16 8.8 prints 125, 157·800 is 125.6), so it is held to the 0.7 % of the proof loads.
@pytest.mark.parametrize(
    "row",
    [
        "M6 16.1 20.9 24.5",
        "M8 29.2 38.1 44.6",
        "M10 46.4 60.3 70.8",
        "M12 67.4 87.7 103",
        "M16 125 163 192",
        "M20 203 255 299",
    ],
)
def test_ultimate_loads(row):
    size, *printed = row.split()
    thread = parse_thread(size)
    for name, cell in zip(("8.8", "10.9", "12.9"), printed, strict=True):
        load = tensile_load(thread, strength(name, thread.d)) / 1000
        assert load == pytest.approx(float(cell), rel=0.007)


def test_the_misprint_of_an_ultimate_load_is_not_followed():
    """reference.md 2c, misprints met: M4 10.9 is printed 91130 N in S5 and should be 9 130 N."""
    thread = parse_thread("M4")
    assert figures(tensile_load(thread, strength("10.9", thread.d))) == 9130


@pytest.mark.provisional
def test_class_88_has_two_rows_and_16_mm_is_in_the_lower():
    """reference.md section 3: ISO 898-1 Table 3 (M+); M16 and M18 proof loads 91.0 = 157·580, 115 = 192·600 (TS)."""
    low, high = strength("8.8", 16), strength("8.8", 16.5)
    assert (low.proof, low.yield_, low.tensile) == (580, 640, 800)
    assert (high.proof, high.yield_, high.tensile) == (600, 660, 830)
    assert 157 * low.proof / 1000 == pytest.approx(91.0, abs=0.07)
    assert figures(192 * high.proof / 1000) == 115
    assert low.sources[0].from_memory


def test_minima_lie_above_what_the_digits_say():
    """reference.md section 3 (TS): 10.9 is 830/940/1040 and 12.9 is 970/1100/1220, not 1000/900 and 1200/1080."""
    for name, by_digits in (("10.9", (1000, 900)), ("12.9", (1200, 1080))):
        found = strength(name, 10)
        assert found.tensile > by_digits[0]
        assert found.yield_ > by_digits[1]
        assert found.proof < found.yield_ < found.tensile
        assert not found.sources[0].from_memory


# reference.md section 3: SAE J429 (TS: S3), proof, yield, tensile in ksi
@pytest.mark.parametrize(
    ("text", "inches", "ksi"),
    [
        ("gr. 2", 0.25, (55, 57, 74)),
        ("grade 2", 0.75, (55, 57, 74)),
        ("gr 5", 0.25, (85, 92, 120)),
        ("SAE grade 5", 1.0, (85, 92, 120)),
        ("gr. 5", 1.125, (74, 81, 105)),
        ("SAE J429 gr. 5", 1.5, (74, 81, 105)),
        ("Grade 8", 0.25, (120, 130, 150)),
        ("gr. 8", 1.5, (120, 130, 150)),
    ],
)
def test_grades(text, inches, ksi):
    found = strength(text, inches * 25.4)
    assert (found.proof / KSI, found.yield_ / KSI, found.tensile / KSI) == pytest.approx(ksi)


# reference.md section 3: proof loads unified = At·Sp in lbf, grade 5 and 8 (D)
@pytest.mark.parametrize(
    ("size", "five", "eight"),
    [("1/4-20", 2705, 3819), ("1/4-28", 3092, 4365), ("3/8-24", 7465, 10539), ("1/2-20", 13596, 19194)],
)
def test_proof_loads_of_grades(size, five, eight):
    thread = parse_thread(size)
    loads = [proof_load(thread, strength_for(f"gr. {grade}", thread)) / POUND_FORCE for grade in (5, 8)]
    assert [round(load) for load in loads] == [five, eight]


@pytest.mark.parametrize(
    ("text", "d", "near"),
    [
        ("10.8", 10, "10.9"),
        ("A2-70", 10, None),
        ("gr. 3", 10, "gr. 8"),
        ("gr. 2", 25.4, None),
        ("gr. 8", 5, None),
        ("10.9", 30, None),
        ("8.8", 2, None),
        ("", 10, None),
        ("9" * 50, 10, None),
    ],
)
def test_what_no_row_covers_is_refused_and_never_guessed(text, d, near):
    with pytest.raises(StrengthError) as refused:
        strength(text, d)
    assert refused.value.found == text
    assert refused.value.near == near
    assert "expected" in str(refused.value)


def test_a_class_belongs_to_its_threads():
    for text, thread in (("10.9", "1/2-20 UNF"), ("gr. 5", "M10")):
        with pytest.raises(StrengthError, match=r"inch bolts|metric class"):
            strength_for(text, parse_thread(thread))
    assert strength_for("class 10,9", parse_thread("M10")).name == "10.9"


def test_loads_rise_from_proof_to_break():
    thread = parse_thread("M10")
    each = strength("10.9", 10)
    assert proof_load(thread, each) < yield_load(thread, each) < tensile_load(thread, each)
