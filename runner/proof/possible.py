"""Whether a path of an exploration that tracks too little is one that some run can take.

Each variable that is not tracked is followed along the path by itself, as the set of values it may have: labels that
lead the same way stand together, so that nothing is counted out (proof.md 2.7, pitfall 5).
"""

from collections.abc import Mapping, Sequence

from runner.procedure.linked import Exit, Procedure, Test
from runner.proof.control import Control, How, Place
from runner.proof.search import Stop
from runner.proof.transfers import Taken
from runner.proof.variables import NEVER, Variable

Values = Mapping[Variable, frozenset[str] | int]
"""What each untracked variable may be: values, or how often a way back was taken."""


class Possible:
    """Follows the untracked variables of one control graph."""

    def __init__(self, procedure: Procedure, control: Control) -> None:
        self._procedure, self._control = procedure, control
        self._tracked = set(control.valuations.variables)
        self._most = _limits(procedure)
        self._choices = {("choice", c.name): frozenset(c.values) for c in procedure.choices}
        self._asked = {
            test.name for node in procedure.nodes for test in node.guard
            if test.kind == "answer" and ("answer", test.name) not in self._tracked
        }  # fmt: skip
        self._reads = {
            node.id: frozenset((test.kind, test.name) for test in node.guard) for node in procedure.nodes
        }
        self._alike: dict[tuple[int, int], frozenset[str]] = {}

    def refuted(self, path: Sequence[Stop], item: str = "") -> Variable | None:
        """The variable that makes a path impossible; None where a run can take it. `item` exists at its end."""
        against: Variable | None = None
        for values in self.starts(path[0].state, None):
            against = values if isinstance(values, tuple) else self._along(values, path, item)
            if against is None:
                return None
        return against

    def _along(self, values: Values, path: Sequence[Stop], item: str) -> Variable | None:
        for stop in path[:-1]:
            after = self.after(values, stop.state, stop.edge)
            if isinstance(after, tuple):
                return after
            values = after
        return self.missing(values, item, None) if item else None

    def starts(self, state: int, only: frozenset[Variable] | None) -> list[Values | Variable]:
        """For each way to a start, what the variables may be; the one that makes the way impossible where one does."""
        found: list[Values | Variable] = []
        for guards in self._control.start_reads.get(state, [()]):
            values: dict[Variable, frozenset[str] | int] | Variable = {}
            for name, held in guards:
                if isinstance(values, dict):
                    values = self._read(values, self._procedure.by_id[name].guard, held=held, only=only)
            found.append(values)
        return found

    def missing(self, values: Values, item: str, only: frozenset[Variable] | None) -> Variable | None:
        """The variable by which this job does not have an item; None where it may have it."""
        tests = self._procedure.item_by_key[item].exists
        last = self._read(dict(values), tests, held=True, only=only)
        return None if isinstance(last, dict) else last

    def plain(self, state: int, number: int) -> bool:
        """Whether an edge leaves every variable that is not tracked as it is."""
        edge, node = self._control.edges[state][number], self._control.nodes[state]
        return not edge.used and not edge.read and (node is None or node.id not in self._asked)

    def after(
        self, values: Values, state: int, number: int, only: frozenset[Variable] | None = None
    ) -> Values | Variable:
        """The values after an edge; the variable that forbids it where one does. `only` these are followed."""
        edge = self._control.edges[state][number]
        node = self._control.nodes[state]
        if not edge.used and not edge.read and (node is None or node.id not in self._asked):
            return values
        now = dict(values)
        asks = node is not None and node.id in self._asked
        if node is not None and asks and (only is None or ("answer", node.id) in only):
            said = frozenset({"too late"}) if edge.how is How.LATE else self._labels(state, number)
            if said != {""} and self._control.places[state] is Place.STAND:
                now["answer", node.id] = said
        for limit, counted in edge.used:
            loop = ("loop", limit)
            if loop in self._tracked or (only is not None and loop not in only):
                continue
            count = now.get(loop, 0)
            assert isinstance(count, int)
            if counted == (count >= self._most[limit]):
                return loop
            now[loop] = count + counted
        for name, held in edge.read:
            if only is not None and self._reads[name].isdisjoint(only):
                continue
            read = self._read(now, self._procedure.by_id[name].guard, held=held, only=only)
            if not isinstance(read, dict):
                return read
            now = read
        return now

    def _labels(self, state: int, number: int) -> frozenset[str]:
        """Every label that leads this way."""
        found = self._alike.get((state, number))
        if found is None:
            like = self._control.edges[state][number]._replace(label="")
            found = self._alike[state, number] = frozenset(
                edge.label for edge in self._control.edges[state] if edge._replace(label="") == like
            )
        return found

    def _read(
        self,
        values: dict[Variable, frozenset[str] | int],
        tests: Sequence[Test],
        *,
        held: bool,
        only: frozenset[Variable] | None,
    ) -> dict[Variable, frozenset[str] | int] | Variable:
        asked = [t for t in tests if (t.kind, t.name) not in self._tracked and t.kind in ("answer", "choice")]
        followed = [t for t in asked if only is None or (t.kind, t.name) in only]
        if not held and len(followed) < len(asked):
            return values  # one that is not followed may be what does not hold
        sets = [(t, self._of(values, (t.kind, t.name))) for t in followed]
        if held:
            for test, now in sets:
                left = now & set(test.values)
                if not left:
                    return test.kind, test.name
                values[test.kind, test.name] = left
        elif sets and all(now <= set(test.values) for test, now in sets):
            return sets[0][0].kind, sets[0][0].name
        elif len(sets) == 1:
            test, now = sets[0]
            values[test.kind, test.name] = now - set(test.values)
        return values

    def _of(self, values: Values, variable: Variable) -> frozenset[str]:
        found = values.get(variable)
        if isinstance(found, frozenset):
            return found
        return self._choices.get(variable, frozenset({NEVER}))


def certain(
    possible: Possible, control: Control, known: Taken, starts: Sequence[int]
) -> dict[int, tuple[int, int] | None]:
    """States that some run surely reaches, each by one path along which nothing untracked is against it: the edge
    (state, number) that it is come to by, in the order of the search.
    """
    came: dict[int, tuple[int, int] | None] = {}
    values: dict[int, Values] = {}
    for state in starts:
        first = next((each for each in possible.starts(state, None) if not isinstance(each, tuple)), None)
        if first is not None:
            values[state], came[state] = first, None
    waiting = list(came)
    while waiting:
        later: list[int] = []
        for state in waiting:
            for number, edge in enumerate(control.edges[state]):
                if edge.target in came or (state, number) not in known:
                    continue
                after = possible.after(values[state], state, number)
                if not isinstance(after, tuple):
                    values[edge.target], came[edge.target] = after, (state, number)
                    later.append(edge.target)
        waiting = later
    return came


def _limits(procedure: Procedure) -> dict[str, int]:
    """How often each way back may be taken."""
    found: dict[str, int] = {}
    for node in procedure.nodes:
        for way in node.exits:
            step: Exit = way
            while step.limit is not None:
                found[step.limit.id] = step.limit.at_most
                step = step.limit.then
    return found
