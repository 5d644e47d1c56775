"""Semantic 11: leaving and coming back; what is compared with the work, and replay that decides nothing again."""

from runner.job import actions as a
from runner.job import events as e
from runner.job.evolve import evolve, interrupted
from runner.job.record import from_record, to_record
from tests.job.bench_hand import Hand

JOB = """\
conditions: {support: {at start: on wheels, changes: {on wheels: [raised], raised: [on wheels]}}}
tools: [{name: wrench}, {name: socket}]
items:
  wedge: {kind: aid}
  lid: {kind: cover}
steps:
  - {step: one, do: One.}
  - {step: two, do: Two., puts in: [wedge]}
  - {step: three, do: Three., takes off: [lid]}
  - {step: four, do: Four.}
  - {step: five, do: Five., in time: {from: four, within: 2 h, too late: go on}}
  - {step: six, do: Six., takes out: [wedge], puts back: [lid]}
"""


def _left(step: str = "five") -> Hand:
    hand = Hand(JOB)
    hand.go(step)
    hand.do(a.Pause, note="about to do five")
    return hand


def test_a_paused_run_takes_nothing_but_a_resume_a_note_a_takeover_and_its_end():
    hand = _left()
    hand.expect("resume", prompt="about to do five")
    assert hand.view.pause_note == "about to do five"
    for kind, words in ((a.Do, {}), (a.PutOff, {"reason": "x"}), (a.TakeBack, {}), (a.Pause, {"note": ""})):
        hand.refuse(kind, why="the run is paused", lift="resume it", **words)
    hand.do(a.Note, text="back at nine")
    hand.do(a.Resume)


def test_on_resume_the_last_three_steps_conditions_aids_tools_and_running_times_are_compared():
    hand = _left()
    hand.do(a.Resume)
    now = hand.expect("reconfirm", prompt="No tight fastener goes under the wrench again")
    keys = [option.key for option in now.options]
    assert keys[:3] == ["step:four", "step:three", "step:two"]
    assert set(keys[3:6]) == {"condition:support", "aid:wedge", "tool:wrench"}
    assert "tool:socket" in keys
    assert any(key.startswith("time:") for key in keys), "the running time limit is shown too"
    labels = {option.key: option.label for option in now.options}
    assert labels["step:four"] == "Done: Four."
    assert labels["condition:support"] == "support is on wheels"
    assert labels["aid:wedge"] == "In place: wedge"
    assert labels["tool:wrench"] == "Tool at hand: wrench wrench no. 1"


def test_the_work_goes_on_when_everything_was_compared_one_by_one():
    hand = _left()
    hand.do(a.Resume)
    hand.refuse(a.Do, why="compare with the work first", lift="confirm line by line")
    hand.refuse(a.Reconfirm, key="step:one", why="not now", lift="")
    count = len(hand.options())
    for key in hand.options():
        hand.expect("reconfirm")
        hand.do(a.Reconfirm, key=key)
    assert len(hand.happened(e.Reconfirmed)) == count
    hand.expect("confirm", "five")


def test_what_may_be_said_of_a_difference_is_offered_while_comparing():
    """The offers and the engine are one rule: nothing that lifts the comparison may read as not possible now."""
    hand = _left()
    hand.do(a.Resume)
    hand.do(a.Reconfirm, key="condition:support", as_recorded=False)
    why_not = {offer.action: offer.why_not for offer in hand.view.offers}
    for kind in ("FoundCondition", "Reopen", "ChangeTool", "ExtraWork", "Pause", "Note"):
        assert why_not[kind] == "", kind
    for kind in ("PutOff", "Deviate", "Correct", "TakeUp", "HandOver", "NotApplicable"):
        assert why_not[kind] == "compare with the work first", kind


def test_not_as_recorded_holds_the_work_until_what_differs_is_said():
    hand = _left()
    hand.do(a.Resume)
    hand.do(a.Reconfirm, key="condition:support", as_recorded=False)
    hand.expect("reconfirm", lift="what differs is said: a found condition")
    assert "condition:support" in hand.options()
    hand.do(a.FoundCondition, name="support", value="raised")
    assert "condition:support" not in hand.options()
    while hand.demand.kind == "reconfirm":
        hand.answer()
    hand.expect("restore", prompt="support is raised, the record says on wheels")


def test_an_item_not_as_recorded_is_reopened():
    hand = _left("six")
    hand.do(a.Resume)
    hand.do(a.Reconfirm, key="step:five", as_recorded=False)
    hand.do(a.ExtraWork, text="the bracket is bent")
    assert "step:five" not in hand.options()


def test_another_tool_than_recorded_is_a_change_of_tool():
    hand = _left()
    hand.do(a.Resume)
    hand.do(a.Reconfirm, key="tool:wrench", as_recorded=False)
    hand.do(a.ChangeTool, tool="wrench", identity="no. 2", reason="the night shift took it")
    assert "tool:wrench" not in hand.options()
    assert hand.job.tools["wrench"] == "no. 2"


def test_a_run_whose_program_was_killed_is_resumed_as_if_paused():
    hand = Hand(JOB)
    hand.go("five")
    hand.reopen_log()
    hand.expect("resume", prompt="Cut off: the program ended here, and nobody had paused.")
    hand.refuse(a.Do, why="the run is paused", lift="resume it")
    hand.do(a.Resume)
    hand.expect("reconfirm")
    hand.do(a.Pause, note="lunch")
    hand.reopen_log()
    hand.expect("resume", prompt="Paused: lunch")
    hand.do(a.Resume)
    hand.go("sealed")


def test_every_prefix_of_the_log_gives_the_job_that_was_on_the_screen_then():
    hand = Hand(JOB, begin=False)
    screens = [hand.job]
    take = hand._take

    def remember(entry: e.Entry | None) -> None:
        take(entry)
        if entry is not None:
            screens.append(hand.job)

    hand._take = remember  # type: ignore[method-assign]
    hand.begin({}, {})
    hand.go("five")
    hand.do(a.Deviate, kind="not done", reason="x")
    hand.do(a.TakeBack)
    hand.do(a.Pause, note="n")
    hand.do(a.Resume)
    hand.go("sealed")
    job = hand.first
    assert job == screens[0]
    for entry, screen in zip(hand.entries, screens[1:], strict=True):
        _, data = to_record(entry)
        job = evolve(job, from_record(data, entry.stamp))
        assert job == screen
    assert interrupted(job) == job, "a sealed run is not interrupted"
