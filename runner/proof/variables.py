"""What the way ahead depends on: conditions, earlier answers, choices, ways back used, starts of time limits.

A valuation gives each of them a value. Valuations are interned as small numbers, and what nothing ahead reads is
forgotten, so that ways which differ only in what no longer matters meet again.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence

from runner.job.way import stages_meant
from runner.procedure.kinds import final_states
from runner.procedure.linked import Exit, Node, Procedure, Test

UNSET = "\0unset"
"""A choice that nothing has read yet: it may still be any of its values."""
NEVER = "\0never"
"""A question that was not asked so far: no answer is among the values tested."""

Variable = tuple[str, str]
"""(kind, name): condition, answer (of a node), choice, loop (a limit), begun (a node that a time limit counts from)."""


def variables_of(procedure: Procedure) -> tuple[Variable, ...]:
    """Every variable that some step reads, in a fixed order."""
    found: dict[Variable, None] = {("condition", c.name): None for c in procedure.conditions}
    for node in procedure.nodes:
        for test in node.guard:
            found[test.kind, test.name] = None
        if not node.may_choose:
            continue
        for limit in _limits(node):
            found["loop", limit] = None
        for start in node.in_time.start if node.in_time else ():
            found["begun", start] = None
    for item in procedure.items:
        for test in item.exists:
            found[test.kind, test.name] = None
    return tuple(found)


def _limits(node: Node) -> Iterator[str]:
    for way in node.exits:
        step: Exit = way
        while step.limit is not None:
            yield step.limit.id
            step = step.limit.then


def stage_tests(procedure: Procedure, node: Node) -> tuple[Test, ...]:
    """What the stages that a step tightens ask of conditions (`only when`)."""
    tests: list[Test] = []
    for act in node.acts:
        if act.verb not in ("tightens", "re-tightens"):
            continue
        stages = procedure.item_by_key[act.item].stages
        if act.verb == "tightens":
            meant = stages_meant(act, len(stages))
            tests += [test for number in meant for test in stages[number - 1].only_when]
        else:
            tests += [test for stage in stages for test in stage.only_when]
    return tuple(tests)


class Valuations:
    """Interned valuations of the tracked variables; a test on an untracked one may hold or not.

    A valuation keeps (slot, value) of what differs from a variable's first value. What nothing ahead reads is taken
    out of it, so that it stays short however many questions a procedure asks.
    """

    def __init__(self, procedure: Procedure, tracked: Iterable[Variable]) -> None:
        self.variables = tuple(tracked)
        self.slot = {variable: place for place, variable in enumerate(self.variables)}
        self.values: list[dict[int, object]] = []
        self._first: dict[str, object] = {
            "condition": None, "answer": NEVER, "choice": UNSET, "loop": 0, "begun": False
        }  # fmt: skip
        self._ids: dict[tuple[tuple[int, object], ...], int] = {}
        self._assigned: dict[tuple[int, int, object], int] = {}
        self._blanked: dict[tuple[int, int], int] = {}
        self._conditions: dict[int, dict[str, str]] = {}
        self._domains = {("choice", choice.name): choice.values for choice in procedure.choices}

    def intern(self, values: Mapping[int, object]) -> int:
        """The number of a valuation, given as value by slot."""
        return self._number(
            tuple(sorted((slot, value) for slot, value in values.items() if value != self._start(slot)))
        )

    def _number(self, key: tuple[tuple[int, object], ...]) -> int:
        found = self._ids.get(key)
        if found is None:
            found = self._ids[key] = len(self.values)
            self.values.append(dict(key))
        return found

    def of(self, values: Mapping[Variable, object]) -> int:
        """The number of a valuation, given as value by variable; what is not tracked is left out."""
        return self.intern({self.slot[v]: value for v, value in values.items() if v in self.slot})

    def _start(self, slot: int) -> object:
        return self._first[self.variables[slot][0]]

    def value(self, valuation: int, variable: Variable) -> object:
        """The value of a variable; None where it is not tracked."""
        slot = self.slot.get(variable)
        return None if slot is None else self.values[valuation].get(slot, self._first[variable[0]])

    def assign(self, valuation: int, variable: Variable, value: object) -> int:
        """The valuation with another value for one variable; the same where that is not tracked."""
        slot = self.slot.get(variable)
        if slot is None:
            return valuation
        key = (valuation, slot, value)
        found = self._assigned.get(key)
        if found is None:
            found = self._assigned[key] = self.intern({**self.values[valuation], slot: value})
        return found

    def blank(self, valuation: int, live: int, number: int) -> int:
        """The valuation without what is dead: bit n of `live` says that variable n is read ahead. `number` stands for
        that set.
        """
        key = (valuation, number)
        found = self._blanked.get(key)
        if found is None:
            values = self.values[valuation]
            kept = tuple([pair for pair in values.items() if live >> pair[0] & 1])
            found = self._blanked[key] = valuation if len(kept) == len(values) else self._number(kept)
        return found

    def conditions(self, valuation: int) -> dict[str, str]:
        """The conditions of a valuation that are still read ahead."""
        found = self._conditions.get(valuation)
        if found is None:
            found = self._conditions[valuation] = {
                self.variables[slot][1]: str(value)
                for slot, value in self.values[valuation].items()
                if self.variables[slot][0] == "condition"
            }
        return found

    def differences(self, before: int, after: int) -> tuple[tuple[str, str], ...]:
        """(name, value) of what the second valuation has otherwise than the first."""
        old = self.values[before]
        return tuple(
            (self.variables[slot][1], str(value))
            for slot, value in self.values[after].items()
            if old.get(slot) != value
        )

    def holds(self, valuation: int, tests: Sequence[Test]) -> bool:
        """Whether tests on conditions hold; those on items are another's matter."""
        now = self.conditions(valuation)
        return all(now.get(test.name) in test.values for test in tests if test.kind == "condition")

    def readings(self, valuation: int, tests: Sequence[Test]) -> list[tuple[int, bool]]:
        """Every way in which a guard can be read: the valuation after it (a choice is made when first read) and
        whether all tests hold.
        """
        ways = [(valuation, True)]
        for test in tests:
            ways = [end for way, held in ways for end in self._read(way, test, held=held)]
        return list(dict.fromkeys(ways))

    def _read(self, valuation: int, test: Test, *, held: bool) -> list[tuple[int, bool]]:
        variable = (test.kind, test.name)
        value = self.value(valuation, variable)
        if value is None:
            return [(valuation, held), (valuation, False)]
        if value is UNSET:
            return [
                (self.assign(valuation, variable, choice), held and choice in test.values)
                for choice in self._domains[variable]
            ]
        return [(valuation, held and value in test.values)]


class ConditionIds:
    """A number for the conditions of a valuation, so that what only reads those is worked out once."""

    def __init__(self, valuations: Valuations) -> None:
        self._valuations = valuations
        self._ids: dict[tuple[tuple[str, str], ...], int] = {}
        self._of: dict[int, int] = {}

    def of(self, valuation: int) -> int:
        """The number of the conditions of a valuation."""
        found = self._of.get(valuation)
        if found is None:
            key = tuple(self._valuations.conditions(valuation).items())
            found = self._of[valuation] = self._ids.setdefault(key, len(self._ids))
        return found


class Liveness:
    """Which variables are read on some way ahead, by node, as bit sets over the tracked variables."""

    def __init__(self, procedure: Procedure, valuations: Valuations) -> None:
        self._bit = {variable: 1 << place for variable, place in valuations.slot.items()}
        self._always = self._everywhere(procedure)
        nodes, ahead, self._place = procedure.nodes, procedure.ahead, procedure.places
        self._counts = any(kind == "loop" for kind, _ in valuations.variables)
        uses = [self._uses(procedure, node) for node in nodes]
        keeps = [-1] * len(nodes)
        for (kind, name), bit in self._bit.items():
            if kind == "answer" and name in self._place:
                keeps[self._place[name]] = ~bit
        before = [0] * len(nodes) + [self._at_end(procedure)]
        changed = True
        while changed:
            changed = False
            for place in range(len(nodes) - 1, -1, -1):
                out = 0
                for target in ahead[place]:
                    out |= before[target]
                now = out & keeps[place] | uses[place]
                if now != before[place]:
                    before[place] = now
                    changed = True
        numbers: dict[int, int] = {}
        self._before = [(live, numbers.setdefault(live, len(numbers))) for live in before]

    def at(self, node: str) -> tuple[int, int]:
        """The variables read at or after a node, and a number for that set."""
        place = self._place.get(node)
        return (0, -1) if place is None else self._before[place]

    def _tests(self, tests: Iterable[Test]) -> int:
        found = 0
        for test in tests:
            found |= self._bit.get((test.kind, test.name), 0)
        return found

    def _everywhere(self, procedure: Procedure) -> int:
        """Conditions that what is put off, or a hazard, may ask of at any moment."""
        found = 0
        for condition in procedure.conditions:
            if condition.hazardous:
                found |= self._bit.get(("condition", condition.name), 0)
        for node in procedure.nodes:
            if node.put_off is None:
                continue
            found |= self._tests((*node.put_off.until.tests, *node.needs, *stage_tests(procedure, node)))
            if node.put_off.before.test is not None:
                found |= self._tests([node.put_off.before.test])
        return found

    def _at_end(self, procedure: Procedure) -> int:
        found = self._always
        for item in procedure.items:
            if item.at_start not in final_states(item.kind, len(item.stages)):
                found |= self._tests(item.exists)
        return found

    def _uses(self, procedure: Procedure, node: Node) -> int:
        found = self._always
        if node.guard or node.needs:
            found |= self._tests((*node.guard, *node.needs))
        if node.acts:
            found |= self._tests(stage_tests(procedure, node))
        for name, _ in node.sets:
            found |= self._bit.get(("condition", name), 0)
        for limit in _limits(node) if self._counts else ():
            found |= self._bit.get(("loop", limit), 0)
        for start in node.in_time.start if node.in_time else ():
            found |= self._bit.get(("begun", start), 0)
        return found
