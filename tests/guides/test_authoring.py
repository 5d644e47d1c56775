"""How a procedure is written."""

import hashlib
from pathlib import Path

import pytest

from runner.job import actions as a
from runner.log.scan import scan_file
from runner.procedure.link import load_procedure
from tests.guides.seen import check, log_of, screen, shows
from tests.job.bench_hand import Hand
from tests.procedure.procedure_text import whole

ONE_STEP = "steps:\n  - {step: one, do: One.}\n"


@pytest.mark.parametrize("key", ["people", "tools", "parts", "supplies"])
def test_a1_what_must_be_ready_is_filled_in_or_said_to_be_none(key: str) -> None:
    """S1000D, procedural data module, preliminary requirements; DITA 1.3, machinery task (S2)."""
    lines = whole(ONE_STEP).splitlines(keepends=True)
    assert check("".join(lines)) == []
    for written in ("", f"{key}:\n"):
        left_open = "".join(written if line.startswith(f"{key}:") else line for line in lines)
        found = check(left_open)
        assert len(found) == 1, found
        assert f'"{key}"' in found[0]


def test_a2_what_must_hold_at_the_end_is_confirmed_before_the_end() -> None:
    """S1000D, procedural data module, requirements after job completion (S2)."""
    hand = Hand(ONE_STEP + "close out: [The floor is dry, All covers back]\n")
    hand.go("close out")
    for line in (0, 1, 2):
        hand.refuse(a.Seal, outcome="finished", why="not now", lift="")
        hand.do(a.CloseOut, line=line, text="none")
    hand.do(a.Seal, outcome="finished")


OUTCOMES = """\
conditions:
  supply: {at start: [live, isolated], changes: {live: [isolated], isolated: [live]}}
items: {cover: {kind: cover}}
steps:
  - step: open
    do: Take the cover off.
    needs: {supply: isolated}
    takes off: [cover]
    look for: What does the tester show?
    answers:
      a flicker: [{step: discharge, do: Discharge it.}]
      voltage: stop
      nothing: go on
  - {step: shut, do: Put the cover back., puts back: [cover]}
"""


def test_a3_a_step_has_its_preconditions_its_test_and_a_way_on_from_every_outcome() -> None:
    """ECSS-E-ST-70-32C, Annex A (S2)."""
    live = Hand(OUTCOMES, start={"supply": "live"})
    live.expect("blocked", "open", lift="supply must be isolated")
    led_to = {}
    for seen in ("a flicker", "voltage", "nothing"):
        hand = Hand(OUTCOMES, start={"supply": "isolated"})
        hand.do(a.Do, act=0)
        hand.do(a.Look, label=seen)
        led_to[seen] = hand.demand.kind if hand.job.phase == "stopped" else hand.at
    assert led_to == {"a flicker": "discharge", "voltage": "stop", "nothing": "shut"}
    assert check(whole(OUTCOMES.replace("voltage: stop", "voltage:"))), "an outcome without a way on"


HAZARD = """\
steps:
  - step: drain
    do: Drain the coolant.
    danger: {hazard: Hot coolant sprays out, consequence: severe burns, avoid: Let it cool first.}
    look for: What comes out?
    answers: {rust: stop, clear coolant: go on}
  - {step: fill, do: Fill it again.}
"""


@pytest.mark.parametrize(
    "part", ["hazard: Hot coolant sprays out, ", "consequence: severe burns, ", ", avoid: Let it cool first."]
)
def test_a7_a_hazard_notice_has_all_three_parts(part: str) -> None:
    """IEC/IEEE 82079-1, safety-related information (S2)."""
    assert check(whole(HAZARD)) == []
    (found,) = check(whole(HAZARD.replace(part, "")))
    assert part.strip(" ,").partition(":")[0] in found


def test_a7_a_hazard_notice_stands_before_its_step_and_contains_none() -> None:
    """IEC/IEEE 82079-1, safety-related information (S2)."""
    hand = Hand(HAZARD)
    hand.refuse(a.Do, why="Hot coolant sprays out", lift="")
    hand.do(a.Acknowledge, notice=0)
    hand.do(a.Do)
    inside = HAZARD.replace("avoid: Let it cool first.", "avoid: Let it cool first., do: Open the cock.")
    (found,) = check(whole(inside))
    assert '"do"' in found


LEVELS = """\
steps:
  - step: one
    do: One.
    danger: {hazard: It falls, consequence: death, avoid: stands}
    warning: {hazard: It whips, consequence: lost eyes, avoid: goggles}
    caution: {hazard: It is sharp, consequence: cuts, avoid: gloves}
    notice: {hazard: Paint, consequence: scratches, avoid: a cloth}
"""


def test_a8_three_signal_words_are_about_injury_and_the_fourth_about_damage_bears_no_alert_sign() -> None:
    """ANSI Z535.6, signal words and the safety alert symbol; ISO 3864-2 (S2)."""
    hand = Hand(LEVELS)
    read = []
    while hand.demand.kind == "acknowledge":
        read.append(hand.demand.subject)
        hand.answer()
    assert read == ["danger", "warning", "caution"]
    hazards = {"It falls": True, "It whips": True, "It is sharp": True, "Paint": False}
    signed = {hazard: "⚠" in row for row in screen(hand) for hazard in hazards if f"  {hazard}: " in row}
    assert signed == hazards
    assert check(whole(LEVELS.replace("warning:", "attention:"))), "a word of no scheme"


FITS = """\
locations: {side: [left, right]}
variants: {gearbox: [manual, automatic]}
steps:
  - {step: raise, do: Raise it.}
  - each: side
    steps:
      - {step: look, do: Look behind the wheel.}
      - {step: clip, do: Bend the clip., only for: {side: left}}
  - {step: lever, do: Put the lever in neutral., only for: {gearbox: manual}}
"""


def test_a9_a_step_is_done_only_where_it_applies_and_the_place_shows_only_where_it_matters() -> None:
    """S1000D, applicability (S2)."""
    hand = Hand(FITS, choose={"gearbox": "automatic"})
    met = []
    while hand.demand.kind != "close out":
        tag = next((side for side in ("left", "right") if shows(hand, f"{side} {hand.view.step.title}")), "")
        met.append((hand.at.partition("@")[0], tag))
        hand.answer()
    assert met == [("raise", ""), ("look", "left"), ("clip", "left"), ("look", "right")]


def test_a9_a_run_names_the_very_files_it_followed_by_their_content(tmp_path: Path) -> None:
    """IAEA SSG-51, 8.3-8.4 (S)."""
    file = tmp_path / "job.yaml"
    named = []
    for text in (ONE_STEP, ONE_STEP.replace("One.", "Two.")):
        file.write_text(whole(text))
        procedure, _ = load_procedure(file)
        assert procedure is not None
        folder = tmp_path / f"logs-{len(named)}"
        header = scan_file(log_of(Hand(procedure), folder)).header
        assert header is not None
        ((_, digest),) = header["procedure"]["files"]
        assert digest == hashlib.sha256(file.read_bytes()).hexdigest()
        named.append((header["procedure"]["revision"], digest))
    assert named[0] != named[1], "the same revision number on another text is another procedure"
