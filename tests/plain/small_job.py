"""A small invented job for line mode, with most of what a gate can ask."""

from pathlib import Path

from runner.procedure.link import load_procedure
from runner.procedure.linked import Procedure

SMALL = """\
format: 1
procedure: small-job
title: Small job
revision: 2
fits: Invented car
sources: [Invented data.]
people: {performer: 1, checker: 1}
conditions:
  support:
    at start: on wheels
    changes: {on wheels: [raised], raised: [on wheels]}
    hazardous: [raised]
counters: [{name: odometer, unit: km}]
tolerance: {torque: ±4 %}
tools:
  - {name: torque wrench, covers: 20 to 200 N·m}
parts:
  - {name: drain bolt, number: T-7, quantity: 1}
supplies: none
items:
  drain bolt:
    kind: fastener
    new: every time
    part: drain bolt
    tighten: [{torque: 30 N·m}]
  plate:
    kind: cover
  wheel bolts:
    kind: fastener
    count: 3
    tighten: [{torque: 120 N·m, order: around, only when: {support: on wheels}}]
steps:
  - step: raise
    do: Raise the car.
    danger: {hazard: The car can fall., consequence: crushing, avoid: Use stands.}
    look for: How does it stand?
    answers: {it stays still: go on, it rocks: stop}
    sets: {support: raised}
  - {step: plate-off, do: Take the plate off., takes off: [plate]}
  - {step: drain, do: Take the drain bolt out., takes out: [drain bolt]}
  - {step: refit, do: Start a new drain bolt., starts: [drain bolt]}
  - {step: drain-torque, do: Tighten the drain bolt., tightens: [drain bolt], tools: [torque wrench]}
  - step: loosen
    do: Loosen the wheel bolts.
    loosens: [wheel bolts]
    starts: [wheel bolts]
  - step: wheel-torque
    do: Tighten the wheel bolts to their torque.
    tightens: [wheel bolts]
    tools: [torque wrench]
    put off: {until: {support: on wheels}, before: measure, because: the wheel must not turn}
  - step: level
    do: Look at the level.
    hold point: {released by: checker, asks: Is the level right?}
  - {step: plate-on, do: Put the plate back., puts back: [plate]}
  - {step: lower, do: Lower the car., sets: {support: on wheels}}
  - step: measure
    do: Measure the tread.
    read: {what: Tread depth, name: tread, unit: mm, at least: 1.6 mm}
follow up: [{what: Re-torque the wheel bolts, after: 50 km}]
close out: [No tool left over]
make safe: {raised: [Leave it on stands]}
"""


def small_job(folder: Path) -> Procedure:
    """Read the job above."""
    path = folder / "small-job.yaml"
    path.write_text(SMALL, encoding="utf-8")
    procedure, findings = load_procedure(path)
    assert procedure is not None, "\n".join(finding.text() for finding in findings)
    return procedure
