"""The screen itself, over the shipped wheel change."""

import re
from functools import lru_cache
from pathlib import Path

from runner.bench.page import page
from runner.bench.rows import texts
from runner.job import actions as a
from runner.procedure.link import load_procedure
from runner.view import View
from tests.bench.hands import Hands
from tests.bench.samples import SampleRun
from tests.guides.seen import at_keys, screen
from tests.job.bench_hand import Hand

WHEELS = Path(__file__).parents[2] / "procedures" / "wheel-change.yaml"


@lru_cache(1)
def _views() -> tuple[View, ...]:
    """Every picture on the way from laying out to the seal."""
    procedure, _ = load_procedure(WHEELS)
    assert procedure is not None
    hand = Hand(procedure)
    views = [hand.view]
    for reading in (reading for node in procedure.nodes for reading in node.readings):
        hand.values[reading.name] = reading.band.low or reading.band.high or "1" if reading.band else "1"
    while hand.demand.kind != "sealed":
        hand.answer()
        views.append(hand.view)
    return tuple(views)


def _rows(view: View) -> list[str]:
    return texts(page(Hands(SampleRun([view])).desk.scene, 80, 24))


def test_h1_text_to_be_read_is_in_mixed_case_and_capitals_are_labels_only() -> None:
    """NUREG-0700, 1.3.1-1 (S)."""
    shouted = re.compile(r"\b[A-Z]{2,}(?: [A-Z]{2,}){2,}\b")
    for view in _views():
        rows = _rows(view)
        assert not [row for row in rows if shouted.search(row)]
        if view.step is not None and view.demand.kind == "confirm":
            assert view.step.title[:40] in "\n".join(rows)


def test_h2_with_every_colour_taken_away_each_state_still_reads_differently() -> None:
    """WCAG 2.1, 1.4.1 (M: from memory)."""
    hand = Hand("""\
items: {cover: {kind: cover}}
steps:
  - {step: open, do: Take it off., danger: {hazard: Spring, consequence: cuts, avoid: gloves}, takes off: [cover]}
  - {step: look, ask: How is it?, answers: {torn: stop, whole: go on}}
  - {step: shut, do: Put it back., puts back: [cover]}
""")
    before = screen(hand)
    hand.do(a.Acknowledge, notice=0)
    after = screen(hand)
    assert [row for row in before if "DANGER read" in row] != [row for row in after if "DANGER read" in row]
    hand.do(a.Do, act=0)
    hands, _ = at_keys(hand)
    plain = [row for row in hands.screen().splitlines() if "whole" in row]
    hands.press("2")
    assert plain != [row for row in hands.screen().splitlines() if "whole" in row], "a picked answer"
    open_stripe = [row[:3] for row in screen(hand)[1:-1]]
    hand.do(a.Answer, label="whole")
    hand.do(a.Do, act=0)
    assert open_stripe != [row[:3] for row in screen(hand)[1:-1]], "an open item and a closed one"


def test_h4_at_80x24_identity_put_off_work_input_and_keys_keep_their_rows() -> None:
    """Our inference from NUREG-0700, 1.1 and 8.1; no guide gives a layout."""
    kinds = set()
    for view in _views():
        rows = _rows(view)
        kinds.add(view.demand.kind)
        assert rows[0].startswith(f" {view.identity.title}")
        assert " Put off: " in rows[15]
        assert "Open" in rows[19]
        assert rows[20][5:].strip(), "what Enter does, or why nothing is to be entered"
        assert rows[23].startswith(" ")
        if view.step is not None:
            for notice in view.step.notices:
                first = " ".join(notice.hazard.split()[:2])
                assert any(first in row for row in rows[2:15]), "a notice is not split from its step"
    assert {"acknowledge", "tighten", "close out", "seal"} <= kinds
