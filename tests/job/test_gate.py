"""Semantic 2: the gate of one step asks in a fixed order, refuses all else, and says what would lift it."""

import pytest

from runner.job import actions as a
from runner.job import events as e
from runner.job.values import LONGEST_TEXT
from runner.procedure.linked import END
from tests.job.bench_hand import Hand

WHOLE_GATE = """\
conditions: {support: {at start: on wheels, changes: {on wheels: [raised], raised: [on wheels]}}}
items: {lid: {kind: cover}, plug: {kind: connection}}
tools: [{name: gauge}]
standing:
  - {notice: {hazard: Wet floor., consequence: slips, avoid: shoes}, from: all, to: all}
steps:
  - step: all
    do: Do all of it.
    danger: {hazard: It falls., consequence: crushing, avoid: stands}
    caution: {hazard: It is hot., consequence: burns, avoid: gloves}
    notice: {hazard: Paint., consequence: scratches, avoid: a cloth}
    needs: {support: on wheels}
    takes off: [lid]
    disconnects: [plug]
    tools: [gauge]
    wait: 10 s
    read: [{what: Gap, name: gap, unit: mm, band: 1 to 2 mm}, {what: Depth, name: depth, unit: mm, band: none}]
    work out: {what: Sum, name: sum, is: gap + depth, unit: mm, band: at most 10 mm}
    look for: How does it look?
    answers: {dull: go on, bright: go on}
    hold point: {released by: checker, asks: Is it so?}
    sets: {support: raised}
  - {step: shut, do: Shut it., puts back: [lid], connects: [plug]}
"""

ORDER = [
    "acknowledge", "acknowledge", "act", "act", "wait", "reading", "reading", "look", "hold",
]  # fmt: skip


def test_the_gate_asks_in_its_fixed_order_and_sets_come_last():
    hand = Hand(WHOLE_GATE)
    asked = []
    while hand.at == "all":
        asked.append(hand.demand.kind)
        assert hand.job.conditions == {"support": "on wheels"}
        hand.answer()
    assert asked == ORDER
    assert hand.kinds() == ["hold_released", "condition_set", "step_done", "came_to"]
    assert hand.job.conditions == {"support": "raised"}


def test_nothing_but_what_is_asked_is_taken_at_any_point_of_the_gate():
    hand = Hand(WHOLE_GATE)
    others = [
        ("acknowledge", a.Acknowledge, {"notice": 1}),
        ("act", a.Do, {"act": 1}),
        ("confirm", a.Do, {}),
        ("new part", a.ConfirmPart, {"item": "lid"}),
        ("tighten", a.Tighten, {"item": "lid", "stage": 1, "member": 1, "method": "click"}),
        ("reading", a.Read, {"name": "sum", "raw": "1"}),
        ("look", a.Look, {"label": "grey"}),
        ("question", a.Answer, {"label": "dull"}),
        ("hold", a.Release, {"released": True}),
        ("choose", a.ChooseLocation, {"name": "side", "value": "left"}),
        ("prepare", a.MeetPrerequisite, {"key": "person:checker", "value": "Cy"}),
        ("prepare", a.CountIn, {"tool": "gauge"}),
        ("close out", a.CountOut, {"tool": "gauge"}),
        ("close out", a.CloseOut, {"line": 0}),
        ("make safe", a.MakeSafe, {"line": 0}),
        ("handover", a.AcceptHandover, {}),
        ("reconfirm", a.Reconfirm, {"key": "step:all"}),
        ("seal", a.Seal, {"outcome": "finished"}),
        ("start", a.Start, {"work_piece": "T-2"}),
    ]  # fmt: skip
    while hand.at == "all":
        now = hand.demand
        for kind, action, words in others:
            if kind == now.kind and now.kind in ("act", "acknowledge") and 1 in (now.index,):
                continue
            hand.refuse(action, why="", lift="", **words)
        hand.answer()


def test_injury_notices_are_acknowledged_one_by_one_and_notice_and_standing_ones_simply_stand():
    hand = Hand(WHOLE_GATE)
    hand.expect("acknowledge", index=0, subject="danger", prompt="It falls. stands")
    shown = [(line.level, line.acknowledged) for line in hand.view.step.notices]
    assert shown == [("danger", False), ("caution", False), ("notice", None), ("notice", None)]
    hand.refuse(a.Acknowledge, notice=1, why="not now: It falls.", lift="answer what is asked first")
    hand.do(a.Acknowledge, notice=0)
    hand.expect("acknowledge", index=1, subject="caution")
    hand.do(a.Acknowledge, notice=1)
    assert hand.demand.kind == "act"
    assert hand.view.step.notices[3].hazard == "Wet floor."


def test_a_warning_is_acknowledged_too():
    hand = Hand("""\
steps:
  - {step: one, do: One., warning: {hazard: Acid., consequence: burns, avoid: goggles}}
""")
    hand.expect("acknowledge", subject="warning", prompt="Acid. goggles")


STANDING = """\
standing:
  - {warning: {hazard: Fuel vapour., consequence: fire, avoid: no flame}, from: two, to: three}
steps:
  - {step: one, do: One.}
  - {step: two, do: Two.}
  - {step: three, do: Three.}
  - {step: four, do: Four.}
"""


def test_a_standing_notice_stands_over_its_range_and_nowhere_else_and_asks_nothing():
    hand = Hand(STANDING)
    seen = {}
    while hand.job.at != END:
        seen[hand.at] = [line.hazard for line in hand.view.step.notices]
        hand.expect("confirm")
        hand.answer()
    assert seen == {"one": [], "two": ["Fuel vapour."], "three": ["Fuel vapour."], "four": []}


def test_what_an_author_says_beside_a_step_reaches_the_screen():
    hand = Hand("""\
steps:
  - {step: one, do: Pull., expect: A click., because: It is sprung., sketch: "o-o", helper: Someone holds the lamp.,
     omission: likely, critical: true}
""")
    step = hand.view.step
    assert (step.expect, step.because, step.sketch, step.helper) == (
        "A click.", "It is sprung.", "o-o", "Someone holds the lamp.",
    )  # fmt: skip
    assert step.omission_likely
    assert step.critical


def test_the_answers_of_a_look_for_stand_in_the_order_written_and_none_is_marked_as_right():
    hand = Hand(WHOLE_GATE)
    hand.go("look")
    options = hand.demand.options
    assert [(option.key, option.label) for option in options] == [("dull", "dull"), ("bright", "bright")]
    hand.refuse(a.Look, label="grey", why="'grey' is not one of the answers", lift="say one of: dull, bright")
    hand.refuse(a.Answer, label="dull", why="not now", lift="answer")


def test_an_action_from_an_older_screen_is_refused():
    hand = Hand(STANDING)
    seen = hand.view.seq
    hand.do(a.Do, seen=seen)
    hand.refuse(a.Do, seen=seen, why="the screen has changed since", lift="look again, then press once more")
    hand.do(a.Do, seen=hand.view.seq)


@pytest.mark.parametrize("who", ["", "  ", "\t"])
def test_every_action_names_who(who):
    hand = Hand(STANDING)
    hand.refuse(a.Do, who, why="every entry names who made it", lift="type a name")
    assert hand.entries[-1].who.strip()


def test_a_text_longer_than_anybody_means_to_type_is_refused_not_cut():
    hand = Hand(STANDING)
    hand.do(a.Note, text="x" * LONGEST_TEXT)
    hand.refuse(a.Note, text="x" * (LONGEST_TEXT + 1), why="501 characters", lift="at most 500")
    hand.refuse(a.Do, "A" * 501, why="501 characters", lift="at most 500")
    assert all(len(entry.who) <= LONGEST_TEXT for entry in hand.entries)


def test_a_refused_action_is_an_entry_with_what_was_typed():
    hand = Hand(WHOLE_GATE)
    hand.go("reading")
    hand.refuse(a.Read, name="gap", raw="1,5,0", why="1,5,0", lift="type")
    event = hand.entries[-1].events[0]
    assert event == e.Refused(action="Read", node="all", subject="gap", raw="1,5,0", why=event.why)
    assert "more than one decimal mark" in event.why


def test_a_key_pressed_while_time_opens_something_is_not_taken_for_what_now_stands_there():
    hand = Hand("""\
steps:
  - {step: one, do: One.}
  - {step: two, do: Two., in time: {from: one, within: 10 min, too late: [{step: bin, do: Throw it away.}]}}
""")
    hand.do(a.Do)
    hand.clock.wait(min=11)
    from runner.job.decide import decide

    decision = decide(hand.job, a.Do(who="Ann", stamp=hand.clock.now()))
    assert "time has moved on" in decision.refusal.text
    assert [event.kind for event in decision.entry.events] == ["too_late", "came_to"]


def test_nothing_is_accepted_before_the_start_and_nothing_after_the_seal():
    hand = Hand(STANDING, begin=False)
    hand.refuse(a.Do, why="the run has not begun", lift="say who works")
    hand.refuse(a.Note, text="hello", why="the run has not begun", lift="say who works")
    assert hand.entries == []
    hand.begin({}, {})
    hand.go("sealed")
    count = len(hand.entries)
    for action, words in (
        (a.Note, {"text": "one more"}), (a.TakeBack, {}), (a.Do, {}), (a.Pause, {"note": ""}), (a.Resume, {}),
        (a.Seal, {"outcome": "abandoned", "reason": "no"}), (a.Reopen, {"item": "x", "state": "y", "reason": "z"}),
    ):  # fmt: skip
        hand.refuse(action, why="this run is sealed", lift="nothing follows a seal", **words)
    assert len(hand.entries) == count


def test_the_performer_of_a_step_is_whoever_recorded_an_act_on_it():
    hand = Hand(WHOLE_GATE)
    hand.go("act")
    hand.do(a.Do, "Dee", act=0)
    assert hand.job.performed["all"] == {"Ann", "Dee"}
