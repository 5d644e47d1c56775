"""How often a step can be done at most, from how often each way back may be taken.

A step is done again only after a way back over it. The ways back whose own round (from where they lead on to where
they are taken, by no other way back) holds the step are counted; where those cut every circle through the step, it is
done at most once more for each time they may be taken. Where they do not, every way back over its place is counted.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from functools import cached_property
from typing import NamedTuple

from runner.procedure.linked import Exit, Node, Procedure

NO_BOUND = 1 << 30
"""Said where the steps do not stand in an order in which only ways back lead back."""


class _Back(NamedTuple):
    """A way back: its limit, the place that it leads to and the place where it is taken."""

    limit: str
    first: int
    last: int


class Visits:
    """The bounds of one procedure."""

    def __init__(self, procedure: Procedure) -> None:
        self._places = procedure.places
        self._ahead: list[Sequence[int]] = list(procedure.ahead)
        """By place, where a step leads without a way back."""
        self._most: dict[str, int] = {}
        self._back: list[_Back] = []
        for place, node in enumerate(procedure.nodes):
            if node.may_choose:
                self._note(place, node)
        self._ordered = all(to > place for place, leads in enumerate(self._ahead) for to in leads)
        self._rounds: dict[_Back, set[int]] = {}

    def _note(self, place: int, node: Node) -> None:
        """Where a step with a choice leads without a way back, and its ways back."""
        found = [node.next, *([node.skip] if node.guard else [])]
        for first in node.exits:
            way: Exit = first
            while way.limit is not None:
                self._back.append(_Back(way.limit.id, self._places.get(way.to, place), place))
                self._most[way.limit.id] = way.limit.at_most
                way = way.limit.then
            found.append(way.to)
        self._ahead[place] = [self._places[to] for to in found if to in self._places]

    @cached_property
    def _behind(self) -> Mapping[int, Sequence[int]]:
        """By place, the steps that lead to it without a way back."""
        found: dict[int, list[int]] = {}
        for place, leads in enumerate(self._ahead):
            for to in leads:
                found.setdefault(to, []).append(place)
        return found

    def most(self, name: str) -> int:
        """How often a step can be done at most."""
        if not self._ordered:
            return NO_BOUND
        here = self._places[name]
        over = self._over(here)
        counted = [back for back in over if here in self._round(back)]
        if len(counted) < len(over) and self._circles(here, over, {back.limit for back in counted}):
            counted = over
        return 1 + sum(self._most[limit] for limit in {back.limit for back in counted})

    def over(self, name: str) -> set[str]:
        """The limits of the ways back that may lead to a step again."""
        if not self._ordered:
            return set(self._most)
        return {back.limit for back in self._over(self._places[name])}

    def _over(self, here: int) -> list[_Back]:
        return [back for back in self._back if back.first <= here <= back.last]

    def _round(self, back: _Back) -> set[int]:
        """The steps between where a way back leads and where it is taken."""
        found = self._rounds.get(back)
        if found is None:
            ahead = self._reach(lambda place: self._ahead[place], back.first, back)
            behind = self._reach(lambda place: self._behind.get(place, ()), back.last, back)
            found = self._rounds[back] = ahead & behind
        return found

    def _reach(self, leads: Callable[[int], Iterable[int]], start: int, back: _Back) -> set[int]:
        found: set[int] = set()
        waiting = [start]
        while waiting:
            here = waiting.pop()
            if here not in found and back.first <= here <= back.last:
                found.add(here)
                waiting += leads(here)
        return found

    def _circles(self, place: int, over: list[_Back], without: set[str]) -> bool:
        """Whether a step can come to itself without these ways back."""
        last = max(back.last for back in over)
        jumps: dict[int, list[int]] = {}
        for back in self._back:
            if back.limit not in without and back.last <= last:
                jumps.setdefault(back.last, []).append(back.first)
        seen: set[int] = set()
        waiting = [*self._ahead[place], *jumps.get(place, ())]
        while waiting:
            here = waiting.pop()
            if here == place:
                return True
            if here not in seen and here <= last:
                seen.add(here)
                waiting += self._ahead[here]
                waiting += jumps.get(here, ())
        return False
