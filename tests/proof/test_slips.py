"""The four classic slips, each with its message word for word: what is put off and never comes, a tool left in place, a
connection that nobody remakes, a joint that gets its angle only later. And whatever else has a sentence of its own.

Every path is also walked in the engine, where it must show its fault.
"""

from runner.cli.findings_text import station_words
from runner.procedure.finding import Finding
from runner.procedure.link_whole import link
from runner.procedure.linked import Procedure
from runner.procedure.reader import read_procedure
from runner.proof.prove import prove
from tests.procedures.test_guide import whole
from tests.proof.replay import shows

SUPPORT = """\
conditions:
  support:
    at start: raised
    changes: {on wheels: [raised], raised: [on wheels, at ride height], at ride height: [raised, on wheels]}
"""
BOLTS = """\
tools: [{name: torque wrench, covers: 20 to 130 N·m}]
items:
  bush bolts:
    kind: fastener
    count: 2
    tighten: [{torque: 70 N·m ±4 %}, {angle: 90°, method: by mark}]
"""
BUSH = """\
  - {step: bush-loose, do: Loosen the bush bolts., loosens: [bush bolts]}
  - {step: bush-fit, do: Start them by hand., starts: [bush bolts]}
  - {step: bush-torque, do: Give them their torque., tools: [torque wrench], tightens: {bush bolts: stage 1}}
"""
TO_TORQUE = (
    "bush-loose: loosens bush bolts",
    "bush-fit: starts bush bolts",
    "bush-torque: tightens bush bolts (stage 1)",
)
ANGLE = "  - {step: bush-angle, do: Turn them on., tightens: {bush bolts: the rest}}\n"
ANGLE_LATER = """\
  - step: bush-angle
    do: Turn them on.
    tightens: {bush bolts: the rest}
    put off: {until: {support: at ride height}, before: road-ready, because: the rubber must sit untwisted at rest}
"""
SETTLE = "  - {step: settle, do: Bring it to ride height., sets: {support: at ride height}}\n"
LOWER = "  - {step: lower, do: Let it down., sets: {support: on wheels}}\n"
ROAD = "  - {step: road-ready, do: Drive 200 m.}\n"
WAITS = '"bush-angle" waits until support is at ride height and is due before road-ready, but '
LISTED = "bush-angle: put off until support is at ride height"
DUE = 'road-ready: "bush-angle" is due and cannot be done yet'
COME_FIRST = "let the condition or step it waits for come first on the way shown, or make it due later"


def linked(text: str, files: dict[str, str] | None = None) -> Procedure:
    read, found = read_procedure(whole(text), "job.yaml")
    assert read is not None, [each.text() for each in found]
    procedure, linking = link(read, lambda path, mark: read_procedure(whole((files or {})[path]), path)[0])
    assert procedure is not None, [each.text() for each in linking]
    return procedure


def told(text: str, rule: str, files: dict[str, str] | None = None) -> list[Finding]:
    """What a rule says of a procedure, each path walked in the engine."""
    procedure = linked(text, files)
    found = [finding for finding in prove(procedure).findings if finding.rule == rule]
    for finding in found:
        if finding.path:
            assert shows(procedure, finding), finding.text()
    return found


def one(text: str, rule: str, files: dict[str, str] | None = None) -> Finding:
    found = told(text, rule, files)
    assert len(found) == 1, [finding.text() for finding in found]
    return found[0]


def way(finding: Finding) -> tuple[str, ...]:
    return tuple(station_words(station) for station in finding.path)


# A put-off step whose moment never comes


def test_what_a_put_off_step_waits_for_never_comes() -> None:
    text = SUPPORT + BOLTS + "steps:\n" + BUSH + ANGLE_LATER + LOWER + ROAD
    missed = one(text, "missed-window")
    assert missed.message == WAITS + "that never comes"
    assert way(missed) == (*TO_TORQUE, LISTED, "lower: support becomes on wheels", DUE)
    assert missed.mend == COME_FIRST
    open_end = one(text, "left-open")
    assert open_end.message == (
        'bush bolts are still at stage 1 of 2 at the end: "bush-angle" is put off, '
        "and what it waits for does not come"
    )
    assert open_end.mend == 'let what "bush-angle" waits for come on the way shown, before it is due'
    assert one(text, "never-reached").message == (
        '"bush-angle" can never be done: it is put off every time, and what it waits for never comes in time'
    )


def test_it_is_missed_on_one_way() -> None:
    ask = """\
  - step: jacks
    ask: Are the low jacks free?
    answers:
      they are free:
        - {step: settle, do: Bring it to ride height., sets: {support: at ride height}}
      they are in use: go on
"""
    text = SUPPORT + BOLTS + "steps:\n" + BUSH + ANGLE_LATER + ask + LOWER + ROAD
    missed = one(text, "missed-window")
    assert missed.message == WAITS + "on the way shown that does not come in time"
    assert way(missed) == (
        *TO_TORQUE,
        LISTED,
        "jacks: answer: they are in use",
        "lower: support becomes on wheels",
        DUE,
    )
    assert not told(text, "never-reached")


def test_it_comes_only_afterwards() -> None:
    missed = one(SUPPORT + BOLTS + "steps:\n" + BUSH + ANGLE_LATER + ROAD + SETTLE, "missed-window")
    assert missed.message == WAITS + "that comes only afterwards"
    assert way(missed) == (*TO_TORQUE, LISTED, DUE)


def test_it_was_so_only_before() -> None:
    text = SUPPORT + BOLTS + "steps:\n" + SETTLE + LOWER + BUSH + ANGLE_LATER + ROAD
    missed = one(text, "missed-window")
    assert missed.message == WAITS + "that was so only before it was put off"
    assert way(missed)[2:] == (*TO_TORQUE, LISTED, DUE)


def test_a_step_that_it_waits_for_is_left_out_on_one_way() -> None:
    text = """\
steps:
  - step: paint
    do: Paint a stripe across the bolt.
    put off: {until: {step: dry}, before: end, because: paint does not hold on oil}
  - step: oil
    ask: How is the bolt?
    answers:
      oily:
        - {step: dry, do: Wipe it dry.}
      dry: go on
"""
    missed = one(text, "missed-window")
    assert missed.message == (
        '"paint" waits until dry is done and is due before the end, '
        "but on the way shown that does not come in time"
    )
    assert way(missed) == (
        "paint: put off until dry is done",
        "oil: answer: dry",
        'end: "paint" is due and cannot be done yet',
    )


def test_a_place_that_it_waits_for_comes_too_late() -> None:
    text = """\
steps:
  - step: stripe
    do: Paint a stripe across the bolt.
    put off: {until: {at: park}, before: wash, because: the paint must dry}
  - {step: wash, do: Wash the car.}
  - {step: park, do: Park it.}
"""
    assert one(text, "missed-window").message == (
        '"stripe" waits until the work stands at park and is due before wash, but that comes only afterwards'
    )


def test_a_change_comes_while_it_still_waits() -> None:
    text = (
        SUPPORT
        + """\
steps:
  - step: wax
    do: Put wax over the seam under the sill.
    put off: {until: {step: dry}, before: {support: on wheels}, because: the seam must be dry}
  - {step: lower, do: Let it down., sets: {support: on wheels}}
  - {step: dry, do: Wipe the sill dry.}
"""
    )
    missed = one(text, "change-too-soon")
    assert missed.message == (
        '"wax" waits until dry is done and is due before support becomes on wheels, '
        "but that comes only afterwards"
    )
    assert way(missed) == ("wax: put off until dry is done", 'lower: "wax" is due and cannot be done yet')
    assert missed.mend == "do what the put-off step waits for before the change"


# A tool left in place


def test_a_wedge_is_not_taken_out_on_one_answer() -> None:
    text = """\
items: {knuckle wedge: {kind: aid}}
steps:
  - {step: wedge-in, do: Open the slot with the wedge., puts in: [knuckle wedge]}
  - step: joint
    do: Press the joint in.
    look for: How does it sit?
    answers:
      home:
        - {step: wedge-out, do: Take the wedge out., takes out: [knuckle wedge]}
      proud:
        - {step: call, do: Call the foreman.}
"""
    left = one(text, "left-open")
    assert left.message == "knuckle wedge is still in at the end: nobody takes it out"
    assert (left.line, left.grade) == (3, "error")
    assert way(left) == (
        "wedge-in: puts in knuckle wedge",
        "joint: answer: proud",
        "end: the last step is done",
    )
    assert left.mend == "add a step with `takes out` for it on the way shown, or before the ways part"


# A connection that nobody remakes on one way


def test_a_lead_is_not_connected_again_on_one_way() -> None:
    text = """\
locations: {side: [left, right]}
items: {sensor lead: {kind: connection, each: side}}
steps:
  - each: side
    steps:
      - {step: lead-off, do: Unplug the lead., disconnects: [sensor lead]}
      - step: plug
        ask: How is the plug?
        answers:
          clean: go on
          corroded:
            - {step: lead-tag, do: Tag the lead and order a new one.}
      - {step: lead-on, do: Plug the lead in., connects: [sensor lead], only if: {plug: clean}}
"""
    left, right = told(text, "left-open")
    assert left.message == "sensor lead, left is still disconnected at the end: nobody connects it again"
    assert right.message == "sensor lead, right is still disconnected at the end: nobody connects it again"
    assert way(left) == (
        "lead-off (left): disconnects sensor lead, left",
        "plug (left): answer: corroded",
        "plug (right): answer: clean",
        "end: the last step is done",
    )
    assert right.mend == "add a step with `connects` for it on the way shown, or before the ways part"


# A joint that gets its angle only later, and on some way never


def test_a_joint_gets_its_angle_on_one_answer_only() -> None:
    ask = """\
  - step: gauge
    ask: Is the angle gauge here?
    answers:
      it is here:
        - {step: bush-angle, do: Turn them on., tightens: {bush bolts: the rest}}
      it is lent out: go on
"""
    left = one(BOLTS + "steps:\n" + BUSH + ask + ROAD, "left-open")
    assert left.message == "bush bolts are still at stage 1 of 2 at the end: nobody gives them the rest"
    assert (left.line, left.column) == (10, 12)
    assert way(left) == (*TO_TORQUE, "gauge: answer: it is lent out", "end: the last step is done")
    assert left.mend == "add a step with `tightens` for them on the way shown, or before the ways part"


def test_a_joint_is_put_off_for_good_on_one_way() -> None:
    ask = """\
  - step: jacks
    ask: Are the low jacks free?
    answers:
      they are free:
        - {step: settle, do: Bring it to ride height., sets: {support: at ride height}}
      they are in use: go on
"""
    left = one(SUPPORT + BOLTS + "steps:\n" + BUSH + ANGLE_LATER + ask + ROAD, "left-open")
    assert left.message == (
        'bush bolts are still at stage 1 of 2 at the end: "bush-angle" is put off, '
        "and what it waits for does not come"
    )
    assert way(left) == (
        *TO_TORQUE,
        LISTED,
        "jacks: answer: they are in use",
        "end: the last step is done",
    )


def test_without_the_slip_each_is_proved() -> None:
    text = SUPPORT + BOLTS + "steps:\n" + BUSH + ANGLE_LATER + SETTLE + LOWER + ROAD
    assert prove(linked(text)).proved
    assert prove(linked(BOLTS + "steps:\n" + BUSH + ANGLE + ROAD)).proved


# What else is said in its own words


def test_the_act_that_meets_the_wrong_state_is_named() -> None:
    text = """\
items: {guard: {kind: cover}}
steps:
  - {step: twice, do: Look behind the guard., takes off: [guard], puts back: [guard]}
  - {step: guard-on, do: Put the guard back., puts back: [guard]}
"""
    wrong = one(text, "wrong-state")
    assert wrong.message == '"guard-on" puts back guard, but it can be on then'
    assert way(wrong)[-1] == "guard-on: puts back guard"


def test_a_stage_at_the_wrong_moment_names_the_moment_of_that_stage() -> None:
    text = SUPPORT + BOLTS.replace(
        "{angle: 90°, method: by mark}",
        "{angle: 90°, method: by mark, only when: {support: at ride height}}",
    )
    wrong = one(text + "steps:\n" + BUSH + ANGLE, "wrong-moment")
    assert wrong.message == (
        '"bush-angle" gives bush bolts a stage that is only done when support is at ride height, '
        "but that can be otherwise then"
    )


JOINT = """\
items: {arm: {kind: fitted part}}
takes over: {arm: out}
leaves open: {arm: out}
steps:
  - step: press
    do: Press the joint in.
"""


def test_a_used_file_is_entered_otherwise_than_agreed() -> None:
    text = """\
items: {arm: {kind: fitted part}}
steps:
  - use: joint.yaml
  - {step: arm-off, do: Take the arm off., takes out: [arm]}
  - {step: arm-on, do: Fit the arm., fits: [arm]}
"""
    begun, ended = told(
        text, "agreement-broken", {"joint.yaml": JOINT.replace("items", "procedure: joint\nitems")}
    )
    assert begun.message == "joint takes over arm out, but it can be in when it begins"
    assert way(begun) == ("joint: begins",)
    assert begun.mend == (
        "bring it there before the file is used, or change what the file takes over or starts from"
    )
    assert ended.message == "joint is to leave arm out, but it can be in when it ends"
    assert way(ended) == ("joint: ends",)


def test_a_used_file_ends_in_another_condition_than_agreed() -> None:
    used = SUPPORT + "procedure: settle\nends with: {support: at ride height}\n" + "steps:\n" + LOWER
    broken = one(SUPPORT + "steps:\n  - use: settle.yaml\n", "agreement-broken", {"settle.yaml": used})
    assert broken.message == (
        "settle ends with support: at ride height, but that can be otherwise when it ends"
    )
    assert way(broken) == ("lower: support becomes on wheels", "settle: ends")


def test_parts_are_counted_along_the_way_that_uses_most() -> None:
    text = """\
locations: {side: [left, right]}
items: {seal: {kind: fitted part, each: side, new: every time, part: seal ring}}
parts: [{name: seal ring, quantity: 3}]
steps:
  - each: side
    steps:
      - {step: seal-out, do: Take the seal out., takes out: [seal]}
      - {step: seal-in, do: Fit a new seal., fits: [seal]}
      - step: leak
        ask: Does it leak?
        answers:
          dry: go on
          wet:
            - {step: seal-off, do: Take it out again., takes out: [seal]}
            - {again: seal-in, at most: 1, then: stop}
"""
    short = one(text, "too-few-parts")
    assert short.message == "up to 4 of seal ring are used up, but the parts list has 3"
    assert (short.line, short.column) == (8, 16)
    assert way(short) == (
        "seal-out (left): takes out seal, left",
        "seal-in (left): fits seal, left (seal ring number 1)",
        "leak (left): answer: wet",
        "seal-off (left): takes out seal, left",
        "seal-in (left): fits seal, left (seal ring number 2)",
        "leak (left): answer: dry",
        "seal-out (right): takes out seal, right",
        "seal-in (right): fits seal, right (seal ring number 3)",
        "leak (right): answer: wet",
        "seal-off (right): takes out seal, right",
        "seal-in (right): fits seal, right (seal ring number 4)",
    )


def test_parts_of_what_is_taken_up_at_the_end_are_counted_together() -> None:
    text = """\
locations: {side: [left, right]}
items: {seal: {kind: fitted part, each: side, at start: out, new: every time, part: seal ring}}
parts: [{name: seal ring, quantity: 1}]
steps:
  - each: side
    steps:
      - step: seal-in
        do: Fit a new seal.
        fits: [seal]
        put off: {until: {step: clean}, before: end, because: dirt falls on it}
  - {step: clean, do: Clean up.}
"""
    short = one(text, "too-few-parts")
    assert short.message == "up to 2 of seal ring are used up, but the parts list has 1"
    assert way(short) == (
        "seal-in (left): put off until clean is done",
        "seal-in (right): put off until clean is done",
        "seal-in (right): taken up at the end: fits seal, right (seal ring number 1)",
        "seal-in (left): taken up at the end: fits seal, left (seal ring number 2)",
    )
