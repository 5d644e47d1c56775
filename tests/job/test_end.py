"""Semantic 12: close-out, sealing with each outcome, abandoning with make safe; nothing follows a seal."""

import pytest

from runner.job import actions as a
from runner.job import events as e
from tests.job.bench_hand import Hand

JOB = """\
conditions: {support: {at start: on wheels, changes: {on wheels: [raised], raised: [on wheels]}}}
counters: [{name: odometer, unit: km}]
tools: [{name: wrench}, {name: lamp}]
items: {lid: {kind: cover}, wedge: {kind: aid}}
steps:
  - {step: raise, do: Raise it., sets: {support: raised}}
  - {step: open, do: Open it., takes off: [lid], puts in: [wedge]}
  - {step: shut, do: Shut it., puts back: [lid], takes out: [wedge]}
  - {step: lower, do: Lower it., sets: {support: on wheels}}
follow up: [{what: Re-torque, after: 50 km}, {what: Alignment, within: 7 days}]
close out: [No rag left, All lamps off]
make safe: {raised: [Leave it on the stands], on wheels: [Chock it], always: [Tag the keys]}
"""


def test_finishing_is_an_explicit_act_after_close_out():
    hand = Hand(JOB)
    hand.refuse(a.Seal, outcome="finished", why="not now: Raise it.", lift="answer what is asked first")
    hand.go("close out")
    assert hand.options() == ["tool:wrench", "tool:lamp", "line:0", "line:1", "line:2"]
    hand.refuse(a.Seal, outcome="finished", why="not now: Look round", lift="answer what is asked first")
    hand.refuse(a.CountOut, tool="hammer", why="not now", lift="answer")
    hand.refuse(a.CloseOut, line=9, why="not now", lift="answer")
    hand.do(a.CountOut, tool="lamp")
    hand.refuse(a.CountOut, tool="lamp", why="not now", lift="answer")
    hand.do(a.CountOut, tool="wrench")
    for line in (0, 1):
        hand.do(a.CloseOut, line=line)
    hand.expect("close out")
    assert "Anything abnormal that the procedure does not mention?" in hand.demand.options[0].label
    hand.do(a.CloseOut, line=2, text="none")
    hand.expect("seal")
    assert hand.options() == ["finished"]
    hand.refuse(
        a.Seal, outcome="finished with open points", why="is not finished with open points", lift="finished"
    )
    hand.do(a.Seal, outcome="finished")
    hand.expect("sealed", prompt="finished")


def test_the_seal_lists_conditions_follow_ups_and_what_stays_open():
    hand = Hand(JOB)
    hand.go("sealed")
    assert hand.happened(e.Sealed)[0] == e.Sealed(
        outcome="finished", reason="the end", conditions=(("support", "on wheels"),), steps_done=4,
        follow_ups=("Re-torque (50 km)", "Alignment (7 days)"),
    )  # fmt: skip


def test_counters_are_asked_at_the_start_and_are_numbers_in_their_unit():
    hand = Hand(JOB, begin=False)
    hand.refuse(a.Start, work_piece=" ", why="about one work piece", lift="plate")
    hand.refuse(a.Start, work_piece="T-1", why="odometer is asked", lift="in km")
    hand.refuse(a.Start, work_piece="T-1", counters=(("odometer", "many"),), why="many", lift="type")
    hand.do(a.Start, work_piece=" T-1 ", counters=(("odometer", "120 000".replace(" ", "")),))
    assert hand.job.work_piece == "T-1"
    hand.refuse(a.Start, work_piece="T-2", why="not now", lift="")


@pytest.mark.parametrize("step", ["raise", "open", "shut", "close out", "seal"])
def test_abandoning_is_offered_everywhere_with_a_reason_and_the_make_safe_steps_of_the_conditions_now(step):
    hand = Hand(JOB)
    hand.go(step)
    hand.refuse(a.Seal, outcome="abandoned", why="with a reason", lift="say why")
    hand.do(a.Seal, outcome="abandoned", reason="a crack")
    raised = hand.job.conditions["support"] == "raised"
    labels = [option.label for option in hand.demand.options]
    assert labels == ["Leave it on the stands" if raised else "Chock it", "Tag the keys"]
    hand.refuse(a.MakeSafe, line=7, why="not now", lift="")
    hand.refuse(a.Seal, outcome="abandoned", why="not now: Make the work safe", lift="")
    hand.refuse(a.Do, why="not now: Make the work safe", lift="")
    hand.do(a.MakeSafe, line=1)
    hand.do(a.MakeSafe, line=0)
    hand.expect("seal")
    hand.do(a.Seal, outcome="abandoned")
    sealed = hand.happened(e.Sealed)[0]
    assert (sealed.outcome, sealed.reason) == ("abandoned", "a crack")
    if step == "shut":
        assert sealed.open_items == ("lid: off", "wedge: in")
    assert hand.job.phase == "sealed"


def test_a_run_may_be_abandoned_while_paused_or_being_handed_over():
    hand = Hand(JOB)
    hand.do(a.Pause, note="")
    hand.do(a.Seal, outcome="abandoned", reason="no one comes back")
    hand.go("sealed")
    other = Hand(JOB)
    other.do(a.HandOver, to="Cy")
    other.do(a.Seal, outcome="abandoned", reason="no one comes")
    other.go("sealed")


def test_what_cannot_be_made_safe_is_said_instead_of_being_confirmed():
    hand = Hand(JOB)
    hand.do(a.Seal, outcome="abandoned", reason="fire")
    hand.do(a.Deviate, kind="not done", reason="the keys burnt", subject="line:1")
    assert hand.options() == ["line:0"]
    hand.go("sealed")
    assert "the keys burnt" in hand.happened(e.Sealed)[0].open_points[0]


def test_abandoning_is_taken_back_before_anything_was_made_safe():
    hand = Hand(JOB)
    hand.do(a.Seal, outcome="abandoned", reason="wrong key")
    hand.do(a.TakeBack)
    hand.expect("confirm", "raise")


def test_work_put_off_is_in_the_words_of_an_abandoned_seal():
    hand = Hand("""\
conditions: {support: {at start: raised, changes: {raised: [on wheels], on wheels: [raised]}}}
items: {lid: {kind: cover, at start: off}}
steps:
  - {step: shut, do: Shut it., puts back: [lid], put off: {until: {support: on wheels}, before: end, because: wind}}
  - {step: look, do: Look.}
""")
    hand.do(a.Seal, outcome="abandoned", reason="rain")
    hand.do(a.Seal, outcome="abandoned")
    sealed = hand.happened(e.Sealed)[0]
    assert sealed.owed == ("Shut it.",)
    assert sealed.open_items == ("lid: off",)


def test_an_item_still_open_at_the_seal_is_left_only_by_deviation():
    hand = Hand("""\
items: {lid: {kind: cover, critical: true}}
steps:
  - {step: open, do: Open., takes off: [lid]}
""")
    hand.go("seal")
    hand.refuse(a.Seal, outcome="finished", why="still open: lid", lift="deviate with a reason (not done)")
    hand.refuse(
        a.Deviate,
        kind="not done",
        reason="x",
        subject="lid",
        why="is critical",
        lift="name someone other than",
    )
    hand.do(a.Deviate, kind="not done", reason="for the next shift", subject="lid", authority="Bo")
    hand.refuse(a.Seal, outcome="finished", why="not finished", lift="finished with open points")
    hand.do(a.Seal, outcome="finished with open points")
    assert hand.happened(e.Sealed)[0].open_items == ("lid: off",)


def test_without_close_out_tools_the_lines_alone_are_confirmed():
    hand = Hand("steps:\n  - {step: one, do: One.}\n")
    hand.go("close out")
    assert [option.label for option in hand.demand.options][:1] == ["Look round"]
