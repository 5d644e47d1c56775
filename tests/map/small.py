"""Small procedures for the maps, invented, and the way from YAML to a map."""

from dataclasses import dataclass

from runner.map.lines import Line, Map, map_of
from runner.procedure.link_whole import link
from runner.procedure.linked import Procedure
from runner.procedure.reader import read_procedure

HEAD = """\
format: 1
procedure: valve-box
title: Valve box
revision: 4
fits: Invented box
sources: [Invented for a test.]
people: {performer: 1, checker: 1}
conditions:
  power: {at start: on, changes: {on: [off], off: [on]}, hazardous: [on]}
locations: {side: [left, right]}
tools: none
parts: none
supplies: none
close out: [All shut]
items:
  lid: {kind: cover}
  lead: {kind: connection, each: side}
"""

STEPS = """\
steps:
  - {step: isolate, do: Switch off., sets: {power: off}}
  - {step: lid-off, do: Take the lid off., takes off: [lid]}
  - step: lid-on
    do: Put the lid back.
    puts back: [lid]
    put off: {until: {power: on}, before: end, because: the lamps are looked at}
  - each: side
    steps:
      - {step: lead-off, do: Unplug the lead., disconnects: [lead]}
      - {step: lead-on, do: Plug the lead in., connects: [lead]}
  - step: look
    ask: The contacts are
    answers:
      clean: go on
      dirty:
        - {step: wipe, do: Wipe them.}
        - {again: look, at most: 2, then: stop}
      burnt: stop
  - step: live
    do: Switch on.
    warning: {hazard: Live parts, consequence: shock, avoid: Keep clear.}
    sets: {power: on}
  - step: release
    do: Have it released.
    hold point:
      released by: checker
      asks: Is all well?
      if refused: {again: look, at most: 1, then: stop}
"""

SMALL = HEAD + STEPS


@dataclass(frozen=True)
class Found:
    """A map and its lines by name."""

    map: Map

    def line(self, name: str, place: str = "") -> Line:
        (one,) = [line for line in self.map.lines if (line.name, line.place) == (name, place)]
        return one

    def index(self, name: str, place: str = "") -> int:
        return self.map.lines.index(self.line(name, place))


def linked(text: str) -> Procedure:
    written, found = read_procedure(text.encode(), "job.yaml")
    assert written is not None, [one.text() for one in found]
    procedure, found = link(written, lambda path, mark: None)
    assert procedure is not None, [one.text() for one in found]
    return procedure


def mapped(text: str) -> Found:
    return Found(map_of(linked(text)))
