"""The head of the linked form: nothing that is written is lost."""

from procedure_text import linked

FULL = """
procedure: full
title: Everything
revision: 7
fits: Tarn 1.6 hatchback
sources: [Invented data, A second source]
people: {performer: 1, checker: 2}
conditions:
  support:
    at start: [on wheels, raised]
    changes: {on wheels: [raised], raised: [on wheels]}
    hazardous: [raised]
    getting there: {raised: raise}
locations: {side: [left, right], wheel: {choose at start: [front, rear]}}
variants: {brakes: [discs, drums]}
counters: [{name: odometer, unit: km}]
tools: [{name: wrench, covers: 20 to 130 N·m}, {name: socket}]
parts:
  - {name: bolt, number: T-1, each: side, quantity: 3}
  - {name: cap, each: wheel, quantity: 2}
  - {name: clip}
supplies: [grease]
documents: [the wiring plan]
standing: [{notice: {hazard: sharp edges, consequence: cuts, avoid: gloves}, from: raise, to: raise}]
items: {lead: {kind: connection}}
steps:
  - step: raise
    do: Raise it.
    danger: {hazard: it falls, consequence: crushing, avoid: stands}
    caution: [{hazard: a, consequence: b, avoid: c}, {hazard: d, consequence: e, avoid: f}]
    needs: {support: on wheels}
    tools: [socket]
    disconnects: [lead]
    look for: Does it stand?
    answers: {it does: go on, it does not: stop}
    sets: {support: raised}
    expect: it settles
    because: of the springs
    sketch: lift.svg
    helper: holds the lamp
    omission: likely
    critical: true
follow up: [{what: Re-torque, after: 50 km}, {what: Alignment, within: 7 days}]
close out: [No tool left over]
make safe: {raised: [Leave it on stands], always: [Tag the keys]}
"""


def test_the_head_keeps_everything():
    procedure = linked(FULL)
    assert (procedure.procedure, procedure.title, procedure.revision) == ("full", "Everything", "7")
    assert (procedure.fits, procedure.sources) == ("Tarn 1.6 hatchback", ("Invented data", "A second source"))
    assert procedure.people == (("performer", 1), ("checker", 2))
    (condition,) = procedure.conditions
    assert (condition.at_start, condition.hazardous) == (("on wheels", "raised"), ("raised",))
    assert condition.may_become("on wheels", "raised")
    assert condition.getting_there == (("raised", "detour:support=raised/raise"),)
    assert [(one.name, one.location) for one in procedure.choices] == [("brakes", False), ("wheel", True)]
    assert [(one.name, one.unit) for one in procedure.counters] == [("odometer", "km")]
    assert [(one.name, one.covers and one.covers.text) for one in procedure.tools] == [
        ("wrench", "20 to 130 N·m"),
        ("socket", None),
    ]
    assert (procedure.supplies, procedure.documents) == (("grease",), ("the wiring plan",))
    assert procedure.standing[0].hazard == "sharp edges"
    assert [(due.what, due.text) for due in procedure.follow_up] == [
        ("Re-torque", "50 km"),
        ("Alignment", "7 days"),
    ]
    assert procedure.close_out == ("No tool left over",)
    assert procedure.make_safe == (("raised", ("Leave it on stands",)), ("always", ("Tag the keys",)))


def test_parts_are_counted_for_all_places_and_a_chosen_one_once():
    assert [(part.name, part.number, part.quantity) for part in linked(FULL).parts] == [
        ("bolt", "T-1", 6),
        ("cap", None, 2),
        ("clip", None, 1),
    ]


def test_a_step_keeps_everything():
    node = linked(FULL).by_id["raise"]
    assert [notice.level for notice in node.notices] == ["danger", "caution", "caution"]
    assert (node.do, node.look_for, node.tools) == ("Raise it.", "Does it stand?", ("socket",))
    assert (node.needs[0].values, node.sets, node.standing) == (
        ("on wheels",),
        (("support", "raised"),),
        (0,),
    )
    assert (node.expect, node.because, node.sketch) == ("it settles", "of the springs", "lift.svg")
    assert (node.helper, node.omission_likely, node.critical) == ("holds the lamp", True, True)
    assert (node.mark.file, node.mark.line) == ("job.yaml", 28)
    assert node.title == "Raise it."


def test_a_detour_is_a_copy_of_the_step_that_leads_back():
    procedure = linked(FULL)
    node, copy = procedure.nodes
    assert copy.id == "detour:support=raised/raise"
    assert [way.to for way in copy.answers] == ["back", "stop"]
    assert (copy.next, copy.sets, copy.notices, copy.acts) == ("back", node.sets, node.notices, node.acts)


def test_a_detour_reads_what_its_own_steps_read():
    procedure = linked("""
conditions:
  support: {at start: down, changes: {down: [up], up: [down]}, getting there: {up: raise}}
steps:
  - {step: before, read: {what: Weight, name: weight, unit: kg, band: none}}
  - step: raise
    read: {what: Height, name: height, unit: mm, band: none}
    work out:
      - {what: Twice, name: twice, is: height × 2, unit: mm, band: none}
      - {what: More, name: more, is: weight × 2, unit: kg, band: none}
    ask: Well?
    answers: {yes: [{step: inner, do: I, only if: {raise: yes}}], no: {again: raise, at most: 2, then: stop}}
    sets: {support: up}""")
    copy = procedure.by_id["detour:support=up/raise"]
    assert copy.readings[1].inputs == (("height", "detour:support=up/raise", 1),)
    assert copy.readings[2].inputs == (("weight", "before", 1),)
    assert [way.to for way in copy.answers] == ["detour:support=up/inner", "detour:support=up/raise"]
    inner = procedure.by_id["detour:support=up/inner"]
    assert (inner.guard[0].name, inner.next) == ("detour:support=up/raise", "back")
