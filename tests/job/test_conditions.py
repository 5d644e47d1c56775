"""Semantic 3: conditions change only by `sets` and along allowed changes; found conditions and their detours."""

from runner.job import actions as a
from runner.job import events as e
from tests.job.bench_hand import Hand

SUPPORT = """\
conditions:
  support:
    at start: on wheels
    changes: {on wheels: [raised], raised: [on wheels], in the air: [raised]}
    hazardous: [raised]
    getting there: {raised: raise}
"""
PLAIN = SUPPORT.replace("    getting there: {raised: raise}\n", "")
"""The same without a written way back."""

JOB = (
    SUPPORT
    + """\
steps:
  - {step: look, do: Walk round it.}
  - {step: raise, do: Raise it., sets: {support: raised}}
  - {step: work, do: Work under it., needs: {support: raised}}
  - {step: lower, do: Lower it., sets: {support: on wheels}}
"""
)


def test_a_condition_changes_when_the_gate_of_the_step_that_sets_it_is_through():
    hand = Hand(JOB)
    hand.go("raise")
    assert hand.view.conditions[0].becoming == ""
    assert hand.job.conditions == {"support": "on wheels"}
    hand.do(a.Do)
    assert hand.job.conditions == {"support": "raised"}
    assert hand.happened(e.ConditionSet) == [e.ConditionSet(name="support", value="raised")]


HOLD_AT_RAISE = (
    SUPPORT
    + """\
steps:
  - step: raise
    do: Raise it.
    hold point: {released by: checker, asks: Does it stand?}
    sets: {support: raised}
"""
)


def test_until_sets_is_reached_the_condition_is_being_changed_and_both_hazards_hold():
    hand = Hand(HOLD_AT_RAISE)
    line = hand.view.conditions[0]
    assert (line.value, line.becoming, line.hazardous) == ("on wheels", "", False)
    hand.do(a.Do)
    line = hand.view.conditions[0]
    assert (line.value, line.becoming, line.hazardous) == ("on wheels", "raised", True)
    assert hand.job.conditions["support"] == "on wheels"
    hand.do(a.Release, "Bo", released=True)
    line = hand.view.conditions[0]
    assert (line.value, line.becoming, line.hazardous) == ("raised", "", True)


def test_leaving_a_hazardous_value_keeps_its_hazard_until_the_end_of_the_step():
    hand = Hand(
        PLAIN.replace("at start: on wheels", "at start: raised")
        + """\
steps:
  - {step: lower, do: Lower it., hold point: {released by: checker, asks: Is it down?}, sets: {support: on wheels}}
"""
    )
    hand.do(a.Do)
    assert hand.view.conditions[0].hazardous
    hand.do(a.Release, "Bo", released=True)
    assert not hand.view.conditions[0].hazardous


def test_a_change_that_is_not_allowed_shuts_the_gate_and_no_deviation_opens_it():
    hand = Hand(PLAIN + """\
steps:
  - {step: fly, do: Lift it off., sets: {support: raised}}
  - {step: down, do: Let it down., sets: {support: on wheels}}
""", begin=False)  # fmt: skip
    hand.job = hand.job.but(conditions={"support": "on wheels"})
    hand.begin({}, {})
    hand.job = hand.job.but(conditions={"support": "in the air"})
    hand.do(a.Do)  # in the air -> raised is allowed
    hand.job = hand.job.but(conditions={"support": "in the air"})
    hand.expect(
        "blocked", prompt="support may not go from in the air to on wheels", lift="support must first be"
    )
    hand.refuse(a.Do, why="may not go from in the air", lift="support must first")
    hand.refuse(
        a.Deviate, kind="different order", reason="quick", authority="Bo", why="may not go", lift="must first"
    )
    hand.refuse(a.Deviate, kind="not done", reason="quick", authority="Bo", why="", lift="must first")


def test_setting_the_present_value_changes_and_opens_nothing():
    hand = Hand(
        PLAIN
        + """\
items: {lid: {kind: cover}}
steps:
  - {step: lid-off, takes off: [lid], do: Open it.}
  - {step: later, puts back: [lid], do: Close it.,
     put off: {until: {support: raised}, before: end, because: the wind}}
  - {step: stay, do: Leave it where it is., sets: {support: on wheels}}
  - {step: up, do: Raise it., sets: {support: raised}}
"""
    )
    hand.go("stay")
    hand.do(a.Do)
    assert hand.happened(e.ConditionSet) == []
    assert hand.happened(e.WindowOpened) == []
    hand.do(a.Do)
    assert [event.key for event in hand.happened(e.WindowOpened)] == ["later"]


def test_needs_are_assertions_that_say_what_is_the_case_and_what_must_be():
    hand = Hand(
        PLAIN
        + """\
items: {lid: {kind: cover}}
steps:
  - {step: raise, do: Raise it., sets: {support: raised}}
  - {step: work, do: Work., needs: {support: on wheels, lid: off}}
"""
    )
    hand.go("work")
    hand.expect("blocked", prompt="support is raised", lift="support must be on wheels")
    hand.refuse(a.Do, why="cannot be done yet", lift="support must be on wheels")
    hand.do(a.Deviate, kind="different order", reason="the stand is in the way", authority="Bo")
    hand.expect("confirm")


def test_a_need_on_an_item_reads_its_state():
    hand = Hand("""\
items: {lid: {kind: cover}, bolt: {kind: fastener, tighten: [{snug: hand tight}]}}
steps:
  - {step: work, do: Work., needs: {bolt: final, lid: off}}
""")
    hand.expect("blocked", prompt="lid is on", lift="lid must be off")


def test_a_condition_of_several_starts_is_asked_at_the_start():
    text = (
        PLAIN.replace("at start: on wheels", "at start: [on wheels, raised]")
        + """\
steps:
  - {step: only-down, do: Only when down., only if: {support: on wheels}}
  - {step: always, do: Always.}
"""
    )
    hand = Hand(text, begin=False)
    hand.do(a.Start, work_piece="T-1")
    hand.do(a.MeetPrerequisite, key="person:checker", value="Bo")
    hand.refuse(
        a.MeetPrerequisite,
        key="condition:support",
        value="",
        why="starts only where",
        lift="on wheels, raised",
    )
    hand.refuse(
        a.MeetPrerequisite,
        key="condition:support",
        value="in the air",
        why="starts only where",
        lift="raised",
    )
    hand.do(a.MeetPrerequisite, key="condition:support", value="raised")
    assert hand.at == "always"
    assert Hand(text, start={"support": "on wheels"}).at == "only-down"


def test_found_condition_is_restored_by_the_written_detour_before_the_main_line_goes_on():
    hand = Hand(JOB)
    hand.go("work")
    hand.do(a.FoundCondition, name="support", value="on wheels")
    assert hand.kinds() == ["condition_found", "detour_began"]
    hand.expect("confirm", "detour:support=raised/raise")
    assert hand.view.step.detour
    assert hand.view.conditions[0].found == "on wheels"
    hand.do(a.Do)
    assert hand.job.found == {}
    assert hand.job.conditions == {"support": "raised"}
    hand.expect("confirm", "work")
    hand.go("sealed")


def test_without_a_written_way_back_the_main_line_waits_for_the_word_that_it_is_restored():
    hand = Hand(JOB)
    hand.go("look")
    hand.do(a.FoundCondition, name="support", value="raised")
    hand.expect("restore", prompt="support is raised, the record says on wheels", lift="bring support back")
    hand.refuse(a.Do, why="support is raised", lift="bring support back to on wheels")
    hand.refuse(a.NotApplicable, subject="", reason="no", why="support is raised", lift="bring support back")
    hand.refuse(a.PutOff, reason="later", why="no step in hand", lift="take up what is asked first")
    hand.do(a.FoundCondition, name="support", value="on wheels")
    hand.expect("confirm", "look")


def test_what_is_found_counts_for_no_need_until_it_is_restored():
    hand = Hand(JOB)
    hand.go("work")
    hand.do(a.FoundCondition, name="support", value="in the air")
    hand.expect("confirm", "detour:support=raised/raise")
    hand.refuse(a.FoundCondition, name="support", value="raised", why="not now", lift="finish")
    hand.refuse(a.PutOff, reason="later", why="no step in hand", lift="take up")


def test_a_found_condition_is_named_as_it_is_and_differs_from_the_record():
    hand = Hand(JOB)
    hand.refuse(a.FoundCondition, name="battery", value="off", why="no such condition", lift="support")
    hand.refuse(
        a.FoundCondition, name="support", value="gone", why="no such condition or value", lift="raised"
    )
    hand.refuse(a.FoundCondition, name="support", value="on wheels", why="in the record too", lift="go on")


RAISING = """\
procedure: raising
conditions:
  support:
    at start: on wheels
    changes: {on wheels: [half], half: [raised, on wheels], raised: [half]}
ends with: {support: raised}
steps:
  - {step: lift, do: Lift it half way., needs: {support: on wheels}, sets: {support: half}}
  - {step: stand, do: Put the stands under it., needs: {support: half}, sets: {support: raised}}
"""


def test_a_detour_by_a_sub_procedure_starts_from_what_was_found_and_sets_what_its_steps_set():
    hand = Hand("""\
conditions:
  support:
    at start: raised
    changes: {on wheels: [half], half: [raised, on wheels], raised: [half]}
    getting there: {raised: raising.yaml}
steps:
  - {step: work, do: Work under it., needs: {support: raised}}
""", raising=RAISING)  # fmt: skip
    hand.do(a.FoundCondition, name="support", value="on wheels")
    hand.expect("confirm", "detour:support=raised/raising/lift")
    hand.do(a.Do)
    hand.expect("confirm", "detour:support=raised/raising/stand")
    hand.do(a.Do)
    hand.expect("confirm", "work")
    assert hand.job.conditions == {"support": "raised"}


def test_a_detour_in_the_middle_of_a_step_leaves_its_progress_as_it_was():
    hand = Hand(
        JOB.replace(
            "do: Work under it.,", "do: Work under it., read: {what: Gap, name: gap, unit: mm, band: none},"
        )
    )
    hand.go("work")
    hand.do(a.Do)
    hand.expect("reading")
    hand.do(a.FoundCondition, name="support", value="on wheels")
    hand.do(a.Do)
    hand.expect("reading", "work", subject="gap")


def test_a_detour_while_owed_work_is_cued_comes_first_and_the_cue_after_it():
    hand = Hand(JOB.replace("steps:\n", """\
items: {lid: {kind: cover}}
steps:
  - {step: open, takes off: [lid], do: Open it.}
  - {step: close, puts back: [lid], do: Close it., put off: {until: {support: raised}, before: end, because: wind}}
""", 1))  # fmt: skip
    hand.go("cue")
    hand.do(a.FoundCondition, name="support", value="on wheels")
    hand.expect("confirm", "detour:support=raised/raise")
    hand.refuse(a.TakeUp, key="close", why="something else is in hand", lift="finish")
    hand.do(a.Do)
    hand.expect("cue", prompt="Close it.")
    hand.do(a.TakeUp, key="close")
    hand.do(a.FoundCondition, name="support", value="on wheels")
    hand.do(a.Do)
    hand.expect("act", "close")
    hand.go("sealed")
