"""Semantic 5: planned and unplanned put-offs, their windows, cues, last chances and due points."""

import pytest

from runner.job import actions as a
from runner.job import events as e
from runner.job.gates import Gates
from tests.job.bench_hand import Hand

SUPPORT = """\
conditions:
  support:
    at start: raised
    changes: {raised: [on wheels], on wheels: [raised]}
items:
  bush:
    kind: fastener
    at start: out
    tighten: [{snug: hand tight}, {angle: 90°, method: by mark, only when: {support: on wheels}}]
"""

PLANNED = (
    SUPPORT
    + """\
steps:
  - {step: fit, do: Fit it., starts: [bush], tightens: {bush: stage 1}}
  - step: angle
    do: Turn it.
    tightens: {bush: the rest}
    danger: {hazard: The car can roll., consequence: crushing, avoid: chocks}
    read: {what: Ride height, name: height, unit: mm, band: none}
    put off: {until: {support: on wheels}, before: drive, because: the rubber must sit untwisted}
  - {step: tidy, do: Tidy up.}
  - {step: lower, do: Lower it., sets: {support: on wheels}}
  - {step: wash, do: Wash it.}
  - {step: drive, do: Drive it.}
"""
)


def test_reached_with_its_window_shut_a_step_is_listed_with_what_where_why_and_trigger():
    hand = Hand(PLANNED)
    hand.go("tidy")
    assert hand.kinds()[-2:] == ["listed", "came_to"]
    line = hand.view.owed[0]
    assert (line.what, line.why, line.trigger, line.before, line.status, line.ready) == (
        "Turn it.", "the rubber must sit untwisted", "support is on wheels", "Drive it.", "waiting", False,
    )  # fmt: skip


def test_reached_with_its_window_open_it_is_done_there_and_then():
    hand = Hand(
        PLANNED.replace("at start: raised", "at start: on wheels").replace(
            "sets: {support: on wheels}", "sets: {support: on wheels}"
        )
    )
    hand.go("angle")
    hand.expect("acknowledge", "angle")
    assert hand.owed() == []
    hand.go("sealed")
    assert hand.happened(e.Listed) == []


def test_when_the_window_opens_the_step_comes_next_one_press_from_being_taken_up_behind_its_own_gate():
    hand = Hand(PLANNED)
    hand.go("lower")
    hand.do(a.Do)
    assert hand.kinds() == ["confirmed", "condition_set", "step_done", "came_to", "window_opened"]
    hand.expect("cue", prompt="Now is the time: Turn it.")
    assert hand.options() == ["angle"]
    hand.refuse(a.Do, why="not now: Now is the time", lift="")
    hand.do(a.TakeUp, key="angle")
    hand.expect("acknowledge", "angle")
    hand.answer()
    hand.expect("tighten", stage=2)
    hand.answer()
    hand.expect("reading")
    hand.answer()
    assert hand.owed() == []
    hand.expect("confirm", "wash")


def test_a_step_is_not_taken_up_before_its_window():
    hand = Hand(PLANNED)
    hand.go("tidy")
    hand.refuse(a.TakeUp, key="angle", why="not yet: Turn it.", lift="support is on wheels")
    hand.refuse(a.TakeUp, key="nothing", why="nothing of that name is owed", lift="put-off list")


def test_a_cue_passed_by_is_logged_and_comes_back_where_it_is_due_as_a_gate():
    hand = Hand(PLANNED)
    hand.go("cue")
    hand.do(a.PassBy, key="angle", reason="wash first")
    assert hand.happened(e.PassedBy) == [e.PassedBy(key="angle", reason="wash first")]
    hand.expect("confirm", "wash")
    hand.do(a.Do)
    hand.expect("due", subject="angle", prompt='First, before "Drive it": Turn it.', lift="take it up now")
    hand.refuse(a.PassBy, key="angle", why="it is due now", lift="take it up")
    hand.refuse(a.Do, why='not now: First, before "Drive it"', lift="take it up now")
    hand.go("sealed")
    assert hand.state("bush") == "stage 2"


def test_a_cue_that_is_not_shown_cannot_be_passed_by():
    hand = Hand(PLANNED)
    hand.go("tidy")
    hand.refuse(a.PassBy, key="angle", why="not now", lift="answer what is asked first")


def test_a_cue_may_be_passed_by_and_taken_up_later_by_oneself():
    hand = Hand(PLANNED)
    hand.go("cue")
    hand.do(a.PassBy, key="angle")
    hand.do(a.TakeUp, key="angle")
    hand.expect("acknowledge", "angle")


def test_a_put_off_is_not_taken_up_in_the_middle_of_another_step():
    hand = Hand(
        PLANNED.replace(
            "{step: wash, do: Wash it.}",
            "{step: wash, do: Wash it., hold point: {released by: checker, asks: Clean?}}",
        )
    )
    hand.go("cue")
    hand.do(a.PassBy, key="angle")
    hand.do(a.Do)
    hand.refuse(
        a.TakeUp, key="angle", why="the step in hand has been begun", lift="finish it first: the cue stays"
    )


def test_last_chances_come_from_the_proof_as_data_and_insist():
    text = PLANNED.replace(
        "  - {step: wash, do: Wash it.}\n",
        "  - {step: wash, do: Wash it.}\n  - {step: up, do: Raise it., sets: {support: raised}}\n",
    )
    gates = Gates(last_chance={"up": ("angle",)})
    hand = Hand(text, gates=gates)
    hand.go("cue")
    hand.do(a.PassBy, key="angle")
    hand.do(a.Do)
    hand.expect(
        "due", subject="angle", prompt='Last chance, before "Raise it": Turn it.', lift="does not open again"
    )
    hand.refuse(a.PassBy, key="angle", why="it is due now", lift="take it up")
    # Without them the same run comes to its due point with the window shut.
    free = Hand(text)
    free.go("cue")
    free.do(a.PassBy, key="angle")
    free.do(a.Do)
    free.expect("confirm", "up")
    free.do(a.Do)
    assert free.kinds()[-1] == "window_closed"
    free.expect("due", subject="angle", lift="it waits for: support is on wheels")
    assert free.options() == []


BEFORE_CONDITION = PLANNED.replace("before: drive", "before: {support: raised}").replace(
    "  - {step: drive, do: Drive it.}\n", "  - {step: up, do: Raise it., sets: {support: raised}}\n"
)


def test_due_before_a_condition_takes_a_value():
    hand = Hand(BEFORE_CONDITION)
    hand.go("cue")
    hand.do(a.PassBy, key="angle")
    hand.do(a.Do)
    hand.expect("due", subject="angle", prompt='First, before "Raise it"')


def test_due_before_the_end():
    hand = Hand(PLANNED.replace("before: drive", "before: end"))
    hand.go("cue")
    hand.do(a.PassBy, key="angle")
    hand.do(a.Do)
    hand.do(a.Do)
    hand.expect("due", prompt="First, before the end: Turn it.")


def test_a_put_off_left_undone_by_deviation_stays_an_open_point_and_the_item_at_its_stage():
    hand = Hand(PLANNED)
    hand.go("cue")
    hand.do(a.PassBy, key="angle")
    hand.do(a.Do)
    hand.do(a.Deviate, kind="not done", reason="the mark is gone")
    assert hand.owed() == []
    hand.expect("confirm", "drive")
    assert hand.state("bush") == "stage 1"
    assert hand.job.ledger["bush"].not_done
    hand.go("seal")
    hand.refuse(a.Seal, outcome="finished", why="not finished", lift="finished with open points")
    hand.do(a.Seal, outcome="finished with open points")
    assert hand.happened(e.Sealed)[0].open_items == ("bush: stage 1",)


DONE = (
    SUPPORT
    + """\
steps:
  - {step: fit, do: Fit it., starts: [bush]}
  - step: snug
    do: Tighten it.
    tightens: {bush: stage 1}
    put off: {until: {step: glue}, before: end, because: the glue comes first}
  - {step: tidy, do: Tidy up.}
  - {step: glue, do: Glue it.}
  - {step: wash, do: Wash it.}
"""
)


def test_a_window_opens_by_a_step_done():
    hand = Hand(DONE)
    hand.go("glue")
    assert hand.owed() == ["snug"]
    hand.do(a.Do)
    hand.expect("cue", prompt="Tighten it.")


AT = DONE.replace("until: {step: glue}", "until: {at: glue}")


def test_a_window_at_a_step_is_open_while_the_main_line_stands_there():
    hand = Hand(AT)
    hand.go("tidy")
    hand.refuse(a.TakeUp, key="snug", why="not yet", lift="at: Glue it.")
    hand.do(a.Do)
    hand.expect("cue")
    hand.do(a.PassBy, key="snug")
    hand.do(a.Do)
    hand.refuse(a.TakeUp, key="snug", why="not yet", lift="at: Glue it.")


TIMED = DONE.replace("until: {step: glue}", "until: {time: 4 h, after: fit}")


def test_a_window_opens_by_time_and_rings_in_mid_step_while_the_step_in_hand_keeps_the_screen():
    hand = Hand(
        TIMED.replace("do: Tidy up.}", "do: Tidy up., hold point: {released by: checker, asks: Tidy?}}")
    )
    hand.go("tidy")
    hand.do(a.Do)
    assert hand.wait(h=3, min=59) == ()
    opened = hand.wait(min=1)
    assert opened == (e.WindowOpened(key="snug", basis="running clock"),)
    hand.expect("hold", "tidy")
    assert hand.view.owed[0].status == "cued"
    hand.do(a.Release, "Bo", released=True)
    hand.expect("cue", prompt="Tighten it.")


def test_a_due_point_reached_too_early_shows_until_when_and_can_be_paused():
    hand = Hand(TIMED.replace("before: end", "before: glue"))
    hand.go("tidy")
    hand.do(a.Do)
    hand.clock.wait(h=1)
    now = hand.expect("due", subject="snug", lift="waiting until ")
    assert now.until_ms == 3 * 3_600_000
    assert "the run can be paused" in now.lift
    hand.do(a.Pause, note="home")
    hand.clock.wait(h=5)
    hand.do(a.Resume)
    while hand.demand.kind == "reconfirm":
        hand.answer()
    hand.tick()
    hand.expect("due", lift="take it up now")
    assert hand.options() == ["snug"]


LATEST = TIMED.replace("because: the glue", "no later than: {time: 6 h, after: fit}, because: the glue")


def test_after_no_later_than_it_needs_a_deviation_and_is_then_done_all_the_same():
    hand = Hand(LATEST)
    hand.go("tidy")
    hand.wait(h=7)
    assert e.Overdue(key="snug", basis="running clock") in hand.happened(e.Overdue)
    hand.expect("due", subject="snug")
    hand.refuse(
        a.TakeUp, key="snug", why="the time for Tighten it. is over", lift="deviate with a reason (late)"
    )
    hand.refuse(a.Do, why="not now", lift="")
    hand.do(a.Deviate, kind="late", reason="lunch", authority="Bo")
    hand.do(a.TakeUp, key="snug")
    hand.expect("tighten", "snug")
    hand.answer()
    hand.expect("confirm", "tidy")


def test_overdue_in_the_middle_of_another_step_asks_for_a_word_at_once_and_then_that_step_goes_on():
    hand = Hand(
        LATEST.replace("do: Tidy up.}", "do: Tidy up., hold point: {released by: checker, asks: Tidy?}}")
    )
    hand.go("tidy")
    hand.do(a.Do)
    hand.wait(h=7)
    hand.expect("due", subject="snug", lift="its time is over")
    hand.refuse(a.Release, "Bo", released=True, why="not now", lift="its time is over")
    hand.do(a.Deviate, kind="late", reason="lunch")
    hand.expect("hold", "tidy")
    hand.do(a.Release, "Bo", released=True)
    hand.do(a.TakeUp, key="snug")
    hand.answer()
    assert hand.state("bush") == "stage 1"


def test_too_late_inside_the_taken_up_step_is_a_deviation_too():
    hand = Hand(LATEST)
    hand.go("tidy")
    hand.wait(h=5)
    hand.do(a.TakeUp, key="snug")
    hand.wait(h=2)
    assert hand.happened(e.Overdue)
    hand.refuse(
        a.Tighten, item="bush", stage=1, member=1, method="snug",
        why="The time is over for: Tighten it.", lift="deviate with a reason: late",
    )  # fmt: skip
    hand.do(a.Deviate, kind="late", reason="slow", authority="Bo")
    hand.expect("tighten", "snug")
    hand.answer()
    assert hand.owed() == []


def test_a_step_with_a_latest_time_is_watched_also_where_it_is_reached_with_its_window_open():
    hand = Hand("""\
items: {bush: {kind: fastener, at start: out, tighten: [{snug: hand tight}]}}
steps:
  - {step: fit, do: Fit it., starts: [bush]}
  - {step: glue, do: Glue it.}
  - step: snug
    do: Tighten it.
    tightens: [bush]
    put off: {until: {step: glue}, before: end, no later than: {time: 1 h, after: glue}, because: the glue}
  - {step: last, do: Wash it.}
""")
    hand.go("glue")
    hand.do(a.Do)
    hand.expect("cue", prompt="Tighten it.")
    hand.do(a.TakeUp, key="snug")
    hand.wait(h=2)
    words = {"item": "bush", "stage": 1, "member": 1, "method": "snug"}
    hand.refuse(a.Tighten, **words, why="The time is over for", lift="late, or not done")
    hand.do(a.Deviate, kind="late", reason="slow", authority="Bo")
    hand.do(a.Tighten, **words)
    hand.go("sealed")
    assert hand.job.outcome == "finished with open points"


def test_a_window_by_time_that_is_open_already_is_cued_at_once_where_it_has_a_latest_time():
    hand = Hand(LATEST.replace("time: 4 h, after: fit", "time: 1 s, after: fit").replace(
        "starts: [bush]}", "starts: [bush]}\n  - {step: rest, do: Rest., wait: 2 s}"))  # fmt: skip
    hand.go("cue")
    assert hand.options() == ["snug"]
    hand.go("tidy")
    assert hand.state("bush") == "stage 1"


TWO = """\
locations: {side: [left, right]}
conditions: {support: {at start: raised, changes: {raised: [on wheels], on wheels: [raised]}}}
items: {lid: {kind: cover, each: side, at start: off}}
steps:
  - each: side
    steps:
      - {step: look, do: Look at it.}
      - step: shut
        do: Shut it.
        puts back: [lid]
        put off: {until: {support: on wheels}, before: end, because: wind}
  - {step: lower, do: Lower it., sets: {support: on wheels}}
  - {step: last, do: Wash it.}
"""


def test_it_is_listed_once_for_each_location_and_several_come_in_procedure_order():
    hand = Hand(TWO)
    hand.go("lower")
    assert hand.owed() == ["shut@left", "shut@right"]
    assert [line.where for line in hand.view.owed] == ["left", "right"]
    hand.do(a.Do)
    hand.expect("cue", prompt="left: Shut it.")
    assert hand.options() == ["shut@left", "shut@right"]
    hand.do(a.TakeUp, key="shut@right")
    hand.answer()
    assert hand.options() == ["shut@left"]


def test_a_loop_that_comes_by_again_does_not_list_it_twice():
    hand = Hand("""\
conditions: {support: {at start: raised, changes: {raised: [on wheels], on wheels: [raised]}}}
items: {lid: {kind: cover, at start: off}}
steps:
  - {step: wipe, do: Wipe.}
  - {step: shut, do: Shut it., puts back: [lid], put off: {until: {support: on wheels}, before: end, because: wind}}
  - {step: check, ask: Clean?, answers: {clean: go on, dirty: {again: wipe, at most: 2, then: stop}}}
  - {step: lower, do: Lower it., sets: {support: on wheels}}
""")
    hand.answers = {"check": "dirty"}
    hand.go("check")
    hand.answer()
    hand.answer()
    hand.answers = {}
    hand.go("lower")
    assert len(hand.happened(e.Listed)) == 1
    hand.go("sealed")
    assert hand.job.is_final("lid")


UNPLANNED = """\
conditions: {support: {at start: raised, changes: {raised: [on wheels], on wheels: [raised]}}}
items:
  lid: {kind: cover, at start: off}
  cap: {kind: cover, at start: off}
steps:
  - {step: shut, do: Shut it., puts back: [lid]}
  - {step: tidy, do: Tidy up.}
  - {step: both, do: Both., puts back: [cap], takes off: [lid]}
  - {step: last, do: Last., puts back: [lid]}
"""


def test_an_unplanned_put_off_has_a_reason_and_is_owed_before_the_next_step_on_its_item():
    hand = Hand(UNPLANNED)
    hand.refuse(a.PutOff, reason=" ", why="is put off with a reason", lift="say why")
    hand.do(a.PutOff, reason="the seal is not here yet")
    assert hand.kinds() == ["put_off_unplanned", "came_to"]
    assert hand.job.ledger["lid"].off_plan
    line = hand.view.owed[0]
    assert (line.why, line.status) == ("the seal is not here yet", "passed by")
    hand.expect("confirm", "tidy")
    hand.do(a.Do)
    hand.expect("due", subject="shut", prompt='First, before "Both": Shut it.')
    hand.go("sealed")
    assert hand.job.outcome == "finished"


@pytest.mark.parametrize(
    ("step", "why"),
    [
        ("{step: shut, do: Shut it., puts back: [lid, cap]}", "only a step on one item"),
        ("{step: shut, do: Shut it., sets: {support: on wheels}}", "only a step on one item"),
        ("{step: shut, ask: How?, answers: {a: go on, b: [{step: other, do: Other.}]}}", "chooses no way"),
        (
            "{step: shut, ask: How?, answers: {a: go on, b: {again: shut, at most: 1, then: stop}}}",
            "chooses no way",
        ),
    ],
)
def test_only_a_step_of_a_put_offs_shape_is_put_off(step, why):
    text = UNPLANNED.replace("{step: shut, do: Shut it., puts back: [lid]}", step)
    hand = Hand(text)
    hand.refuse(a.PutOff, reason="later", why=why, lift="do it now, or deviate")


def test_a_step_that_has_been_begun_is_not_put_off():
    hand = Hand("""\
steps:
  - {step: one, do: One., look for: How?, answers: {a: go on, b: go on}, hold point: {released by: checker, asks: So?}}
""")
    hand.do(a.Do)
    hand.refuse(a.PutOff, reason="later", why='" has been begun', lift="finish it, or take back")


def test_a_question_that_later_steps_go_by_chooses_a_way_and_is_not_put_off():
    hand = Hand("""\
steps:
  - {step: one, ask: How?, answers: {a: go on, b: go on}}
  - {step: two, do: Two., only if: {one: b}}
""")
    hand.refuse(a.PutOff, reason="later", why="chooses no way", lift="do it now")
    hand.refuse(a.NotApplicable, subject="", reason="none", why="chooses no way", lift="do it")


def test_a_planned_put_off_in_its_window_is_not_put_off_once_more():
    hand = Hand(PLANNED.replace("at start: raised", "at start: on wheels"))
    hand.go("angle")
    hand.refuse(a.PutOff, reason="later", why="has its window now", lift="do it now")


def test_a_reading_put_off_is_due_before_the_step_that_uses_it():
    hand = Hand("""\
steps:
  - {step: one, do: One., read: {what: A, name: a, unit: mm, band: none}}
  - {step: two, do: Two.}
  - {step: sum, do: Sum., work out: {what: S, name: s, is: a + 1 mm, unit: mm, band: at most 9 mm}}
""")
    hand.do(a.PutOff, reason="the gauge is not here")
    hand.expect("confirm", "two")
    hand.do(a.Do)
    hand.expect("due", subject="one", prompt='First, before "Sum": One.')
    hand.go("sealed")


def test_reopened_while_a_put_off_waits_the_earlier_work_comes_first_in_procedure_order():
    hand = Hand(PLANNED)
    hand.go("cue")
    hand.do(a.Reopen, item="bush", state="started", reason="cross-threaded")
    hand.expect("cue")
    assert hand.options() == ["again fit bush", "angle"]
    hand.go("sealed")
    assert hand.state("bush") == "stage 2"
    assert hand.job.outcome == "finished"


def test_owed_work_that_a_later_act_has_done_already_asks_nothing_more():
    hand = Hand("""\
items: {bolt: {kind: fastener, tighten: [{snug: one}, {snug: two}]}}
conditions: {support: {at start: raised, changes: {raised: [on wheels], on wheels: [raised]}}}
steps:
  - {step: open, do: Open., loosens: [bolt], starts: [bolt]}
  - {step: first, do: First., tightens: {bolt: stage 1}}
  - {step: rest, do: Rest., tightens: [bolt], put off: {until: {support: on wheels}, before: end, because: wind}}
  - {step: lower, do: Lower it., sets: {support: on wheels}}
  - {step: last, do: Last.}
""")
    hand.go("lower")
    hand.do(a.Reopen, item="bolt", state="started", reason="wrong washer")
    hand.do(a.PassBy, key="again first bolt")
    hand.do(a.Do)
    hand.expect("cue")
    assert hand.options() == ["rest"]
    hand.do(a.TakeUp, key="rest")
    hand.answer()
    hand.answer()
    assert hand.state("bolt") == "stage 2"
    hand.go("sealed")
    assert hand.job.outcome == "finished"
