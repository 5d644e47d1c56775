"""Which states of every unit are possible at every place: the sets of all runs, swept through the control graph.

One number holds the sets of all units at one place, a bit for each state of each unit, above two that say whether any
run comes there, and whether one does without having met an injury notice. Every transfer works bit by bit and
distributes over union, so that the fixpoint is exactly what some run can bring about (Kildall 1973; proof.md 2.3).
"""

from collections.abc import Callable

from runner.procedure.linked import Node
from runner.proof.book import UNWARNED, Book
from runner.proof.control import Control, How, Place, arrival_cases
from runner.proof.deeds import Breach, Stand, Waiting, open_on_arrival
from runner.proof.finals import open_bits
from runner.proof.transfers import (
    Barred,
    Deeds,
    Gates,
    Stands,
    Taken,
    Waits,
    bits_of,
    gate_shape,
    wait_shape,
)
from runner.proof.units import NOT_OWED, SHUT, Unit

ANY = -1
"""All bits, however many."""

Told = Callable[[Breach], None]


class Ledger(Book):
    """The units of a procedure and how each place of the control graph moves them."""

    def __init__(self, control: Control, units: tuple[Unit, ...]) -> None:
        super().__init__(control, units)
        self._deeds: dict[object, Deeds] = {}
        self._gates: dict[object, Gates] = {}
        self._at: dict[tuple[str, Barred], list[tuple[int, int, Deeds]]] = {}
        self._waits: dict[object, Waits] = {}
        self._shapes: dict[tuple[str, ...], tuple[object, ...]] = {}
        self._met: dict[tuple[str, int, int], tuple[int, int]] = {}
        self._stands: dict[object, Stands] = {}
        self._watch: dict[tuple[str, int], int] = {}
        self._open: dict[int, int] = {}
        self.watched, self.stirs = self._at_each()
        self._final: dict[int, tuple[int, list[tuple[str, int]]]] = {}
        self.taken_up: set[str] = set()
        """The put-off steps that some run takes up; filled where what is broken is told."""
        self.passed_by: set[str] = set()
        """The put-off steps that somebody can come too late for by passing their cues by; filled with them."""
        self.known = Taken((), frozenset())
        """The edges that some run takes; filled from the fixpoint."""
        self.order: list[int] = []
        """The states, each before those it leads to, ways back apart; filled from the fixpoint."""

    def follow(self, state: int, unit: Unit, local: int) -> dict[How, int]:
        """How one state of one unit goes on from a place: the set after each way of leaving. As `leave`, but quick."""
        node, place, valuation = (
            self.control.nodes[state],
            self.control.places[state],
            self.control.valuation[state],
        )
        here = 1 << local
        if node is None:
            return {}
        if place in (Place.JOINT, Place.FORK):
            return {How.PASSED: here}
        if place is Place.ARRIVE:
            if ("off", node.id) not in unit:
                return {How.LISTED: here, How.ON_ARRIVAL: here}
            ways: dict[How, int] = {}
            for how, after in self.met(node, unit, valuation, local):
                ways[how] = ways.get(how, 0) | 1 << after
            return ways
        late = here
        if here << unit.offset & self.watched[state]:
            stood = self.stands_of(node, unit, valuation, here).of(here)
            here, late = stood.begins, stood.escaped
        ways = self.gate(node, unit, valuation, here)
        if node.in_time is not None:
            ways[How.LATE] |= late
        return ways

    def idle(self, state: int, unit: Unit) -> bool:
        """Whether a place leaves every state of a unit as it is, whichever way the work goes on."""
        node, place = self.control.nodes[state], self.control.places[state]
        if node is None or place in (Place.JOINT, Place.FORK):
            return True
        if place is Place.ARRIVE:
            return ("off", node.id) not in unit
        touched = self._touched.get(node.id)
        if unit in (self.touched(node) if touched is None else touched):
            return False
        return not (unit.offs and self.watched[state] & unit.mask)

    def gate(self, node: Node, unit: Unit, valuation: int, here: int) -> dict[How, int]:
        """What the gate of a step does to a set of one unit, by way of leaving."""
        if unit not in self.touched(node):
            return {How.DONE: here, How.REFUSED: here, How.LATE: here}
        done, refused, late, _ = self._deeds_of(node, unit, self.barred(node, valuation)).of(here)
        return {How.DONE: done, How.REFUSED: refused, How.LATE: late}

    # transfers

    def leave(self, state: int, sets: int, *, told: Told | None = None, partial: bool = False) -> list[int]:
        """Follow every edge of a state with the sets that reach it: the sets after each, 0 where it is not taken.

        `told` hears what is broken. Whether the ledger lets an edge be taken is seen from the sets; where they are
        `partial` (some units missing) it is known from the fixpoint.
        """
        control = self.control
        node, place, valuation = control.nodes[state], control.places[state], control.valuation[state]
        if place is Place.STOPPED:
            return []
        edges = control.edges[state]
        if place is Place.FORK:
            return [sets] * len(edges)
        if place is Place.ARRIVE:
            assert node is not None
            return self._arrive(state, node, valuation, sets, partial=partial)
        if place is Place.JOINT:
            assert node is not None
            if told:
                self._conditions_met(node, valuation, told, "agreement-broken")
                self._through(self._gates_at(node, valuation), node, sets, told)
            return [sets] * len(edges)
        came = sets
        watched = sets & self.watched[state]
        if watched:
            sets = self._before(node, valuation, sets, watched, told)
        if node is None:
            if told:
                self._at_end(valuation, sets, told)
            return []
        if told and node.needs:
            self._conditions_met(node, valuation, told, "wrong-condition")
        if sets & UNWARNED and node.put_off is None:  # the notice of a put-off step may come at any time
            if node.warns:
                sets ^= UNWARNED
            elif told and self.hazardous(valuation):
                told(Breach("hazard-unannounced", node.id))
        done = refused = late = sets
        if node.id in self.asking:
            done, refused, late = self._through(self._gates_at(node, valuation), node, sets, told)
        if len(edges) == 1 and edges[0].how is How.DONE:
            return [done]
        if node.in_time is not None:
            late |= (
                self._escaped(node, valuation, came, watched) & ~UNWARNED
            )  # who stands at its notice has met it
        by_how = (done, refused, late)
        return [by_how[edge.how] for edge in edges]

    def _at_each(self) -> tuple[list[int], list[int]]:
        """By state: the bits in which something put off is open or due where work stands; and the bits without which a
        place passes on what comes, as it is, and breaks nothing (all, where a gate or a notice has to be looked at).
        """
        control, places, calm = self.control, self.windows.places, self.calm
        by_valuation: dict[int, tuple[int, int]] = {}
        watched, stirs = [], []
        for node, place, valuation in zip(control.nodes, control.places, control.valuation, strict=True):
            common = by_valuation.get(valuation)
            if common is None:
                opened = self._open_by(valuation)
                unwarned = UNWARNED if self.hazardous(valuation) else 0
                common = by_valuation[valuation] = (opened, opened | unwarned)
            here, stirring = common
            if node is None or node.id in places:
                here = self._watched(node, valuation)
                stirring |= here
            watched.append(here)
            stirs.append(stirring if place is Place.STAND and node is not None and node.id in calm else ANY)
        return watched, stirs

    def _gates_at(self, node: Node, valuation: int) -> list[tuple[int, int, Deeds]]:
        """The gates of a step under a valuation, by unit: (offset, mask of its bits, gates)."""
        barred = self.barred(node, valuation)
        found = self._at.get((node.id, barred))
        if found is None:
            found = self._at[node.id, barred] = [
                (unit.offset, (1 << unit.size) - 1, self._deeds_of(node, unit, barred))
                for unit in self.touched(node)
            ]
        return found

    def _through(
        self, gates: list[tuple[int, int, Deeds]], node: Node, sets: int, told: Told | None
    ) -> tuple[int, int, int]:
        """The sets after the gates of a step: done; refused, where it has a hold point; late, where it has a limit."""
        done = refused = late = sets
        for offset, mask, deeds in gates:
            before = sets >> offset & mask
            if not before:
                continue
            after, kept, partly, broken = deeds.of(before)
            if told and broken:
                for rule, subject in broken:
                    told(Breach(rule, node.id, subject))
            # The numbers are long: what nothing asks for is not made.
            if after != before:
                done ^= (before ^ after) << offset
            if kept != before and node.hold is not None:
                refused ^= (before ^ kept) << offset
            if partly != before and node.in_time is not None:
                late ^= (before ^ partly) << offset
        return done, refused, late

    def _deeds_of(self, node: Node, unit: Unit, barred: Barred) -> Deeds:
        key = (node.id, unit.number, barred)
        found = self._deeds.get(key)
        if found is None:
            alike = (self.shapes[unit.number], gate_shape(unit, node), barred)
            gates = self._gates.get(alike)
            if gates is None:
                gates = self._gates[alike] = Gates(self.procedure, unit, node, barred)
            found = self._deeds[key] = Deeds(gates, unit)
        return found

    def _arrive(self, state: int, node: Node, valuation: int, sets: int, *, partial: bool) -> list[int]:
        unit = self.unit_of["off", node.id]
        before = self.part(sets, unit)
        key = (node.id, self.conditions.of(valuation), before)
        found = self._met.get(key)
        if found is None:
            listed = arrived = 0
            for each in bits_of(before):
                for how, after in self.met(node, unit, valuation, each):
                    if how is How.LISTED:
                        listed |= 1 << after
                    else:
                        arrived |= 1 << after
            found = self._met[key] = (listed, arrived)
        afters = []
        for number, edge in enumerate(self.control.edges[state]):
            after = found[0] if edge.how is How.LISTED else found[1]
            taken = (state, number) in self.known if partial else after
            afters.append(sets ^ (before ^ after) << unit.offset if taken else 0)
        return afters

    def met(self, node: Node, unit: Unit, valuation: int, state: int) -> list[tuple[How, int]]:
        """How a put-off step is met in one state of its unit: (listed or done on arrival, state after)."""
        assert node.put_off is not None
        holds = self.control.valuations.holds(valuation, node.put_off.until.tests)
        owed = unit.off(state, node.id) != NOT_OWED
        found = []
        for open_now in open_on_arrival(unit, node, state, holds=holds):
            how = arrival_cases(node, open_now)[owed, open_now]
            after = state if owed or how is How.ON_ARRIVAL else unit.with_off(state, node.id, SHUT)
            found.append((how, after))
        return found

    def _before(self, node: Node | None, valuation: int, sets: int, watched: int, told: Told | None) -> int:
        """What is taken up, and what is due, where work stands."""
        for unit in self.units_in(watched):
            before = self.part(sets, unit)
            stood = self.stands_of(node, unit, valuation, before).of(before)
            if told:
                self.taken_up |= stood.taken
                self.passed_by |= stood.passed
                for breach in stood.broken:
                    told(breach)
            sets ^= (before ^ stood.begins) << unit.offset
        return sets

    def _escaped(self, node: Node, valuation: int, sets: int, watched: int) -> int:
        """The sets in which the time is over before the step begins, whatever was due."""
        for unit in self.units_in(watched):
            before = self.part(sets, unit)
            stood = self.stands_of(node, unit, valuation, before).of(before)
            sets ^= (before ^ stood.escaped) << unit.offset
        return sets

    def _open_by(self, valuation: int) -> int:
        """The bits in which something put off may be open wherever work stands."""
        number = self.conditions.of(valuation)
        found = self._open.get(number)
        if found is None:
            found = self.windows.by_flags
            for name in self.open_by_condition(valuation):
                found |= self.windows.pending[name]
            self._open[number] = found
        return found

    def _watched(self, node: Node | None, valuation: int) -> int:
        """The bits in which something put off is open or due at the end (None), or at a step of `windows.places`."""
        windows = self.windows
        if node is None:
            return self._open_by(valuation) | windows.everything
        key = (node.id, self.conditions.of(valuation))
        watched = self._watch.get(key)
        if watched is None:
            watched = self._open_by(valuation)
            for name in (*windows.at.get(node.id, ()), *self.due(node, valuation)):
                watched |= windows.pending[name]
            self._watch[key] = watched
        return watched

    def taken_up_at(self, state: int, sets: int) -> set[str]:
        """The put-off steps that can be taken up where work stands."""
        node, valuation = self.control.nodes[state], self.control.valuation[state]
        found: set[str] = set()
        for unit in self.units_in(sets & self.watched[state]):
            before = self.part(sets, unit)
            found |= self.stands_of(node, unit, valuation, before).of(before).taken
        return found

    def stands_of(self, node: Node | None, unit: Unit, valuation: int, sets: int) -> Stands:
        """What can happen to a set of a unit where work stands at a step (None: at the end)."""
        name = "" if node is None else node.id
        number = self.conditions.of(valuation)
        special = node is None or name in self.windows.places
        offs = unit.owed(sets)
        key = (name if special else "\0anywhere", unit.number, number, offs)
        found = self._stands.get(key)
        if found is None:
            due = self.due(node, valuation) if special else ()
            steps = [self.procedure.by_id[off] for off in offs]
            waiting = Waiting(
                opens=tuple(self.opens(step, name, valuation) for step in steps),
                due=tuple(off in due for off in offs),
                unmet=tuple(self.unmet(step, valuation) for step in steps),
                barred=tuple(self.barred(step, valuation) for step in steps),
            )
            alike = (self.shapes[unit.number], self._shape_of(unit, offs), waiting)
            waits = self._waits.get(alike)
            if waits is None:
                waits = self._waits[alike] = Waits(self.procedure, unit, offs, waiting)
            found = self._stands[key] = Stands(self.procedure, unit, offs, waiting, waits)
        return found

    def stand_at(self, state: int, unit: Unit, local: int) -> Stand:
        """What can happen to one state of a unit before the step at a place begins, state by state."""
        control = self.control
        return self.stands_of(control.nodes[state], unit, control.valuation[state], 1 << local).stand

    def _shape_of(self, unit: Unit, offs: tuple[str, ...]) -> tuple[object, ...]:
        found = self._shapes.get(offs)
        if found is None:
            found = self._shapes[offs] = tuple(wait_shape(self.procedure, unit, name, offs) for name in offs)
        return found

    def _at_end(self, valuation: int, sets: int, told: Told) -> None:
        for unit in self.units:
            found = self._final.get(unit.number)
            if found is None:
                found = self._final[unit.number] = open_bits(unit)
            if not sets & found[0]:
                continue
            for item, bits in found[1]:
                if sets & bits and self.closed_here(item, valuation):
                    told(Breach("left-open", "end", item))

    def _conditions_met(self, node: Node, valuation: int, told: Told, rule: str) -> None:
        for name in self.unmet(node, valuation) if node.needs else ():
            told(Breach(rule, node.id, name))
