"""Bounded model checking of small procedures with z3: the shortest run that breaks a rule, or none at all.

Runs are unrolled step by step into formulas of bit vectors (Biere and others 1999; z3: de Moura and Bjørner 2008,
https://github.com/Z3Prover/z3). Ways back are counted, so there is a length that no run has; when z3 says so, what
it has not found does not exist.
"""

from dataclasses import dataclass, field

import z3

from runner.procedure.linked import END, Exit, Item, Node, Procedure, Test
from tests.proof.graphs import Said
from tests.proof.items_again import closed, deed, states
from tests.proof.product import STAND, At
from tests.proof.small import VALUES

SHUT, SEEN = 1, 2
LONGEST = 60
"""No run of these procedures is longer; a longer one would be a mistake here."""


@dataclass(frozen=True)
class Moment:
    """Where a run is, as variables of one step: place, condition, items, the put-off step, what is done and taken."""

    at: z3.BitVecRef
    support: z3.BitVecRef
    items: dict[str, z3.BitVecRef]
    off: z3.BitVecRef
    done: z3.BoolRef
    taken: z3.BitVecRef
    take: z3.BoolRef
    """Chosen here: the put-off step is taken up before the step begins."""


@dataclass
class Found:
    """The length of the shortest run to each breach and to each step, and the length that no run has."""

    broken: dict[Said, int] = field(default_factory=dict)
    reached: dict[str, int] = field(default_factory=dict)
    longest: int = 0


class Bounded:
    """One procedure unrolled."""

    def __init__(self, procedure: Procedure) -> None:
        self.procedure = procedure
        self.off = next((node for node in procedure.nodes if node.put_off), None)
        self.places = {node.id: number for number, node in enumerate(procedure.nodes)}
        size = len(self.places)
        self.arrive, self.finish, self.stopped = size, size + 1, size + 2
        self.items = {item.key: item for item in procedure.items}
        self._before: dict[object, tuple[z3.BoolRef, Moment, dict[Said, z3.BoolRef]]] = {}

    def run(self) -> Found:
        """Unroll until no run is longer."""
        found, solver = Found(), z3.SolverFor("QF_FD")
        now, then = self.moment("now"), self.moment("then")
        # Written once and renamed for every step, which is much quicker than writing it anew.
        said, moves = self.events(now), self.moves(now, then)
        solver.add(at_step(self.begins(now), 0))
        for length in range(LONGEST):
            known = {*found.broken, *found.reached}
            events = {key: at_step(event, length) for key, event in said.items() if key not in known}
            while events and solver.check(z3.Or(*events.values())) == z3.sat:
                model = solver.model()
                for key in [
                    k for k, event in events.items() if z3.is_true(model.eval(event, model_completion=True))
                ]:
                    del events[key]
                    if isinstance(key, Said):
                        found.broken[key] = length
                    else:
                        found.reached[key] = length
            solver.add(at_step(moves, length))
            if solver.check() == z3.unsat:
                found.longest = length
                return found
        raise AssertionError("a run without end")

    def moment(self, when: str) -> Moment:
        def bits(name: str) -> z3.BitVecRef:
            return _variable(name, when)

        return Moment(
            bits("at"), bits("support"), {key: bits(key) for key in self.items}, bits("off"),
            z3.Bool(f"done {when}"), bits("taken"), z3.Bool(f"take {when}"),
        )  # fmt: skip

    def begins(self, now: Moment) -> z3.BoolRef:
        support = self.procedure.conditions[0]
        items = [now.items[key] == states(item).index(item.at_start) for key, item in self.items.items()]
        first = z3.Or(*(now.support == VALUES.index(value) for value in support.at_start))
        arrived = now.at == self.place(self.procedure.first, now.support)
        return z3.And(first, arrived, *items, now.off == 0, z3.Not(now.done), now.taken == 0)

    def place(self, name: str, support: z3.BitVecRef) -> z3.BitVecRef:
        """Where work comes to that goes to a step, under a condition: guards pass it on."""
        node = self.procedure.by_id.get(name)
        if node is None:
            return z3.BitVecVal(self.finish if name == END else self.stopped, 5)
        here = z3.BitVecVal(self.arrive if node.put_off else self.places[name], 5)
        if not node.guard:
            return here
        return z3.If(self.holds(node.guard, support), here, self.place(node.skip, support))

    def holds(self, tests: tuple[Test, ...], support: z3.BitVecRef) -> z3.BoolRef:
        return z3.And(*(z3.Or(*(support == VALUES.index(v) for v in test.values)) for test in tests))

    # what is put off

    def open(self, now: Moment) -> z3.BoolRef:
        """Whether the window is open."""
        assert self.off is not None
        assert self.off.put_off is not None
        until = self.off.put_off.until
        return self.holds(until.tests, now.support) if until.kind == "condition" else now.done

    def due(self, node: Node | None, now: Moment) -> z3.BoolRef:
        """Whether the put-off step comes before a step (None: the end)."""
        if self.off is None or self.off.put_off is None:
            return z3.BoolVal(False)
        before = self.off.put_off.before
        if node is None:
            return z3.BoolVal(True)
        if before.kind == "step":
            return z3.BoolVal(node.id in before.nodes)
        test = before.test
        change = [VALUES.index(v) for n, v in node.sets if test and n == test.name and v in test.values]
        return z3.Or(*(now.support != value for value in change))

    def before(self, node: Node | None, now: Moment) -> tuple[z3.BoolRef, Moment, dict[Said, z3.BoolRef]]:
        """(whether the step begins, the moment in which it does, what is broken before), where work stands."""
        key = (None if node is None else node.id, now.at.sexpr())
        if key not in self._before:
            self._before[key] = self._stood(node, now)
        return self._before[key]

    def _stood(self, node: Node | None, now: Moment) -> tuple[z3.BoolRef, Moment, dict[Said, z3.BoolRef]]:
        if self.off is None or self.off.put_off is None:
            return z3.Not(now.take), now, {}
        owed, opened, due = now.off != 0, self.open(now), self.due(node, now)
        lawful = z3.Implies(now.take, z3.And(owed, opened))
        items, broken = self.deed(self.off, now)
        taken = {key: z3.If(now.take, after, now.items[key]) for key, after in items.items()}
        events = {key: z3.And(now.take, owed, opened, event) for key, event in broken.items()}
        rule = "change-too-soon" if self.off.put_off.before.kind == "condition" else "missed-window"
        missed = z3.And(owed, due, z3.Not(opened), now.off == SHUT, z3.Not(now.take))
        events[Said(rule, self.off.id)] = missed
        still = z3.And(owed, z3.Not(now.take))
        begins = z3.And(lawful, z3.Not(z3.And(still, due, z3.Or(opened, now.off == SEEN))))
        off = z3.If(
            z3.Or(z3.Not(still), due), z3.BitVecVal(0, 5), z3.If(opened, z3.BitVecVal(SEEN, 5), now.off)
        )
        return begins, Moment(now.at, now.support, taken, off, now.done, now.taken, now.take), events

    # steps

    def deed(self, node: Node, now: Moment) -> tuple[dict[str, z3.BitVecRef], dict[Said, z3.BoolRef]]:
        """The items after a step, and what it breaks: the table of each item, row by row."""
        after, broken = dict(now.items), dict[Said, z3.BoolRef]()
        for test in node.needs:
            if test.kind == "condition":
                broken[Said("wrong-condition", node.id, test.name)] = z3.Not(self.holds((test,), now.support))
            else:
                fit = [states(self.items[test.name]).index(value) for value in test.values]
                event = z3.And(*(now.items[test.name] != value for value in fit))
                broken[Said("not-as-needed", node.id, test.name)] = event
        for key, item in self.items.items():
            if not any(act.item == key for act in node.acts):
                continue
            for number in range(len(states(item))):
                self._rows(node, item, number, now, after, broken)
        return after, broken

    @staticmethod
    def _rows(
        node: Node, item: Item, number: int, now: Moment,
        after: dict[str, z3.BitVecRef], broken: dict[Said, z3.BoolRef],
    ) -> None:  # fmt: skip
        key, state = item.key, states(item)[number]
        rows = [
            deed(node, At(STAND, node.id, (("condition:support", word),)), item, state) for word in VALUES
        ]
        alike = all(row[::2] == rows[0][::2] for row in rows)
        for value, (then, _, rules) in enumerate(rows[:1] if alike else rows):
            here = now.items[key] == number
            if not alike:
                here = z3.And(here, now.support == value)
            if then != state:
                after[key] = z3.If(here, z3.BitVecVal(states(item).index(then), 5), after[key])
            for rule in rules:
                said = Said(rule, node.id, key)
                broken[said] = z3.Or(broken.get(said, z3.BoolVal(False)), here)

    def events(self, now: Moment) -> dict[Said | str, z3.BoolRef]:
        """What can be said of a run that has come here: rules it breaks, steps it has reached."""
        found: dict[Said | str, z3.BoolRef] = {}

        def add(key: Said | str, event: z3.BoolRef) -> None:
            found[key] = z3.Or(found[key], event) if key in found else event

        for node in (*self.procedure.nodes, None):
            here = now.at == (self.finish if node is None else self.places[node.id])
            begins, begun, broken = self.before(node, now)
            lawful = (
                begins if self.off is None else z3.Implies(now.take, z3.And(now.off != 0, self.open(now)))
            )
            for said, event in broken.items():
                add(said, z3.And(here, lawful, event))
            if self.off is not None:
                add(self.off.id, z3.And(here, lawful, now.take))
            if node is not None:
                add(node.id, here)
                for said, event in self.deed(node, begun)[1].items():
                    add(said, z3.And(here, begins, event))
            else:
                for key, item in self.items.items():
                    shut = [states(item).index(state) for state in closed(item)]
                    still = z3.And(*(begun.items[key] != value for value in shut))
                    add(Said("left-open", "end", key), z3.And(here, begins, still))
        return found

    def moves(self, now: Moment, then: Moment) -> z3.BoolRef:
        """Every way from one moment to the next."""
        ways: list[z3.BoolRef] = []
        for node in self.procedure.nodes:
            begins, begun, _ = self.before(node, now)
            items, _ = self.deed(node, begun)
            same = [then.items[key] == value for key, value in items.items()]
            ahead = z3.And(now.at == self.places[node.id], begins, *same, then.off == begun.off)
            support = z3.BitVecVal(VALUES.index(dict(node.sets)["support"]), 5) if node.sets else now.support
            counts = (
                self.off is not None
                and self.off.put_off is not None
                and node.id in self.off.put_off.until.nodes
            )
            done = z3.And(then.support == support, then.done == z3.Or(now.done, z3.BoolVal(counts)))
            kept = z3.And(then.support == now.support, then.done == now.done)
            for way in node.answers or (Exit(label="", to=node.next),):
                ways.append(z3.And(ahead, done, self.led(way, now, then)))
            if node.hold is not None:
                ways.append(z3.And(ahead, kept, self.led(node.hold.refused, now, then)))
        if self.off is not None:
            ways.append(self.arrives(self.off, now, then))
        return z3.Or(*ways)

    def led(self, way: Exit, now: Moment, then: Moment) -> z3.BoolRef:
        on = z3.And(then.at == self.place(way.to, then.support), then.taken == now.taken)
        if way.limit is None:
            return on
        again = z3.And(then.at == self.place(way.to, then.support), then.taken == now.taken + 1)
        used = z3.UGE(now.taken, way.limit.at_most)
        return z3.If(used, self.led(way.limit.then, now, then), again)

    def arrives(self, node: Node, now: Moment, then: Moment) -> z3.BoolRef:
        """Work comes to the put-off step: listed, owed already, or done as it is reached."""
        same = [then.items[key] == now.items[key] for key in self.items]
        same += [then.support == now.support, then.done == now.done, then.taken == now.taken]
        here = z3.And(now.off == 0, self.open(now))
        listed = z3.If(now.off == 0, z3.BitVecVal(SHUT, 5), now.off)
        on = z3.And(then.at == self.place(node.next, then.support), then.off == listed)
        stands = z3.And(then.at == self.places[node.id], then.off == now.off)
        return z3.And(now.at == self.arrive, *same, z3.If(here, stands, on))


_BITS = ("at", "support", "lid", "bolt", "off", "taken")


def _variable(name: str, when: object) -> z3.BitVecRef:
    return z3.BitVec(f"{name} {when}", 5)


def at_step(formula: z3.BoolRef, number: int) -> z3.BoolRef:
    """A formula about now and then, said of one step of a run and the next."""
    pairs = []
    for when, then in (("now", number), ("then", number + 1)):
        pairs += [(_variable(name, when), _variable(name, then)) for name in _BITS]
        pairs += [(z3.Bool(f"{name} {when}"), z3.Bool(f"{name} {then}")) for name in ("done", "take")]
    return z3.substitute(formula, *pairs)


def bounded(procedure: Procedure) -> Found:
    """The shortest runs of a small procedure."""
    return Bounded(procedure).run()
