"""What gates and waiting do to sets of states of one unit; each set is worked out once.

A set is a whole number: bit n says that state n of the unit is possible.
"""

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from runner.procedure.linked import Node, Procedure
from runner.proof.deeds import Breach, Stand, Waiting, deed
from runner.proof.units import Unit, used_inputs

Barred = frozenset[tuple[int, int]]
"""(act, stage) whose `only when` does not hold; stage 0 is re-tightening."""


def bits_of(number: int) -> Iterator[int]:
    """The places of the bits that are set, lowest first."""
    while number:
        low = number & -number
        yield low.bit_length() - 1
        number ^= low


Broken = frozenset[tuple[str, int]]
"""What is broken: (rule, number in the unit of what it is about)."""


class Taken:
    """The edges (state, number) that some run takes: all of a state that is reached, but those the ledger forbids."""

    def __init__(self, sets: Sequence[int], forbidden: frozenset[tuple[int, int]]) -> None:
        self._sets, self._forbidden = sets, forbidden

    def __contains__(self, edge: tuple[int, int]) -> bool:
        return bool(self._sets[edge[0]]) and edge not in self._forbidden


class Gates:
    """What the gate of a step does to sets of states of one unit, and of every unit that is alike."""

    __slots__ = ("_barred", "_memo", "_node", "_procedure", "_unit")

    def __init__(self, procedure: Procedure, unit: Unit, node: Node, barred: Barred) -> None:
        self._procedure, self._unit, self._node, self._barred = procedure, unit, node, barred
        self._memo: dict[int, tuple[int, int, int, Broken]] = {}

    def of(self, states: int) -> tuple[int, int, int, Broken]:
        """(sets after done, refused and late, and what is broken)."""
        found = self._memo.get(states)
        if found is None:
            unit = self._unit
            done = refused = late = 0
            broken: set[tuple[str, int]] = set()
            for state in bits_of(states):
                out = deed(self._procedure, unit, self._node, state, self._barred)
                done |= 1 << out.done
                refused |= 1 << out.refused
                for each in out.late:
                    late |= 1 << each
                for breach in out.breaches:
                    entered = breach.rule == "not-yet-entered"
                    subject: object = ("entered", breach.subject) if entered else breach.subject
                    broken.add((breach.rule, unit.numbers[subject]))
            found = self._memo[states] = (done, refused, late, frozenset(broken))
        return found


class Deeds:
    """The gates of a step for one unit, with what is broken under the unit's own names."""

    __slots__ = ("_gates", "_unit")

    def __init__(self, gates: Gates, unit: Unit) -> None:
        self._gates, self._unit = gates, unit

    def of(self, states: int) -> tuple[int, int, int, tuple[tuple[str, str], ...]]:
        """(sets after done, refused and late, and what is broken as (rule, subject))."""
        done, refused, late, broken = self._gates.of(states)
        if not broken:
            return done, refused, late, ()
        names = [name if isinstance(name, str) else name[1] for name in self._unit.names]
        return done, refused, late, tuple((rule, names[number]) for rule, number in sorted(broken))


def gate_shape(unit: Unit, node: Node) -> tuple[object, ...]:
    """What a gate has to do with a unit, by places: gates alike in this move units alike in the same way."""
    return (
        node.joint is not None,
        tuple((unit.place_of[t.name], t.values) for t in node.needs if t.kind == "item" and t.name in unit),
        tuple((unit.spot(act.item), act.verb, act.stages) for act in node.acts),
        unit.spot(("entered", node.id)),
        unit.spot(("done", node.id)),
        tuple(unit.spot(("entered", source)) for source in used_inputs(node)),
        node.wait is not None,
        any(reading.kind != "worked out" for reading in node.readings),
        bool(node.answers) or node.hold is not None,
    )


class _Stood(NamedTuple):
    """What can happen to a set before a step begins, in the words of the unit it was worked out for."""

    begins: int
    broken: frozenset[Breach]
    taken: frozenset[int]
    passed: frozenset[int]
    escaped: int


class Stood(NamedTuple):
    """What can happen to a set before a step begins: the set in which it may begin, what is broken, the put-off steps
    that can be taken up, those whose last open window was passed by before they are due here, and the set in which the
    clock can take the work on before the step begins.
    """

    begins: int
    broken: frozenset[Breach]
    taken: frozenset[str]
    passed: frozenset[str]
    escaped: int


class Waits:
    """What can happen before a step begins to sets of states of one unit, and of every unit that is alike."""

    __slots__ = ("_memo", "_procedure", "_waiting", "offs", "unit")

    def __init__(self, procedure: Procedure, unit: Unit, offs: tuple[str, ...], waiting: Waiting) -> None:
        self.unit, self.offs, self._procedure, self._waiting = unit, offs, procedure, waiting
        self._memo: dict[int, _Stood] = {}

    def of(self, states: int) -> _Stood:
        """What becomes of a set."""
        found = self._memo.get(states)
        if found is None:
            stand = Stand(self._procedure, self.unit, self.offs, self._waiting)
            begins = escaped = 0
            broken: set[Breach] = set()
            taken: set[int] = set()
            passed: set[int] = set()
            for state in bits_of(states):
                after, breaches, last = stand.outcome(state)
                passed |= last
                for each in after:
                    begins |= 1 << each
                broken |= breaches
                for now in stand.closure(state):
                    taken.update(stand.open_here(now))
                    escaped |= 1 << stand.escape(now)
            found = self._memo[states] = _Stood(
                begins, frozenset(broken), frozenset(taken), frozenset(passed), escaped
            )
        return found


class Stands:
    """What can happen to sets of states of one unit before a step begins, under the unit's own names."""

    __slots__ = ("_memo", "_offs", "_procedure", "_unit", "_waiting", "_waits")

    def __init__(
        self, procedure: Procedure, unit: Unit, offs: tuple[str, ...], waiting: Waiting, waits: Waits
    ) -> None:
        self._procedure, self._unit, self._offs = procedure, unit, offs
        self._waiting, self._waits = waiting, waits
        self._memo: dict[int, Stood] = {}

    @property
    def stand(self) -> Stand:
        """The same, state by state."""
        return Stand(self._procedure, self._unit, self._offs, self._waiting)

    def of(self, states: int) -> Stood:
        """What becomes of a set."""
        found = self._memo.get(states)
        if found is None:
            begins, broken, taken, passed, escaped = self._waits.of(states)
            found = self._memo[states] = Stood(
                begins,
                frozenset(self._own(breach) for breach in broken),
                frozenset(self._offs[place] for place in taken),
                frozenset(self._offs[place] for place in passed),
                escaped,
            )
        return found

    def _own(self, breach: Breach) -> Breach:
        """A breach found for a unit that is alike, under the names of this one."""
        first = self._waits.unit
        if first is self._unit:
            return breach
        node = self._offs[self._waits.offs.index(breach.node)]
        entered = breach.rule == "not-yet-entered"
        number = first.numbers.get(("entered", breach.subject) if entered else breach.subject)
        if number is None:
            return Breach(breach.rule, node, breach.subject)
        name = self._unit.names[number]
        return Breach(breach.rule, node, name if isinstance(name, str) else name[1])


def wait_shape(procedure: Procedure, unit: Unit, name: str, offs: tuple[str, ...]) -> tuple[object, ...]:
    """What one put-off step of a unit waits for and does, by places: units alike in this wait alike. `offs` are those
    that are owed with it.
    """
    node = procedure.by_id[name]
    assert node.put_off is not None
    until = node.put_off.until
    flags = tuple(unit.spot(("done", source)) for source in until.nodes)
    awaited = tuple(offs.index(source) if source in offs else -1 for source in until.nodes)
    kinds = (until.kind, bool(until.tests), node.put_off.before.kind == "condition")
    return unit.spots["off", name], gate_shape(unit, node), kinds, flags, awaited
