"""What stands on the screen while a step is in hand."""

from runner.job import actions as a
from tests.guides.seen import at_keys, screen, shows
from tests.job.bench_hand import Hand

WORK = """\
title: Bleed the pump
revision: 7
conditions:
  support: {at start: on wheels, changes: {on wheels: [raised], raised: [on wheels]}, hazardous: [raised]}
tools: [{name: gauge}]
items: {cover: {kind: cover}, clip: {kind: connection}, plug: {kind: connection}, lead: {kind: connection}}
steps:
  - {step: raise, do: Raise it., sets: {support: raised}}
  - {step: plug-off, do: Unplug it., disconnects: [plug]}
  - {step: plug-on, do: Plug it in., connects: [plug]}
  - step: open
    do: Take the cover off.
    danger: {hazard: Spring under load, consequence: lost eyes, avoid: Wear the shield.}
    takes off: [cover]
    read: {what: Play, name: play, unit: mm, band: 0.1 to 0.4 mm}
    look for: How does the seal look?
    answers: {cracked: stop, whole: go on}
    hold point: {released by: checker, asks: Is it so?}
  - {step: shut, do: Put the cover back., puts back: [cover]}
  - {step: lower, do: Lower it., needs: {support: raised}, sets: {support: on wheels}}
  - {step: leads, do: Do the leads., disconnects: [lead]}
  - {step: leads-on, do: Connect the leads., connects: [lead]}
"""


def test_c1_title_revision_and_unit_under_work_stand_on_the_screen_at_every_moment() -> None:
    """IAEA SSG-51, 8.7 (S)."""
    hand = Hand(WORK)
    hand.values = {"play": "0.2"}
    hand.answers = {"open": "whole"}
    seen = set()
    while hand.demand.kind != "sealed":
        seen.add(hand.demand.kind)
        for size in ((80, 24), (160, 50)):
            row = screen(hand, *size)[0]
            assert "Bleed the pump" in row
            assert "rev 7" in row
            assert "T-1" in row
        hand.answer()
    assert seen >= {"confirm", "act", "acknowledge", "reading", "look", "hold", "close out", "seal"}


def test_c2_done_in_progress_not_applicable_and_not_yet_done_are_told_apart_on_one_display() -> None:
    """NUREG-0700 Rev. 2, section 8 (S)."""
    hand = Hand(WORK)
    hand.do(a.NotApplicable, subject="clip", reason="this model has none")
    hand.go("reading")
    rows = [row for row in screen(hand, 160, 50) if any(f" {name}: " in row for name in hand.job.ledger)]
    mark = {
        name: row.split(f" {name}: ")[0][-3:]
        for row in rows
        for name in hand.job.ledger
        if f" {name}: " in row
    }
    assert set(mark) == {"plug", "cover", "clip", "lead"}
    assert len(set(mark.values())) == 4, mark


def test_c3_a_notice_stays_on_the_screen_with_its_step_after_it_was_read() -> None:
    """NUREG-0700, 8.1 (M: from memory)."""
    hand = Hand(WORK)
    hand.values, hand.answers = {"play": "0.2"}, {"open": "whole"}
    hand.go("acknowledge")
    met = []
    while hand.at == "open":
        met.append(hand.demand.kind)
        assert shows(hand, "⚠ DANGER Spring under load: lost eyes")
        assert shows(hand, "Wear the shield.")
        hand.answer()
    assert met == ["acknowledge", "act", "reading", "look", "hold"]
    assert not shows(hand, "Spring under load")


def test_c4_a_hazardous_condition_is_marked_while_it_is_in_force_and_only_then() -> None:
    """NUREG-0700, 8.2.2-8 and 8.2.2-9 (S)."""
    hand = Hand(WORK)
    hand.values, hand.answers = {"play": "0.2"}, {"open": "whole"}
    assert not shows(hand, "⚠ hazard")
    hand.do(a.Do)
    assert shows(hand, "support: raised ⚠ hazard")
    hand.go("lower")
    assert shows(hand, "⚠ hazard")
    hand.do(a.Do)
    assert shows(hand, "support: on wheels")
    assert not shows(hand, "⚠ hazard")


WHY = """\
conditions: {support: {at start: raised, changes: {raised: [on wheels], on wheels: [raised]}}}
steps:
  - step: seal
    ask: The seal is
    answers: {torn: [{step: order, do: Order a seal.}], whole: go on}
  - {step: drive, do: Drive it out., needs: {support: on wheels}}
"""


def test_c5_the_bench_explains_on_request_why_it_branched_and_why_it_is_shut() -> None:
    """NUREG-0700, section 8.2 (S)."""
    hand = Hand(WHY)
    hand.do(a.Answer, label="torn")
    hands, _ = at_keys(hand)
    hands.press("f6")
    assert "The seal is (torn)" in hands.screen()
    hands.press("escape")
    hands.press("enter", "f1")
    explained = " ".join(hands.screen().split())
    assert "Drive it out." in explained
    assert "support must be on wheels" in explained


def test_c6_looking_back_and_ahead_changes_nothing() -> None:
    """NUREG-0700, 8.2.1-1 (S)."""
    hand = Hand(WORK)
    hand.do(a.Do)
    hands, run = at_keys(hand)
    before, entries = hands.screen(), len(run.entries)
    hands.press("f6")
    looked = hands.screen()
    assert "Raise it." in looked
    assert "Lower it." in looked
    hands.press("down", "up", "escape")
    assert hands.screen() == before
    assert len(run.entries) == entries
