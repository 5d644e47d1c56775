"""Reopening an item while a step that acts on it is in hand."""

from runner.job import actions as a
from runner.job import events as e
from tests.job.bench_hand import Hand

SEVERAL = """\
items:
  bolts: {kind: fastener, count: 2, tighten: [{torque: 20 N·m ±4 %}, {torque: 50 N·m ±4 %}]}
steps:
  - {step: out, do: Take them out., takes out: [bolts]}
  - {step: in, do: Put them in and tighten., starts: [bolts], tightens: {bolts: stage 1}}
  - {step: whole, do: Tighten the rest., tightens: [bolts], read: {what: Gap, name: gap, unit: mm, band: 1 to 2 mm}}
"""


def test_what_the_step_in_hand_did_is_asked_by_its_own_gate_again():
    hand = Hand(SEVERAL)
    hand.go("reading")
    hand.do(a.Reopen, item="bolts", state="stage 1", reason="the washer was forgotten on one")
    assert hand.owed() == []
    wanted = hand.expect("tighten", "whole", subject="bolts")
    assert (wanted.stage, wanted.member) == (2, 1)
    hand.go("sealed")
    assert hand.job.outcome == "finished"


def test_what_earlier_steps_did_is_owed_and_comes_before_what_the_step_in_hand_does():
    hand = Hand(SEVERAL)
    hand.go("reading")
    hand.do(a.Reopen, item="bolts", state="out", reason="the washer was forgotten on both")
    assert hand.owed() == ["again in bolts"]
    hand.do(a.TakeUp, key="again in bolts")
    hand.expect("act", "in", subject="bolts")
    hand.go("sealed")
    assert hand.state("bolts") == "stage 2"
    assert hand.job.outcome == "finished"


def test_a_step_half_through_is_asked_from_where_the_item_is_now():
    hand = Hand(SEVERAL)
    hand.go("tighten")
    hand.do(a.Reopen, item="bolts", state="out", reason="cross-threaded")
    hand.expect("act", "in", subject="bolts")
    hand.go("sealed")
    assert hand.job.outcome == "finished"


HELD = """\
people: {performer: 1, checker: 1}
items:
  bolt: {kind: fastener, at start: started, tighten: [{torque: 20 N·m ±4 %}]}
steps:
  - {step: tight, do: Tighten it., tightens: [bolt], hold point: {released by: checker, asks: Is it tight?}}
  - {step: last, do: Last.}
"""


def test_reopened_at_a_refused_hold_point_the_acts_come_before_it_is_asked_again():
    hand = Hand(HELD)
    hand.go("hold")
    hand.do(a.Release, "Bo", released=False, said="a thread shows")
    hand.expect("stop")
    hand.do(a.Reopen, item="bolt", state="started", reason="the washer was missing")
    hand.expect("tighten", "tight", subject="bolt")
    hand.refuse(a.Release, "Bo", released=True, why="not now", lift="")
    hand.answer()
    hand.expect("hold", "tight")
    hand.go("sealed")


USED_UP = """\
steps:
  - step: push
    do: Push the car.
    look for: How does it stand?
    answers:
      it rocks:
        - {step: set, do: Set the stands again.}
        - {again: push, at most: 1, then: stop}
      like a rock: go on
  - {step: last, do: Last.}
"""


def test_at_a_stop_behind_a_used_up_way_back_the_question_is_asked_again_whole():
    hand = Hand(USED_UP)
    hand.go("look")
    hand.do(a.Look, label="it rocks")
    hand.do(a.NotApplicable, subject="", reason="these stands cannot be moved")
    hand.go("look")
    hand.do(a.Look, label="it rocks")
    hand.expect("stop")
    hand.do(a.Look, label="like a rock")
    hand.expect("confirm", "last")


WEDGED = """\
items:
  wedge: {kind: aid, at start: in}
  bolt: {kind: fastener, tighten: [{torque: 20 N·m ±4 %}]}
steps:
  - {step: out, do: Take it out., takes out: [bolt]}
  - {step: free, do: Take the wedge out., takes out: [wedge]}
  - {step: tight, do: Tighten it., starts: [bolt], tightens: [bolt], needs: {wedge: out}}
  - {step: last, do: Last.}
"""


def test_what_is_put_down_half_done_goes_on_where_it_was():
    """The bolt was started once more when the wedge is found in the slot again: it is not started a second time."""
    hand = Hand(WEDGED)
    hand.go("last")
    hand.do(a.Reopen, item="bolt", state="out", reason="it creaks")
    hand.do(a.TakeUp, key="again tight bolt")
    hand.do(a.Do, act=0)
    hand.expect("tighten", "tight", subject="bolt")
    hand.do(a.Reopen, item="wedge", state="in", reason="it was put back by mistake")
    assert (hand.job.hand, hand.job.at) == ("", "last")
    (put_down,) = hand.happened(e.PassedBy)
    assert put_down.done == (0,)
    hand.do(a.TakeUp, key="again free wedge")
    hand.do(a.Do, act=0)
    hand.do(a.TakeUp, key="again tight bolt")
    hand.expect("tighten", "tight", subject="bolt")
    hand.go("sealed")
    assert (hand.state("bolt"), hand.job.outcome) == ("stage 1", "finished")
