"""What is shut can be opened on somebody's word: a stop behind a used-up way back, and a time that is over."""

from pathlib import Path

import pytest

from runner.job import actions as a
from tests.procedures.hand import FOREMAN, PERFORMER, Hand

_HEAD = """\
format: 1
procedure: job
title: A job
revision: 1
fits: an invented car
sources: [Invented data]
people: {performer: 1}
tools: none
parts: none
supplies: none
close out: [Look round]
"""

_LOOP = """\
steps:
  - step: seat
    do: Seat it.
    look for: How does it sit?
    answers:
      askew:
        - {step: press, do: Press it again.}
        - {again: seat, at most: 1, then: stop}
      square: go on
  - {step: after, do: Clean up.}
"""

_TIMED = """\
conditions:
  support: {at start: raised, changes: {raised: [on wheels], on wheels: [raised]}}
items:
  bolt: {kind: fastener, tighten: [{torque: 50 N·m, method: click}]}
steps:
  - {step: loosen, do: Loosen it., loosens: [bolt]}
  - {step: start, do: Start it., starts: [bolt]}
  - step: tight
    do: Tighten it.
    tightens: [bolt]
    put off:
      until: {support: on wheels}
      before: end
      because: it must carry the load
      no later than: {time: 1 h, after: start}
  - {step: clean, do: Clean up.}
  - {step: lower, do: Lower it., sets: {support: on wheels}}
"""


def hand(body: str, folder: Path, **answers: list[object]) -> Hand:
    file = folder / "job.yaml"
    file.write_text(_HEAD + body, encoding="utf-8")
    return Hand(file, folder, answers=dict(answers))


def refused(work: Hand, action: a.Action) -> str:
    refusal = work.run.act(action)
    assert refusal is not None
    return f"{refusal.text}: {refusal.lift}"


@pytest.fixture
def stopped(tmp_path: Path) -> Hand:
    """Both rounds used: the way back leads to its stop."""
    askew = ("look", a.Look, {"label": "askew"})
    work = hand(_LOOP, tmp_path, seat=[askew, askew])
    while work.job.phase != "stopped":
        work.once()
    return work


def test_a_stop_behind_a_used_up_way_back_is_passed_on_the_word_of_another(stopped: Hand):
    go_on = {"kind": "go on", "reason": "It holds."}
    assert "someone other" in refused(stopped, stopped.make(a.Deviate, authority=PERFORMER, **go_on))
    stopped.act(stopped.make(a.Deviate, authority=FOREMAN, **go_on))
    assert (stopped.job.phase, stopped.job.at) == ("working", "after")
    assert stopped.work().job.outcome == "finished with open points"


def test_what_is_over_its_time_holds_the_work_until_somebody_decides(tmp_path: Path):
    work = hand(_TIMED, tmp_path).work_to("clean")
    work.outside.pass_time(61 * 60_000)
    work.act(work.make(a.LetTimePass))
    demand = work.run.view.demand
    assert (demand.kind, demand.options) == ("due", ())
    assert "its time is over" in demand.lift
    assert not any(owed.ready for owed in work.run.view.owed)


def test_what_is_allowed_late_waits_for_its_window_again(tmp_path: Path):
    work = hand(_TIMED, tmp_path).work_to("clean")
    work.outside.pass_time(61 * 60_000)
    work.act(work.make(a.LetTimePass))
    work.act(work.make(a.Deviate, kind="late", reason="The hoist was taken."))
    assert work.run.view.demand.kind == "confirm"
    work.work_to("end")
    assert [option.key for option in work.run.view.demand.options] == ["tight"]
    assert work.work().job.outcome == "finished with open points"
    assert work.job.state_of("bolt") == "stage 1"


def test_over_its_time_with_the_window_open_it_is_not_taken_up_without_a_word(tmp_path: Path):
    work = hand(_TIMED, tmp_path).work_to("end")
    work.outside.pass_time(61 * 60_000)
    work.act(work.make(a.LetTimePass))
    assert "late" in refused(work, work.make(a.TakeUp, key="tight"))
    work.act(work.make(a.Deviate, kind="late", reason="Lunch."))
    work.act(work.make(a.TakeUp, key="tight"))
    assert work.work().job.outcome == "finished with open points"


def test_a_step_may_need_the_state_that_it_ends(tmp_path: Path):
    """What `needs` says of an item is asked before the step's own acts on it, not of what they led to."""
    body = """\
conditions:
  support: {at start: raised, changes: {raised: []}}
items:
  lead: {kind: connection, at start: disconnected}
  bolts: {kind: fastener, count: 2, at start: started, tighten: [{torque: 9 N·m, method: click}, {snug: home}]}
steps:
  - step: close
    do: Close everything.
    needs: {support: raised, lead: disconnected, bolts: started}
    connects: [lead]
    tightens: [bolts]
    look for: How is it?
    answers: {closed: go on}
"""
    work = hand(body, tmp_path).work()
    assert work.job.outcome == "finished"
    assert "blocked" not in work.kinds
