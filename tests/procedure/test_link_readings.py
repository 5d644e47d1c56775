"""Readings, worked-out values, windows and time limits as they stand in the linked form."""

import pytest
from procedure_text import linked

from runner.procedure.link_bands import duration_text

SIDES = "locations: {side: [left, right]}\n"


def reading(text, key="read"):
    return linked(f"steps: [{{step: a, {key}: {{what: Gap, name: gap, {text}}}}}]").by_id["a"].readings[0]


@pytest.mark.parametrize(
    ("band", "low", "high", "opens"),
    [
        ("band: 1.4 to 2.2 mm", "1.4", "2.2", (False, False)),
        ("at most: 0.05 mm", None, "0.05", (False, False)),
        ("at least: 3", "3", None, (False, False)),
        ("band: above 5 mm", "5", None, (True, False)),
        ("band: below 5 mm", None, "5", (False, True)),
        ("band: 2 mm +1/-0 mm", "2", "3", (False, False)),
        ("band: 0.2 cm to 0.3 cm", "2", "3", (False, False)),
    ],
)
def test_a_band_is_decimal_text_in_the_unit_of_the_reading(band, low, high, opens):
    found = reading(f"unit: mm, {band}").band
    assert (found.low, found.high, found.unit, (found.low_open, found.high_open)) == (low, high, "mm", opens)


def test_a_reading_keeps_everything_written_about_it():
    one = reading("unit: mm, band: none, times: 3, second reading: blind, critical: true")
    assert (one.kind, one.unit, one.band, one.times, one.blind_second, one.critical) == (
        "number", "mm", None, 3, True, True,
    )  # fmt: skip
    assert reading("text: part number").text_kind == "part number"
    assert reading("photo: true").kind == "photo"


def test_a_formula_finds_its_readings():
    procedure = linked("""
steps:
  - {step: a, read: {what: Gap, name: gap, times: 2, unit: mm, band: none}}
  - step: b
    read: {what: Shim, name: shim, unit: in, band: none}
    work out:
      - {what: Sum, name: sum, is: gap-1 + gap-2 - shim, unit: mm, band: 1 to 2 mm}
      - {what: Half, name: half, is: sum ÷ 2, unit: mm, band: none}""")
    shim, total, half = procedure.by_id["b"].readings
    assert shim.formula is None
    assert (total.kind, total.formula) == ("worked out", "gap-1 + gap-2 - shim")
    assert total.inputs == (("gap", "a", 1), ("gap", "a", 2), ("shim", "b", 1))
    assert half.inputs == (("sum", "b", 1),)


def test_a_formula_reads_at_its_own_place():
    procedure = linked(
        SIDES
        + """
steps:
  - {each: side, steps: [{step: a, read: {what: Gap, name: gap, unit: mm, band: none}}]}
  - each: side
    steps: [{step: b, work out: {what: Twice, name: twice, is: gap × 2, unit: mm, band: none}}]"""
    )
    assert procedure.by_id["b@right"].readings[0].inputs == (("gap", "a@right", 1),)


def put_off(window, before="end", more=""):
    body = f"""
conditions: {{support: {{at start: up, changes: {{up: [down], down: [up]}}}}}}
{SIDES}
steps:
  - {{step: a, do: A}}
  - {{each: side, steps: [{{step: b, do: B}}]}}
  - {{step: c, do: C, put off: {{until: {window}, before: {before}, because: it must rest{more}}}}}
  - {{step: d, do: D}}"""
    return linked(body).by_id["c"].put_off


@pytest.mark.parametrize(
    ("window", "kind", "nodes", "text"),
    [
        ("{support: [up, down]}", "condition", (), "support is up or down"),
        ("{step: b}", "done", ("b@left", "b@right"), "b is done"),
        ("{time: 4 h, after: a}", "time", ("a",), "4 h after a"),
        ("{at: d}", "at", ("d",), "at d"),
    ],
)
def test_windows(window, kind, nodes, text):
    found = put_off(window).until
    assert (found.kind, found.nodes, found.text) == (kind, nodes, text)
    assert found.time == (4 * 3_600_000 if kind == "time" else 0)
    assert [test.values for test in found.tests] == ([("up", "down")] if kind == "condition" else [])


@pytest.mark.parametrize(
    ("before", "kind", "nodes", "text"),
    [
        ("end", "end", (), "the end"),
        ("d", "step", ("d",), "d"),
        ("{support: down}", "condition", (), "support becomes down"),
    ],
)
def test_what_a_put_off_step_comes_before(before, kind, nodes, text):
    found = put_off("{step: a}", before).before
    assert (found.kind, found.nodes, found.text) == (kind, nodes, text)
    assert (found.test is not None) == (kind == "condition")


def test_no_later_than_counts_from_a_step():
    found = put_off("{step: a}", more=", no later than: {time: 1 h 30 min, after: b}")
    assert found.no_later == (5_400_000, ("b@left", "b@right"))
    assert found.because == "it must rest"


def test_a_window_inside_a_repeat_is_that_of_its_own_place():
    procedure = linked(
        SIDES
        + """
steps:
  - each: side
    steps:
      - {step: a, do: A, put off: {until: {step: b}, before: c, because: x}}
      - {step: b, do: B}
  - {step: c, do: C}"""
    )
    window = procedure.by_id["a@right"].put_off
    assert (window.until.nodes, window.before.nodes) == (("b@right",), ("c",))


def test_a_time_limit_counts_from_an_earlier_step():
    procedure = linked("""
steps:
  - {step: a, do: A, wait: 90 s}
  - {step: b, do: B, in time: {from: a, within: 10 min, warn at: 7 min}}""")
    limit = procedure.by_id["b"].in_time
    assert (limit.start, limit.within, limit.warn_at) == (("a",), 600_000, 420_000)
    assert procedure.by_id["a"].wait == 90_000


@pytest.mark.parametrize(
    ("milliseconds", "text"),
    [(0, "0 s"), (1, "1 ms"), (90_000, "1 min 30 s"), (86_400_000, "1 day"), (7 * 86_400_000, "7 days")],
)
def test_durations_in_words(milliseconds, text):
    assert duration_text(milliseconds) == text
