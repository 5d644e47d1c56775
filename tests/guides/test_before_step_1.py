"""What is settled before the first step opens."""

from pathlib import Path

from runner.job import actions as a
from runner.job import events as e
from runner.run import Run
from tests.doubles import SetOutside
from tests.guides.seen import log_of, screen
from tests.job.bench_hand import Hand
from tests.procedures.hand import QuickFiles

READY = """\
people: {performer: 1, checker: 1}
tools: [{name: gauge}]
parts: [{name: seal, quantity: 2}]
supplies: [Grease]
documents: [Sheet 7]
conditions: {support: {at start: on wheels, changes: {on wheels: []}}}
steps:
  - {step: one, do: One.}
"""


def test_b1_step_1_stays_shut_until_every_prerequisite_is_confirmed_or_answered_for() -> None:
    """ECSS-E-ST-70-32C, preconditions; DOE-STD-1029-92 (S2)."""
    hand = Hand(READY, begin=False)
    hand.do(a.Start, work_piece="T-1")
    dispositions = [
        (a.CountIn, {"tool": "gauge"}),
        (a.Deviate, {"kind": "not available", "reason": "the bag was empty", "subject": "part:seal"}),
        (a.MeetPrerequisite, {"key": "supply:Grease"}),
        (a.MeetPrerequisite, {"key": "document:Sheet 7"}),
        (a.MeetPrerequisite, {"key": "person:checker", "value": "Bo"}),
        (a.MeetPrerequisite, {"key": "condition:support"}),
    ]
    for action, words in dispositions:
        hand.refuse(a.Do, why="not now", lift="")
        hand.do(action, **words)
    hand.do(a.Do)


def test_b2_the_run_is_about_one_named_work_piece_and_a_changed_procedure_is_announced(
    tmp_path: Path,
) -> None:
    """DOE O 422.1; EASA 145.A.45 (M: from memory)."""
    hand = Hand(READY, begin=False)
    hand.refuse(a.Start, work_piece=" ", why="one work piece", lift="plate, chassis or serial number")
    assert "rev 1" in screen(hand)[0]
    hand.begin({}, {})
    assert "T-1" in screen(hand)[0]
    newer = hand.procedure.model_copy(update={"revision": "2", "files": (("job.yaml", "0" * 64),)})
    run = Run.resume(log_of(hand, tmp_path), SetOutside(files=QuickFiles()), current=newer)
    run.close()
    assert "has changed since this run began" in run.findings[-2]
    assert run.job.procedure.revision == "1"


ISOLATE = """\
conditions:
  supply: {at start: live, changes: {live: [isolated], isolated: [live]}, hazardous: [live]}
items: {link: {kind: connection}}
steps:
  - step: isolate
    do: Switch off and lock.
    look for: What does the tester show at the terminals?
    answers: {voltage: stop, nothing: go on}
    sets: {supply: isolated}
  - {step: link-off, do: Take the link out., needs: {supply: isolated}, disconnects: [link]}
  - step: again
    do: Try the terminals once more.
    look for: What does the tester show now?
    answers: {voltage: stop, nothing: go on}
  - {step: link-on, do: Put the link in., needs: {supply: isolated}, connects: [link]}
  - {step: live, do: Unlock and switch on., sets: {supply: live}}
"""


def test_b4_isolation_is_verified_before_the_work_and_wherever_energy_can_build_up_again() -> None:
    """29 CFR 1910.147 (d)(6) and (d)(5)(ii) (S)."""
    hand = Hand(ISOLATE)
    hand.do(a.Do)
    assert hand.job.conditions == {"supply": "live"}, "switched off is not yet isolated"
    hand.do(a.Look, label="voltage")
    hand.refuse(a.Do, act=0, why="Stopped", lift="")
    hand.do(a.Look, label="nothing")
    hand.do(a.Do, act=0)
    hand.do(a.Do)
    hand.do(a.Look, label="voltage")
    hand.refuse(a.Do, act=0, why="Stopped", lift="")
    hand.do(a.Look, label="nothing")
    hand.do(a.FoundCondition, name="supply", value="live")
    hand.refuse(a.Do, act=0, why="supply is live", lift="bring supply back to isolated")
    hand.do(a.FoundCondition, name="supply", value="isolated")
    hand.do(a.Do, act=0)


MEASURED = """\
tools: [{name: gauge}]
steps:
  - step: play
    do: Measure the play.
    tools: [gauge]
    read: {what: Play, name: play, unit: mm, band: none, times: 2}
"""


def test_b5_every_reading_says_which_measuring_tool_it_was_taken_with() -> None:
    """ISO 9001, 7.1.5.2; ISO 10012 (S2). The state of its calibration is not kept in this version."""
    hand = Hand(MEASURED)
    hand.do(a.Do)
    hand.do(a.Read, name="play", raw="0.1")
    hand.do(a.ChangeTool, tool="gauge", identity="gauge no. 2", reason="the first one sticks")
    hand.do(a.Read, name="play", raw="0.2")
    assert [event.tool for event in hand.happened(e.ReadingTaken)] == [
        "gauge gauge no. 1",
        "gauge gauge no. 2",
    ]


def test_b6_tools_counted_in_are_counted_out_one_by_one() -> None:
    """FAA guidance on foreign object debris (M: from memory)."""
    hand = Hand("tools: [{name: gauge}, {name: lamp}]\nsteps:\n  - {step: one, do: One.}\n")
    hand.go("close out")
    assert {"tool:gauge", "tool:lamp"} < set(hand.options())
    hand.do(a.CountOut, tool="gauge")
    for line in (0, 1):
        hand.do(a.CloseOut, line=line, text="none")
    hand.refuse(a.Seal, outcome="finished", why="not now", lift="")
    assert hand.options() == ["tool:lamp"]
    hand.do(a.CountOut, tool="lamp")
    hand.expect("seal")
