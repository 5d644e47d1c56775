"""Deciding every breach: exactly where all variables can be tracked, else by refinement within a budget.

Where an exact exploration would grow beyond its budget, what does not decide anything is left out at first: then all
that is clean is proved at once (more paths are looked at than runs have), and each breach must show a path that a run
can take. A path that one untracked variable makes impossible has that variable tracked, for that breach alone (Clarke
and others 2000).
"""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from functools import cached_property, partial

from runner.procedure.linked import Procedure
from runner.proof.control import Place, TooManyStates
from runner.proof.deeds import Breach
from runner.proof.hunt import Hunt, Tired
from runner.proof.possible import Possible, certain
from runner.proof.search import Stop
from runner.proof.units import Unit
from runner.proof.variables import Variable, variables_of
from runner.proof.world import World, explored

MOST_PATHS = 20
"""Paths that are worked out and shown; a path of a long job takes as long as the job."""
MOST_FOLLOWED = 6
"""Variables that are followed on the way to one breach."""
FURTHEST = 2_000_000
"""Places looked at in all while following them."""
LARGEST_EXACT = 2_000
"""Steps of a procedure whose ways back are counted at once; in a longer one only where it matters."""
LEFT_OUT: tuple[tuple[str, ...], ...] = ((), ("loop",), ("loop", "answer", "choice"))
"""The kinds of variables that are left out, from an exact exploration to the coarsest."""
ROUNDS = 40
"""Explorations of a refinement at most."""


@dataclass
class Decided:
    """What is known at the end: each breach with the path that shows it (none where it is one of many)."""

    world: World
    shown: dict[Breach, tuple[World, list[Stop]]] = field(default_factory=dict)
    counted: set[Breach] = field(default_factory=set)
    """Breaches without a path worked out."""
    undecided: list[str] = field(default_factory=list)
    left: int = 0
    """Breaches of a coarse exploration that were not looked into, because enough are shown."""
    exact: bool = True
    refinement: "Refinement | None" = None
    finer_left: int = ROUNDS

    def counting(self, limits: set[str]) -> World | None:
        """An exploration that counts these ways back besides; None where that is beyond the budget."""
        wanted = {("loop", limit) for limit in limits}
        if self.exact or self.finer_left == 0 or wanted <= set(self.world.tracked):
            return None
        self.finer_left -= 1
        tracked = [v for v in self.world.all_variables if v in wanted or v in self.world.tracked]
        procedure = self.world.procedure
        try:
            return explored(procedure, self.world.ledger.units, tracked, budget_of(procedure))
        except TooManyStates:
            return None

    @property
    def breaches(self) -> set[Breach]:
        """Every breach."""
        return {*self.shown, *self.counted}


def budget_of(procedure: Procedure) -> int:
    """States that an exact exploration may have."""
    return 6 * len(procedure.nodes) + 5_000


def decide(procedure: Procedure, units: tuple[Unit, ...]) -> Decided | None:
    """Decide every breach; None where not even the coarsest exploration is within its budget."""
    every = variables_of(procedure)
    small = len(procedure.nodes) <= LARGEST_EXACT
    for left_out in LEFT_OUT:
        if not left_out and not small and any(kind == "loop" for kind, _ in every):
            continue
        tracked = [variable for variable in every if variable[0] not in left_out]
        if left_out and len(tracked) == len(every):
            continue
        try:
            world = explored(procedure, units, tracked, budget_of(procedure))
        except TooManyStates:
            continue
        decided = Decided(world, exact=len(tracked) == len(every))
        if decided.exact:
            _shown(decided, world, world.broken)
        else:
            decided.refinement = Refinement(procedure, decided)
            decided.refinement.run()
        return decided
    return None


def _shown(decided: Decided, world: World, wanted: Iterable[Breach]) -> None:
    """The shortest path of the breaches that show first."""
    breaches = list(wanted)
    if not breaches:
        return
    found = world.search(breaches)
    breaches.sort(key=lambda breach: (found.first[breach], breach))
    for breach in breaches[:MOST_PATHS]:
        decided.shown[breach] = (world, world.path(found, breach))
    decided.counted |= set(breaches[MOST_PATHS:])


class Refinement:
    """Breaches of a coarse exploration: each is shown by a way that is possible, or disproved by looking closer."""

    def __init__(self, procedure: Procedure, decided: Decided) -> None:
        self._procedure, self._decided, self._world = procedure, decided, decided.world

    @cached_property
    def possible(self) -> Possible:
        """Follows what is not tracked along a path."""
        return Possible(self._procedure, self._world.control)

    @cached_property
    def _hunt(self) -> Hunt:
        return Hunt(self._world, self.possible, FURTHEST)

    def run(self) -> None:
        """Decide the breaches that show first, until enough are shown."""
        wanted = list(self._world.broken)
        if not wanted:
            return
        found = self._world.search(wanted)
        wanted.sort(key=lambda breach: (found.first[breach], breach))
        for number, breach in enumerate(wanted):
            if len(self._decided.shown) == MOST_PATHS:
                self._decided.left = len(wanted) - number
                return
            item = breach.subject if breach.rule == "left-open" else ""
            search = partial(self._hunt.breach, breach)
            path = self._possibly(self._world.path(found, breach), item, search)
            if path is None:
                self._decided.undecided.append(f"{breach.rule} at {breach.node}")
            elif path:
                self._decided.shown[breach] = (self._world, path)

    def step(self, name: str) -> bool | None:
        """Whether some run comes to a step; None where that is not decided."""
        path = self._possibly(None, "", partial(self._hunt.step, name))
        if path == [] and ("off", name) in self._world.ledger.unit_of:
            path = self._possibly(None, "", partial(self._hunt.taken_up, name))
        return None if path is None else bool(path)

    def _possibly(
        self,
        path: list[Stop] | None,
        item: str,
        search: Callable[[frozenset[Variable]], list[Stop] | None],
    ) -> list[Stop] | None:
        """A way that a run can take, searched for with each variable followed that refutes the last; empty where there
        is none, None where it is not decided.
        """
        followed: frozenset[Variable] = frozenset()
        try:
            path = search(followed) if path is None else path
            while path:
                against = self.possible.refuted(path, item)
                if against is None:
                    return path
                if against in followed or len(followed) == MOST_FOLLOWED:
                    return None
                followed |= {against}
                path = search(followed)
        except Tired:
            return None
        return []


def surely_reached(procedure: Procedure, decided: Decided) -> tuple[frozenset[str], frozenset[str]]:
    """(steps that some run surely reaches, steps for which that is not decided)."""
    world = decided.world
    reached = world.reached
    if decided.exact or not world.swept.roundabout:
        return reached, frozenset()
    control = world.control
    refinement = decided.refinement or Refinement(procedure, decided)
    starts = [state for state, _ in world.starts]
    sure = certain(refinement.possible, control, world.ledger.known, starts)
    stood = set(reached - world.swept.roundabout)
    stood |= {
        node.id
        for state in sure
        if (node := control.nodes[state]) is not None and control.places[state] is Place.STAND
    }
    if reached - stood:
        stood |= _surely_taken_up(world, sure, reached - stood)
    doubtful: set[str] = set()
    missed: set[str] = set()
    for name in sorted(reached - stood):
        comes = refinement.step(name)
        if comes is None:
            doubtful.add(name)
        elif not comes:
            missed.add(name)
    return reached - doubtful - missed, frozenset(doubtful)


def _surely_taken_up(
    world: World, sure: Mapping[int, tuple[int, int] | None], wanted: frozenset[str]
) -> set[str]:
    """Of some put-off steps, those that are taken up along the paths by which states are surely reached."""
    ledger, first = world.ledger, dict(world.starts)
    keep = 0
    for name in wanted:
        unit = ledger.unit_of.get(("off", name))
        keep |= unit.mask if unit is not None else 0
    after: dict[int, list[int]] = {}
    taken: set[str] = set()
    for state, came in sure.items():
        sets = first[state] & keep if came is None else after[came[0]][came[1]] if came[0] in after else 0
        if not sets:
            continue  # the ledger forbids this path
        if world.control.places[state] in (Place.STAND, Place.FINISH):
            taken |= ledger.taken_up_at(state, sets)
        after[state] = ledger.leave(state, sets, partial=True)
    return taken


def starts_without_end(decided: Decided) -> list[dict[str, str]]:
    """The starts from which no run comes to the end."""
    control, ledger = decided.world.control, decided.world.ledger
    ending = bytearray(place is Place.FINISH for place in control.places)
    changed = True
    while changed and not all(ending[state] for state, _ in control.starts):
        changed = False
        for state in reversed(ledger.order):
            if ending[state]:
                continue
            for number, edge in enumerate(control.edges[state]):
                if ending[edge.target] and (state, number) in ledger.known:
                    ending[state] = changed = True
                    break
    return [words for state, words in control.starts if not ending[state]]
