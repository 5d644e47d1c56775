"""Every action of `runner.job.actions`: once accepted and once refused, with the refusal's words and what lifts it."""

from collections.abc import Callable
from typing import Any

import pytest

from runner.job import actions as a
from runner.job.decide import HANDLERS
from runner.joint.wrench import Extension, Wrench
from tests.job.bench_hand import Hand

JOB = """\
variants: {engine: [petrol, diesel]}
conditions:
  support: {at start: on wheels, changes: {on wheels: [raised], raised: [on wheels]}}
counters: [{name: odometer, unit: km}]
tools: [{name: gauge}]
parts: [{name: stud}]
items:
  stud: {kind: fastener, new: every time, part: stud, tighten: [{torque: 9 N·m ±1 N·m, method: [measured, click]}]}
  lid: {kind: cover}
steps:
  - {step: first, do: First., danger: {hazard: h, consequence: c, avoid: v}}
  - {step: out, do: Out., takes out: [stud], takes off: [lid]}
  - {step: in, do: In., starts: [stud]}
  - {step: later, do: Later., puts back: [lid], put off: {until: {step: measure}, before: end, because: wind}}
  - {step: close, do: Close., tightens: [stud]}
  - {step: measure, do: Measure., read: {what: Gap, name: gap, unit: mm, band: 1 to 2 mm}}
  - {step: look, look for: How is it?, answers: {dull: go on, bright: go on}}
  - {step: ask, ask: Which?, answers: {one: go on, two: go on}}
  - {step: hold, do: Show it., hold point: {released by: checker, asks: So?}}
  - {step: last, do: Last.}
make safe: {always: [Tag it, Lock it]}
"""


def _before_start() -> Hand:
    return Hand(JOB, begin=False)


def _started() -> Hand:
    hand = _before_start()
    hand.do(a.Start, work_piece="T-1", counters=(("odometer", "12000"),))
    return hand


def _chosen() -> Hand:
    hand = _started()
    hand.do(a.ChooseLocation, name="engine", value="diesel")
    return hand


def _with_wrench() -> Hand:
    hand = _chosen()
    wrench = Wrench(name="TW", kind="click", low="5", high="25", unit="N·m", graduation="1", length="300")
    hand.do(a.CountIn, tool="gauge", wrench=wrench)
    return hand


def _at(step: str) -> Callable[[], Hand]:
    def make() -> Hand:
        hand = Hand(JOB)
        hand.values = {"gap": "1.5"}
        hand.go(step)
        return hand

    return make


def _then(step: str, *actions: tuple[Any, ...]) -> Callable[[], Hand]:
    def make() -> Hand:
        hand = _at(step)()
        for kind, who, words in actions:
            hand.do(kind, who, **words)
        return hand

    return make


PAUSED = (a.Pause, "Ann", {"note": "tea"})
ABANDONING = (a.Seal, "Ann", {"outcome": "abandoned", "reason": "rain"})
ONE = {"item": "stud", "stage": 1, "member": 1}

# action: (where, what is accepted, who) and (where, what is refused, who, why, lift)
TABLE: dict[type[a.Action], tuple[tuple[Any, ...], tuple[Any, ...]]] = {
    a.Start: (
        (_before_start, {"work_piece": "T-1", "counters": (("odometer", "12000"),)}, "Ann"),
        (_before_start, {"work_piece": "T-1"}, "Ann", "odometer is asked at the start", "read it, in km"),
    ),
    a.ChooseLocation: (
        (_started, {"name": "engine", "value": "petrol"}, "Ann"),
        (_started, {"name": "engine", "value": "steam"}, "Ann", "'steam' is not one of them", "petrol, diesel"),
    ),
    a.MeetPrerequisite: (
        (_chosen, {"key": "part:stud"}, "Ann"),
        (_chosen, {"key": "tool:gauge"}, "Ann", "tools are counted in", "count it in"),
    ),
    a.CountIn: (
        (_chosen, {"tool": "gauge", "identity": "no. 1"}, "Ann"),
        (_chosen, {"tool": "hammer"}, "Ann", "not now: Lay out", "answer what is asked first"),
    ),
    a.CountOut: (
        (_at("close out"), {"tool": "gauge"}, "Ann"),
        (_at("last"), {"tool": "gauge"}, "Ann", "not now: Last.", "answer what is asked first"),
    ),
    a.Acknowledge: (
        (_at("first"), {"notice": 0}, "Ann"),
        (_at("out"), {"notice": 0}, "Ann", "not now: Take out stud", "answer what is asked first"),
    ),
    a.ConfirmPart: (
        (_at("new part"), {"item": "stud", "number": "7"}, "Ann"),
        (_at("new part"), {"item": "lid"}, "Ann", "not now: Take a new stud", "answer what is asked first"),
    ),
    a.Do: (
        (_at("out"), {"act": 0}, "Ann"),
        (_at("out"), {"act": 1}, "Ann", "not now: Take out stud", "answer what is asked first"),
    ),
    a.Tighten: (
        (_at("close"), {**ONE, "method": "measured", "raw": "9"}, "Ann"),
        (_at("close"), {**ONE, "method": "measured", "raw": "90"}, "Ann", "about ten times 9 N·m", "out of band"),
    ),
    a.Read: (
        (_then("measure", (a.Do, "Ann", {})), {"name": "gap", "raw": "1,5"}, "Ann"),
        (_then("measure", (a.Do, "Ann", {})), {"name": "gap", "raw": "1.2.3"}, "Ann", "decimal mark", "type"),
    ),
    a.Look: (
        (_at("look"), {"label": "dull"}, "Ann"),
        (_at("look"), {"label": "grey"}, "Ann", "'grey' is not one of the answers", "say one of: dull, bright"),
    ),
    a.Answer: (
        (_at("ask"), {"label": "one"}, "Ann"),
        (_at("ask"), {"label": "three"}, "Ann", "'three' is not one of the answers", "say one of: one, two"),
    ),
    a.PutOff: (
        (_at("last"), {"reason": "no rag here"}, "Ann"),
        (_at("out"), {"reason": "no rag here"}, "Ann", "only a step on one item", "do it now, or deviate"),
    ),
    a.TakeUp: (
        (_at("cue"), {"key": "later"}, "Ann"),
        (_at("close"), {"key": "later"}, "Ann", "not yet: Later.", "it waits for: after: Measure."),
    ),
    a.PassBy: (
        (_at("cue"), {"key": "later", "reason": "wind"}, "Ann"),
        (_at("close"), {"key": "later"}, "Ann", "not now: Tighten stud", "answer what is asked first"),
    ),
    a.Release: (
        (_then("hold", (a.Do, "Ann", {})), {"released": True}, "Bo"),
        (_then("hold", (a.Do, "Ann", {})), {"released": True}, "Ann", "cannot release", "fetch a checker who did not"),
    ),
    a.Deviate: (
        (_at("out"), {"kind": "not done", "reason": "stuck"}, "Ann"),
        (_at("out"), {"kind": "not done", "reason": ""}, "Ann", "a deviation has a reason", "say why"),
    ),
    a.NotApplicable: (
        (_at("out"), {"subject": "lid", "reason": "none"}, "Ann"),
        (_at("in"), {"subject": "lid", "reason": "none"}, "Ann", "lid has been worked on", "deviate, or reopen it"),
    ),
    a.Correct: (
        (_at("look"), {"key": "read measure|gap|1", "raw": "1.6", "reason": "typo"}, "Ann"),
        (_at("look"), {"key": "read measure|gap|2", "raw": "1.6", "reason": "typo"}, "Ann", "nothing of that key",
         "choose from what was recorded"),
    ),
    a.TakeBack: (
        (_then("last", (a.Do, "Ann", {})), {}, "Ann"),
        (_then("last", (a.Do, "Ann", {}), (a.TakeBack, "Ann", {})), {}, "Ann", "nothing to take back", "correct"),
    ),
    a.Reopen: (
        (_at("last"), {"item": "lid", "state": "off", "reason": "it fell"}, "Ann"),
        (_at("in"), {"item": "lid", "state": "off", "reason": "it fell"}, "Ann", "no further than that", "go on"),
    ),
    a.ExtraWork: (
        (_at("last"), {"text": "undertray off"}, "Ann"),
        (_chosen, {"text": "undertray off"}, "Ann", "belongs between start and seal", "note it instead"),
    ),
    a.ExtraWorkDone: (
        (_then("last", (a.ExtraWork, "Ann", {"text": "x"})), {"key": "extra 1"}, "Ann"),
        (_at("last"), {"key": "extra 1"}, "Ann", "no extra work of that name", "put-off list"),
    ),
    a.FoundCondition: (
        (_at("last"), {"name": "support", "value": "raised"}, "Ann"),
        (_at("last"), {"name": "support", "value": "on wheels"}, "Ann", "in the record too", "go on"),
    ),
    a.Note: (
        (_at("last"), {"text": "dry thread"}, "Ann"),
        (_at("last"), {"text": ""}, "Ann", "an empty note says nothing", "type the note"),
    ),
    a.LetTimePass: (
        (_at("last"), {}, "clock"),
        (_at("last"), {"says": "passed"}, "Ann", "the clocks agree", "let the time pass"),
    ),
    a.ChangeTool: (
        (_at("last"), {"tool": "gauge", "identity": "no. 2", "reason": "it is bent"}, "Ann"),
        (_at("last"), {"tool": "gauge", "identity": "no. 2", "reason": ""}, "Ann", "and a reason", "say which"),
    ),
    a.FitExtension: (
        (_with_wrench, {"tool": "gauge", "extension": Extension(length="50")}, "Ann"),
        (_at("last"), {"tool": "gauge", "extension": None}, "Ann", "nothing is known of gauge", "from the toolbox"),
    ),
    a.Pause: (
        (_at("last"), {"note": "tea"}, "Ann"),
        (_then("last", PAUSED), {"note": "tea"}, "Ann", "the run is paused", "resume it"),
    ),
    a.Resume: (
        (_then("last", PAUSED), {}, "Ann"),
        (_before_start, {}, "Ann", "the run has not begun", "say who works"),
    ),
    a.Reconfirm: (
        (_then("last", PAUSED, (a.Resume, "Ann", {})), {"key": "step:hold"}, "Ann"),
        (_at("last"), {"key": "step:hold"}, "Ann", "not now: Last.", "answer what is asked first"),
    ),
    a.HandOver: (
        (_at("last"), {"to": "Cy"}, "Ann"),
        (_at("last"), {"to": "Cy"}, "Dee", "Ann is the performer", "take over alone with a reason"),
    ),
    a.AcceptHandover: (
        (_then("last", (a.HandOver, "Ann", {"to": "Cy"})), {}, "Cy"),
        (_then("last", (a.HandOver, "Ann", {"to": "Cy"})), {}, "Dee", "Cy was named to take over", "fetch Cy"),
    ),
    a.TakeOverAlone: (
        (_at("last"), {"reason": "Ann is ill"}, "Cy"),
        (_at("last"), {"reason": "  "}, "Cy", "has a reason", "cannot acknowledge"),
    ),
    a.CloseOut: (
        (_at("close out"), {"line": 0}, "Ann"),
        (_at("close out"), {"line": 1, "text": " "}, "Ann", "the last question needs words", "abnormal, or none"),
    ),
    a.MakeSafe: (
        (_then("last", ABANDONING), {"line": 1}, "Ann"),
        (_then("last", ABANDONING), {"line": 2}, "Ann", "not now: Make the work safe", "answer what is asked"),
    ),
    a.Seal: (
        (_at("seal"), {"outcome": "finished"}, "Ann"),
        (_at("close out"), {"outcome": "finished"}, "Ann", "not now: Look round", "answer what is asked first"),
    ),
}  # fmt: skip


def test_the_table_names_every_action_and_so_does_the_engine():
    kinds = {kind for kind in vars(a).values() if isinstance(kind, type) and issubclass(kind, a.Action)}
    assert set(TABLE) == set(HANDLERS) == kinds - {a.Action}


@pytest.mark.parametrize("kind", TABLE, ids=lambda kind: kind.__name__)
def test_accepted(kind):
    where, words, who = TABLE[kind][0]
    hand = where()
    before = hand.job
    hand.do(kind, who, **words)
    assert kind is a.LetTimePass or hand.job != before
    assert all(entry.who.strip() for entry in hand.entries)


@pytest.mark.parametrize("kind", TABLE, ids=lambda kind: kind.__name__)
def test_refused_with_what_would_lift_it_and_recorded(kind):
    where, words, who, why, lift = TABLE[kind][1]
    hand = where()
    hand.refuse(kind, who, why=why, lift=lift, **words)
    if hand.job.phase != "new":
        event = hand.entries[-1].events[0]
        assert (event.kind, event.action) == ("refused", kind.__name__)
        assert event.why


@pytest.mark.parametrize("kind", TABLE, ids=lambda kind: kind.__name__)
def test_without_a_name_nothing_is_accepted(kind):
    where, words, _ = TABLE[kind][0]
    where().refuse(kind, " ", why="every entry names who made it", lift="type a name", **words)


@pytest.mark.parametrize("kind", TABLE, ids=lambda kind: kind.__name__)
def test_from_an_older_screen_nothing_is_accepted(kind):
    where, words, who = TABLE[kind][0]
    hand = where()
    if kind is a.LetTimePass:
        return  # the clock sees no screen
    hand.refuse(
        kind, who, seen=hand.job.seq - 1, why="the screen has changed since", lift="look again", **words
    )


@pytest.mark.parametrize(
    "kind", [kind for kind in TABLE if kind is not a.LetTimePass], ids=lambda kind: kind.__name__
)
def test_after_the_seal_nothing_is_accepted(kind):
    hand = _at("sealed")()
    _, words, who = TABLE[kind][0]
    hand.refuse(kind, who, why="sealed", lift="begin a new run", **words)
