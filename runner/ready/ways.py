"""Under which answers, conditions and choices each step is come to: what "only if" on the sheet rests on.

A way out of a step counts as said for every step that cannot be come to without it. So nothing is said that is not so;
where two ways lead to a step, only what both have in common is said.
"""

import heapq
from collections.abc import Iterator, Mapping, Sequence
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


class Place(NamedTuple):
    """A point of the graph: work comes to a step, does it, or takes a way out of it."""

    kind: str
    name: str
    way: int = 0


Ahead = Mapping[Place, Sequence[Place]]
"""Where each place leads."""

_START, _FINISH, _STOPPED = Place("start", ""), Place("finish", ""), Place("stopped", "")


class Ways:
    """The ways of one procedure."""

    def __init__(self, procedure: Procedure) -> None:
        self._procedure = procedure
        self._locations = {choice.name for choice in procedure.choices if choice.location}
        self._ahead: dict[Place, list[Place]] = {_START: [self._to(procedure.first)]}
        self._takes: dict[Place, tuple[Node, str]] = {}
        for node in procedure.nodes:
            self._add(node)
        self._above = dominators(self._ahead, _START)
        self._sure = set(self._chain(_FINISH)) if _FINISH in self._above else set()
        self._told = self._all_told()
        self._detours = dict(self._on_detours())

    def when(self, node: Node) -> When:
        """When a step is done."""
        done = Place("do", node.id)
        if done not in self._above:
            return When(detour=self._detours.get(node.id, ""), always=False)
        return When(self._told[done], always=done in self._sure)

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

    def _to(self, name: str) -> Place:
        if name in (STOP, BACK):
            return _STOPPED
        return _FINISH if name == END or name not in self._procedure.by_id else Place("come", name)

    def _add(self, node: Node) -> None:
        come, done = Place("come", node.id), Place("do", node.id)
        self._ahead[come] = [done, *([self._to(node.skip)] if node.guard else [])]
        chosen = (*node.answers, *(sorting.exit for reading in node.readings for sorting in reading.sorting))
        on = self._ahead[done] = [] if chosen else [self._to(node.next)]
        for first in node.exits:
            way: Exit = first
            while True:
                place = Place("way", node.id, len(on))
                on.append(place)
                self._ahead[place] = [self._to(way.to)]
                if node.joint is None:
                    self._takes[place] = (node, first.label)
                if way.limit is None:
                    break
                way = way.limit.then

    def _all_told(self) -> dict[Place, tuple[str, ...]]:
        """For each place what must hold: what is said above it and, where some way goes past it, of it."""
        told: dict[Place, tuple[str, ...]] = {_START: ()}
        for place, above in self._above.items():
            if place == _START:
                continue
            told[place] = told[above]
            words = "" if place in self._sure else self._says(place)
            if words and words not in told[above]:
                told[place] = (*told[above], words)
        return told

    def _chain(self, place: Place) -> Iterator[Place]:
        """The places that work cannot come to `place` without, itself among them, the nearest first."""
        while place != _START:
            yield place
            place = self._above[place]

    def _says(self, place: Place) -> str:
        if place in self._takes:
            node, label = self._takes[place]
            return f"only if {node.step}: {label}"
        if place.kind != "do":
            return ""
        return "; ".join(
            self._test(test) for test in self._procedure.by_id[place.name].guard if self._worth(test)
        )

    def _worth(self, test: Test) -> bool:
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


def _reached(ahead: Ahead, start: Place) -> list[Place]:
    """Every place that can be come to."""
    seen, waiting = {start: None}, [start]
    while waiting:
        for there in ahead.get(waiting.pop(), ()):
            if there not in seen:
                seen[there] = None
                waiting.append(there)
    return list(seen)


def dominators(ahead: Ahead, start: Place) -> dict[Place, Place]:
    """For each place that can be come to, the nearest other one that no way to it leaves out, which stands before it.

    By semidominators with path compression (Lengauer and Tarjan 1979, in the form of Georgiadis 2005).
    """
    order, parent = _preorder(ahead, start)
    rank = {place: number for number, place in enumerate(order)}
    behind: list[list[int]] = [[] for _ in order]
    for number, place in enumerate(order):
        for there in ahead.get(place, ()):
            behind[rank[there]].append(number)
    semi, label, root = list(range(len(order))), list(range(len(order))), [-1] * len(order)
    for number in range(len(order) - 1, 0, -1):
        for other in behind[number]:
            semi[number] = min(semi[number], semi[_least(other, semi, label, root)])
        root[number] = parent[number]
    above = parent
    for number in range(1, len(order)):
        while above[number] > semi[number]:
            above[number] = above[above[number]]
    return {place: order[above[number]] for number, place in enumerate(order)}


def _least(number: int, semi: list[int], label: list[int], root: list[int]) -> int:
    """The one with the least semidominator from a number up to the root of its tree; the way there is shortened."""
    if root[number] < 0:
        return number
    path, here = [], number
    while root[root[here]] >= 0:
        path.append(here)
        here = root[here]
    for each in reversed(path):
        up = root[each]
        if semi[label[up]] < semi[label[each]]:
            label[each] = label[up]
        root[each] = root[up]
    return label[number]


def _preorder(ahead: Ahead, start: Place) -> tuple[list[Place], list[int]]:
    """The places in the order of a search in depth, and for each the number of the one it was found from."""
    order, parent, rank = [start], [0], {start: 0}
    stack = [(start, iter(ahead.get(start, ())))]
    while stack:
        here, rest = stack[-1]
        there = next((each for each in rest if each not in rank), None)
        if there is None:
            stack.pop()
            continue
        rank[there] = len(order)
        order.append(there)
        parent.append(rank[here])
        stack.append((there, iter(ahead.get(there, ()))))
    return order, parent
