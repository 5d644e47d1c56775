"""What gates and waiting do to sets of states of one unit; each set is worked out once.

A set is a whole number: bit n says that state n of the unit is possible.
"""

from collections.abc import Iterator

from runner.procedure.linked import Node, Procedure
from runner.proof.deeds import Breach, Stand, Waiting, deed
from runner.proof.units import Unit

Barred = frozenset[tuple[int, int]]
"""(act, stage) whose `only when` does not hold; stage 0 is re-tightening."""


def bits_of(number: int) -> Iterator[int]:
    """The places of the bits that are set, lowest first."""
    while number:
        low = number & -number
        yield low.bit_length() - 1
        number ^= low


class Deeds:
    """What a step does to sets of states of one unit; each set is worked out once."""

    __slots__ = ("_barred", "_memo", "_node", "_procedure", "_unit")

    def __init__(self, procedure: Procedure, unit: Unit, node: Node, barred: Barred) -> None:
        self._procedure, self._unit, self._node, self._barred = procedure, unit, node, barred
        self._memo: dict[int, tuple[int, int, int, frozenset[tuple[str, str]]]] = {}

    def of(self, states: int) -> tuple[int, int, int, frozenset[tuple[str, str]]]:
        """(sets after done, refused and late, and what is broken as (rule, subject))."""
        found = self._memo.get(states)
        if found is None:
            done = refused = late = 0
            broken: set[tuple[str, str]] = set()
            for state in bits_of(states):
                out = deed(self._procedure, self._unit, self._node, state, self._barred)
                done |= 1 << out.done
                refused |= 1 << out.refused
                for each in out.late:
                    late |= 1 << each
                broken |= {(breach.rule, breach.subject) for breach in out.breaches}
            found = self._memo[states] = (done, refused, late, frozenset(broken))
        return found


class Stands:
    """What can happen to sets of states of one unit before a step begins."""

    __slots__ = ("_escaped", "_memo", "_taken", "stand")

    def __init__(self, procedure: Procedure, unit: Unit, waiting: Waiting) -> None:
        self.stand = Stand(procedure, unit, waiting)
        self._memo: dict[int, tuple[int, frozenset[Breach], frozenset[str]]] = {}
        self._escaped: dict[int, int] = {}
        self._taken: dict[int, frozenset[str]] = {}

    def taken(self, states: int) -> frozenset[str]:
        """The put-off steps that can be taken up."""
        found = self._taken.get(states)
        if found is None:
            stand = self.stand
            found = self._taken[states] = frozenset(
                stand.unit.offs[place]
                for state in bits_of(states)
                for now in stand.closure(state)
                for place in stand.open_here(now)
            )
        return found

    def escaped(self, states: int) -> int:
        """The set in which the clock can take the work on before the step begins."""
        found = self._escaped.get(states)
        if found is None:
            found = 0
            for state in bits_of(states):
                for now in self.stand.closure(state):
                    found |= 1 << self.stand.escape(now)
            self._escaped[states] = found
        return found

    def of(self, states: int) -> tuple[int, frozenset[Breach], frozenset[str]]:
        """(the set in which the step may begin, what is broken, what can be missed)."""
        found = self._memo.get(states)
        if found is None:
            begins, broken, missed = 0, frozenset[Breach](), frozenset[str]()
            for state in bits_of(states):
                after, breaches, lost = self.stand.outcome(state)
                for each in after:
                    begins |= 1 << each
                broken, missed = broken | breaches, missed | lost
            found = self._memo[states] = (begins, broken, missed)
        return found
