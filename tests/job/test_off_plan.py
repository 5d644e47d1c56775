"""Semantic 8: allowed states are data; off the plan they no longer bind, every need and only-when still does."""

from runner.job import actions as a
from runner.job import events as e
from runner.job.gates import Gates
from tests.job.bench_hand import Hand

JOB = """\
items: {lid: {kind: cover}, cap: {kind: cover}}
steps:
  - {step: open, do: Open., takes off: [lid]}
  - {step: work, do: Work.}
  - {step: shut, do: Shut., puts back: [lid]}
  - {step: last, do: Last.}
make safe: {always: [Tag it]}
"""
WRONG = Gates(proved=True, allowed={"work": {"lid": ("on",)}})


def test_inside_its_allowed_states_a_run_goes_on():
    hand = Hand(JOB, gates=Gates(proved=True, allowed={"work": {"lid": ("off",)}, "last": {"lid": ("on",)}}))
    hand.go("sealed")
    assert hand.job.outcome == "finished"


def test_a_run_that_followed_the_procedure_and_leaves_them_stops_safely_as_a_program_error():
    hand = Hand(JOB, gates=WRONG)
    hand.answer()
    assert hand.happened(e.LeftProof) == [e.LeftProof(node="work", item="lid", state="off")]
    hand.expect("outside proof", lift="make the work safe, abandon this run")
    for kind, words in ((a.Do, {}), (a.TakeBack, {}), (a.ExtraWork, {"text": "x"}),
                        (a.Reopen, {"item": "lid", "state": "off", "reason": "x"})):  # fmt: skip
        hand.refuse(kind, why="the run stopped as a program error", lift="make safe and abandon", **words)
    hand.do(a.Note, text="the lid is off as it should be")
    hand.do(a.Seal, outcome="abandoned", reason="program error")
    hand.go("sealed")
    assert hand.job.outcome == "abandoned"


def test_an_item_off_the_plan_is_not_bound_by_them():
    hand = Hand(JOB, gates=Gates(proved=True, allowed={"work": {"lid": ("off",)}, "last": {"lid": ("on",)}}))
    hand.do(a.Deviate, kind="not done", reason="stuck")
    assert hand.job.ledger["lid"].off_plan
    hand.expect("confirm", "work")
    assert next(item.off_plan for item in hand.view.items if item.key == "lid")


def test_nor_is_one_that_this_work_piece_does_not_have():
    hand = Hand(JOB, gates=Gates(proved=True, allowed={"work": {"lid": ("off",)}, "last": {"lid": ("on",)}}))
    hand.do(a.NotApplicable, subject="lid", reason="none fitted")
    hand.expect("confirm", "work")


def test_every_deviation_reopening_correction_and_unplanned_put_off_takes_its_item_off_the_plan():
    def off(hand: Hand) -> bool:
        return hand.job.ledger["bolt"].off_plan

    text = """\
items: {bolt: {kind: fastener, tighten: [{torque: 9 N·m ±1 N·m}]}}
steps:
  - {step: open, do: Open., loosens: [bolt], starts: [bolt]}
  - {step: shut, do: Shut., tightens: [bolt]}
  - {step: last, do: Last.}
"""
    hand = Hand(text)
    hand.go("shut")
    assert not off(hand)
    hand.do(a.PutOff, reason="no wrench")
    assert off(hand)
    hand = Hand(text)
    hand.go("shut")
    hand.do(a.Deviate, kind="by feel", reason="no wrench")
    assert off(hand)
    hand = Hand(text)
    hand.go("shut")
    hand.tighten("9")
    assert not off(hand)
    hand.do(a.Correct, key="tighten shut|bolt|1|1", raw="9.5", reason="typo")
    assert off(hand)
    hand.do(a.TakeBack)
    assert not off(hand)
    hand.do(a.Reopen, item="bolt", state="started", reason="it moved")
    assert off(hand)


LAST = """\
conditions: {support: {at start: raised, changes: {raised: [on wheels], on wheels: [raised]}}}
items: {bolt: {kind: fastener, at start: out, tighten: [{snug: tight, only when: {support: raised}}]}}
steps:
  - {step: fit, do: Fit., starts: [bolt]}
  - {step: shut, do: Shut., tightens: [bolt]}
  - {step: look, do: Look.}
  - {step: lower, do: Lower it., sets: {support: on wheels}}
  - {step: last, do: Last.}
"""


def test_work_off_the_plan_is_due_before_the_last_condition_in_which_it_can_be_closed():
    hand = Hand(LAST)
    hand.go("shut")
    hand.do(a.PutOff, reason="no wrench")
    hand.do(a.Do)
    hand.expect("due", subject="shut", prompt='First, before "Lower it": Shut.')
    later = Hand(
        LAST.replace("  - {step: last, do: Last.}", "  - {step: up, do: Raise it., sets: {support: raised}}")
    )
    later.go("shut")
    later.do(a.PutOff, reason="no wrench")
    later.do(a.Do)
    later.expect("confirm", "lower")


def test_what_is_owed_off_the_plan_still_needs_its_only_when():
    hand = Hand(
        LAST.replace("  - {step: last, do: Last.}", "  - {step: up, do: Raise it., sets: {support: raised}}")
    )
    hand.go("shut")
    hand.do(a.PutOff, reason="no wrench")
    hand.go("up")
    hand.refuse(a.TakeUp, key="shut", why="not yet: Shut.", lift="support must be raised")
    hand.do(a.Do)
    hand.expect("due", prompt="First, before the end: Shut.")
    hand.go("sealed")
    assert hand.job.outcome == "finished"
