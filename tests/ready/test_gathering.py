"""What stands on a ready sheet: everything the procedure needs, once, with when it is needed."""

from decimal import Decimal

from runner.job.aiming import aim_on
from runner.ready.facts import SettingLine, Sheet
from tests.procedure.procedure_text import linked
from tests.ready.sheets import COARSE, DIAL, LATE, METRIC, POUNDS, sheet, tightening, told

JOB = """\
tolerance: {torque: ±4 %}
people: {performer: 1, checker: 1}
locations: {side: [left, right]}
conditions: {support: {at start: [on wheels, raised], changes: {on wheels: [raised], raised: [on wheels]}}}
variants: {lamps: [plain, fancy]}
counters: [{name: odometer, unit: km}]
tools:
  - {name: torque wrench, covers: 20 to 150 N·m}
  - {name: puller}
  - {name: saw}
parts: [{name: bolt, number: T-1, each: side, quantity: 2}, {name: clip}]
supplies: [grease]
documents: [circuit plan]
items:
  bolts: {kind: fastener, each: side, count: 2, new: every time, part: bolt, thread: M10x1.5, class: 10.9,
    tighten: [{torque: 25 N·m}, {torque: 60 N·m, order: in line, only when: {support: on wheels}}, {angle: 90° ±5°}]}
  drain: {kind: valve, at start: open}
  wedge: {kind: aid, each: side}
steps:
  - {step: shut, do: Shut it., shuts: [drain]}
  - {step: up, do: Up., sets: {support: raised}}
  - each: side
    steps:
      - {step: out, do: Out., takes out: [bolts], puts in: [wedge]}
      - step: boot
        ask: Boot
        answers: {whole: go on, torn: [{step: pull, do: Pull it., tools: [puller], helper: holds the hub.}]}
      - {step: in, do: In., starts: [bolts], takes out: [wedge]}
      - {step: first, do: First., tightens: {bolts: stage 1}, tools: [torque wrench]}
      - step: rest
        do: The rest.
        tightens: [bolts]
        tools: [torque wrench]
        put off:
          {until: {support: on wheels}, before: end, because: it settles, no later than: {time: 12 h, after: first}}
  - step: bore
    do: Measure.
    read: {what: Bore, name: bore, unit: mm, band: 1 to 2 mm, second reading: blind}
  - {step: down, do: Down., sets: {support: on wheels}}
  - step: look
    do: Look.
    hold point: {released by: checker, asks: Good?, if refused: stop}
follow up: [{what: Re-torque, after: 50 km}]
"""


def made(*wrenches, **named) -> Sheet:
    return sheet(JOB, *wrenches, **named)


def test_a_tool_is_listed_with_every_step_that_needs_it_and_when():
    wrench, puller, saw = made().tools
    both = ("left", "right")
    assert (wrench.covers, told(wrench.uses)) == (
        "20 to 150 N·m",
        [("first", both, ""), ("rest", both, "")],
    )
    assert told(puller.uses) == [("pull", both, "only if boot: torn")]
    assert saw.uses == ()


def test_the_shops_tools_are_offered_best_first_and_unfit_ones_say_why():
    wrench, puller, _ = made(LATE, METRIC, DIAL).tools
    assert [(o.tool, o.fits) for o in wrench.offers] == [("CW 42", True), ("DW", True), ("OLD", False)]
    assert wrench.offers[0].words == "gives every torque"
    assert wrench.offers[2].words == "overdue since 2026-11-25; gives every torque"
    assert puller.offers == ()


def test_a_tool_of_the_shop_that_the_stage_does_not_take_is_not_called_fit():
    body = """\
tolerance: {torque: ±4 %}
tools: [{name: torque wrench, covers: 20 to 130 N·m}]
items: {bolt: {kind: fastener, at start: started, tighten: [{torque: 60 N·m, method: measured}]}}
steps: [{step: tight, do: Tighten it., tightens: [bolt], tools: [torque wrench]}]
"""
    (wrench,) = sheet(body, METRIC, DIAL).tools
    assert [(o.tool, o.words, o.fits) for o in wrench.offers] == [
        ("DW", "gives every torque", True),
        ("CW 42", "not 60 N·m measured", False),
    ]


def test_parts_have_quantity_number_and_what_takes_a_new_one():
    bolt, clip = made().parts
    assert (bolt.quantity, bolt.number, bolt.single_use, bolt.most) == (4, "T-1", ("bolts",), 4)
    assert told(bolt.uses) == [("in", ("left", "right"), "")]
    assert (clip.quantity, clip.single_use, clip.most, clip.uses) == (1, (), None, ())


def test_people_hold_points_second_readings_and_helpers():
    found = made()
    assert found.people == (("performer", 1), ("checker", 1))
    assert [(use.step, role) for use, role in found.holds] == [("look", "checker")]
    assert [(use.step, what) for use, what in found.seconds] == [("bore", "Bore")]
    (helper,) = found.helpers
    assert (helper.words, told((helper.use,))) == (
        "holds the hub.",
        [("pull", ("left", "right"), "only if boot: torn")],
    )


def test_what_must_be_so_and_what_is_chosen_and_read_at_the_start():
    found = made()
    assert [(each.name, each.values) for each in found.conditions] == [("support", ("on wheels", "raised"))]
    assert [(each.name, each.values) for each in found.states] == [("drain", ("open",))]
    assert [(each.name, each.values) for each in found.choices] == [("lamps", ("plain", "fancy"))]
    assert found.counters == (("odometer", "km"),)
    assert (found.supplies, found.documents) == (("grease",), ("circuit plan",))
    assert [(aid.name, told(aid.uses)) for aid in found.aids] == [("wedge", [("out", ("left", "right"), "")])]


def test_each_torque_says_item_thread_stage_band_only_when_and_method():
    line = tightening(made(), "bolts")
    assert (line.places, line.count, line.thread, line.strength) == (("left", "right"), 2, "M10x1.5", "10.9")
    first, second, angle = line.stages
    assert (first.target, first.band, first.only_when, first.order) == (
        "25 N·m",
        "24 to 26 N·m",
        "",
        "in line",
    )
    assert first.methods == ("measured", "click")
    assert (second.target, second.only_when) == ("60 N·m", "support is on wheels")
    assert (angle.kind, angle.target, angle.band, angle.settings) == ("angle", "90°", "85 to 95°", ())


def test_a_step_that_gives_what_is_left_is_not_named_for_what_another_surely_gave():
    first, second, _ = tightening(made(), "bolts").stages
    assert [use.step for use in first.uses] == ["first"]
    assert [use.step for use in second.uses] == ["rest"]


def test_a_step_that_gives_what_is_left_is_named_where_the_other_is_on_some_ways_only():
    body = """\
tolerance: {torque: ±4 %}
tools: [{name: torque wrench, covers: 20 to 150 N·m}]
items: {bolts: {kind: fastener, tighten: [{torque: 25 N·m}, {torque: 60 N·m}]}}
steps:
  - {step: in, do: In., takes out: [bolts], starts: [bolts]}
  - {step: ask, ask: Now, answers: {now: [{step: first, do: First., tightens: {bolts: stage 1}}], later: go on}}
  - {step: rest, do: The rest., tightens: [bolts]}
"""
    first, _ = tightening(sheet(body), "bolts").stages
    assert told(first.uses) == [("first", (), "only if ask: now"), ("rest", (), "")]


def _setting(found: Sheet, wrench: str, stage: int = 1) -> SettingLine:
    lines = tightening(found, "bolts").stages[stage].settings
    return next(each for each in lines if each.wrench == wrench)


def test_each_torque_has_the_setting_for_each_of_the_shops_wrenches_best_first():
    found = made(COARSE, LATE, POUNDS, METRIC, DIAL)
    lines = tightening(found, "bolts").stages[1].settings
    assert [(each.wrench, each.fits) for each in lines][:3] == [("CW 42", True), ("DW", True), ("LB", True)]
    assert {each.wrench for each in lines if not each.fits} == {"OLD", "CO"}
    metric = _setting(found, "CW 42")
    assert (metric.text, metric.error, metric.reads, metric.warning) == ("60 N·m", "", False, "")
    # Common practice, no source: 60 N·m is set as 44 lbf·ft on whole marks, which gives 59.66 N·m.
    pounds = _setting(found, "LB")
    assert (pounds.text, pounds.applied, pounds.error) == ("44 lbf·ft", "59.66 N·m", "−0.57 %")
    assert _setting(found, "DW").reads
    assert _setting(found, "OLD").against == ("the calibration was due on 2026-11-25",)


def test_a_setting_under_a_fifth_of_the_maximum_is_warned_of():
    # ISO 6789:2003 is tested from 20 % of the maximum (reference.md section 5): 25 of 130 N·m is 19.2 %.
    assert "under 20 %" in _setting(made(METRIC), "CW 42", 0).warning


def test_what_the_sheet_calls_fit_is_what_the_gate_takes():
    item = linked(JOB).item_by_key["bolts@left"]
    for wrench in (COARSE, POUNDS, METRIC, DIAL):
        for stage in item.stages[:2]:
            line = _setting(made(wrench), wrench.label, item.stages.index(stage))
            aimed = aim_on(wrench, None, stage)
            assert line.fits == (aimed.setting is not None), (wrench.name, stage.text)
            if aimed.setting is not None:
                assert stage.band is not None
                assert stage.band.holds(Decimal(aimed.setting.applied))
                assert line.text == aimed.big


def test_without_a_toolbox_the_torque_stands_alone_and_in_the_shops_unit():
    stage = tightening(made(torque_unit="lbf·ft"), "bolts").stages[1]
    assert (stage.settings, stage.other) == ((), "44.3 lbf·ft")
    assert tightening(made(torque_unit="N·m"), "bolts").stages[1].other == ""


def test_put_off_work_says_until_when_before_what_why_and_how_long_at_the_latest():
    (line,) = made().put_off
    assert (line.until, line.before, line.because) == ("support is on wheels", "the end", "it settles")
    assert line.no_later == (12 * 3_600_000, ("first",))
    assert told((line.use,)) == [("rest", ("left", "right"), "")]
    assert made().follow_up == (("Re-torque", "50 km"),)


def test_a_place_chosen_at_the_start_makes_one_line_that_is_on_every_way():
    body = """\
tolerance: {torque: ±4 %}
locations: {corner: {choose at start: [front, rear]}}
tools: [{name: torque wrench, covers: 20 to 150 N·m}]
items: {bolts: {kind: fastener, each: corner, count: 4, tighten: [{torque: 60 N·m}]}}
steps:
  - each: corner
    steps:
      - {step: out, do: Out., takes out: [bolts]}
      - {step: in, do: In., starts: [bolts], tightens: [bolts], tools: [torque wrench]}
"""
    found = sheet(body)
    (tool,) = found.tools
    assert [(use.step, use.places, use.when, use.one_place) for use in tool.uses] == [
        ("in", ("front", "rear"), "", True)
    ]
    assert (found.tightenings[0].places, found.tightenings[0].one_place) == (("front", "rear"), True)
