"""Numbers as people type them."""

from pathlib import Path

import pytest

from runner.job import actions as a
from runner.job import events as e
from tests.guides.seen import at_keys, log_of, review, screen
from tests.job.bench_hand import Hand

TORQUE = """\
tools: [{name: torque wrench, covers: 20 to 130 N·m}]
items: {bolt: {kind: fastener, at start: started, tighten: [{torque: 60 N·m ±4 %, method: measured}]}}
steps:
  - {step: tighten, do: Tighten it., tightens: [bolt], tools: [torque wrench]}
  - {step: last, do: Wipe it.}
"""


def test_v1_out_of_range_warns_shows_the_entry_again_and_asks_again() -> None:
    """NUREG-0700, 2.7.4-1 (S)."""
    hands, run = at_keys(Hand(TORQUE))
    hands.enter("75")
    rows = hands.screen().splitlines()
    said = next(at for at, row in enumerate(rows) if "Refused: 75 N·m is outside" in row)
    assert "75" in rows[said - 1], "what was typed stands on the line to be put right"
    assert run.job.state_of("bolt") == "started"
    hands.press("backspace", "backspace")
    hands.enter("61")
    assert run.job.state_of("bolt") == "stage 1"


@pytest.mark.parametrize(
    "raw", ["6.0.0", "6,0.0", "60 0", "6O", "6e1", "60..", "--60", "0x3C", "60 Nmm", "60 J"]
)
def test_v2_a_malformed_number_is_refused_and_nothing_is_made_of_it(raw: str) -> None:
    """Thimbleby & Cairns 2010, Reducing number entry errors (S)."""
    hand = Hand(TORQUE)
    hand.refuse(a.Tighten, item="bolt", stage=1, member=1, method="measured", raw=raw, why="", lift="type")
    assert hand.happened(e.Tightened) == []
    assert hand.state("bolt") == "started"


@pytest.mark.parametrize(("raw", "named"), [("600", "ten times"), ("6", "a tenth"), ("6,0", "a tenth")])
def test_v2_a_slip_of_ten_is_named(raw: str, named: str) -> None:
    """Thimbleby & Cairns 2010, Reducing number entry errors (S)."""
    hand = Hand(TORQUE)
    words = {"item": "bolt", "stage": 1, "member": 1, "method": "measured"}
    hand.refuse(a.Tighten, raw=raw, why=named, lift="", **words)


def test_v3_a_value_is_a_number_with_its_unit_from_the_keys_to_the_log(tmp_path: Path) -> None:
    """ECSS-E-ST-70-32C, Annex B (S)."""
    hand = Hand(TORQUE)
    words = {"item": "bolt", "stage": 1, "member": 1, "method": "measured"}
    hand.refuse(a.Tighten, raw="44.5", why="44.5", lift="", **words)
    hand.do(a.Tighten, raw="44.5 lbf·ft", **words)
    (taken,) = hand.happened(e.Tightened)
    assert (taken.value[:5], taken.unit, taken.raw) == ("60.33", "N·m", "44.5 lbf·ft")
    assert "60.33 N·m (typed 44.5 lbf·ft)" in review(log_of(hand, tmp_path))


WORKED = """\
steps:
  - {step: measure, do: Measure., read: {what: Gap, name: gap, unit: mm, band: none, times: 2}}
  - step: shim
    do: Choose the shim.
    work out: {what: Shim, name: shim, is: 'mean(gap-1, gap-2) - 1.6 mm', unit: mm, at most: 0.3 mm}
  - {step: last, do: Close it.}
"""


def test_v4_what_the_program_works_out_can_be_opened_formula_inputs_and_result(tmp_path: Path) -> None:
    """NUREG-0700, 8.2.1-4 (S)."""
    hand = Hand(WORKED)
    hand.do(a.Do)
    for raw in ("2.4", "2.6"):
        hand.do(a.Read, name="gap", raw=raw)
    hand.do(a.Do)
    hand.expect("worked out")
    hands, _ = at_keys(hand)
    hands.press("f1")
    opened = " ".join(hands.screen().split())
    told = review(log_of(hand, tmp_path))
    for text in (opened, told):
        for part in ("mean(gap-1, gap-2) - 1.6 mm", "gap-1 2.4 mm", "gap-2 2.6 mm", "0.9 mm"):
            assert part in text


def test_v5_a_person_who_weighs_more_than_the_steps_logic_is_never_shut_in() -> None:
    """NUREG-0700, 8.2.2-5 (S): the logic of a step may be simpler than what a skilled person weighs."""
    hand = Hand(WORKED)
    kinds = set()
    while hand.demand.kind != "sealed":
        kinds.add(hand.demand.kind)
        open_ways = {offer.action for offer in hand.view.offers if not offer.why_not}
        assert {"Note", "Abandon"} <= open_ways
        hand.do(a.Note, text="I weigh it otherwise")
        if hand.demand.kind == "worked out":
            hand.do(a.Deviate, kind="out of band", reason="the old shim was thicker", authority="Bo")
        else:
            hand.values = {"gap": "2.5"}
            hand.answer()
    assert "worked out" in kinds
    assert hand.job.outcome == "finished with open points"


BANDS = """\
steps:
  - step: measure
    do: Measure.
    read:
      - {what: Gap, name: gap, unit: mm, band: 1.4 to 2.2 mm}
      - {what: Play, name: play, unit: mm, at most: 0.1 mm}
      - {what: Tread, name: tread, unit: mm, at least: 1.6 mm}
      - {what: Bore, name: bore, unit: mm, band: 20 mm ±5 %}
"""


def test_v6_the_acceptance_limits_stand_on_the_screen_with_the_field() -> None:
    """DOE-STD-1029-92, section 4 (M: from memory)."""
    hand = Hand(BANDS)
    hand.do(a.Do)
    for limits, raw in (
        ("1.4 to 2.2 mm", "2"),
        ("at most 0.1 mm", "0"),
        ("at least 1.6 mm", "3"),
        ("19 to 21 mm", "20"),
    ):
        asked = [row for row in screen(hand) if limits in row]
        assert any("Band" in row or "band" in row for row in asked), screen(hand)
        hand.do(a.Read, name=hand.demand.subject, raw=raw)


CHECKED = """\
steps:
  - {step: ratio, do: Copy the ratio., read: {what: Ratio, name: ratio, unit: ratio, band: none, critical: true,
     second reading: blind}}
  - {step: last, do: Go on.}
"""


def test_v7_a_critical_entry_counts_only_with_its_second_check() -> None:
    """EU GMP Annex 11, section 6 (M: from memory)."""
    hand = Hand(CHECKED)
    hand.do(a.Do)
    hand.do(a.Read, name="ratio", raw="3.9")
    hand.refuse(a.Do, why="not now", lift="")
    assert "ratio" not in hand.job.done
    hand.do(a.Read, "Bo", name="ratio", raw="3.9")
    assert "ratio" in hand.job.done
