"""Faults of the engine that random runs showed, each as its shortest case."""

from runner.job import actions as a
from runner.job.decide import decide
from runner.proof.live import ahead
from tests.job.bench_hand import Hand

READ = """
items: {lead: {kind: connection}}
steps:
  - {step: gap, do: Look., read: {what: Gap, name: gap, unit: mm, at most: 2 mm}}
  - {step: last, do: Close.}
"""


def test_a_correction_at_close_out_is_owed_before_the_seal():
    hand = Hand(READ)
    hand.go("close out")
    hand.do(a.Correct, key="read gap|gap|1", raw="9", reason="misread")
    hand.expect("due", subject="correction read gap|gap|1")
    hand.refuse(a.Seal, outcome="finished", why="not now", lift="take it up")
    hand.go("close out")
    assert not hand.owed()
    hand.go("sealed")


TIMED = """
items: {lead: {kind: connection}}
steps:
  - {step: off, disconnects: [lead]}
  - step: on
    connects: [lead]
    put off: {until: {step: between}, before: end, because: x, no later than: {time: 1 h, after: off}}
  - {step: between, do: Go between.}
  - {step: after, do: Go on.}
"""


def test_work_in_hand_is_not_done_after_its_no_later_than_without_a_word():
    hand = Hand(TIMED)
    hand.go("cue")
    hand.do(a.TakeUp, key="on")
    hand.wait(h=2)
    hand.expect("due", subject="on", lift="late")
    hand.refuse(a.Do, act=0, why="not now", lift="late")
    hand.do(a.Deviate, kind="late", reason="the lead was lost")
    hand.do(a.Do, act=0)
    hand.go("seal")


def test_what_is_in_hand_and_too_late_may_be_left_undone():
    hand = Hand(TIMED)
    hand.go("cue")
    hand.do(a.TakeUp, key="on")
    hand.wait(h=2)
    hand.do(a.Deviate, kind="not done", reason="the lead was lost")
    hand.expect("confirm", step="after")
    assert not hand.owed()


SORTED = """
steps:
  - step: gauge
    do: Gauge it.
    read: {what: Runout, name: runout, unit: mm, sorted: {at most 1 mm: go on, above: [{step: skim, do: Skim.}]}}
  - {step: last, do: Close.}
"""


def test_a_value_that_chooses_the_way_cannot_be_left_out():
    hand = Hand(SORTED)
    hand.go("reading")
    hand.refuse(a.Deviate, kind="not done", reason="no gauge", why="the way on", lift="another value")
    hand.do(a.Deviate, kind="other value", reason="from the sticker", raw="2")
    assert hand.at == "skim"


def test_a_worked_out_value_that_chooses_the_way_cannot_be_waved_through():
    hand = Hand("""
steps:
  - step: measure
    do: Measure.
    read:
      - {what: One, name: one, unit: mm, band: none}
      - {what: Two, name: two, unit: mm, band: none}
  - step: share
    do: Work it out.
    work out: {what: Share, name: share, is: one ÷ two × 1 mm, unit: mm, sorted: {at most 1 mm: go on, above: stop}}
  - {step: last, do: Close.}
""")
    hand.values = {"one": "1", "two": "0"}
    hand.go("worked out")
    hand.refuse(a.Deviate, kind="out of band", reason="so be it", why="the way on", lift="correct")
    hand.do(a.Correct, key="read measure|two|1", raw="2", reason="misread")
    hand.go("seal")


def test_all_of_a_critical_step_is_critical():
    hand = Hand("""
items: {lead: {kind: connection}}
steps:
  - {step: off, disconnects: [lead], critical: true}
  - {step: on, connects: [lead]}
""")
    hand.refuse(a.Deviate, kind="not done", reason="stuck", why="critical", lift="authority")
    hand.do(a.Deviate, kind="not done", reason="stuck", authority="Chief")


def test_critical_work_put_off_is_not_left_undone_by_the_performer_alone():
    hand = Hand("""
items: {lead: {kind: connection, critical: true}}
steps:
  - {step: off, disconnects: [lead]}
  - {step: on, connects: [lead], put off: {until: {step: last}, before: end, because: it must rest}}
  - {step: last, do: Close.}
""")
    hand.go("due")
    hand.refuse(a.Deviate, kind="not done", reason="gone", subject="on", why="critical", lift="authority")
    hand.do(a.Deviate, kind="not done", reason="gone", subject="on", authority="Chief")


def test_what_the_clock_decides_is_recorded_under_a_name():
    hand = Hand("""
steps:
  - {step: mix, do: Mix.}
  - {step: apply, do: Apply., in time: {from: mix, within: 5 min, too late: [{step: wipe, do: Wipe.}]}}
""")
    hand.do(a.Do)
    hand.clock.wait(min=6)
    entry = decide(hand.job, a.Do(who=" ", stamp=hand.clock.now())).entry
    assert entry is not None
    assert (entry.kind, entry.who) == ("too_late", "clock")


def test_extra_work_in_hand_may_be_left_undone():
    hand = Hand(READ)
    hand.do(a.ExtraWork, text="undertray off")
    hand.do(a.TakeUp, key="extra 1")
    hand.do(a.Deviate, kind="not done", reason="the clip broke")
    assert not hand.owed()
    hand.go("seal")
    hand.expect("seal", options=hand.demand.options)
    assert hand.options() == ["finished with open points"]


def test_an_answer_of_an_earlier_round_is_not_asked_again_to_pass_the_wait():
    hand = Hand("""
steps:
  - {step: mix, do: Mix.}
  - step: apply
    do: Apply.
    wait: 10 min
    in time: {from: mix, within: 5 min, too late: [{step: wipe, do: Wipe.}, {again: mix, at most: 2, then: go on}]}
  - {step: last, do: Close.}
""")
    hand.do(a.Do)
    hand.wait(min=6)
    hand.go("apply")
    hand.do(a.Do)
    hand.expect("wait")
    hand.refuse(a.Correct, key="answer apply", raw="x", reason="misread", why="answered", lift="choose")
    hand.expect("wait")


def test_a_refused_hold_point_is_not_released_over_a_debt():
    hand = Hand("""
items: {bolt: {kind: fastener, tighten: [{torque: 60 N·m ± 2 N·m}]}}
steps:
  - {step: out, takes out: [bolt]}
  - {step: in, starts: [bolt]}
  - {step: tight, tightens: [bolt], hold point: {released by: checker, asks: Is it tight?}}
  - {step: last, do: Close.}
""")
    hand.go("hold")
    hand.do(a.Release, "Bo", released=False, said="no")
    hand.do(a.Correct, key="tighten tight|bolt|1|1", raw="99", reason="misread")
    hand.refuse(a.Release, "Bo", released=True, why="First, before", lift="take it up")


def test_nobody_goes_on_from_a_stop_while_a_condition_differs():
    hand = Hand("""
conditions: {support: {at start: up, changes: {up: [down], down: [up]}}}
steps:
  - {step: look, ask: It is, answers: {whole: go on, torn: stop}, sets: {support: down}}
  - {step: last, do: Close.}
""")
    hand.do(a.Answer, label="torn")
    hand.do(a.FoundCondition, name="support", value="down")
    words = {"kind": "go on", "reason": "so be it", "authority": "Chief"}
    hand.refuse(a.Deviate, **words, why="the record says up", lift="bring support back")
    hand.refuse(a.Answer, label="whole", why="the record says up", lift="bring support back")
    hand.do(a.FoundCondition, name="support", value="up")
    hand.expect("stop")
    hand.do(a.Answer, label="whole")
    hand.go("seal")


def test_a_detour_from_a_stop_leads_back_to_the_stop():
    hand = Hand("""
conditions: {support: {at start: down, changes: {up: [down], down: [up]}, getting there: {down: lower}}}
steps:
  - {step: raise, do: Raise., sets: {support: up}}
  - {step: lower, do: Lower., sets: {support: down}}
  - {step: look, ask: It is, answers: {whole: go on, torn: stop}}
  - {step: last, do: Close.}
""")
    hand.go("question")
    hand.do(a.Answer, label="torn")
    hand.do(a.FoundCondition, name="support", value="up")
    hand.expect("confirm", step="detour:support=down/lower")
    hand.do(a.Do)
    hand.expect("stop", step="look")


def test_what_is_due_comes_before_looking_again_at_a_stop():
    hand = Hand("""
items: {bolt: {kind: fastener, tighten: [{torque: 60 N·m ± 2 N·m}]}}
steps:
  - {step: out, takes out: [bolt]}
  - {step: in, starts: [bolt]}
  - {step: tight, tightens: [bolt]}
  - {step: drive, ask: It is, needs: {bolt: final}, answers: {quiet: go on, loud: stop}}
""")
    hand.go("question")
    hand.do(a.Answer, label="loud")
    hand.do(a.Correct, key="tighten tight|bolt|1|1", raw="9", reason="misread")
    hand.expect("due")
    hand.refuse(a.Answer, label="quiet", why='before "It is"', lift="take it up")
    hand.do(a.TakeUp, key=hand.options()[0])
    hand.tighten()
    hand.expect("stop", step="drive")


def test_a_time_limit_that_passed_at_a_stop_is_too_late_when_the_work_goes_on():
    hand = Hand("""
steps:
  - {step: mix, do: Mix.}
  - step: apply
    do: Apply.
    in time: {from: mix, within: 5 min, too late: [{step: wipe, do: Wipe.}]}
    hold point: {released by: checker, asks: Is it even?}
  - {step: last, do: Close.}
""")
    hand.go("hold")
    hand.do(a.Release, "Bo", released=False)
    hand.wait(h=2)
    hand.expect("stop", step="apply")
    hand.do(a.Release, "Bo", released=True)
    assert hand.at == "wipe"
    assert "apply" not in hand.job.done


def test_a_time_limit_that_strikes_before_its_sorted_reading_was_taken_leads_its_own_way():
    hand = Hand(
        """\
steps:
  - {step: glue, do: Put the glue on.}
  - step: play
    do: Measure.
    read: {what: Play, name: play, unit: mm, sorted: {at most 1 mm: go on, above: stop}}
    in time: {from: glue, within: 1 min, too late: [{step: clean, do: Clean it.}]}
  - {step: last, do: Last.}
"""
    )
    hand.go("reading")
    hand.wait(min=2)
    hand.expect("confirm", "clean")


def test_a_step_that_only_works_out_a_value_waits_for_what_is_due_before_it():
    hand = Hand(
        """\
steps:
  - {step: measure, do: Measure., read: {what: Gap, name: gap, unit: mm, band: none}}
  - {step: paint, do: Paint., put off: {until: {step: dry}, before: sum, because: it is wet}}
  - {step: dry, do: Dry it.}
  - {step: sum, do: Add., work out: {what: Shim, name: shim, is: gap - 1 mm, unit: mm, band: none}}
"""
    )
    hand.go("dry")
    hand.do(a.Do)
    hand.expect("due", "sum", lift="take it up now")
    hand.go("sealed")
    assert hand.job.outcome == "finished"


def test_a_wait_on_the_first_step_counts_from_the_start_where_its_act_was_let_go():
    hand = Hand(
        """\
items: {lid: {kind: cover}}
steps:
  - {step: open, do: Open., takes off: [lid], wait: 1 min}
  - {step: shut, do: Shut., puts back: [lid]}
"""
    )
    hand.do(a.Deviate, kind="not done", reason="stuck")
    hand.expect("wait", "open")
    hand.wait(min=1)
    hand.expect("blocked", "shut")


CHAIN = """
items: {bolts: {kind: fastener, tighten: [{torque: 70 N·m}, {angle: 90°}]}, cap: {kind: cover}}
tolerance: {torque: ±4 %, angle: ±5°}
steps:
  - {step: cap-off, takes off: [cap]}
  - {step: loosen, loosens: [bolts]}
  - {step: start, starts: [bolts]}
  - {step: torque, tightens: {bolts: stage 1}}
  - {step: angle, tightens: {bolts: the rest}, put off: {until: {step: clean}, before: look, because: x}}
  - {step: cap-on, puts back: [cap], put off: {until: {step: angle}, before: end, because: y}}
  - {step: clean, do: Clean it.}
  - {step: look, do: Look over it.}
  - {step: last, do: Tidy up.}
"""


def test_the_proof_answers_where_work_waited_for_put_off_work_that_is_done():
    """What lies behind waits for nothing any more: its own window is not looked for among what is ahead."""
    hand = Hand(CHAIN)
    hand.go("cue")
    hand.do(a.PassBy, key="cap-on", reason="later")
    hand.go("last")
    assert hand.owed() == ["cap-on"]
    outlook = ahead(hand.job)
    assert outlook.lost == ()
    assert outlook.until == (("cap-on", "before the end"),)


def test_the_proof_answers_where_put_off_work_behind_is_left_undone_after_a_reopening():
    hand = Hand(CHAIN)
    hand.go("cue")
    hand.do(a.PassBy, key="cap-on", reason="later")
    hand.go("last")
    hand.do(a.Reopen, item="bolts", state="loosened", reason="one is bent")
    again = next(key for key, owed in hand.job.owed.items() if owed.node == "angle")
    hand.do(a.Deviate, kind="not done", reason="no gauge", authority="Chief", subject=again)
    assert [key for key, _ in ahead(hand.job).lost] == ["bolts"]


LEAN = """
steps:
  - step: heights
    do: Measure.
    read:
      - {what: Left, name: left, unit: mm, band: 1 to 2 mm}
      - {what: Right, name: right, unit: mm, band: 1 to 2 mm}
    work out: {what: Lean, name: lean, is: abs(left - right), unit: mm, at most: 0.5 mm}
  - {step: last, do: Tidy up.}
"""


def test_a_step_is_not_done_by_a_corrected_value_that_its_gate_would_refuse():
    """The worked-out value is within its band by it; the reading itself is owed before the work goes on."""
    hand = Hand(LEAN)
    hand.go("reading")
    hand.do(a.Read, name="left", raw="2")
    hand.do(a.Read, name="right", raw="1")
    hand.expect("worked out")
    hand.do(a.Correct, key="read heights|left|1", raw="0.9", reason="misread")
    hand.expect("due", subject="correction read heights|left|1")
    assert hand.at == "heights"
    hand.do(a.TakeUp, key="correction read heights|left|1")
    hand.do(a.Read, name="left", raw="1.2")
    assert hand.at == "last"
    assert not hand.owed()
