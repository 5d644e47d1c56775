"""What is not as the procedure says, and what was entered wrongly."""

from pathlib import Path

from runner.job import actions as a
from runner.job import events as e
from tests.guides.seen import log_of, report_of, review, screen
from tests.job.bench_hand import Hand

CLIP = """\
items: {clip: {kind: connection}, cover: {kind: cover}}
steps:
  - {step: off, do: Take it all off., disconnects: [clip], takes off: [cover]}
  - {step: 'on', do: Put it all back., connects: [clip], puts back: [cover]}
"""


def test_d1_not_applicable_is_a_state_of_its_own_with_reason_and_name_and_never_done(tmp_path: Path) -> None:
    """DOE-HDBK-1028-2009 (M: from memory)."""
    hand = Hand(CLIP)
    hand.refuse(a.NotApplicable, subject="clip", reason="", why="has a reason", lift="say why")
    hand.do(a.NotApplicable, "Dee", subject="clip", reason="this model has none")
    hand.go("sealed")
    marks = {item.key: item.mark for item in hand.view.items}
    assert marks == {"clip": "not applicable", "cover": "final"}
    assert not any(event.item == "clip" for event in hand.happened(e.Acted))
    told = review(log_of(hand, tmp_path)).partition("Everything in its order")[0]
    assert "Dee: not applicable: clip, this model has none" in told


DOUBT = """\
conditions: {support: {at start: on wheels, changes: {on wheels: [raised], raised: [on wheels]}}}
steps:
  - {step: raise, do: Raise it., sets: {support: raised}}
  - step: push
    ask: How does it stand when pushed?
    answers: {it rocks: stop, it stays still: go on}
  - {step: under, do: Go under it.}
make safe: {raised: [Let it down], always: [Hang the tag]}
"""


def test_d2_in_doubt_the_work_stops_is_made_safe_and_needs_somebody_else_to_go_on() -> None:
    """DOE-HDBK-1028-2009, on stopping when unsure (M: from memory)."""
    hand = Hand(DOUBT)
    hand.do(a.Do)
    hand.do(a.Answer, label="it rocks")
    hand.refuse(a.Do, why="Stopped", lift="someone other than the performer")
    hand.refuse(a.Deviate, kind="go on", reason="it holds", why="someone other", lift="")
    assert any("STOP" in row for row in screen(hand))
    hand.do(a.Seal, outcome="abandoned", reason="it rocks")
    for line in (0, 1):
        hand.refuse(a.Seal, outcome="abandoned", reason="it rocks", why="not now", lift="")
        hand.do(a.MakeSafe, line=line)
    hand.do(a.Seal, outcome="abandoned")
    assert [event.said for event in hand.happened(e.MadeSafe)] == ["Let it down", "Hang the tag"]


GAP = """\
steps:
  - {step: measure, do: Measure it., read: {what: Gap, name: gap, unit: mm, band: 1 to 2 mm}}
  - {step: last, do: Close it.}
"""


def test_d3_a_correction_keeps_the_first_entry_and_both_are_shown_together(tmp_path: Path) -> None:
    """21 CFR 11.10 (e) (S)."""
    hand = Hand(GAP)
    hand.do(a.Do)
    hand.do(a.Read, name="gap", raw="1.7")
    hand.do(a.Correct, key="read measure|gap|1", raw="1.4", reason="misread the vernier")
    written = [record.data["events"][0] for record in report_of(hand, tmp_path / "a").records if record.n]
    raws = [event["raw"] for event in written if event["kind"] in ("reading_taken", "corrected")]
    assert raws == ["1.7", "1.4"]
    told = review(log_of(hand, tmp_path / "b"))
    (line,) = {line.strip() for line in told.splitlines() if "correction" in line and "misread" in line}
    assert "1.4 mm" in line
    assert "1.7 mm" in line
