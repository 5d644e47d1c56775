"""P22 and P25, found while linking: what is declared and never used, and single-use parts that no list has."""

import pytest

from runner.procedure.link_unused import MOST_REMARKS
from runner.proof.rules import RULES
from tests.procedure.procedure_text import HERE, errors, marked, remarks

STEP = "steps: [{step: look, do: Look round.}]\n"
SUPPORT = "conditions: {%ssupport: {at start: up, changes: {up: [down], down: [up]}%s}}\n"
LOWER = "steps: [{step: lower, do: Lower it., sets: {support: down}}]\n"


def one(body: str, **used: str) -> tuple[str, str, str]:
    """The only remark on a body, which stands at the mark."""
    found = remarks(body, **used)
    assert [(each.line, each.column) for each in found] == [marked(body)], [each.text() for each in found]
    assert found[0].mend
    assert found[0].rule in RULES
    return found[0].grade, found[0].rule, found[0].message


def test_an_item_that_nothing_is_done_to():
    body = "items: {%slid: {kind: cover}}\n"
    assert one(body % HERE + STEP) == ("warning", "unused", 'the item "lid" is never acted on or needed')
    for use in ("takes off: [lid]", "needs: {lid: on}"):
        assert remarks(body % "" + f"steps: [{{step: look, do: Look round., {use}}}]\n") == []


def test_an_item_that_only_a_used_file_acts_on():
    part = "takes over: {lid: on}\nleaves open: {lid: off}\nitems: {lid: {kind: cover}}\n"
    part += "steps: [{step: open, takes off: [lid]}]\n"
    assert remarks("items: {lid: {kind: cover}}\nsteps: [{use: part.yaml}]\n", part=part) == []


def test_a_step_that_an_answer_leads_to_uses_things_too():
    body = """\
items: {lid: {kind: cover}}
steps:
  - step: look
    ask: How is it?
    answers:
      good: go on
      bad: {again: look, at most: 2, then: [{step: open, takes off: [lid]}]}
"""
    found = remarks(body.replace("  - step: look", "  - {step: first, do: Do it.}\n  - step: look"))
    assert found == []


def test_a_tool_with_a_range_that_no_step_names():
    body = "tools: [%s{name: wrench, covers: 20 to 130 N·m}, {name: socket}]\n"
    assert one(body % HERE + STEP) == (
        "advice",
        "unused",
        '"wrench" covers 20 to 130 N·m, and no step names it under `tools`',
    )
    assert remarks(body % "" + STEP.replace("look,", "look, tools: [wrench],")) == []
    used = "tools: [{name: wrench}]\n" + STEP.replace("look,", "look, tools: [wrench],")
    assert remarks(body % "" + "steps: [{use: part.yaml}]\n", part=used) == []


def test_a_part_that_no_item_names():
    body = "parts: [%s{name: seal}]\nitems: {seal: {kind: fitted part, new: every time%s}}\n"
    fits = "steps: [{step: fit, takes out: [seal]}, {step: refit, fits: [seal]}]\n"
    assert remarks(body % ("", ", part: seal") + fits) == []
    plain = body.replace(", new: every time", "")
    assert one(plain % (HERE, "") + fits) == (
        "advice",
        "unused",
        'no item names "seal" with `part:`, so no step asks for it',
    )


def test_a_single_use_part_without_a_part():
    body = "items: {%sseal: {kind: fitted part, new: every time}}\n"
    fits = "steps: [{step: fit, takes out: [seal]}, {step: refit, fits: [seal]%s}]\n"
    assert one(body % HERE + fits % "") == (
        "advice",
        "part-unlisted",
        '"seal" is new every time, and no part says what to lay out for it',
    )
    number = ", read: {what: Number on the seal, name: seal-number, text: %s}"
    assert remarks(body % "" + fits % (number % "part number")) == []
    assert len(remarks(body % "" + fits % (number % "batch number"))) == 1


def test_a_condition_that_nothing_reads():
    assert one(SUPPORT % (HERE, "") + LOWER) == (
        "warning",
        "unused",
        'no step, stage or window reads the condition "support"',
    )


@pytest.mark.parametrize(
    "steps",
    [
        "steps: [{step: lower, do: A., needs: {support: up}, sets: {support: down}}]\n",
        "steps: [{step: lower, do: A., only if: {support: up}, sets: {support: down}}]\n",
        "steps: [{only if: {support: up}, steps: [{step: lower, do: A., sets: {support: down}}]}]\n",
        LOWER + "make safe: {down: [Leave it]}\n",
        LOWER + "ends with: {support: down}\n",
        "steps: [{step: a, do: A., put off: {until: {support: down}, before: end, because: b}}, "
        + LOWER.removeprefix("steps: ["),
        "steps: [{step: a, do: A., put off: {until: {step: lower}, before: {support: down}, because: b}}, "
        + LOWER.removeprefix("steps: ["),
        "items: {bolt: {kind: fastener, at start: started, tighten: [{snug: by hand, only when: {support: down}}]}}\n"
        + LOWER.replace("]\n", ", {step: tight, tightens: [bolt]}]\n"),
    ],
)
def test_a_condition_is_read_in_many_ways(steps: str):
    assert remarks(SUPPORT % ("", "") + steps) == []


def test_a_hazard_is_a_use_of_a_condition():
    assert remarks(SUPPORT % ("", ", hazardous: [up]") + LOWER) == []
    used = SUPPORT % ("", "") + "ends with: {support: down}\n" + LOWER
    assert remarks(SUPPORT % ("", "") + "steps: [{use: part.yaml}]\n", part=used) == []


def test_a_value_that_no_step_sets():
    body = "conditions: {support: {at start: up, changes: {up: [down, %sside], down: [up], side: [up]}}}\n"
    body = body.replace("%sside], down: [up], side", "side], down: [up], %sside")
    steps = "steps: [{step: lower, do: Lower it., needs: {support: up}, sets: {support: %s}}]\n"
    found = remarks(body % "" + steps % "down")
    assert [each.message for each in found] == [
        'support never becomes "side": no step sets it, and no job begins there'
    ]
    assert one(body % HERE + steps % "down")[:2] == ("warning", "unused")
    both = steps.replace("}}]", "}}, {step: turn, do: Turn it., sets: {support: side}}]")
    assert remarks(body % "" + both % "down") == []
    # A file that is used has the values of its caller, and need not come to each.
    caller = body % "" + "steps: [{use: part.yaml}, {step: turn, do: Turn it., sets: {support: side}}]\n"
    assert remarks(caller, part=body % "" + steps % "down") == []


def test_a_location_and_a_variant_that_nothing_is_about():
    location = "locations: {%sside: [left, right]}\n"
    assert one(location % HERE + STEP) == (
        "warning",
        "unused",
        'nothing is done or stands at the location "side"',
    )
    assert remarks(location % "" + "steps: [{each: side, steps: [{step: look, do: Look.}]}]\n") == []
    variant = "variants: {%slamps: [plain, bright]}\n"
    assert one(variant % HERE + STEP) == (
        "warning",
        "unused",
        '"lamps" is asked at the start, and no `only for` reads it',
    )
    assert remarks(variant % "" + STEP.replace("look,", "look, only for: {lamps: plain},")) == []


def test_where_there_is_an_error_nothing_is_remarked_on():
    body = "items: {lid: {kind: cover}}\nsteps: [{step: look, takes off: [lod]}]\n"
    assert [each.rule for each in errors(body)] == ["unknown-item"]


def test_a_file_used_twice_is_remarked_on_once():
    part = "items: {lid: {kind: cover}}\n" + STEP
    found = remarks("steps: [{use: part.yaml}, {use: part.yaml}]\n", part=part)
    assert [(each.file, each.rule) for each in found] == [("part.yaml", "unused")]


def test_many_remarks_are_counted_and_never_become_an_error():
    items = ", ".join(f"lid{number}: {{kind: cover}}" for number in range(1200))
    found = remarks(f"items: {{{items}}}\n" + STEP)
    assert len(found) == MOST_REMARKS + 1
    assert (found[-1].grade, found[-1].message) == (
        "advice",
        "1100 more remarks of this kind follow; they are not shown",
    )
