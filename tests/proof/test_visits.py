"""The bound on how often a step can be done is never below what a run can do."""

from hypothesis import given, settings
from hypothesis import strategies as st

from runner.procedure.linked import END, STOP, Exit, Procedure
from runner.proof.visits import Visits
from tests.procedure.procedure_text import linked
from tests.proof.generate import seeded

LOOP = """\
steps:
  - {step: a, do: A.}
  - step: b
    ask: B?
    answers: {on: go on, back: {again: a, at most: 2, then: stop}}
  - {step: c, do: C.}
  - step: d
    ask: D?
    answers: {on: go on, back: {again: a, at most: 3, then: go on}, near: {again: c, at most: 1, then: go on}}
  - {step: e, do: E.}
"""


def _most_done(procedure: Procedure, most: int = 40_000) -> dict[str, int]:
    """By plain search over (step, ways back used, times done): the most that each step is done on any way."""
    found: dict[str, int] = {}
    waiting = [(procedure.first, (), ())]
    seen = set()
    while waiting and len(seen) < most:
        name, used, done = waiting.pop()
        if name in (END, STOP) or (name, used, done) in seen:
            continue
        seen.add((name, used, done))
        node = procedure.by_id[name]
        counts = dict(done)
        counts[name] = counts.get(name, 0) + 1
        found[name] = max(found.get(name, 0), counts[name])
        now = tuple(sorted(counts.items()))
        for first in node.exits or (Exit(label="", to=node.next),):
            way: Exit = first
            spent = dict(used)
            while way.limit is not None and spent.get(way.limit.id, 0) >= way.limit.at_most:
                way = way.limit.then
            if way.limit is not None:
                spent[way.limit.id] = spent.get(way.limit.id, 0) + 1
            waiting.append((way.to, tuple(sorted(spent.items())), now))
        if node.guard:
            waiting.append((node.skip, used, done))
        if node.exits:
            waiting.append((node.next, used, now))
    return found


def test_loops_in_loops() -> None:
    procedure = linked(LOOP)
    visits, most = Visits(procedure), _most_done(procedure)
    assert most == {"a": 6, "b": 6, "c": 5, "d": 5, "e": 1}
    assert {name: visits.most(name) for name in most} == {"a": 6, "b": 6, "c": 5, "d": 5, "e": 1}
    assert visits.over("e") == set()


@given(st.integers(0, 10_000))
@settings(max_examples=60, deadline=None)
def test_no_run_does_a_step_more_often(seed: int) -> None:
    procedure = seeded(seed).procedure
    visits = Visits(procedure)
    for name, times in _most_done(procedure).items():
        assert times <= visits.most(name), name
