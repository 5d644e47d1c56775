"""Semantic 7, second half: corrections, take back, reopen, extra work."""

import pytest

from runner.job import actions as a
from runner.job import events as e
from tests.job.bench_hand import Hand

BOLT = """\
items: {bolt: {kind: fastener, new: every time, tighten: [{torque: 9 N·m ±1 N·m}, {angle: 90°, method: by mark}]}}
parts: none
"""

JOB = """\
items:
  bolt: {kind: fastener, tighten: [{torque: 9 N·m ±1 N·m}, {angle: 90°, method: by mark}]}
  lid: {kind: cover}
steps:
  - {step: lid-off, do: Take the lid off., takes off: [lid]}
  - {step: open, do: Open it., takes out: [bolt]}
  - {step: fit, do: Fit it., starts: [bolt]}
  - {step: first, do: First., tightens: {bolt: stage 1}, read: {what: Gap, name: gap, unit: mm, band: 1 to 2 mm}}
  - {step: second, do: Second., tightens: {bolt: the rest}, hold point: {released by: checker, asks: Tight?}}
  - {step: tidy, do: Tidy up.}
  - {step: show, do: Show it., needs: {bolt: final}, hold point: {released by: checker, asks: Good?}}
  - {step: lid-on, do: Put the lid on., puts back: [lid]}
  - {step: sweep, do: Sweep.}
"""


def _at(step: str, text: str = JOB) -> Hand:
    hand = Hand(text)
    hand.values = {"gap": "1.5"}
    hand.go("first")
    hand.tighten("9")
    hand.go(step)
    return hand


TIGHT = "tighten first|bolt|1|1"


def test_a_correction_within_the_band_stands_and_both_entries_stay():
    hand = _at("tidy")
    hand.refuse(a.Correct, key=TIGHT, raw="9.5", reason=" ", why="has a reason", lift="say why")
    hand.refuse(
        a.Correct,
        key="tighten first|bolt|1|9",
        raw="9",
        reason="typo",
        why="nothing of that key",
        lift="choose",
    )
    hand.refuse(a.Correct, key=TIGHT, raw="9.5.5", reason="typo", why="decimal mark", lift="type")
    events = hand.do(a.Correct, key=TIGHT, raw="9,5", reason="typo")
    assert [event.kind for event in events] == ["corrected"]
    assert events[0].stands
    assert (events[0].raw, events[0].value, events[0].low) == ("9,5", "9.5", "8")
    assert hand.job.recorded[TIGHT].held.value == "9.5"
    assert len(hand.happened(e.Tightened)) == 2
    assert hand.owed() == []
    hand.expect("confirm", "tidy")
    assert hand.job.ledger["bolt"].off_plan


def test_out_of_band_the_place_stays_but_it_is_owed_and_holds_since_are_void():
    hand = _at("tidy")
    assert hand.job.released == {"second"}
    hand.do(a.Correct, key=TIGHT, raw="15", reason="typo")
    assert not hand.happened(e.Corrected)[0].stands
    assert hand.job.at == "tidy"
    assert hand.job.released == frozenset()
    assert hand.owed() == [f"correction {TIGHT}", "hold second"]
    hand.expect("cue")
    hand.do(a.PassBy, key=f"correction {TIGHT}")
    hand.do(a.PassBy, key="hold second")
    hand.do(a.Do)
    hand.expect("due", prompt='First, before "Show it"')
    hand.do(a.TakeUp, key=f"correction {TIGHT}")
    hand.expect("tighten", "first", stage=1, member=1, prompt="Tighten again bolt")
    hand.refuse(
        a.Tighten,
        item="bolt",
        stage=1,
        member=1,
        method="measured",
        raw="15",
        why="is outside",
        lift="measure again",
    )
    hand.tighten("9.1")
    assert hand.state("bolt") == "stage 2", "a tightened bolt stays where it is"
    hand.expect("due")
    hand.do(a.TakeUp, key="hold second")
    hand.expect("hold", "second", prompt="Tight?")
    hand.refuse(a.Release, "Ann", released=True, why="cannot release", lift="fetch a checker")
    hand.do(a.Release, "Bo", released=True)
    hand.expect("confirm", "show")
    hand.go("sealed")
    assert hand.job.outcome == "finished"


def test_a_later_correction_back_into_the_band_settles_the_debt():
    hand = _at("tidy")
    hand.do(a.Correct, key=TIGHT, raw="15", reason="typo")
    hand.do(a.Correct, key=TIGHT, raw="9.2", reason="and now right")
    assert hand.owed() == ["hold second"], "what was released on the strength of it is released anew"


def test_a_reading_corrected_out_of_band_is_owed_before_the_next_hold_point():
    hand = _at("tidy")
    hand.do(a.Correct, key="read first|gap|1", raw="3", reason="misread")
    hand.do(a.PassBy, key="correction read first|gap|1")
    while hand.demand.kind == "cue":
        hand.do(a.PassBy, key=hand.options()[0])
    hand.do(a.Do)
    hand.expect("due", prompt='First, before "Show it": First. (again)')
    hand.do(a.TakeUp, key="correction read first|gap|1")
    hand.expect("reading", "first", subject="gap")
    hand.do(a.Read, name="gap", raw="1.2")
    hand.go("sealed")


def test_who_corrects_is_a_performer_of_that_step_too():
    hand = _at("show")
    hand.do(a.Correct, "Bo", key=TIGHT, raw="15", reason="I saw it")
    assert "Bo" in hand.job.performed["first"]


def test_a_correction_while_something_else_is_taken_up_leaves_that_in_hand():
    hand = _at("tidy")
    hand.do(a.Correct, key=TIGHT, raw="15", reason="typo")
    hand.do(a.TakeUp, key=f"correction {TIGHT}")
    hand.do(a.Correct, key="read first|gap|1", raw="3", reason="typo")
    hand.expect("tighten", "first")
    hand.tighten("9")
    hand.expect("cue")
    assert f"correction {TIGHT}" not in hand.owed()
    assert "correction read first|gap|1" in hand.owed()


def test_corrected_during_close_out_it_is_owed_before_the_end_and_close_out_begins_again():
    hand = _at("close out")
    hand.answer()
    hand.do(a.Correct, key=TIGHT, raw="15", reason="I looked at the sheet")
    assert hand.demand.kind == "due"
    hand.refuse(a.Seal, outcome="finished", why="not now", lift="take it up")
    hand.go("close out")
    assert hand.options()[0] == "line:0"
    hand.go("sealed")
    assert hand.job.owed == {}


QUESTION = """\
items: {lid: {kind: cover}}
steps:
  - {step: boot, ask: The boot is, answers: {whole: go on, torn: [{step: tape, do: Tape it., takes off: [lid]}, {step: tape-2, do: More., puts back: [lid]}]}}
  - {step: last, do: Close.}
"""  # noqa: E501


def test_correcting_an_answer_asks_its_question_again():
    hand = Hand(QUESTION)
    hand.do(a.Answer, label="torn")
    hand.expect("act", "tape")
    hand.do(a.Correct, key="answer boot", raw="", reason="wrong key")
    hand.expect("question", "boot")
    assert hand.job.answers == {}
    hand.do(a.Answer, label="whole")
    hand.expect("confirm", "last")


def test_and_is_refused_with_what_to_bring_back_where_the_work_has_gone_on():
    hand = Hand(QUESTION)
    hand.do(a.Answer, label="torn")
    hand.go("tape-2")
    hand.refuse(
        a.Correct,
        key="answer boot",
        raw="",
        reason="wrong key",
        why="the work has gone on",
        lift="bring back first: Tape it.",
    )
    hand.refuse(
        a.Correct, key="answer nothing", raw="", reason="x", why="nothing was answered", lift="choose"
    )


def test_what_was_listed_on_the_strength_of_an_answer_is_not_owed_once_it_is_withdrawn():
    hand = Hand("""\
conditions: {support: {at start: raised, changes: {raised: [on wheels], on wheels: [raised]}}}
items: {lid: {kind: cover, at start: off}}
steps:
  - step: boot
    ask: The boot is
    answers:
      whole: go on
      torn:
        - {step: shut, do: Shut., puts back: [lid], put off: {until: {support: on wheels}, before: end, because: wind}}
        - {step: tape, do: Tape it.}
  - {step: other, do: Shut it by hand., puts back: [lid]}
""")
    hand.do(a.Answer, label="torn")
    assert hand.owed() == ["shut"]
    hand.do(a.Correct, key="answer boot", raw="", reason="wrong key")
    assert hand.owed() == []
    hand.do(a.Answer, label="whole")
    hand.go("sealed")


def test_a_way_back_that_was_withdrawn_is_not_counted():
    hand = Hand("""\
steps:
  - {step: wipe, do: Wipe.}
  - {step: check, ask: It is, answers: {clean: go on, dirty: {again: wipe, at most: 1, then: stop}}}
""")
    hand.do(a.Do)
    hand.do(a.Answer, label="dirty")
    hand.expect("confirm", "wipe")
    hand.do(a.Correct, key="answer check", raw="", reason="wrong key")
    hand.expect("question", "check")
    hand.do(a.Answer, label="dirty")
    hand.expect("confirm", "wipe")


# take back


def test_take_back_undoes_the_latest_act_once_and_both_entries_stay():
    hand = _at("tidy")
    before = hand.job
    hand.do(a.Do)
    hand.do(a.TakeBack, reason="pressed too soon")
    same = {"seq": 0, "last": None, "before": None, "performed": {}}  # who did it, did it
    assert hand.job.but(**same) == before.but(**same)
    assert [event.kind for event in hand.entries[-1].events] == ["taken_back"]
    assert "confirmed" in [entry.kind for entry in hand.entries]
    hand.refuse(a.TakeBack, why="nothing to take back", lift="correct, reopen or note")


def test_a_note_or_a_refused_key_in_between_does_not_hide_the_latest_act():
    hand = _at("tidy")
    hand.do(a.Do)
    hand.do(a.Note, text="wait")
    hand.refuse(a.Do, act=3, why="not now", lift="")
    hand.do(a.TakeBack)
    hand.expect("confirm", "tidy")


def _handed(hand: Hand) -> None:
    hand.do(a.HandOver, to="Cy")
    hand.do(a.AcceptHandover, "Cy")


def _paused(hand: Hand) -> None:
    hand.do(a.Pause, note="")
    hand.do(a.Resume)
    while hand.demand.kind == "reconfirm":
        hand.answer()


@pytest.mark.parametrize("between", [_handed, _paused, Hand.reopen_log])
def test_nothing_is_taken_back_across_a_handover_or_a_resume(between):
    hand = _at("tidy")
    hand.do(a.Do)
    between(hand)
    why = "paused" if between is Hand.reopen_log else "nothing to take back"
    hand.refuse(a.TakeBack, why=why, lift="")


def test_a_deviation_is_taken_back_with_its_open_point():
    hand = Hand(JOB)
    hand.do(a.Deviate, kind="not done", reason="stuck")
    hand.do(a.TakeBack)
    assert hand.job.deviations == ()
    hand.expect("act", "lid-off")
    hand.go("act")


def test_taken_back_tightening_is_at_its_stage_again():
    hand = Hand(JOB)
    hand.go("first")
    hand.tighten("9")
    assert hand.state("bolt") == "stage 1"
    hand.do(a.TakeBack)
    assert hand.state("bolt") == "started"
    assert hand.job.recorded == {}
    hand.expect("tighten", stage=1)


# reopen


def test_reopening_owes_its_later_steps_again_in_order_and_lapses_holds_on_it():
    hand = _at("tidy")
    events = hand.do(a.Reopen, item="bolt", state="out", reason="it was cross-threaded")
    assert events[0].kind == "reopened"
    assert hand.state("bolt") == "out"
    assert hand.job.ledger["bolt"].off_plan
    assert hand.job.released == frozenset()
    assert [key for key in hand.owed() if key.startswith("again")] == [
        "again fit bolt", "again first bolt", "again second bolt",
    ]  # fmt: skip
    asked = []
    while hand.demand.kind == "cue":
        hand.do(a.TakeUp, key=hand.options()[0])
        while hand.job.hand:
            asked.append((hand.at, hand.demand.kind))
            hand.tighten("9") if hand.demand.methods[:1] == ("measured",) else hand.answer()
    assert asked == [
        ("fit", "act"), ("first", "tighten"), ("first", "reading"), ("second", "tighten"), ("second", "hold"),
    ], "each once: the hold point of a step owed again is not owed besides"  # fmt: skip
    assert hand.owed() == []
    assert hand.state("bolt") == "stage 2"
    hand.expect("confirm", "tidy")


def test_reopened_work_is_due_before_the_first_step_that_needs_the_item():
    hand = _at("tidy")
    hand.do(a.Reopen, item="bolt", state="stage 1", reason="it moved")
    while hand.demand.kind == "cue":
        hand.do(a.PassBy, key=hand.options()[0])
    hand.do(a.Do)
    hand.expect("due", prompt='First, before "Show it": Second. (again)')


def test_a_hold_point_that_needs_the_item_lapses_too():
    hand = _at("lid-on")
    assert hand.job.released == {"second", "show"}
    hand.do(a.Reopen, item="bolt", state="stage 1", reason="it moved")
    assert hand.job.released == frozenset()
    assert "hold show" in hand.owed()


@pytest.mark.parametrize(
    ("words", "why", "lift"),
    [
        ({"item": "nut", "state": "out"}, "no item of that name", "ledger"),
        ({"item": "bolt", "state": "gone"}, "no state of bolt", "say one of"),
        ({"item": "bolt", "state": "out", "reason": ""}, "has a reason", "say why"),
        ({"item": "bolt", "state": "stage 2"}, "is closed", "the state it is in now"),
        ({"item": "bolt", "state": "untouched"}, "is closed", "the state it is in now"),
        ({"item": "lid", "state": "off"}, "no further than that", "go on with the plan"),
    ],
)
def test_reopening_names_one_item_a_reason_and_its_state_now(words, why, lift):
    hand = _at("tidy")
    hand.refuse(a.Reopen, **{"reason": "it moved", **words}, why=why, lift=lift)


def test_an_item_the_plan_never_closed_is_extra_work_instead():
    hand = Hand(JOB)
    hand.refuse(
        a.Reopen, item="lid", state="off", reason="x", why="no step done so far closes", lift="extra work"
    )


def test_a_second_reopening_starts_its_debts_over():
    hand = _at("tidy")
    hand.do(a.Reopen, item="bolt", state="stage 1", reason="it moved")
    assert [key for key in hand.owed() if key.startswith("again")] == ["again second bolt"]
    hand.do(a.TakeBack)
    hand.do(a.Reopen, item="bolt", state="started", reason="it moved")
    hand.do(a.TakeUp, key="again first bolt")
    hand.tighten("9")
    hand.answer()
    hand.do(a.Reopen, item="bolt", state="out", reason="it broke")
    hand.expect("cue")
    again = [key for key in hand.options() if key.startswith("again")]
    assert again == ["again fit bolt", "again first bolt", "again second bolt"]
    hand.go("sealed")
    assert hand.state("bolt") == "stage 2"


SINGLE = JOB.replace("bolt: {kind: fastener,", "bolt: {kind: fastener, new: every time,")


def test_a_single_use_part_is_asked_anew_when_its_fastener_was_reopened():
    hand = _at("tidy", SINGLE)
    hand.do(a.Reopen, item="bolt", state="out", reason="it moved")
    hand.do(a.TakeUp, key="again fit bolt")
    hand.expect("new part", "fit", subject="bolt")


def test_a_used_up_part_is_not_reopened_to_where_no_new_one_would_be_asked():
    hand = _at("tidy", SINGLE)
    for state in ("started", "stage 1"):
        hand.refuse(a.Reopen, item="bolt", state=state, reason="x", why="single use", lift="loosened or out")
    hand.do(a.Reopen, item="bolt", state="loosened", reason="it moved")


def test_a_part_that_was_only_started_is_not_used_up_by_reopening():
    hand = Hand(SINGLE)
    hand.go("first")
    hand.do(a.Reopen, item="bolt", state="out", reason="to look at the thread")
    hand.do(a.TakeUp, key="again fit bolt")
    hand.expect("act", "fit")


def test_an_item_reopened_while_its_own_owed_step_is_in_hand_is_done_from_the_beginning():
    hand = _at("tidy")
    hand.do(a.Reopen, item="bolt", state="stage 1", reason="it moved")
    hand.do(a.TakeUp, key="again second bolt")
    hand.expect("tighten", "second")
    hand.do(a.Reopen, item="bolt", state="out", reason="it broke")
    hand.go("tidy")
    assert hand.state("bolt") == "stage 1" or hand.state("bolt") == "stage 2"
    hand.go("sealed")
    assert hand.state("bolt") == "stage 2"


def test_what_a_needed_item_blocks_in_hand_can_be_put_down_again():
    hand = Hand("""\
items: {lid: {kind: cover}, plug: {kind: connection}}
steps:
  - {step: lid-off, do: Lid off., takes off: [lid]}
  - {step: unplug, do: Unplug., disconnects: [plug], needs: {lid: off}}
  - {step: plug-in, do: Plug in., connects: [plug], needs: {lid: off}, caution: {hazard: a, consequence: b, avoid: c}}
  - {step: lid-on, do: Lid on., puts back: [lid]}
  - {step: last, do: Last.}
""")
    hand.go("last")
    hand.do(a.Reopen, item="plug", state="disconnected", reason="it came off")
    hand.do(a.TakeUp, key="again plug-in plug")
    hand.answer()
    hand.expect("blocked", "plug-in", lift="lid must be off")
    hand.do(a.Reopen, item="lid", state="off", reason="to reach the plug")
    hand.expect("act", "plug-in")
    hand.answer()
    hand.go("sealed")
    assert hand.job.is_final("lid")
    assert hand.job.outcome == "finished"


def test_found_open_at_close_out_it_is_reopened_and_closed_before_the_seal():
    hand = _at("close out")
    hand.do(a.Reopen, item="lid", state="off", reason="it was only laid on")
    hand.expect("due", prompt="First, before the end: Put the lid on. (again)")
    hand.go("sealed")
    assert hand.job.is_final("lid")
    assert hand.job.outcome == "finished"


def test_in_the_step_in_hand_what_it_has_done_so_far_can_be_reopened():
    hand = Hand("""\
items: {bolt: {kind: fastener, tighten: [{snug: hand tight}]}}
steps:
  - {step: open, do: Open., takes out: [bolt]}
  - {step: close, do: Close., starts: [bolt], tightens: [bolt]}
""")
    hand.go("close")
    hand.answer()
    hand.do(a.Note, text="cross-threaded")
    hand.do(a.Pause, note="")
    _resume(hand)
    hand.do(a.Reopen, item="bolt", state="out", reason="cross-threaded")
    hand.go("sealed")
    assert hand.state("bolt") == "stage 1"


def _resume(hand: Hand) -> None:
    hand.do(a.Resume)
    while hand.demand.kind == "reconfirm":
        hand.answer()


def test_a_put_off_step_done_and_reopened_keeps_its_window():
    hand = Hand("""\
conditions: {support: {at start: raised, changes: {raised: [on wheels], on wheels: [raised]}}}
items: {lid: {kind: cover, at start: off}}
steps:
  - {step: shut, do: Shut., puts back: [lid], put off: {until: {support: on wheels}, before: end, because: wind}}
  - {step: lower, do: Lower it., sets: {support: on wheels}}
  - {step: up, do: Raise it., sets: {support: raised}}
  - {step: down, do: Lower it again., sets: {support: on wheels}}
  - {step: last, do: Last.}
""")
    hand.go("up")
    hand.do(a.Do)
    hand.do(a.Reopen, item="lid", state="off", reason="dropped a bolt in")
    hand.refuse(a.TakeUp, key="again shut lid", why="not yet", lift="support must be on wheels")
    hand.do(a.Do)
    hand.do(a.TakeUp, key="again shut lid")
    hand.go("sealed")
    assert hand.job.is_final("lid")


# extra work


def test_extra_work_is_one_line_and_owed_before_the_end():
    hand = _at("tidy")
    hand.refuse(a.ExtraWork, text=" ", why="one line of text", lift="say what")
    hand.do(a.ExtraWork, text="Undertray off")
    hand.refuse(a.ExtraWorkDone, key="extra 9", why="no extra work of that name", lift="put-off list")
    assert [(line.key, line.what) for line in hand.view.owed] == [("extra 1", "Undertray off")]
    hand.go("due")
    hand.expect("due", prompt="First, before the end: Undertray off")
    hand.do(a.ExtraWorkDone, key="extra 1", said="ten clips")
    hand.go("sealed")
    assert hand.job.outcome == "finished"


def test_extra_work_is_taken_up_and_confirmed_or_left_with_a_reason():
    hand = _at("tidy")
    hand.do(a.ExtraWork, text="Undertray off")
    hand.do(a.ExtraWork, text="Stud broken")
    hand.do(a.TakeUp, key="extra 1")
    hand.expect("confirm", prompt="Undertray off")
    hand.refuse(a.ExtraWorkDone, key="extra 1", why="it is in hand", lift="confirm it")
    hand.do(a.Do)
    hand.do(a.TakeUp, key="extra 2")
    hand.do(a.Deviate, kind="not done", reason="no stud here")
    assert hand.owed() == []
    hand.expect("confirm", "tidy")
    hand.go("seal")
    assert hand.options() == ["finished with open points"]


def test_extra_work_seen_at_close_out_is_still_owed_before_the_seal():
    hand = _at("close out")
    hand.do(a.ExtraWork, text="Clip broken")
    hand.expect("due", prompt="First, before the end: Clip broken")
    hand.go("sealed")


def test_a_note_goes_into_the_log_and_changes_nothing():
    hand = _at("tidy")
    hand.refuse(a.Note, text=" ", why="an empty note says nothing", lift="type the note")
    before = hand.job
    hand.do(a.Note, text=" the thread is dry ")
    assert hand.happened(e.Noted)[-1] == e.Noted(node="tidy", text="the thread is dry")
    assert hand.job.but(seq=0, last=None) == before.but(seq=0, last=None)


def test_a_change_of_tool_counts_from_here_on():
    hand = Hand("""\
tools: [{name: gauge}]
steps:
  - {step: one, do: One., tools: [gauge], read: {what: A, name: a, unit: mm, band: none, times: 2}}
""")
    hand.do(a.Do)
    hand.do(a.Read, name="a", raw="1")
    hand.refuse(a.ChangeTool, tool="saw", identity="1", reason="x", why="no tool of that name", lift="gauge")
    hand.refuse(
        a.ChangeTool, tool="gauge", identity="", reason="x", why="names the new one", lift="say which"
    )
    hand.do(a.ChangeTool, tool="gauge", identity="no. 2", reason="dropped it")
    hand.do(a.Read, name="a", raw="1")
    assert [event.tool for event in hand.happened(e.ReadingTaken)] == ["gauge gauge no. 1", "gauge no. 2"]
