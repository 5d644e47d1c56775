"""Leaving the work, coming back to it, and handing it over."""

from pathlib import Path

from runner.job import actions as a
from runner.job import events as e
from runner.job.asking import demand
from tests.guides.seen import at_keys, screen, shows, tag_of
from tests.job.bench_hand import Hand

JOB = """\
tools: [{name: lamp}]
conditions: {support: {at start: on wheels, changes: {on wheels: [raised], raised: [on wheels]}}}
items: {wedge: {kind: aid}, cover: {kind: cover}}
steps:
  - {step: raise, do: Raise it., sets: {support: raised}}
  - {step: open, do: Take the cover off., takes off: [cover]}
  - {step: wedge-in, do: Put the wedge in., puts in: [wedge]}
  - {step: paint, do: Paint it., wait: 10 min}
  - {step: wedge-out, do: Take the wedge out., takes out: [wedge]}
  - {step: shut, do: Put the cover back., puts back: [cover]}
  - {step: lower, do: Lower it., sets: {support: on wheels}}
make safe: {raised: [Leave it on stands], always: [Tag the keys]}
"""


def _left_at(step: str) -> Hand:
    hand = Hand(JOB)
    hand.go(step)
    hand.do(a.Pause, note="about to look for the small brush")
    return hand


def test_i1_on_resume_the_work_so_far_and_the_conditions_in_force_are_summed_up() -> None:
    """NUREG-0700, on computer-based procedures after an interruption (S)."""
    hand = _left_at("paint")
    for words in ("Put the wedge in.", "support: raised", "wedge", "lamp", "Open 2"):
        assert shows(hand, words), words


def test_i2_the_last_three_steps_are_looked_at_again_before_going_on() -> None:
    """FAA Aviation Maintenance Technician Handbook, chapter 14 (S2)."""
    hand = _left_at("paint")
    hand.do(a.Resume)
    steps = [key for key in hand.options() if key.startswith("step:")]
    assert steps == ["step:wedge-in", "step:open", "step:raise"]
    for key in hand.options():
        hand.refuse(a.Do, why="compare with the work first", lift="")
        hand.do(a.Reconfirm, key=key)
    hand.expect("confirm", "paint")


def test_i3_a_line_left_on_leaving_is_there_on_return_and_the_screen_comes_back_as_it_was() -> None:
    """Hodgetts & Jones 2006, on interruption lags and cues (S)."""
    hand = Hand(JOB)
    hand.go("paint")
    for size in ((80, 24), (160, 50)):
        before = screen(hand, *size)
        hand.do(a.Pause, note="about to look for the small brush")
        hand.reopen_log()
        assert shows(hand, "about to look for the small brush", *size)
        hand.do(a.Resume)
        while hand.demand.kind == "reconfirm":
            hand.answer()
        assert screen(hand, *size) == before


def test_i4_unfinished_work_is_tagged_with_what_is_open_and_which_tools_are_still_in_it(
    tmp_path: Path,
) -> None:
    """FAA Aviation Maintenance Technician Handbook, chapter 14 (S2)."""
    hand = Hand(JOB)
    hand.go("paint")
    hand.do(a.Seal, outcome="abandoned", reason="the paint is off")
    assert [option.label for option in hand.demand.options] == ["Leave it on stands", "Tag the keys"]
    hand.go("sealed")
    tag = tag_of(hand, tmp_path)
    assert "UNFINISHED" in tag
    for words in ("support: raised", "cover (off)", "wedge (in)", "lamp lamp no. 1", "the paint is off"):
        assert words in tag, words


def test_i5_a_handover_has_a_written_form_with_the_state_of_the_work() -> None:
    """FAA Human Factors Guide for Aviation Maintenance, operator's manual, 4.2 (S)."""
    hand = Hand(JOB)
    hand.go("paint")
    hand.do(a.HandOver, to="Cy", note="the second coat is yours")
    for words in (
        "Cy takes over",
        "the second coat is yours",
        "Put the wedge in.",
        "In hand Paint it.",
        "wedge",
        "lamp",
    ):
        assert shows(hand, words), words


def test_i6_both_the_outgoing_and_the_incoming_person_acknowledge() -> None:
    """EASA 145.A.47 (c) (M: from memory)."""
    hand = Hand(JOB)
    hand.go("paint")
    hand.do(a.HandOver, to="Cy")
    hand.refuse(a.Do, why="has yet to take over", lift="fetch Cy")
    hand.refuse(a.AcceptHandover, "Ann", why="Cy was named", lift="fetch Cy")
    hand.do(a.AcceptHandover, "Cy")
    names = [
        entry.who for entry in hand.entries if isinstance(entry.events[0], (e.HandoverOffered, e.HandedOver))
    ]
    assert names == ["Ann", "Cy"]


def test_i7_what_may_have_lapsed_meanwhile_is_verified_again_conditions_running_times_and_tools() -> None:
    """29 CFR 1910.147 (f)(4) (S)."""
    hand = Hand(JOB)
    hand.go("paint")
    hand.do(a.Do)
    hand.do(a.Pause, note="coffee")
    hand.do(a.Resume)
    asked = [option.label for option in hand.demand.options]
    for words in ("support is raised", "lamp", "wedge", "Still counting"):
        assert any(words in label for label in asked), (words, asked)
    hand.do(a.Reconfirm, key="condition:support", as_recorded=False)
    hand.do(a.FoundCondition, name="support", value="on wheels")
    while hand.demand.kind == "reconfirm":
        hand.answer()
    hand.refuse(a.Do, why="support is on wheels", lift="bring support back to raised")


def test_i8_leaving_with_something_typed_and_not_recorded_asks_first() -> None:
    """NUREG-0700, 2.7.5-3 (S)."""
    hand = Hand("steps:\n  - {step: one, do: One., read: {what: Gap, name: gap, unit: mm, band: none}}\n")
    hand.do(a.Do)
    hands, run = at_keys(hand)
    hands.type("1.75")
    hands.press("f10")
    assert hands.desk.left is None, "it has not left"
    assert "1.75" in hands.screen(), "what was typed and is not recorded stands in the question"
    hands.press("escape")
    assert "1.75" in hands.screen()
    assert demand(run.job).kind == "reading"
