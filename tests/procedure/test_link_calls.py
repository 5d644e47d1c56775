"""Sub-procedures: unfolded at their place, held to their contract, merged into the caller."""

import pytest
from procedure_text import HERE, errors, graph, linked, whole

SUPPORT = "conditions: {support: {at start: down, changes: {down: [up], up: [down]}, hazardous: [up]}}\n"
UP = SUPPORT.replace("at start: down", "at start: up")

LIFT = f"""
procedure: lift
title: Lift it
revision: 4
{SUPPORT}
ends with: {{support: up}}
steps: [{{step: raise, do: Raise it., sets: {{support: up}}}}]"""

WHEEL = f"""
procedure: wheel
{UP}
takes over: {{bolts: untouched}}
leaves open: {{bolts: loosened, cap: off}}
items:
  bolts: {{kind: fastener, count: 5, tighten: [{{torque: 120 N·m ±4 %, order: star}}]}}
  cap: {{kind: cover}}
  wedge: {{kind: aid}}
steps:
  - {{step: off, takes off: [cap]}}
  - {{step: wedge-in, puts in: [wedge]}}
  - {{step: loosen, loosens: [bolts]}}
  - {{step: wedge-out, takes out: [wedge]}}"""

CALLER = (
    UP
    + """
locations: {side: [left, right]}
tolerance: {torque: ±4 %}
items:
  bolts: {kind: fastener, each: side, count: 5, tighten: [{torque: 120 N·m, order: star}]}
  cap: {kind: cover, each: side}
"""
)


def test_a_file_is_unfolded_between_the_joints_of_its_contract():
    procedure = linked(SUPPORT + "steps: [{step: a, do: A}, {use: lift.yaml}, {step: b, do: B}]", lift=LIFT)
    assert graph(procedure).splitlines() == [
        "a -> lift/:begin",
        "lift/:begin -> lift/raise",
        "lift/raise -> lift/:end",
        "lift/:end -> b",
        "b -> end",
    ]
    begin, end = procedure.by_id["lift/:begin"], procedure.by_id["lift/:end"]
    assert begin.joint == "lift: Lift it, revision 4, an invented car"
    assert [(test.kind, test.values) for test in begin.needs] == [("condition", ("down",))]
    assert [(test.kind, test.values) for test in end.needs] == [("condition", ("up",))]
    assert procedure.by_id["lift/raise"].mark.file == "lift.yaml"
    assert begin.mark.file == "job.yaml"


def test_in_a_repeat_the_items_are_those_of_the_caller_at_that_place():
    procedure = linked(CALLER + "steps: [{each: side, steps: [{use: wheel.yaml}]}]", wheel=WHEEL)
    assert [item.key for item in procedure.items] == [
        "bolts@left", "bolts@right", "cap@left", "cap@right", "wheel/wedge@left", "wheel/wedge@right",
    ]  # fmt: skip
    assert [act.item for node in procedure.nodes for act in node.acts if node.place == "right"] == [
        "cap@right", "wheel/wedge@right", "bolts@right", "wheel/wedge@right",
    ]  # fmt: skip
    begin, end = procedure.by_id["wheel/:begin@right"], procedure.by_id["wheel/:end@right"]
    assert [(test.name, test.values) for test in begin.needs] == [
        ("bolts@right", ("untouched",)),
        ("cap@right", ("on",)),
        ("support", ("up",)),
    ]
    assert [(test.name, test.values) for test in end.needs] == [
        ("bolts@right", ("loosened",)),
        ("cap@right", ("off",)),
    ]


def test_what_is_taken_over_and_not_left_open_is_closed_at_the_end():
    body = WHEEL.replace("leaves open: {bolts: loosened, cap: off}", "leaves open: {cap: off}")
    end = linked(CALLER + "steps: [{each: side, steps: [{use: wheel.yaml}]}]", wheel=body).by_id[
        "wheel/:end@left"
    ]
    assert [(test.name, test.values) for test in end.needs] == [
        ("cap@left", ("off",)),
        ("bolts@left", ("untouched", "stage 1")),
    ]


def test_outside_a_repeat_a_file_shares_items_at_all_their_places():
    shared = WHEEL.replace("items:", "locations: {side: [left, right]}\nitems:")
    shared = shared.replace("count: 5", "each: side, count: 5").replace(
        "kind: cover", "kind: cover, each: side"
    )
    procedure = linked(CALLER + "steps: [{use: wheel.yaml}]", wheel=shared)
    assert [act.item for act in procedure.by_id["wheel/loosen"].acts] == ["bolts@left", "bolts@right"]
    assert "wheel/bolts@left" not in procedure.item_by_key


def test_used_twice_a_file_has_two_names():
    procedure = linked(
        SUPPORT
        + """
steps:
  - {use: lift.yaml}
  - {step: down, do: D, sets: {support: down}}
  - {use: lift.yaml, only if: {support: down}}""",
        lift=LIFT,
    )
    assert [node.id for node in procedure.nodes if node.step == "raise"] == ["lift/raise", "lift-2/raise"]
    again = procedure.by_id["lift-2/:begin"]
    assert (again.guard[0].name, again.skip) == ("support", "end")


def test_files_nest():
    procedure = linked(
        SUPPORT + "steps: [{use: outer.yaml}]",
        outer=f"procedure: outer\n{SUPPORT}steps: [{{use: lift.yaml}}, {{step: a, do: A}}]",
        lift=LIFT,
    )
    assert [node.id for node in procedure.nodes] == [
        "outer/:begin", "outer/lift/:begin", "outer/lift/raise", "outer/lift/:end", "outer/a", "outer/:end",
    ]  # fmt: skip


def test_an_item_is_handed_down_through_two_files():
    middle = WHEEL.replace("procedure: wheel", "procedure: middle")
    middle = middle[: middle.index("steps:")] + "steps: [{use: wheel.yaml}]"
    procedure = linked(
        CALLER + "steps: [{each: side, steps: [{use: middle.yaml}]}]", middle=middle, wheel=WHEEL
    )
    assert procedure.by_id["middle/wheel/loosen@left"].acts[0].item == "bolts@left"


def test_choices_and_guards_of_the_call_hold_inside():
    procedure = linked(
        SUPPORT + "variants: {lift: [post, jack]}\nsteps: [{use: lift.yaml, only for: {lift: jack}}]",
        lift=LIFT,
    )
    assert {node.guard for node in procedure.nodes} == {procedure.nodes[0].guard}
    assert procedure.nodes[1].guard[0].values == ("jack",)


def test_the_head_of_a_used_file_is_merged_and_the_caller_counts_its_own_parts():
    used = """
procedure: used
sources: [Another source]
people: {performer: 2, helper: 1}
counters: [{name: odometer, unit: km}]
variants: {brakes: [discs, drums]}
tools: [{name: wrench, covers: 5 to 25 N·m}, {name: socket}]
parts: [{name: clip, quantity: 2}, {name: bolt, number: T-1, quantity: 9}]
supplies: [grease, rags]
documents: [a plan]
standing: [{notice: {hazard: a, consequence: b, avoid: c}, from: one, to: one}]
follow up: [{what: Look again, after: 50 km}]
close out: [Look round, Count the rags]
make safe: {always: [Tag it]}
steps: [{step: one, do: One}]"""
    procedure = linked(
        """
locations: {side: [left, right]}
tools: [{name: wrench}]
parts: [{name: bolt, each: side}]
supplies: [grease]
make safe: {always: [Lock it]}
steps: [{each: side, steps: [{use: used.yaml}]}]""",
        used=used,
    )
    assert procedure.sources == ("Invented data", "Another source")
    assert procedure.people == (("performer", 2), ("checker", 1), ("helper", 1))
    assert [(tool.name, tool.covers and tool.covers.text) for tool in procedure.tools] == [
        ("wrench", "5 to 25 N·m"),
        ("socket", None),
    ]
    assert [(part.name, part.number, part.quantity) for part in procedure.parts] == [
        ("bolt", "T-1", 2),
        ("clip", None, 4),
    ]
    assert (procedure.supplies, procedure.documents) == (("grease", "rags"), ("a plan",))
    assert procedure.close_out == ("Look round", "Count the rags")
    assert procedure.make_safe == (("always", ("Lock it", "Tag it")),)
    assert len(procedure.follow_up) == len(procedure.standing) == len(procedure.counters) == 1
    assert procedure.by_id["used/one@right"].standing == (0,)
    assert procedure.by_id["used/:begin@right"].standing == ()


def test_a_standing_notice_of_the_caller_stands_inside():
    procedure = linked(
        SUPPORT
        + """
standing: [{notice: {hazard: a, consequence: b, avoid: c}, from: a, to: b}]
steps: [{step: a, do: A}, {use: lift.yaml}, {step: b, do: B}]""",
        lift=LIFT,
    )
    assert {node.standing for node in procedure.nodes} == {(0,)}


def test_checked_alone_a_file_starts_and_ends_as_its_contract_says():
    procedure = linked(WHEEL.replace("bolts: untouched", "bolts: stage 1"))
    assert procedure.item_by_key["bolts"].at_start == "stage 1"
    assert [(test.name, test.values) for test in procedure.by_id[":end"].needs] == [
        ("bolts", ("loosened",)),
        ("cap", ("off",)),
    ]
    assert graph(procedure).splitlines()[-2:] == ["wedge-out -> :end", ":end -> end"]


def test_a_detour_by_a_file_leads_back_after_its_contract():
    procedure = linked(
        SUPPORT.replace("hazardous: [up]", "hazardous: [up], getting there: {up: lift.yaml}")
        + "steps: [{step: a, do: A}]",
        lift=LIFT,
    )
    assert procedure.conditions[0].getting_there == (("up", "detour:support=up/lift/:begin"),)
    assert graph(procedure).splitlines()[1:] == [
        "detour:support=up/lift/:begin -> detour:support=up/lift/raise",
        "detour:support=up/lift/raise -> detour:support=up/lift/:end",
        "detour:support=up/lift/:end -> back",
    ]


USE = "steps: [{use: lift.yaml}]"
PLAIN = "procedure: lift\nsteps: [{step: a, do: A}]"

REFUSED = [
    ("unlike-caller", "has no condition", "steps: [{use: lift.yaml}]", LIFT.replace("{support: {", "{▶support: {")),
    ("unlike-caller", "declared otherwise", SUPPORT.replace("hazardous: [up]", "hazardous: [down]") + USE,
     LIFT.replace("{support: {", "{▶support: {")),
    ("unlike-caller", "declared otherwise", SUPPORT.replace("down: [up], ", "down: [up, half], half: [up], ") + USE,
     LIFT.replace("{support: {", "{▶support: {")),
    ("unlike-caller", "declared otherwise", SUPPORT + "steps: [{use: lift.yaml}]",
     LIFT.replace("{support: {", "{▶support: {").replace("[up]}}\n", "[up], getting there: {up: raise}}}\n")),
    ("unlike-caller", "other values", "variants: {brakes: [discs, drums]}\nsteps: [{use: lift.yaml}]",
     PLAIN + "\nvariants: {▶brakes: [discs, none]}"),
    ("unlike-caller", "covers 1 to 2 N·m elsewhere", "tools: [{name: wrench, covers: 1 to 2 N·m}]\n" + USE,
     PLAIN + "\ntools: [▶{name: wrench, covers: 1 to 3 N·m}]"),
    ("unlike-caller", "has the number T-1 elsewhere", "parts: [{name: clip, number: T-1}]\nsteps: [{use: lift.yaml}]",
     PLAIN + "\nparts: [▶{name: clip, number: T-2}]"),
    ("unlike-caller", "counted in km elsewhere", "counters: [{name: use, unit: km}]\nsteps: [{use: lift.yaml}]",
     PLAIN + "\ncounters: [▶{name: use, unit: h}]"),
    ("unlike-caller", "has no item", "steps: [{use: lift.yaml}]",
     PLAIN + "\nitems: {lead: {kind: connection}}\ntakes over: {▶lead: connected}"),
    ("unlike-caller", "declared otherwise", "items: {lead: {kind: cover}}\nsteps: [{use: lift.yaml}]",
     PLAIN + "\nitems: {lead: {kind: connection}}\ntakes over: {▶lead: connected}"),
    ("unlike-caller", "declared otherwise", """
locations: {side: [left, right]}
items: {lead: {kind: connection, each: side}}
steps: [{use: lift.yaml}]""", PLAIN + "\nitems: {lead: {kind: connection}}\ntakes over: {▶lead: connected}"),
    ("unlike-caller", "declared otherwise", "items: {lead: {kind: connection, critical: true}}\n" + USE,
     PLAIN + "\nitems: {lead: {kind: connection}}\nleaves open: {▶lead: disconnected}"),
    ("unknown-state", "no state of a connection", "items: {lead: {kind: connection}}\nsteps: [{use: lift.yaml}]",
     PLAIN + "\nitems: {lead: {kind: connection}}\nleaves open: {lead: ▶open}"),
    ("repeat-in-repeat", "declares \"side\" itself", """
locations: {side: [left, right]}
steps: [{each: side, steps: [{use: ▶lift.yaml}]}]""", PLAIN + "\nlocations: {side: [left, right]}"),
    ("never-done", "used at no place", """
locations: {side: [left, right]}
steps:
  - {step: a, do: A}
  - each: side
    only for: {side: left}
    steps: [{step: b, do: B}, {use: ▶lift.yaml, only for: {side: right}}]""", PLAIN),
    ("use-circle", "lift.yaml → lift.yaml", "steps: [{use: lift.yaml}]", "procedure: lift\nsteps: [{use: ▶lift.yaml}]"),
    ("detour", "does not say that it ends with", """
conditions:
  support: {at start: down, changes: {down: [up], up: [down]}, getting there: {up: ▶lift.yaml}}
steps: [{step: a, do: A}]""", PLAIN),
    ("unknown-step", "no step", "steps: [{step: a, do: A}, {use: lift.yaml}]",
     "procedure: lift\nsteps: [{step: b, do: B, in time: {from: ▶a, within: 1 min}}]"),
]  # fmt: skip


@pytest.mark.parametrize(("rule", "message", "body", "used"), REFUSED)
def test_refused_at_its_place(rule, message, body, used):
    text, file = (body, "job.yaml") if HERE in body else (used, "lift.yaml")
    before = whole(text).partition(HERE)[0]
    place = (before.count("\n") + 1, len(before) - before.rfind("\n"))
    found = errors(body, lift=used)
    assert [(one.rule, one.file, one.line, one.column) for one in found] == [(rule, file, *place)]
    assert message in found[0].message


def test_a_circle_of_files_shows_its_chain():
    found = errors(
        "steps: [{use: a.yaml}]",
        a="procedure: a\nsteps: [{use: b.yaml}]",
        b="procedure: b\nsteps: [{use: a.yaml}]",
    )
    assert [one.message for one in found] == ["files use each other in a circle: a.yaml → b.yaml → a.yaml"]
    assert found[0].file == "b.yaml"


def test_files_nest_eight_deep_and_no_deeper():
    def chain(length):
        used = {f"f{n}": f"procedure: f{n}\nsteps: [{{use: f{n + 1}.yaml}}]" for n in range(1, length)}
        return "steps: [{use: f1.yaml}]", used | {
            f"f{length}": f"procedure: f{length}\nsteps: [{{step: a, do: A}}]"
        }

    body, used = chain(8)
    assert len(linked(body, **used).nodes) == 17
    body, used = chain(9)
    assert [one.rule for one in errors(body, **used)] == ["use-depth"]
