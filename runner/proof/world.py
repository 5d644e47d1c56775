"""One exploration of a procedure with some variables tracked, and everything it finds broken."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import compress

from runner.frozen import Frozen
from runner.procedure.linked import Procedure
from runner.proof.book import HERE, UNWARNED
from runner.proof.control import Control, Explorer, starts_of
from runner.proof.deeds import Breach
from runner.proof.fixpoint import Swept, stood, swept
from runner.proof.search import Stop, Waves, edges_back, shortest, waves
from runner.proof.sweep import Ledger
from runner.proof.units import Unit, start_state
from runner.proof.variables import Variable, variables_of


@dataclass
class World:
    """A control graph, its ledger, the sets at each state and what is broken where."""

    procedure: Procedure
    tracked: tuple[Variable, ...]
    control: Control
    ledger: Ledger
    swept: Swept
    starts: list[tuple[int, int]]

    @property
    def sets(self) -> Sequence[int]:
        """By state, what is possible there."""
        return self.swept.sets

    @property
    def passed_by(self) -> frozenset[str]:
        """The put-off steps that somebody can come too late for by passing their cues by."""
        return frozenset(self.ledger.passed_by)

    @property
    def broken(self) -> Mapping[Breach, Sequence[int]]:
        """Every rule broken, with the states at which it is."""
        return self.swept.broken

    @cached_property
    def all_variables(self) -> tuple[Variable, ...]:
        """Every variable of the procedure, tracked or not."""
        return variables_of(self.procedure)

    @cached_property
    def _back(self) -> Mapping[int, Sequence[tuple[int, int]]]:
        return edges_back(self.control)

    def search(self, wanted: Iterable[Breach]) -> Waves:
        """The layers in which the wanted breaches show first."""
        forbidden: dict[int, list[Breach]] = {}
        for state, name, _, _ in self.control.forbidden:
            node = self.control.nodes[state]
            if node is not None:
                forbidden.setdefault(state, []).append(Breach("forbidden-change", node.id, name))
        return waves(self.ledger, self.starts, {one: self.broken[one] for one in wanted}, forbidden)

    def path(self, found: Waves, breach: Breach) -> list[Stop]:
        """The shortest path to a breach."""
        return shortest(self.ledger, found, breach, self._back)

    @cached_property
    def reached(self) -> frozenset[str]:
        """The steps at which work can stand, or that can be taken up."""
        return frozenset(stood(self.control, self.sets) | self.ledger.taken_up)

    def listed(self) -> set[str]:
        """The put-off steps that are really put off on some path."""
        somewhere = 0
        for sets in self.sets:
            somewhere |= sets
        offs = [name for unit in self.ledger.units for name in unit.offs]
        return {name for name in offs if somewhere & self.ledger.pending(name)}


class Beginning(Frozen):
    """Where an exploration begins, if not before step 1: a step, the value of each variable, the state of each unit."""

    node: str
    values: Mapping[Variable, object]
    units: tuple[int, ...]


def explored(
    procedure: Procedure,
    units: tuple[Unit, ...],
    tracked: Sequence[Variable],
    budget: int,
    beginning: Beginning | None = None,
) -> World:
    """Explore with these variables tracked. Raises TooManyStates."""
    explorer = Explorer(procedure, tracked, budget)
    first = HERE | UNWARNED
    if beginning is None:
        control = explorer.explore(starts_of(procedure, explorer.valuations))
        states = [start_state(procedure, unit) for unit in units]
    else:
        values = explorer.valuations.of(beginning.values)
        control = explorer.explore([(beginning.node, values, {})])
        states = list(beginning.units)
    for unit, state in zip(units, states, strict=True):
        first |= 1 << unit.offset + state
    ledger = Ledger(control, units)
    starts = [(state, first) for state, _ in control.starts]
    return World(procedure, tuple(tracked), control, ledger, swept(ledger, starts), starts)


def main_line(procedure: Procedure) -> set[str]:
    """The steps that the main line may reach, whatever is answered: those of the detours are not among them."""
    nodes, ahead = procedure.nodes, procedure.ahead
    found = bytearray(len(nodes))
    waiting = [procedure.places.get(procedure.first, len(nodes))]
    while waiting:
        place = waiting.pop()
        if place < len(nodes) and not found[place]:
            found[place] = 1
            waiting += ahead[place]
    return {node.id for node in compress(nodes, found)}
