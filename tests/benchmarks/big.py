"""Generated procedures of any size, built as real ones are: the measure of the proof and of reading and linking.

All of it is invented. Chapters of about twenty linked steps open items, work on them and close them again: fasteners in
two stages, the second put off until the work stands at ride height; covers, connections, aids and the rest, whose
closing is put off until a test is done. Chapters branch, ask, come back to rework, change three conditions, stop at
hold points, and use an answer a few steps after it was given. Nothing is repeated by the format, so that a file of
10,000 linked steps is a text of 10,000 steps.
"""

from collections.abc import Sequence
from typing import NamedTuple

CHAPTER = 20
"""Linked steps of a chapter with one item; one with several items has one step more."""

_ONLY_TIME = 3
"""How often a single-use part can be asked for in one chapter: once, and after each of two refusals."""


class _Pair(NamedTuple):
    """A kind of item with two states: the verb that opens it and the one that closes it."""

    kind: str
    opens: str
    closes: str


_PAIRS = (
    _Pair("cover", "takes off", "puts back"),
    _Pair("connection", "disconnects", "connects"),
    _Pair("aid", "puts in", "takes out"),
    _Pair("fluid", "drains", "fills"),
    _Pair("valve", "opens", "shuts"),
    _Pair("lock", "puts on", "takes off"),
    _Pair("fitted part", "takes out", "fits"),
)

_HEAD = """format: 1
procedure: big
title: A big procedure
revision: 1
fits: nothing (invented for a measurement)
sources: [Invented data.]
people: {performer: 1, checker: 1}
conditions:
  support:
    at start: on wheels
    changes: {on wheels: [raised], raised: [on wheels, at ride height], at ride height: [raised, on wheels]}
    hazardous: [raised]
  battery: {at start: connected, changes: {connected: [disconnected], disconnected: [connected]}}
  line: {at start: live, changes: {live: [isolated], isolated: [live]}}
tolerance: {torque: ±4 %, angle: ±5°}
tools:
  - {name: wrench, covers: 5 to 200 N·m}
  - {name: gauge, covers: 0 to 10 mm}
supplies: none
close out: [Nothing left over]
"""


def written(steps: int, items: int, *, faults: int = 0) -> str:
    """The text of a procedure of exactly `steps` linked steps and `items` items.

    Without `faults` nothing can go wrong on any way. With them, so many chapters, spread over the whole, have one
    slip each, of six kinds in turn: a fastener never started, a window that never opens, a need that does not hold, an
    item never closed, a condition not set back, a change that is not allowed.
    """
    chapters = steps // CHAPTER if items * CHAPTER <= steps else steps // (CHAPTER + 1)
    size = -(-items // chapters)
    groups = [range(first, min(first + size, items)) for first in range(0, items, size)]
    slips = {(2 * n + 1) * chapters // (2 * faults): n for n in range(faults)}
    lines: list[str] = []
    left = steps
    for chapter in range(chapters):
        number = chapter % len(groups)
        group = groups[number]
        lines.append((_pairs if number % 2 else _fasteners)(f"c{chapter}", group, slips.get(chapter)))
        left -= CHAPTER + (len(group) > 1)
    lines += [f"  - step: last-{n}\n    do: Look at place {n}." for n in range(left)]
    return f"{_HEAD}{_declared(groups, chapters)}steps:\n" + "\n".join(lines) + "\n"


def _declared(groups: Sequence[range], chapters: int) -> str:
    lines, bolts = ["items:"], 0
    for number, group in enumerate(groups):
        uses = len(range(number, chapters, len(groups)))
        for item in group:
            if number % 2:
                lines.append(f"  {_name(item)}: {{kind: {_pair(item).kind}}}")
                continue
            count, single = 1 + item % 5, item % 10 == 0
            bolts += single * count * uses * _ONLY_TIME
            lines.append(
                f"  {_name(item)}: {{kind: fastener, count: {count}, "
                f"{'new: every time, part: bolt, ' if single else ''}tighten: [{{torque: {20 + item % 80} N·m}}, "
                "{angle: 90°, only when: {support: [on wheels, at ride height]}}]}"
            )
    parts = f"parts: [{{name: bolt, number: B-1, quantity: {bolts}}}]" if bolts else "parts: none"
    return "\n".join([parts, *lines]) + "\n"


def _name(item: int) -> str:
    return f"item {item}"


def _pair(item: int) -> _Pair:
    return _PAIRS[item % len(_PAIRS)]


def _listed(items: Sequence[int]) -> str:
    return f"[{', '.join(_name(item) for item in items)}]"


def _fasteners(c: str, group: range, slip: int | None) -> str:
    """A chapter that loosens fasteners and tightens them again."""
    kind = None if slip is None else slip % 3
    stage = "{" + ", ".join(f"{_name(item)}: stage 1" for item in group) + "}"
    rest = ", ".join(f"{_name(item)}: the rest" for item in group[1:])
    others = f"\n  - step: {c}-others\n    do: Turn the rest.\n    tightens: {{{rest}}}" if rest else ""
    start = f"\n    starts: {_listed(group)}"
    return f"""\
  - step: {c}-up
    do: Raise it.
    danger: {{hazard: It can fall, consequence: crushing, avoid: Stay clear.}}
    sets: {{support: raised}}
  - step: {c}-rust
    ask: What covers the thread?
    answers:
      nothing: go on
      rust:
        - step: {c}-oil
          do: Oil it.
  - step: {c}-lamp
    ask: Is the lamp dark?
    answers:
      it is dark: go on
      it is lit:
        - step: {c}-cut
          do: Take the battery off.
          sets: {{battery: disconnected}}
  - step: {c}-out
    do: Loosen it.
    needs: {{support: raised}}
    loosens: {_listed(group)}
  - step: {c}-brush
    do: Brush the thread.
  - step: {c}-wipe
    do: Wipe the oil off.
    only if: {{{c}-rust: rust}}
  - step: {c}-look
    do: Look along the thread.
    look for: How is it?
    answers: {{whole: go on, dirty: {{again: {c}-brush, at most: 3, then: stop}}}}
  - step: {c}-in
    do: Start it by hand.{"" if kind == 0 else start}
  - step: {c}-snug
    do: Tighten it.{_if(kind == 2, "needs: {support: on wheels}")}
    tools: [wrench]
    tightens: {stage}
  - step: {c}-check
    do: Mark it.
    hold point:
      released by: checker
      asks: Does it sit flat?
      if refused:
        - step: {c}-redo
          do: Put right what is named.
        - {{again: {c}-out, at most: 2, then: stop}}
  - step: {c}-turn
    do: Turn it.
    tightens: {{{_name(group[0])}: the rest}}
    put off: {{until: {{support: at ride height}}, before: {c}-roll, because: rubber sits at rest}}
  - step: {c}-gap
    do: Measure.
    read: {{what: Gap, name: {c}-gap, unit: mm, band: 1 to 2 mm}}
  - step: {c}-shim
    do: Choose the shim.
    work out: {{what: Shim, name: {c}-shim, is: {c}-gap - 1 mm, unit: mm, at most: 1 mm}}
  - step: {c}-down
    do: Lower it.{_if(kind != 1, "sets: {support: at ride height}")}{others}
  - step: {c}-power
    do: Put the battery on.
    only if: {{battery: disconnected}}
    sets: {{battery: connected}}
  - step: {c}-roll
    do: Roll it off.
    sets: {{support: on wheels}}"""


def _pairs(c: str, group: range, slip: int | None) -> str:
    """A chapter that opens items with two states and closes them."""
    kind = None if slip is None else slip % 3
    opened: dict[str, list[int]] = {}
    closed: dict[str, list[int]] = {}
    for item in group:
        opened.setdefault(_pair(item).opens, []).append(item)
    for item in group[1:]:
        closed.setdefault(_pair(item).closes, []).append(item)
    first = _pair(group[0]).closes
    opening = "".join(f"\n    {verb}: {_listed(items)}" for verb, items in opened.items())
    closing = "".join(f"\n    {verb}: {_listed(items)}" for verb, items in closed.items())
    rest = f"\n  - step: {c}-rest\n    do: Close the rest.{closing}" if closing else ""
    return f"""\
  - step: {c}-off
    do: Isolate the line.
    needs: {{line: live}}
    sets: {{line: isolated}}
  - step: {c}-open
    do: Open it.
    needs: {{line: isolated}}{opening}
  - step: {c}-how
    ask: What is inside?
    answers:
      dust: go on
      oil:
        - step: {c}-drip
          do: Let it drip.
        - step: {c}-wet
          ask: How wet is it?
          answers:
            damp: go on
            soaked:
              - step: {c}-mop
                do: Mop it up.
  - step: {c}-dry
    do: Dry it.{_if(kind == 2, "sets: {support: at ride height}")}
  - step: {c}-note
    do: Note the oil.
    only if: {{{c}-how: oil}}
  - step: {c}-glue
    do: Put the glue on.
  - step: {c}-press
    do: Press it on.
    in time:
      from: {c}-glue
      within: 10 min
      too late:
        - step: {c}-scrape
          do: Scrape the glue off.
        - {{again: {c}-glue, at most: 2, then: stop}}
  - step: {c}-tape
    do: Take the tape off.
    put off: {{until: {{time: 1 h, after: {c}-press}}, before: {c}-on, because: the glue must set}}
  - step: {c}-close
    do: Close it.{_if(kind != 0, f"{first}: {_listed(group[:1])}")}
    put off: {{until: {{step: {c}-test}}, before: {c}-on, because: the test needs it open}}
  - step: {c}-play
    do: Measure the play.
    read:
      what: Play
      name: {c}-play
      unit: mm
      sorted:
        at most 0.05 mm: go on
        up to 0.10 mm:
          - step: {c}-skim
            do: Skim it.
        above: stop
  - step: {c}-test
    do: Test it.
    look for: Does it hold?
    answers:
      it holds: go on
      it leaks:
        - step: {c}-seal
          do: Seal it.
        - {{again: {c}-play, at most: 3, then: stop}}{rest}
  - step: {c}-on
    do: Open the line.
    needs: {{line: isolated, {_name(group[0])}: final}}{_if(kind != 1, "sets: {line: live}")}"""


def _if(wanted: bool, line: str) -> str:
    return f"\n    {line}" if wanted else ""
