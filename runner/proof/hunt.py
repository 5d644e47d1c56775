"""The way to a breach with a few more variables followed, where tracking them everywhere would be too much.

A search over (state, what those variables may be, state of the unit): what it does not come to, no run comes to.
"""

from collections import deque
from collections.abc import Callable, Iterable

from runner.proof.control import Place
from runner.proof.deeds import Breach
from runner.proof.possible import Possible, Values
from runner.proof.search import Stop
from runner.proof.transfers import bits_of
from runner.proof.units import Unit
from runner.proof.variables import Variable
from runner.proof.world import World

_Known = tuple[tuple[Variable, frozenset[str] | int], ...]
_At = tuple[int, _Known, int]
_Came = dict[_At, tuple[_At, int] | None]
"""By place, the place before it and the edge taken; None at a start."""


class Tired(Exception):  # noqa: N818  an answer: the budget is spent
    """More was looked at than the budget allows."""


class Hunt:
    """Searches in one world; `budget` is how many places may be looked at in all."""

    def __init__(self, world: World, possible: Possible, budget: int) -> None:
        self._world, self._possible, self._left = world, possible, budget
        self._came: dict[frozenset[Variable], _Came] = {}

    def breach(self, breach: Breach, followed: frozenset[Variable]) -> list[Stop] | None:
        """The shortest way to a breach; None where there is none. Raises Tired."""
        ledger = self._world.ledger
        number = ledger.unit_for(breach)
        unit = None if number is None else ledger.units[number]
        states = set(self._world.broken[breach])
        item = breach.subject if breach.rule == "left-open" else ""
        warned = breach.rule == "hazard-unannounced"

        def shown(state: int, known: _Known, local: int) -> bool:
            if state not in states:
                return False
            if item and self._possible.missing(dict(known), item, followed) is not None:
                return False
            if unit is None:
                return not warned or local == 1
            told: list[Breach] = []
            ledger.leave(state, 1 << unit.offset + local, told=told.append, partial=True)
            return breach in told

        return self._search(shown, unit, followed)

    def step(self, name: str, followed: frozenset[Variable]) -> list[Stop] | None:
        """A short way to where work stands at a step; None where there is none. Raises Tired.

        Everything that is come to with these variables followed is found at once: others will ask.
        """
        if not followed:
            return self._first_way(name)
        came = self._came.get(followed)
        if came is None:
            came = self._came[followed] = {}
            self._search(lambda state, known, local: False, None, followed, came)
        control = self._world.control
        for here in came:
            node = control.nodes[here[0]]
            if node is not None and node.id == name and control.places[here[0]] is Place.STAND:
                return _back(came, here)
        return None

    def _first_way(self, name: str) -> list[Stop] | None:
        """The way by which the exploration came to a step first."""
        control = self._world.control
        stands = (
            state
            for state, node in enumerate(control.nodes)
            if node is not None and node.id == name and control.places[state] is Place.STAND
        )
        last = next(stands, None)
        if last is None:
            return None
        path = [Stop(last, 0, -1)]
        while (before := control.before[path[-1].state]) >= 0:
            number = next(n for n, edge in enumerate(control.edges[before]) if edge.target == path[-1].state)
            path.append(Stop(before, 0, number))
        return path[::-1]

    def taken_up(self, name: str, followed: frozenset[Variable]) -> list[Stop] | None:
        """The shortest way to where a put-off step can be taken up; None where there is none. Raises Tired."""
        ledger, control = self._world.ledger, self._world.control
        unit = ledger.unit_of["off", name]

        def shown(state: int, known: _Known, local: int) -> bool:
            if control.places[state] not in (Place.STAND, Place.FINISH):
                return False
            here = 1 << unit.offset + local
            return name in ledger.taken_up_at(state, here)

        return self._search(shown, unit, followed)

    def _search(
        self,
        shown: Callable[[int, _Known, int], bool],
        unit: Unit | None,
        followed: frozenset[Variable],
        came: "_Came | None" = None,
    ) -> list[Stop] | None:
        came = {} if came is None else came
        waiting: deque[_At] = deque()
        for state, sets in self._world.starts:
            locals_ = [1] if unit is None else list(bits_of(self._world.ledger.part(sets, unit)))
            for local in locals_:
                for values in self._possible.starts(state, followed):
                    if isinstance(values, tuple):
                        continue
                    first = (state, _sorted(values), local)
                    if first not in came:
                        came[first] = None
                        waiting.append(first)
        while waiting:
            here = waiting.popleft()
            self._left -= 1
            if self._left < 0:
                raise Tired
            if shown(*here):
                return _back(came, here)
            for there, number in self._onward(here, unit, followed):
                if there not in came:
                    came[there] = (here, number)
                    waiting.append(there)
        return None

    def _onward(
        self, here: _At, unit: Unit | None, followed: frozenset[Variable]
    ) -> Iterable[tuple[_At, int]]:
        state, known, local = here
        ledger, control = self._world.ledger, self._world.control
        ways = None if unit is None else ledger.follow(state, unit, local)
        node = control.nodes[state]
        stood = control.places[state] is Place.STAND
        warns = node is not None and stood and node.warns and node.put_off is None
        for number, edge in enumerate(control.edges[state]):
            if (state, number) not in ledger.known:
                continue
            after = known
            if not self._possible.plain(state, number):
                values = self._possible.after(dict(known), state, number, followed)
                if isinstance(values, tuple):
                    continue
                after = _sorted(values)
            locals_ = [0 if warns else local] if ways is None else bits_of(ways.get(edge.how, 0))
            for each in locals_:
                yield (edge.target, after, each), number


def _sorted(values: Values) -> _Known:
    return tuple(sorted(values.items(), key=lambda pair: pair[0]))


def _back(came: _Came, last: _At) -> list[Stop]:
    """The way to a place, from its start."""
    path = [Stop(last[0], last[2], -1)]
    here = came[last]
    while here is not None:
        (state, _, local), number = here
        path.append(Stop(state, local, number))
        here = came[here[0]]
    return path[::-1]
