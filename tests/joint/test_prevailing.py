"""Prevailing torque (reference.md section 9 and 4f)."""

from decimal import Decimal

import pytest

from runner.joint.imperial import POUND_FORCE_INCH
from runner.joint.prevailing import drag_for, judge_drag, with_drag
from runner.joint.threads import parse_thread


def test_the_example_of_an_aircraft_nut():
    """reference.md 4f: AC 7-40 rule (TS), example (D): 1/4-28 tension nut 50–70 with 6.5 drag gives 56.5–76.5."""
    found = [with_drag(Decimal(torque), Decimal("6.5")) for torque in (50, 70)]
    assert found == [Decimal("56.5"), Decimal("76.5")]
    assert with_drag(Decimal(60), Decimal(0)) == 60
    with pytest.raises(ValueError, match="0 or more"):
        with_drag(Decimal(60), Decimal(-1))


# reference.md section 9: CH-47 TM minimum friction torque (TS, S19), lbf·in, "about 1.5–1.85 × AC" (D)
@pytest.mark.parametrize(
    ("size", "ch_47"),
    [
        ("7/16-20", 14),
        ("1/2-20", 18),
        ("9/16-18", 24),
        ("5/8-18", 32),
        ("3/4-16", 50),
        ("7/8-14", 70),
        ("1 1/8-12", 117),
        ("1 1/4-12", 143),
    ],
)
def test_least_drag_against_an_independent_table(size, ch_47):
    row = drag_for(parse_thread(size))
    assert 1.5 <= ch_47 * POUND_FORCE_INCH / row.least <= 1.86
    assert not any(source.from_memory for source in row.sources)


# reference.md section 9: "ISO 2320 removal minimum" as another page prints it (TS, S23), N·m; our rows are M.
@pytest.mark.provisional
@pytest.mark.parametrize(
    ("size", "least"), [("M10", 1.4), ("M12", 2.1), ("M16", 4.2), ("M20", 7.0), ("M24", 10.5)]
)
def test_least_drag_of_metric_nuts_against_another_page(size, least):
    row = drag_for(parse_thread(size), "10.9")
    assert row.least == least
    assert row.most > row.least
    assert drag_for(parse_thread(size), "8.8").least < least
    assert row.sources[0].from_memory


def test_a_worn_or_wrong_nut_is_named():
    thread = parse_thread("1/2-20")
    least = 10 * POUND_FORCE_INCH  # AC 43.13-1B Table 7-2 (TS)
    assert "no longer locks" in judge_drag(thread, least * 0.99)
    assert judge_drag(thread, least) == ""
    metric = parse_thread("M10")
    assert "no longer locks" in judge_drag(metric, 1.3)
    assert judge_drag(metric, 5) == ""
    assert "wrong or damaged" in judge_drag(metric, 15)
    assert "wrong or damaged" in judge_drag(metric, 12, "8.8")


@pytest.mark.parametrize(
    ("size", "bolt"), [("M10x1", "10.9"), ("M30x3.5", "10.9"), ("#10-32", ""), ("M10", "4.6")]
)
def test_nothing_is_said_where_no_row_is_known(size, bolt):
    thread = parse_thread(size)
    assert drag_for(thread, bolt) is None
    assert judge_drag(thread, 1e-6, bolt) == ""
