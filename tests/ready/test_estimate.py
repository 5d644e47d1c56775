"""Times by the author's estimates, over the shortest and the longest way, and what nobody estimated."""

from collections.abc import Iterator

import pytest

from runner.procedure.linked import Node, Procedure
from runner.ready import estimate as estimating
from runner.ready import exploring
from runner.ready.estimate import Estimate, Span, estimate
from runner.ready.exploring import explored_whole, most_used, unavoidable
from runner.ready.ways import Ways
from tests.procedure.procedure_text import linked

MINUTE = 60_000
JOB = """\
steps:
  - {step: out, do: Out., takes: 5 min}
  - step: boot
    ask: The boot is
    takes: 1 min
    answers:
      whole: go on
      torn:
        - {step: mend, do: Mend it., takes: 30 min}
        - {again: boot, at most: 2, then: stop}
  - {step: look, do: Look.}
  - {step: dry, do: Let it dry., wait: 10 min}
"""


def of(procedure: Procedure, *, bounds: bool = False) -> Estimate:
    world = None if bounds else explored_whole(procedure)
    assert bounds or world is not None
    return estimate(procedure, Ways(procedure), world)


def test_the_shortest_and_the_longest_way_with_what_is_not_estimated_on_each():
    made = of(linked(JOB))
    assert made.exact
    # 5 + 1, and 10 of waiting; torn twice, which brings back to the question twice: 2 × (30 + 1) more.
    assert made.shortest == Span(6 * MINUTE, 10 * MINUTE, 4, 2)
    assert made.longest == Span(68 * MINUTE, 10 * MINUTE, 8, 2)
    assert (made.said, made.unsaid) == (3, ("look", "dry"))


def test_without_the_exploration_the_sums_are_bounds_on_both_sides():
    exact, bounds = of(linked(JOB)), of(linked(JOB), bounds=True)
    assert not bounds.exact
    assert bounds.shortest.work <= exact.shortest.work  # type: ignore[union-attr]
    assert bounds.longest.work >= exact.longest.work  # type: ignore[union-attr]
    assert bounds.longest.wait >= exact.longest.wait  # type: ignore[union-attr]
    assert bounds.shortest == Span(6 * MINUTE, 10 * MINUTE, 4, 2)


def test_a_longest_way_that_takes_too_long_to_work_out_is_not_told(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(estimating, "_MOST_LOOKED_AT", 3)
    made = of(linked(JOB), bounds=True)
    assert made.longest is None
    assert made.shortest == Span(6 * MINUTE, 10 * MINUTE, 4, 2)


def test_guards_that_exclude_each_other_are_never_added_up():
    body = """\
steps:
  - {step: kind, ask: Which, answers: {a: go on, b: go on}}
  - {step: one, do: One., takes: 10 min, only if: {kind: a}}
  - {step: two, do: Two., takes: 20 min, only if: {kind: b}}
"""
    made = of(linked(body))
    assert (made.shortest.work, made.longest.work) == (10 * MINUTE, 20 * MINUTE)  # type: ignore[union-attr]


def test_put_off_work_counts_once_where_it_is_listed():
    body = """\
items: {lid: {kind: cover}}
steps:
  - {step: off, do: Off., takes off: [lid], takes: 2 min}
  - step: on
    do: On.
    puts back: [lid]
    takes: 3 min
    put off: {until: {time: 20 min, after: off}, before: end, because: it dries}
  - {step: other, do: Other., takes: 4 min}
"""
    made = of(linked(body))
    assert made.shortest == made.longest == Span(9 * MINUTE, 0, 3, 0)


def test_a_step_whose_time_was_over_may_have_cost_nothing_or_all():
    body = """\
steps:
  - {step: mix, do: Mix., takes: 1 min}
  - step: spread
    do: Spread.
    takes: 8 min
    in time: {from: mix, within: 5 min, too late: [{step: scrape, do: Scrape., takes: 2 min}]}
"""
    made = of(linked(body))
    assert (made.shortest.work, made.longest.work) == (3 * MINUTE, 11 * MINUTE)  # type: ignore[union-attr]


def test_without_any_estimate_nothing_is_said():
    made = of(linked("steps: [{step: one, do: One.}, {step: two, do: Two.}]\n"))
    assert (made.said, made.unsaid, made.shortest) == (0, ("one", "two"), Span(0, 0, 2, 2))


def test_steps_of_a_detour_are_on_no_way_to_the_end():
    body = """\
conditions: {support: {at start: down, changes: {down: [up], up: [down]}, getting there: {down: lower}}}
steps:
  - {step: raise, do: Up., sets: {support: up}, takes: 1 min}
  - {step: lower, do: Down., sets: {support: down}, takes: 1 min}
"""
    made = of(linked(body))
    assert (made.shortest, made.longest) == (Span(2 * MINUTE, 0, 2, 0),) * 2


def _walks(procedure: Procedure) -> Iterator[list[Node]]:
    """Every run of a procedure without guards, by its exits and their limits."""

    def onward(name: str, used: dict[str, int], done: list[Node]) -> Iterator[list[Node]]:
        node = procedure.by_id.get(name)
        if node is None:
            if name == "end":
                yield done
            return
        then = [*done, *([] if node.joint else [node])]
        for first in node.exits:
            way, count = first, used
            while way.limit is not None:
                taken = count.get(way.limit.id, 0)
                if taken < way.limit.at_most:
                    count = {**count, way.limit.id: taken + 1}
                    break
                way = way.limit.then
            yield from onward(way.to, count, then)
        if not node.exits:
            yield from onward(node.next, used, then)

    yield from onward(procedure.first, {}, [])


NESTED = """\
steps:
  - {step: a, do: A., takes: 3 min}
  - step: b
    ask: B
    takes: 1 min
    answers:
      on: go on
      back: {again: a, at most: 2, then: stop}
      in:
        - {step: c, do: C., takes: 7 min, wait: 2 min}
        - step: d
          ask: D
          answers: {good: go on, bad: {again: c, at most: 1, then: go on}, no: {again: b, at most: 1, then: stop}}
  - {step: e, do: E., takes: 2 min}
"""


def test_shortest_and_longest_are_those_of_every_single_run():
    """Oracle: all runs, walked one by one."""
    made = linked(NESTED)
    totals = [sum((n.takes or 0) + (n.wait or 0) for n in walk) for walk in _walks(made)]
    found = of(made)
    assert found.shortest.work + found.shortest.wait == min(totals)  # type: ignore[union-attr]
    assert found.longest.work + found.longest.wait == max(totals)  # type: ignore[union-attr]
    bounds = of(made, bounds=True)
    assert bounds.shortest.work + bounds.shortest.wait <= min(totals)  # type: ignore[union-attr]
    assert bounds.longest.work + bounds.longest.wait >= max(totals)  # type: ignore[union-attr]


PARTS = """\
parts: [{name: bolt, quantity: 9}, {name: seal, quantity: 1}]
items:
  bolts: {kind: fastener, count: 3, new: every time, part: bolt, tighten: [{torque: 60 N·m ±2 N·m}]}
steps:
  - {step: out, do: Out., takes out: [bolts]}
  - {step: in, do: In., starts: [bolts], tightens: [bolts]}
  - step: look
    ask: Good?
    answers:
      good: go on
      bad:
        - {step: again-out, do: Out., takes out: [bolts]}
        - {again: in, at most: 2, then: stop}
"""


def test_single_use_parts_are_counted_on_the_longest_way():
    assert most_used(explored_whole(linked(PARTS))) == {"bolt": 9}
    assert most_used(None) == {}


def test_a_place_chosen_at_the_start_is_on_every_way_and_one_of_them_is_not():
    body = """\
locations: {corner: {choose at start: [front, rear]}}
steps:
  - {each: corner, steps: [{step: look, do: Look.}]}
"""
    made = linked(body)
    world = explored_whole(made)
    front, rear = made.nodes
    assert unavoidable(world, [front, rear])
    assert not unavoidable(world, [front])
    assert not unavoidable(None, [front, rear])


def test_more_ways_than_the_budget_of_the_proof_are_not_explored(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(exploring, "budget_of", lambda procedure: 3)
    assert explored_whole(linked(JOB)) is None
