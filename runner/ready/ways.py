"""Under which answers, conditions and choices each step is come to: what "only if" on the sheet rests on.

A way out of a step counts as said for every step that cannot be come to without it. So nothing is said that is not so;
where two ways lead to a step, only what both have in common is said.
"""

import heapq
from collections.abc import Iterator
from typing import NamedTuple

from runner.frozen import Frozen
from runner.procedure.linked import BACK, END, STOP, Exit, Node, Procedure, Test


class When(Frozen):
    """When a step is done. `only` is what must hold, in words; `detour` which condition it brings back, if it does.

    `always`: no way to the end passes it by. Where it is neither that nor has words, two ways of several lead to it.
    """

    only: tuple[str, ...] = ()
    detour: str = ""
    always: bool = True

    @property
    def words(self) -> str:
        """`only if boot: torn; only for headlamps: self-levelling`; empty for a step of every way."""
        if self.detour:
            return f"only on the way back to {self.detour}"
        return "; ".join(self.only) or ("" if self.always else "perhaps not on every way")


class _Place(NamedTuple):
    """A point of the graph: work comes to a step, does it, or takes a way out of it."""

    kind: str
    name: str
    way: int = 0


_START, _FINISH, _STOPPED = _Place("start", ""), _Place("finish", ""), _Place("stopped", "")


class Ways:
    """The ways of one procedure."""

    def __init__(self, procedure: Procedure) -> None:
        self._procedure = procedure
        self._locations = {choice.name for choice in procedure.choices if choice.location}
        self._ahead: dict[_Place, list[_Place]] = {_START: [self._to(procedure.first)]}
        self._takes: dict[_Place, tuple[Node, str]] = {}
        for node in procedure.nodes:
            self._add(node)
        self._above = _dominators(self._ahead, _START)
        self._sure = set(self._chain(_FINISH)) if _FINISH in self._above else set()
        self._detours = dict(self._on_detours())

    def when(self, node: Node) -> When:
        """When a step is done."""
        done = _Place("do", node.id)
        if done not in self._above:
            return When(detour=self._detours.get(node.id, ""), always=False)
        chain = reversed([*self._chain(done)])
        words = [self._says(place) for place in chain if place not in self._sure]
        return When(tuple(dict.fromkeys(word for word in words if word)), always=done in self._sure)

    def least(self, cost: dict[str, int]) -> int | None:
        """The least that the steps of a way to the end cost together; None where no way leads there."""
        best = {_START: 0}
        waiting = [(0, _START)]
        while waiting:
            so_far, here = heapq.heappop(waiting)
            if here == _FINISH:
                return so_far
            if so_far > best[here]:
                continue
            more = so_far + (cost.get(here.name, 0) if here.kind == "do" else 0)
            for there in self._ahead.get(here, ()):
                if there not in best or more < best[there]:
                    best[there] = more
                    heapq.heappush(waiting, (more, there))
        return None

    def _to(self, name: str) -> _Place:
        if name in (STOP, BACK):
            return _STOPPED
        return _FINISH if name == END or name not in self._procedure.by_id else _Place("come", name)

    def _add(self, node: Node) -> None:
        come, done = _Place("come", node.id), _Place("do", node.id)
        self._ahead[come] = [done, *([self._to(node.skip)] if node.guard else [])]
        chosen = (*node.answers, *(sorting.exit for reading in node.readings for sorting in reading.sorting))
        on = self._ahead[done] = [] if chosen else [self._to(node.next)]
        for first in node.exits:
            way: Exit = first
            while True:
                place = _Place("way", node.id, len(on))
                on.append(place)
                self._ahead[place] = [self._to(way.to)]
                if node.joint is None:
                    self._takes[place] = (node, first.label)
                if way.limit is None:
                    break
                way = way.limit.then

    def _chain(self, place: _Place) -> Iterator[_Place]:
        """The places that work cannot come to `place` without, itself among them, the first last."""
        while place != _START:
            yield place
            place = self._above[place]

    def _says(self, place: _Place) -> str:
        if place in self._takes:
            node, label = self._takes[place]
            return f"only if {node.step}: {label}"
        if place.kind != "do":
            return ""
        return "; ".join(
            self._test(test) for test in self._procedure.by_id[place.name].guard if self._told(test)
        )

    def _told(self, test: Test) -> bool:
        """Whether the place of a step does not tell it already: `front left` of a corner chosen at the start."""
        return not (test.kind == "choice" and test.name in self._locations)

    @staticmethod
    def _test(test: Test) -> str:
        name = test.name.rpartition("/")[2].partition("@")[0] if test.kind == "answer" else test.name
        return f"only {'for' if test.kind == 'choice' else 'if'} {name}: {' or '.join(test.values)}"

    def _on_detours(self) -> Iterator[tuple[str, str]]:
        for condition in self._procedure.conditions:
            for value, head in condition.getting_there:
                for place in _reached(self._ahead, self._to(head)):
                    if place.kind == "do":
                        yield place.name, f"{condition.name}: {value}"


def _reached(ahead: dict[_Place, list[_Place]], start: _Place) -> list[_Place]:
    """Every place that can be come to, in reverse postorder."""
    seen, postorder, stack = {start}, [], [(start, iter(ahead.get(start, ())))]
    while stack:
        here, rest = stack[-1]
        there = next((each for each in rest if each not in seen), None)
        if there is None:
            postorder.append(here)
            stack.pop()
        else:
            seen.add(there)
            stack.append((there, iter(ahead.get(there, ()))))
    return postorder[::-1]


def _dominators(ahead: dict[_Place, list[_Place]], start: _Place) -> dict[_Place, _Place]:
    """For each place the nearest other one that no way to it leaves out (Cooper, Harvey and Kennedy 2001)."""
    order = _reached(ahead, start)
    rank = {place: number for number, place in enumerate(order)}
    behind: dict[_Place, list[_Place]] = {}
    for here in order:
        for there in ahead.get(here, ()):
            behind.setdefault(there, []).append(here)
    above = {start: start}
    changed = True
    while changed:
        changed = False
        for place in order[1:]:
            known = [each for each in behind[place] if each in above]
            found = known[0]
            for other in known[1:]:
                while found != other:
                    while rank[found] > rank[other]:
                        found = above[found]
                    while rank[other] > rank[found]:
                        other = above[other]  # noqa: PLW2901 - both climb until they meet
            if above.get(place) != found:
                above[place] = found
                changed = True
    return above
