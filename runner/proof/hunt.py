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


class Tired(Exception):  # noqa: N818  an answer: the budget is spent
    """More was looked at than the budget allows."""


class Hunt:
    """Searches in one world; `budget` is how many places may be looked at in all."""

    def __init__(self, world: World, possible: Possible, budget: int) -> None:
        self._world, self._possible, self._left = world, possible, budget

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
        """The shortest way to where work stands at a step; None where there is none. Raises Tired."""
        control = self._world.control
        goals = {
            state
            for state, node in enumerate(control.nodes)
            if node is not None and node.id == name and control.places[state] is Place.STAND
        }
        return self._search(lambda state, known, local: state in goals, None, followed)

    def taken_up(self, name: str, followed: frozenset[Variable]) -> list[Stop] | None:
        """The shortest way to where a put-off step can be taken up; None where there is none. Raises Tired."""
        ledger, control = self._world.ledger, self._world.control
        unit = ledger.unit_of["off", name]

        def shown(state: int, known: _Known, local: int) -> bool:
            if control.places[state] not in (Place.STAND, Place.FINISH):
                return False
            here = 1 << unit.offset + local
            return name in ledger.taken_up_at(control.nodes[state], control.valuation[state], here)

        return self._search(shown, unit, followed)

    def _search(
        self, shown: Callable[[int, _Known, int], bool], unit: Unit | None, followed: frozenset[Variable]
    ) -> list[Stop] | None:
        came: dict[_At, tuple[_At, int] | None] = {}
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
            values: Values | Variable = self._possible.after(dict(known), state, number, followed)
            if isinstance(values, tuple):
                continue
            after = _sorted(values)
            locals_ = [0 if warns else local] if ways is None else bits_of(ways.get(edge.how, 0))
            for each in locals_:
                yield (edge.target, after, each), number


def _sorted(values: Values) -> _Known:
    return tuple(sorted(values.items(), key=lambda pair: pair[0]))


def _back(came: dict[_At, tuple[_At, int] | None], last: _At) -> list[Stop]:
    """The way to a place, from its start."""
    path = [Stop(last[0], last[2], -1)]
    here = came[last]
    while here is not None:
        (state, _, local), number = here
        path.append(Stop(state, local, number))
        here = came[here[0]]
    return path[::-1]
