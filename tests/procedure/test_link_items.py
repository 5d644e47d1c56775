"""Items at their places, their stages and bands, and the acts upon them."""

import pytest
from procedure_text import linked

SIDES = "locations: {side: [left, right], end: [front, rear]}\n"


def item(body, key="bolt"):
    return linked(f"{body}\nsteps: [{{step: a, do: A}}]").item_by_key[key]


def stages(tighten, head="tolerance: {torque: ±4 %, angle: ±5°}\n", count=1):
    return item(f"{head}items: {{bolt: {{kind: fastener, count: {count}, tighten: {tighten}}}}}").stages


def test_an_item_stands_at_every_place_in_the_order_of_its_each():
    procedure = linked(
        SIDES
        + """
items: {lead: {kind: connection, each: [end, side]}}
steps: [{step: a, do: A}]"""
    )
    assert [one.key for one in procedure.items] == [
        "lead@front.left", "lead@front.right", "lead@rear.left", "lead@rear.right",
    ]  # fmt: skip
    assert procedure.items[0].label == "lead, front.left"


@pytest.mark.parametrize(
    ("kind", "state"),
    [
        ("connection", "connected"), ("aid", "out"), ("cover", "on"), ("fitted part", "in"),
        ("fluid", "full"), ("valve", "shut"), ("lock", "off"),
    ],
)  # fmt: skip
def test_an_item_is_whole_at_the_start(kind, state):
    assert item(f"items: {{thing: {{kind: {kind}}}}}", "thing").at_start == state


def test_an_item_keeps_everything_written_about_it():
    one = item("""
parts: [{name: pinch bolt, number: T-1042}]
items:
  bolt:
    {kind: fastener, count: 2, critical: true, new: every time, part: pinch bolt, thread: M10x1.5, class: 10.9,
     number one: the upper one, at start: out, tighten: [{snug: hand tight}]}""")
    assert (one.count, one.critical, one.new_every_time, one.part) == (2, True, True, "pinch bolt")
    assert (one.thread, one.strength, one.number_one) == ("M10x1.5", "10.9", "the upper one")
    assert (one.at_start, one.stages[0].text, one.stages[0].methods) == ("out", "hand tight", ())


def test_a_stage_takes_the_tolerance_of_its_kind():
    torque, angle = stages("[{torque: 50 N·m}, {angle: 90°}]")
    assert (torque.target, torque.unit, torque.band.low, torque.band.high) == ("50", "N·m", "48", "52")
    assert torque.text == "50 N·m, 48 to 52 N·m"
    assert torque.methods == ("measured", "click")
    assert (angle.band.low, angle.band.high, angle.methods) == ("85", "95", ("measured", "by mark"))


def test_a_stage_keeps_a_band_of_its_own():
    inline, key, range_ = stages(
        "[{torque: 50 N·m ±1 N·m}, {torque: 50 N·m, tolerance: +3/-0 N·m}, {torque: 48 to 52 N·m}]"
    )
    assert (inline.band.low, inline.band.high) == ("49", "51")
    assert (key.band.low, key.band.high) == ("50", "53")
    assert (range_.target, range_.text, range_.unit) == (None, "48 to 52 N·m", "N·m")


def test_click_alone_needs_no_band_and_takes_none():
    (stage,) = stages("[{torque: 50 N·m, method: click}]", head="")
    assert (stage.band, stage.methods, stage.text) == (None, ("click",), "50 N·m")
    (stage,) = stages("[{torque: 50 N·m, method: click}]")
    assert stage.band is None


def test_the_order_of_a_round_is_written_out():
    """Step-of-two star for five (consumer wheel page, reference.md section 7)."""
    star, given, line = stages(
        "[{torque: 60 N·m, order: star}, {torque: 120 N·m, order: [2, 1, 3, 5, 4]}, {torque: 5 N·m}]", count=5
    )
    assert (star.order, star.sequence) == ("star", (1, 3, 5, 2, 4))
    assert (given.order, given.sequence) == ("given", (2, 1, 3, 5, 4))
    assert (line.order, line.sequence) == ("in line", (1, 2, 3, 4, 5))


def test_a_stage_keeps_its_condition():
    (stage,) = stages(
        "[{snug: tight, only when: {support: [down, level]}}]",
        head="conditions: {support: {at start: down, changes: {down: [level], level: [down]}}}\n",
    )
    assert [(test.name, test.values) for test in stage.only_when] == [("support", ("down", "level"))]


ACTS = (
    SIDES
    + """
tools: [{name: small wrench, covers: 5 to 25 N·m}, {name: wrench, covers: 20 to 130 N·m}, {name: socket},
        {name: long wrench, covers: 15 to 150 lbf·ft}]
items:
  bolt:
    {kind: fastener, each: side, tighten: [{torque: 22 N·m, method: click}, {torque: 80 N·m, method: click}, {snug: x}]}
  nut: {kind: fastener, tighten: [{snug: tight}]}
  wedge: {kind: aid}
  cap: {kind: cover}
"""
)


def acts(step, where="a"):
    return linked(f"{ACTS}steps: [{step}]").by_id[where].acts


def test_verbs_act_in_the_order_written():
    found = acts("{step: a, loosens: [nut, bolt], puts in: [wedge], takes off: [cap]}")
    assert [(act.verb, act.item) for act in found] == [
        ("loosens", "nut"), ("loosens", "bolt@left"), ("loosens", "bolt@right"), ("puts in", "wedge"),
        ("takes off", "cap"),
    ]  # fmt: skip


def test_inside_its_repeat_an_item_is_the_one_at_this_place():
    (act,) = acts("{each: side, steps: [{step: a, starts: [bolt]}]}", "a@right")
    assert act.item == "bolt@right"


def test_a_repeat_over_another_location_leaves_all_instances():
    found = acts("{each: end, steps: [{step: a, starts: [bolt]}]}", "a@front")
    assert [act.item for act in found] == ["bolt@left", "bolt@right"]


@pytest.mark.parametrize(
    ("step", "tool", "stages"),
    [
        ("tightens: {bolt: stage 1}", "small wrench", (1, 1)),
        ("tightens: {bolt: stage 1}, tools: [wrench]", "wrench", (1, 1)),
        ("tightens: {bolt: stage 1}, tools: [socket, long wrench]", "long wrench", (1, 1)),
        ("tightens: {bolt: stages 1 to 2}, tools: [small wrench]", "wrench", (1, 2)),
        ("tightens: {bolt: the rest}", "wrench", None),
        ("tightens: [bolt], tools: [long wrench, wrench]", "long wrench", None),
        ("re-tightens: [bolt]", "wrench", None),
        ("tightens: {bolt: stage 3}", None, (3, 3)),
        ("tightens: [nut]", None, None),
        ("loosens: [bolt], tools: [wrench]", None, None),
    ],
)
def test_the_tool_is_the_first_that_covers_the_last_torque(step, tool, stages):
    """15 lbf·ft is 20.3 N·m (NIST SP 811 appendix B: 1.355 818 N·m), so the long wrench covers 22 N·m."""
    act = acts(f"{{step: a, {step}}}")[0]
    assert (act.tool, act.stages) == (tool, stages)


def test_needs_name_states_and_final_means_every_closed_state():
    procedure = linked(
        ACTS
        + """
steps:
  - {step: a, do: A, needs: {bolt: final, nut: [started, stage 1], cap: final, wedge: in}}
  - {each: side, steps: [{step: b, do: B, needs: {bolt: loosened}}]}"""
    )
    assert [(test.kind, test.name, test.values) for test in procedure.by_id["a"].needs] == [
        ("item", "bolt@left", ("untouched", "stage 3")),
        ("item", "bolt@right", ("untouched", "stage 3")),
        ("item", "nut", ("started", "stage 1")),
        ("item", "cap", ("on",)),
        ("item", "wedge", ("in",)),
    ]
    assert [test.name for test in procedure.by_id["b@right"].needs] == ["bolt@right"]


def test_a_stage_with_a_range_alone_is_measured_for_it_has_no_setting_to_click_at():
    (stage,) = stages("[{torque: 45 to 55 N·m}]")
    assert (stage.target, stage.methods) == (None, ("measured",))
