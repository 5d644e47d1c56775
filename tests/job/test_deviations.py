"""Semantic 7, first half: deviations of every kind, their reason and authority, and not applicable."""

import pytest

from runner.job import actions as a
from runner.job import events as e
from runner.job.deviating import ALLOWED
from tests.job.bench_hand import Hand

JOB = """\
items:
  lid: {kind: cover}
  lock: {kind: lock, critical: true}
tools: [{name: gauge}]
parts: [{name: seal}]
documents: [Sheet 7]
supplies: [Grease]
steps:
  - {step: open, do: Open., takes off: [lid]}
  - {step: lock-on, do: Lock it., puts on: [lock]}
  - {step: read, do: Read it., read: {what: Gap, name: gap, unit: mm, band: 1 to 2 mm, critical: true}}
  - {step: say, do: Say it aloud., critical: true}
  - {step: close, do: Close., puts back: [lid], takes off: [lock]}
close out: [Look round]
"""


def _dev(kind: str, reason: str = "a reason", **more: str) -> dict[str, str]:
    return {"kind": kind, "reason": reason, **more}


def test_a_deviation_has_a_reason_and_an_authority_and_stays_open_to_the_end():
    hand = Hand(JOB)
    hand.refuse(a.Deviate, **_dev("not done", "  "), why="a deviation has a reason", lift="say why")
    hand.do(a.Deviate, **_dev("not done", "rusted on"))
    point = hand.job.deviations[0]
    assert (point.number, point.kind, point.subject, point.authority) == (1, "not done", "lid", "Ann")
    assert hand.view.open_points[0].text == "not done: lid, at: Open.: rusted on (by Ann)"


def test_a_critical_item_step_or_reading_needs_the_word_of_another_person():
    hand = Hand(JOB)
    hand.answer()
    hand.expect("act", "lock-on", critical=True)
    hand.refuse(
        a.Deviate, **_dev("not done"), why="on the word of someone other than", lift="name that person"
    )
    hand.refuse(
        a.Deviate, "Dee", **_dev("not done", authority="dee"), why="someone other than", lift="name that"
    )
    hand.do(a.Deviate, **_dev("not done", authority="Bo"))
    hand.answer()
    hand.expect("reading", critical=True)
    hand.refuse(a.Deviate, **_dev("out of band", raw="3"), why="someone other than", lift="name that person")
    hand.do(a.Deviate, **_dev("out of band", raw="3", authority="Bo"))
    hand.expect("confirm", "say", critical=True)
    hand.refuse(a.Deviate, **_dev("not done"), why="someone other than", lift="name that person")
    hand.do(a.Deviate, **_dev("not done", authority="Bo"))


def test_not_done_leaves_the_item_paints_no_mark_and_is_a_follow_up():
    hand = Hand(JOB)
    hand.answer()
    hand.answer()
    hand.values = {"gap": "1.5"}
    hand.go("close")
    hand.do(a.Deviate, **_dev("not done", "the seal is torn"))
    assert hand.state("lid") == "off"
    assert next(item.mark for item in hand.view.items if item.key == "lid") == "not done"
    hand.go("seal")
    hand.do(a.Seal, outcome="finished with open points")
    sealed = hand.happened(e.Sealed)[0]
    assert sealed.open_items == ("lid: off",)
    assert "the seal is torn" in sealed.follow_ups[-1]


def test_not_done_is_put_right_by_doing_it_after_all():
    hand = Hand("""\
items: {lid: {kind: cover}}
steps:
  - {step: open, do: Open., takes off: [lid]}
  - {step: close, do: Close., puts back: [lid]}
  - {step: close-2, do: Close it at last., puts back: [lid]}
""")
    hand.answer()
    hand.do(a.Deviate, **_dev("not done"))
    hand.answer()
    assert not hand.job.ledger["lid"].not_done
    hand.go("seal")
    assert hand.options() == ["finished with open points"]


def test_what_lies_ready_may_be_missing_or_substituted_but_not_the_condition_the_work_starts_from():
    hand = Hand("conditions: {support: {at start: on wheels, changes: {on wheels: []}}}\n" + JOB, begin=False)
    hand.do(a.Start, work_piece="T-1")
    assert hand.options() == [
        "tool:gauge", "part:seal", "supply:Grease", "document:Sheet 7", "person:checker", "condition:support",
    ]  # fmt: skip
    hand.refuse(
        a.Deviate, **_dev("not available", subject="tool:saw"), why="not open", lift="name one of: tool:gauge"
    )
    hand.refuse(
        a.Deviate,
        **_dev("not available", subject="condition:support"),
        why="does not start from",
        lift="bring it",
    )
    hand.do(a.Deviate, **_dev("substitute", subject="tool:gauge", raw="feeler 3"))
    hand.do(a.Deviate, **_dev("not available", subject="part:seal"))
    hand.do(a.Deviate, **_dev("not available", subject="person:checker"))
    assert hand.job.tools == {"gauge": "feeler 3"}
    assert hand.job.met["part:seal"] == "not available"


def test_a_tool_that_never_came_is_not_counted_out():
    hand = Hand(JOB, begin=False)
    hand.do(a.Start, work_piece="T-1")
    hand.do(a.Deviate, **_dev("not available", subject="tool:gauge"))
    hand.begin_rest()
    hand.values = {"gap": "1.5"}
    hand.go("close out")
    assert hand.options() == ["line:0", "line:1"]


def test_close_out_lines_and_tools_may_be_left_with_a_reason_but_not_the_last_question():
    hand = Hand(JOB)
    hand.values = {"gap": "1.5"}
    hand.go("close out")
    assert hand.options() == ["tool:gauge", "line:0", "line:1"]
    hand.do(a.Deviate, **_dev("not done", "fell into the sill", subject="tool:gauge"))
    hand.do(a.Deviate, **_dev("not done", "no lamp", subject="line:0"))
    hand.refuse(
        a.Deviate, **_dev("not done", subject="line:1"), why="always answered", lift="say what was abnormal"
    )
    hand.refuse(a.Deviate, **_dev("not done", subject="line:9"), why="not open", lift="line:1")
    hand.refuse(a.CloseOut, line=1, why="needs words", lift="say what was abnormal, or none")
    hand.do(a.CloseOut, line=1, text="a smell of fuel")
    assert hand.options() == ["finished with open points"]


KINDS = (
    "out of band", "by feel", "other value", "substitute", "different order", "not done", "not available",
    "hold point", "late", "go on",
)  # fmt: skip


@pytest.mark.parametrize("kind", KINDS)
def test_a_deviation_is_refused_where_it_is_no_way_out_and_says_which_are(kind):
    hand = Hand(JOB)  # an act is asked: only "not done" answers it
    if kind == "not done":
        assert ALLOWED["act"] == ("not done",)
        return
    hand.refuse(a.Deviate, **_dev(kind), why=f"{kind} is no way out of", lift="not done")


def test_a_name_shared_by_a_step_and_an_item_does_not_mix_up_what_is_left_undone():
    hand = Hand("""\
conditions: {support: {at start: raised, changes: {raised: [on wheels], on wheels: [raised]}}}
items: {lid: {kind: cover, at start: off}, cap: {kind: cover}}
steps:
  - {step: cap, do: Shut the lid., puts back: [lid], put off: {until: {support: on wheels}, before: end, because: wind}}
  - {step: open, do: Take the cap off., takes off: [cap]}
  - {step: lower, do: Lower it., sets: {support: on wheels}}
  - {step: last, do: Look.}
""")
    assert hand.owed() == ["cap"]
    hand.do(a.Deviate, **_dev("not done", "it is glued on"))
    assert hand.job.ledger["cap"].not_done
    assert hand.owed() == ["cap"], "the put-off step of that name is still owed"
    assert not hand.job.ledger["lid"].not_done
    hand.go("sealed")
    assert hand.state("lid") == "on"


NA = """\
locations: {side: [left, right]}
items:
  clip: {kind: connection, each: side}
  lid: {kind: cover}
steps:
  - each: side
    steps:
      - {step: unclip, do: Unclip it., disconnects: [clip]}
      - {step: work, do: Work.}
      - {step: clip-on, do: Clip it on., connects: [clip]}
  - {step: both, do: Both., takes off: [lid], disconnects: [clip]}
  - {step: both-back, do: Both back., puts back: [lid], connects: [clip]}
  - {step: greasing, do: Grease it.}
  - {step: check, do: Look., needs: {clip: final}}
"""


def test_not_applicable_is_said_of_an_item_at_a_location_before_anything_was_done_to_it():
    hand = Hand(NA)
    hand.refuse(a.NotApplicable, subject="clip@left", reason=" ", why="has a reason", lift="say why")
    hand.refuse(a.NotApplicable, subject="bell", reason="none", why="no item of that name", lift="ledger")
    hand.do(a.NotApplicable, subject="clip@left", reason="not fitted to this one")
    hand.expect("confirm", "work@left")
    hand.refuse(a.NotApplicable, subject="clip@left", reason="again", why="already", lift="go on")
    done = []
    while hand.job.phase == "working":
        done.append((hand.at, hand.demand.subject))
        hand.answer()
    assert ("unclip@right", "clip@right") in done
    assert ("clip-on@left", "clip@left") not in done
    assert [subject for step, subject in done if step == "both"] == ["lid", "clip@right"]
    assert hand.job.done.keys() >= {"check"}
    hand.go("seal")
    assert hand.options() == ["finished"]
    assert next(item.state for item in hand.view.items if item.key == "clip@left") == "not applicable"


def test_for_an_item_already_opened_it_is_refused():
    hand = Hand(NA)
    hand.answer()
    hand.refuse(
        a.NotApplicable, subject="clip@left", reason="none", why="has been worked on", lift="reopen it"
    )
    hand.go("unclip@right")
    hand.refuse(
        a.NotApplicable, subject="clip@left", reason="none", why="has been worked on", lift="reopen it"
    )


def test_an_item_re_tightened_only_has_been_worked_on_too():
    hand = Hand("""\
items: {nuts: {kind: fastener, count: 2, tighten: [{torque: 9 N·m, method: click}]}}
steps:
  - {step: one, do: One., re-tightens: [nuts]}
  - {step: two, do: Two.}
""")
    hand.answer()
    hand.refuse(a.NotApplicable, subject="nuts", reason="none", why="has been worked on", lift="")
    hand.answer()
    hand.refuse(a.NotApplicable, subject="nuts", reason="none", why="has been worked on", lift="")


def test_not_applicable_is_said_of_a_step_that_acts_on_nothing_and_sets_nothing():
    hand = Hand(NA)
    hand.refuse(
        a.NotApplicable, subject="", reason="none", why="only a step that acts on nothing", lift="do it"
    )
    hand.go("greasing")
    hand.do(a.NotApplicable, subject="", reason="sealed for life")
    hand.expect("confirm", "check")
    hand.go("seal")
    assert hand.options() == ["finished"]
    assert hand.happened(e.NotApplicableSaid)[-1].node == "greasing"


def test_a_debt_on_an_item_that_is_not_there_falls_away():
    hand = Hand("""\
conditions: {support: {at start: raised, changes: {raised: [on wheels], on wheels: [raised]}}}
items: {lid: {kind: cover, at start: off}}
steps:
  - {step: shut, do: Shut., puts back: [lid], put off: {until: {support: on wheels}, before: end, because: wind}}
  - {step: look, do: Look.}
""")
    assert hand.owed() == ["shut"]
    hand.do(a.NotApplicable, subject="lid", reason="this one has none")
    assert hand.owed() == []
    hand.go("sealed")
    assert hand.job.outcome == "finished"
