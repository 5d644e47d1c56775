"""The gate of a step, the way past it, and second looks."""

from pathlib import Path

from runner.job import actions as a
from runner.job import events as e
from tests.guides.seen import at_keys, at_prompts, log_of, review, screen, shows
from tests.job.bench_hand import Hand

THREE = """\
items: {cover: {kind: cover}, plug: {kind: connection}}
steps:
  - {step: open, do: Take it off., takes off: [cover], disconnects: [plug]}
  - {step: clean, do: Clean it.}
  - {step: shut, do: Put it back., puts back: [cover], connects: [plug]}
"""


def test_g1_no_other_order_than_the_written_one_can_be_recorded() -> None:
    """21 CFR 11.10 (f), operational system checks (S)."""
    hand = Hand(THREE)
    while hand.job.phase == "working":
        due = hand.demand.index if hand.demand.kind == "act" else None
        for act in {0, 1, None} - {due}:
            hand.refuse(a.Do, act=act, why="not now", lift="answer what is asked first")
        hand.answer()
    acts = [(event.node, event.item) for event in hand.happened(e.Acted)]
    assert acts == [("open", "cover"), ("open", "plug"), ("shut", "cover"), ("shut", "plug")]


def test_g2_the_way_past_the_gate_is_deliberate_has_a_reason_and_is_logged(tmp_path: Path) -> None:
    """NUREG-0700, 8.2.1 (M: from memory)."""
    hand = Hand(THREE)
    hands, run = at_keys(hand)
    entries = len(run.entries)
    hands.press("f4", "enter", "enter", "enter", "y", "y", "escape")
    assert len(run.entries) == entries, "no row of keys without a reason in words passes the gate"
    hand.refuse(a.Deviate, kind="not done", reason="", why="has a reason", lift="say why")
    hand.do(a.Deviate, kind="not done", reason="the cover is glued on", authority="Dee")
    hand.expect("act", index=1)
    told = review(log_of(hand, tmp_path))
    assert "the cover is glued on, authority: Dee" in told


def test_g3_the_items_of_a_list_are_checked_one_by_one_and_going_on_past_one_is_called_out() -> None:
    """NUREG-0700, 8.1.4-5 (S)."""
    hand = Hand(THREE)
    hand.do(a.Do, act=0)
    hand.refuse(a.Do, why="not now", lift="answer what is asked first")
    assert hand.at == "open"
    gate = [(line.text, line.state) for line in hand.view.step.gate]
    assert gate == [("Take off cover", "done"), ("Disconnect plug", "now")]
    assert shows(hand, "Disconnect plug")


BOLTS = """\
items:
  bolts: {kind: fastener, count: 4, at start: started, tighten: [{torque: 50 N·m, method: click, order: star}]}
steps:
  - {step: tighten, do: Tighten them., tightens: [bolts]}
"""


def test_g4_each_of_a_group_is_signed_for_by_itself_and_never_ahead() -> None:
    """FAA Aviation Maintenance Technician Handbook, chapter 14 (S2)."""
    hand = Hand(BOLTS)
    words = {"item": "bolts", "stage": 1, "method": "click"}
    hand.refuse(a.Tighten, member=4, why="", lift="", **words)
    screen_seen = hand.view.seq
    hand.do(a.Tighten, member=1, seen=screen_seen, **words)
    hand.refuse(
        a.Tighten, member=3, seen=screen_seen, why="the screen has changed", lift="look again", **words
    )
    hand.go("close out")
    assert [event.member for event in hand.happened(e.Tightened)] == [1, 3, 2, 4]
    assert len([entry for entry in hand.entries if isinstance(entry.events[0], e.Tightened)]) == 4


LOOK = """\
steps:
  - step: push
    do: Push the car at the corner.
    look for: How does it stand?
    answers: {it rocks: stop, it stays still: go on}
  - {step: last, do: Go on.}
"""


def test_g5_what_was_seen_is_asked_for_and_neither_ok_nor_a_bare_key_answers() -> None:
    """Degani & Wiener 1993, Cockpit checklists (S)."""
    hand = Hand(LOOK)
    hand.do(a.Do)
    printed, run = at_prompts(hand, "\nOK\nyes\n:quit\n")
    assert "1. it rocks" in printed
    assert not any(isinstance(entry.events[0], e.Answered) for entry in run.entries)
    hands, run = at_keys(hand)
    hands.press("enter", "space", "y")
    assert run.job.node is not None
    assert run.job.node.id == "push"
    hands.press("2", "enter")
    assert run.job.node.id == "last"


CLOCKED = """\
conditions: {support: {at start: on wheels, changes: {on wheels: [raised], raised: [on wheels]}}}
steps:
  - {step: glue, do: Put the glue on.}
  - {step: paint, do: Paint it., put off: {until: {time: 1 h, after: glue}, before: end, because: it must dry}}
  - {step: settle, do: Leave it alone., wait: 10 min}
  - {step: down, do: See that it is on its wheels., sets: {support: on wheels}}
"""


def test_g6_neither_the_clock_nor_a_known_state_ticks_anything_off_by_itself() -> None:
    """Palmer & Degani 1991, Electronic checklists (S)."""
    hand = Hand(CLOCKED)
    hand.do(a.Do)
    hand.wait(h=5)
    hand.do(a.TakeUp, key="paint")
    hand.wait(h=5)
    hand.expect("confirm", "paint")
    hand.do(a.Do)
    hand.wait(h=5)
    hand.expect("confirm", "settle")
    hand.do(a.Do)
    hand.wait(h=5)
    hand.expect("confirm", "down")  # it is on its wheels already, and still somebody has to say so
    assert set(hand.job.done) == {"glue", "paint", "settle"}


CRITICAL = """\
steps:
  - step: gap
    do: Measure the gap.
    read: {what: Gap, name: gap, unit: mm, band: 1 to 2 mm, critical: true, second reading: blind}
  - step: play
    do: Measure the play.
    read: {what: Play, name: play, unit: mm, band: 1 to 2 mm}
"""


def test_g7_on_a_critical_task_one_persons_error_is_caught_by_another() -> None:
    """EASA 145.A.48 (b) (S)."""
    hand = Hand(CRITICAL)
    hand.do(a.Do)
    hand.refuse(
        a.Deviate,
        kind="out of band",
        reason="it fits",
        raw="3",
        authority="Ann",
        why="someone other",
        lift="",
    )
    hand.do(a.Read, name="gap", raw="1.5")
    hand.refuse(a.Read, "Bo", name="gap", raw="2.5", why="is outside", lift="measure again")
    assert hand.at == "gap"


def test_g8_a_double_check_is_blind_by_somebody_else_and_only_where_the_author_asks_for_it() -> None:
    """Koyama et al. 2020, on double checking (S)."""
    hand = Hand(CRITICAL)
    hand.do(a.Do)
    hand.do(a.Read, name="gap", raw="1.7351")
    hand.refuse(a.Read, name="gap", raw="1.7351", why="did this step", lift="fetch someone")
    hands, _ = at_keys(hand)
    for key in ("", "f1", "f6", "f9"):
        hands.press(*([key] if key else []))
        for size in ((80, 24), (200, 60)):
            assert "1.7351" not in hands.screen(*size)
        hands.press("escape")
    hand.do(a.Read, "Bo", name="gap", raw="1.74")
    hand.do(a.Do)
    hand.do(a.Read, name="play", raw="1.5")
    hand.expect("close out")


HOLD = """\
people: {performer: 1, inspector: 1}
steps:
  - {step: bleed, do: Bleed it., hold point: {released by: inspector, asks: Is the pedal hard?}}
  - {step: drive, do: Drive it.}
"""


def test_g9_a_hold_point_waits_for_its_named_role_and_never_takes_the_performers_word() -> None:
    """10 CFR 50 Appendix B, X; DOE-STD-1029-92 (M: from memory)."""
    hand = Hand(HOLD)
    hand.do(a.Do)
    assert any("inspector" in row for row in screen(hand))
    hand.refuse(
        a.Release, "ann", released=True, why="cannot release its hold point", lift="fetch a inspector"
    )
    hand.refuse(a.Do, why="not now", lift="")
    hand.do(a.Release, "Bo", released=True)
    assert hand.happened(e.HoldReleased)[0].role == "inspector"
    hand.expect("confirm", "drive")
