"""How often a step can be done at most, from how often each way back may be taken.

A step is done again only after a way back over it. The ways back whose own round (from where they lead on to where
they are taken, by no other way back) holds the step are counted; where those cut every circle through the step, it is
done at most once more for each time they may be taken. Where they do not, every way back over its place is counted.
"""

from collections.abc import Mapping
from typing import NamedTuple

from runner.procedure.linked import Exit, Node, Procedure

NO_BOUND = 1 << 30
"""Said where the steps do not stand in an order in which only ways back lead back."""


class _Back(NamedTuple):
    limit: str
    start: str
    to: str
    first: int
    last: int


class Visits:
    """The bounds of one procedure."""

    def __init__(self, procedure: Procedure) -> None:
        self._place = {node.id: place for place, node in enumerate(procedure.nodes)}
        self._ahead: dict[str, list[str]] = {}
        self._behind: dict[str, list[str]] = {}
        self._most: dict[str, int] = {}
        self._back: list[_Back] = []
        self._ordered = True
        for node in procedure.nodes:
            self._note(node)
        self._rounds: dict[_Back, set[str]] = {}

    def _note(self, node: Node) -> None:
        """Where a step leads without a way back, and its ways back."""
        here = self._place[node.id]
        found = [node.next, *([node.skip] if node.guard else [])]
        for first in node.exits:
            way: Exit = first
            while way.limit is not None:
                self._back.append(_Back(way.limit.id, node.id, way.to, self._place.get(way.to, here), here))
                self._most[way.limit.id] = way.limit.at_most
                way = way.limit.then
            found.append(way.to)
        self._ahead[node.id] = [to for to in found if to in self._place]
        for to in self._ahead[node.id]:
            self._behind.setdefault(to, []).append(node.id)
            self._ordered = self._ordered and self._place[to] > here

    def most(self, name: str) -> int:
        """How often a step can be done at most."""
        if not self._ordered:
            return NO_BOUND
        over = self._over(name)
        counted = [back for back in over if name in self._round(back)]
        if len(counted) < len(over) and self._circles(name, over, {back.limit for back in counted}):
            counted = over
        return 1 + sum(self._most[limit] for limit in {back.limit for back in counted})

    def over(self, name: str) -> set[str]:
        """The limits of the ways back that may lead to a step again."""
        return {back.limit for back in self._over(name)} if self._ordered else set(self._most)

    def _over(self, name: str) -> list[_Back]:
        here = self._place[name]
        return [back for back in self._back if back.first <= here <= back.last]

    def _round(self, back: _Back) -> set[str]:
        """The steps between where a way back leads and where it is taken."""
        found = self._rounds.get(back)
        if found is None:
            ahead = self._reach(self._ahead, back.to, back)
            found = self._rounds[back] = ahead & self._reach(self._behind, back.start, back)
        return found

    def _reach(self, leads: Mapping[str, list[str]], start: str, back: _Back) -> set[str]:
        found: set[str] = set()
        waiting = [start]
        while waiting:
            here = waiting.pop()
            if here not in found and back.first <= self._place[here] <= back.last:
                found.add(here)
                waiting += leads.get(here, ())
        return found

    def _circles(self, name: str, over: list[_Back], without: set[str]) -> bool:
        """Whether a step can come to itself without these ways back."""
        last = max(back.last for back in over)
        jumps: dict[str, list[str]] = {}
        for back in self._back:
            if back.limit not in without and back.last <= last:
                jumps.setdefault(back.start, []).append(back.to)
        seen: set[str] = set()
        waiting = [*self._ahead[name], *jumps.get(name, ())]
        while waiting:
            here = waiting.pop()
            if here == name:
                return True
            if here not in seen and self._place.get(here, last + 1) <= last:
                seen.add(here)
                waiting += self._ahead[here]
                waiting += jumps.get(here, ())
        return False
