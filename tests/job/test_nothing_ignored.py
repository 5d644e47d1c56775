"""Nothing is parsed and then ignored: whatever the linked form carries, a run without it goes or looks otherwise."""

from collections.abc import Iterator
from typing import Any

import pytest

from runner.job import actions as a
from runner.job import events as e
from runner.procedure.linked import Procedure
from tests.job.bench_hand import Hand
from tests.procedure.procedure_text import linked

ALL = """\
people: {performer: 1, checker: 1}
conditions:
  support:
    at start: [on wheels, raised]
    changes: {on wheels: [raised], raised: [on wheels]}
    hazardous: [raised]
    getting there: {raised: up}
variants: {engine: [petrol, diesel]}
locations: {side: [left, right], door: {choose at start: [front, back]}}
tolerance: {torque: ±4 %}
counters: [{name: odometer, unit: km}]
tools: [{name: small wrench, covers: 2 to 8 N·m}, {name: wrench, covers: 5 to 50 N·m}]
parts: [{name: bolt, number: T-1, each: side, quantity: 2}]
supplies: [Grease]
documents: [Sheet 7]
standing: [{notice: {hazard: Oil., consequence: slips, avoid: a mat}, from: up, to: fit}]
items:
  bolt:
    kind: fastener
    each: side
    count: 3
    new: every time
    part: bolt
    thread: M6
    class: 8.8
    number one: the front one
    critical: true
    tighten: [{snug: By hand.}, {torque: 9 N·m, order: star, only when: {support: on wheels}, method: click}]
  head:
    kind: fastener
    count: 4
    rows: [2, 2]
    at start: started
    thread: M6
    class: 8.8
    friction: 0.10 to 0.16
    surface: oiled
    given for: dry
    prevailing: 1 N·m
    grip: 20 mm
    tighten:
      - {torque: 8 N·m, order: from the middle, rounds: [50 %, 100 %], last pass: around, method: click}
      - {angle: 90°, order: from the middle, method: by mark}
  lid: {kind: cover, at start: off, each: door}
  rest: {kind: aid}
steps:
  - step: up
    do: Raise it.
    danger: {hazard: It falls., consequence: crushing, avoid: stands}
    look for: How does it stand?
    answers: {still: go on, it rocks: stop}
    hold point: {released by: checker, asks: Is it up?, if refused: stop}
    sets: {support: raised}
    expect: It stands.
    because: We work below.
    sketch: "/\\\\"
    helper: One at the jack.
    omission: likely
    critical: true
  - each: side
    steps:
      - {step: fit, do: Fit them., needs: {support: raised}, takes out: [bolt], starts: [bolt]}
      - step: turn
        do: Tighten them.
        tightens: {bolt: stage 1}
        tools: [small wrench, wrench]
      - step: finish
        do: Tighten them.
        tightens: {bolt: the rest}
        tools: [small wrench, wrench]
        put off: {until: {support: on wheels}, before: last, no later than: {time: 9 h, after: up}, because: rest}
      - {step: mind, do: Mind the pipe., only for: {side: right}}
  - {step: head-on, do: Tighten the head., tightens: [head], tools: [small wrench], takes: 10 min}
  - {step: hot, do: Warm it., only for: {engine: petrol}, wait: 10 min}
  - each: door
    steps: [{step: cover, do: Put it on., puts back: [lid]}]
  - step: gap
    do: Measure.
    in time: {from: up, within: 9 h, warn at: 1 min, too late: stop}
    tools: [small wrench]
    read:
      - {what: Gap, name: gap, unit: mm, band: 1 to 2 mm, times: 2, second reading: blind, critical: true}
      - {what: Number, name: number, text: part number}
      - {what: Face, name: face, photo: true}
    work out: {what: Mean, name: middle, is: "mean(gap-1, gap-2)", unit: mm, band: 0 to 2 mm}
  - step: depth
    do: Measure the depth.
    read: {what: Depth, name: depth, unit: mm, sorted: {below 1 mm: [{step: shim, do: Shim.}], above: go on}}
  - step: clean
    ask: It is
    answers: {dirty: {again: depth, at most: 1, then: go on}, clean: go on}
  - {step: note-it, do: Note it., only if: {clean: dirty}}
  - {step: down, do: Lower it., sets: {support: on wheels}}
  - {step: last, do: Look.}
follow up: [{what: Re-torque, after: 50 km}]
close out: [Nothing left]
make safe: {always: [Tag it]}
"""

SAID_ELSEWHERE = {
    "mark": "where an error of the file is shown",
    "files": "what a resume compares the file with",
    "version": "whether the form is known at all",
    "joint": "tests/job/test_used_files.py",
    "procedure": "the name of the log",
    "sources": "shown by the explanation and the review",
    "step": "the name without its place, which id carries",
    "kind": "chooses which other fields count",
    "order": "written out in sequence",
    "target": "tests of slips name what a value should have been",
    "needs": "refuses only where it does not hold: tests/job/test_conditions.py",
    "only_when": "refuses only where it does not hold: tests/job/test_tightening.py",
    "covers": "the linker picks the tool by it: tests/procedure",
    "low": "a limit refuses only what is outside: tests/job/test_readings.py",
    "high": "a limit refuses only what is outside: tests/job/test_readings.py",
    "friction": "the proof judges torques by it: tests/proof/test_local_joints.py",
    "given_for": "the proof compares it with how it is assembled: tests/proof/test_local_joints.py",
    "grip": "the proof judges angles by it: tests/proof/test_local_joints.py",
    "takes": "the ready sheet adds it up: tests/ready/test_estimate.py",
}


def _seen(procedure: Procedure) -> Iterator[str]:
    """Everything a person sees and the log keeps on the plain way through, then abandoning at the end."""
    hand = Hand(procedure, begin=False)
    hand.values = {"face": "face.jpg " + "0f" * 32, "depth": "1", "number": "T-9"}
    yield repr(hand.demand)
    hand.do(a.Start, work_piece="T-1", counters=(("odometer", "12000"),) if procedure.counters else ())
    while hand.demand.kind == "choose":
        yield repr(hand.demand)
        hand.do(a.ChooseLocation, name=hand.demand.subject, value=hand.demand.options[0].key)
    yield repr(hand.demand)
    hand.begin_rest({"support": "on wheels"})
    yield repr((hand.job.choices, hand.job.met, hand.view.identity, hand.entries))
    found = late = False
    for _ in range(160):
        yield repr((hand.view, hand.at, hand.job.conditions, hand.job.ledger))
        if hand.demand.kind in ("seal", "sealed"):
            break
        if hand.at.startswith("mind") and not found:
            found = True
            hand.do(a.FoundCondition, name="support", value="on wheels")
        elif hand.at == "down" and not late:
            late = True
            hand.wait(h=9)
        elif hand.demand.kind == "restore":
            hand.do(a.FoundCondition, name="support", value="raised")
        elif hand.demand.kind == "due" and not hand.demand.options:
            hand.do(a.Deviate, kind="late", reason="lunch", authority="Bo", subject=hand.demand.subject)
        else:
            hand.values["depth"] = "0.5" if hand.at == "note-it" else "1"
            hand.wait(min=2)
            hand.answer()
    yield repr(hand.entries)
    hand.do(a.Seal, outcome="abandoned", reason="the end")
    yield repr([option.label for option in hand.demand.options])
    hand.go("sealed")
    yield repr(hand.happened(e.Sealed))


def _transcript(procedure: Procedure) -> list[str]:
    seen: list[str] = []
    try:
        seen += _seen(procedure)
    except (AssertionError, KeyError, IndexError) as error:
        seen.append(f"came no further: {type(error).__name__}")
    return seen


def _goes_otherwise(procedure: Procedure, plain: list[str]) -> bool:
    """Whether a run of it differs anywhere; the rest of it is not played."""
    at = 0
    try:
        for at, said in enumerate(_seen(procedure), start=1):
            if at > len(plain) or said != plain[at - 1]:
                return True
    except (AssertionError, KeyError, IndexError):
        return True
    return at != len(plain)


def _fields(data: Any, under: str = "procedure") -> Iterator[tuple[str, str]]:
    """Every (kind of record, field) that a stored procedure has, by the key the record stands under."""
    if isinstance(data, dict):
        for key, value in data.items():
            yield under, key
            yield from _fields(value, key)
    elif isinstance(data, list):
        for value in data:
            yield from _fields(value, under)


def _without(data: Any, field: tuple[str, str], under: str = "procedure") -> Any:
    if isinstance(data, dict):
        return {key: _without(value, field, key) for key, value in data.items() if (under, key) != field}
    if isinstance(data, list):
        return [_without(value, field, under) for value in data]
    return data


WHOLE = linked(ALL)
DATA = WHOLE.to_data()
FIELDS = sorted(set(_fields(DATA)))


def _optional(field: tuple[str, str]) -> Procedure | None:
    """The procedure without a field; None where the form cannot do without it."""
    try:
        return Procedure.from_data(_without(DATA, field))
    except ValueError:
        return None


@pytest.fixture(scope="module")
def plain() -> list[str]:
    return _transcript(WHOLE)


def test_the_plain_way_leads_to_the_seal(plain):
    assert "came no further" not in plain[-1], plain[-2][:3000]
    assert "Sealed(" in plain[-1]
    assert not _goes_otherwise(WHOLE, plain), "the same goes the same way"


@pytest.mark.parametrize("field", FIELDS, ids=" ".join)
def test_what_is_written_changes_what_is_seen_or_done(plain, field):
    if field[1] in SAID_ELSEWHERE:
        return
    without = _optional(field)
    if without is not None and without != WHOLE:
        assert _goes_otherwise(without, plain), f"{field} is carried and never used"
