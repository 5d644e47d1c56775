"""The end of a job, and reading its record."""

from pathlib import Path

from runner.job import actions as a
from runner.job import events as e
from tests.guides.seen import at_keys, log_of, review
from tests.job.bench_hand import Hand

JOB = """\
tools: [{name: lamp}]
items: {cover: {kind: cover}}
steps:
  - {step: open, do: Take the cover off., takes off: [cover]}
  - {step: shut, do: Put the cover back., puts back: [cover]}
close out: [All covers back]
"""


def test_r1_the_job_ends_with_a_general_look_for_tools_and_for_anything_left_open() -> None:
    """EASA 145.A.48 (a) (S2)."""
    hand = Hand(JOB)
    hand.do(a.ExtraWork, text="undertray off")
    hand.do(a.Do, act=0)
    hand.do(a.Do, act=0)
    hand.expect("due", prompt="undertray off")
    hand.refuse(a.Seal, outcome="finished", why="undertray off", lift="")
    hand.do(a.ExtraWorkDone, key=hand.owed()[0], said="back on")
    labels = [option.label for option in hand.expect("close out").options]
    assert labels[:2] == ["lamp lamp no. 1 is back", "All covers back"]
    assert labels[2].startswith("Anything abnormal that the procedure does not mention?")


def test_r2_the_end_is_an_act_of_its_own_and_no_key_that_leads_there_performs_it() -> None:
    """Degani & Wiener 1993, Cockpit checklists (S)."""
    hand = Hand(JOB)
    hand.go("seal")
    hand.wait(h=5)
    assert hand.happened(e.Sealed) == []
    hands, run = at_keys(hand)
    hands.press("enter", "enter", "1", "enter", "enter", "enter")
    assert not run.sealed
    hands.press("y")
    assert run.sealed


def test_r3_the_report_of_a_run_tells_the_exceptions_first(tmp_path: Path) -> None:
    """MHRA GXP Data Integrity Guidance 2018, 6.15 (M: from memory)."""
    hand = Hand(JOB)
    hand.do(a.Do, act=0)
    hand.do(a.Deviate, kind="not done", reason="the clips are broken", authority="Dee")
    hand.go("sealed")
    told = review(log_of(hand, tmp_path))
    places = [
        told.index(words)
        for words in ("Open points", "the clips are broken", "Exceptions", "takes off cover")
    ]
    assert places == sorted(places)
    assert "Everything in its order" not in told[: places[2]]
