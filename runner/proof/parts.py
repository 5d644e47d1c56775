"""How many single-use parts a job can use up: the largest number on any path, held against the parts list."""

from collections.abc import Callable, Iterator, Sequence
from itertools import product

from runner.frozen import Frozen
from runner.job.items import Fault
from runner.job.way import operations
from runner.procedure.finding import Station
from runner.procedure.linked import Act, Item, Node, Procedure
from runner.proof.control import Edge, How, Place
from runner.proof.search import Stop
from runner.proof.trail import (
    deed_words,
    listed_station,
    move_of,
    start_stations,
    station,
    taken_up_station,
)
from runner.proof.transfers import bits_of
from runner.proof.units import NOT_OWED, Unit, start_state
from runner.proof.visits import Visits
from runner.proof.world import World

MOST_WAYS = 400_000
"""States of a part's items along all ways; beyond it the question is not decided."""

_Locals = tuple[int, ...]
"""The state of each unit of a part."""
_At = tuple[int, _Locals]
Finer = Callable[[set[str]], World | None]
"""Gives an exploration that counts the ways back with these limits; None where that is beyond its budget."""


class Endless(Exception):  # noqa: N818  an answer: not decided
    """Parts are used up on a way back that is not counted in this exploration, or in too many ways."""


class Shortage(Frozen):
    """The most that a run can use up of a part, and the way that does, as stations."""

    most: int
    way: tuple[Station, ...]


def shortages(world: World, finer: Finer) -> dict[str, Shortage]:
    """By part, the most that a run can use up, where the parts list has fewer. Raises Endless.

    Where ways back are not counted in `world` and it matters, `finer` gives a world that counts those named.
    """
    procedure = world.procedure
    listed = {part.name: part.quantity for part in procedure.parts}
    by_part: dict[str, list[Item]] = {}
    for item in procedure.items:
        if item.new_every_time and item.part in listed:
            by_part.setdefault(item.part or "", []).append(item)
    found: dict[str, Shortage] = {}
    if not by_part:
        return found
    visits = Visits(procedure)
    for part, items in by_part.items():
        steps = _using(procedure, items)
        if sum(pieces * visits.most(name) for name, pieces in steps) <= listed[part]:
            continue
        try:
            uses = _Uses(world, items)
            most, last = uses.most()
        except Endless:
            counted = finer({limit for name, _ in steps for limit in visits.over(name)})
            if counted is None:
                raise
            uses = _Uses(counted, items)
            most, last = uses.most()
        if most > listed[part]:
            found[part] = Shortage(most, tuple(_Way(uses, part, last).stations()))
    return found


def _using(procedure: Procedure, items: Sequence[Item]) -> list[tuple[str, int]]:
    """The steps that may ask for a new one, and how many pieces each time."""
    counts = {item.key: item.count for item in items}
    return [
        (node.id, counts[act.item])
        for node in procedure.nodes
        for act in node.acts
        if act.item in counts and act.verb in ("starts", "fits")
    ]


class _Uses:
    """The longest way through the states of a part's items. Ways back are counted in the states: there is no circle."""

    def __init__(self, world: World, items: Sequence[Item]) -> None:
        self.world, self.ledger = world, world.ledger
        self._count = {item.key: item.count for item in items}
        units = {unit.number: unit for item in items if (unit := self.ledger.unit_of[item.key])}
        self.units = tuple(units.values())
        self.before: dict[_At, tuple[int, _Locals, int]] = {}

    def most(self) -> tuple[int, _At]:
        """The largest number that one run uses up, and where the shortest of those runs has used them."""
        world, control = self.world, self.world.control
        order = self.ledger.order
        rank = {state: place for place, state in enumerate(order)}
        first = tuple(start_state(world.procedure, unit) for unit in self.units)
        # By place and states of the units: how many are used up, and minus the length of the way.
        best: dict[int, dict[_Locals, tuple[int, int]]] = {
            state: {first: (0, 0)} for state, _ in world.starts
        }
        most, last, seen = (0, 0), (order[0], first), 0
        for place, state in enumerate(order):
            here = best.pop(state, None)
            if here is None:
                continue
            seen += len(here)
            if seen > MOST_WAYS:
                raise Endless
            for local, (used, length) in here.items():
                more = self._at_end(state, local) if control.places[state] is Place.FINISH else 0
                if (used + more, length) > most:
                    most, last = (used + more, length), (state, local)
            for number, edge in enumerate(control.edges[state]):
                if (state, number) not in self.ledger.known:
                    continue
                if rank[edge.target] <= place:
                    raise Endless
                ahead = best.setdefault(edge.target, {})
                for local, (used, length) in here.items():
                    for after, more in self._onward(state, local, edge.how):
                        now = (used + more, length - 1)
                        if after not in ahead or now > ahead[after]:
                            ahead[after] = now
                            self.before[edge.target, after] = (state, local, number)
        return most[0], last

    def _onward(self, state: int, local: _Locals, how: How) -> Iterator[tuple[_Locals, int]]:
        """The states after an edge and what is used up on it: every combination of what each unit can do."""
        each = [
            self._moves(state, unit, one).get(how, {}) for unit, one in zip(self.units, local, strict=True)
        ]
        for chosen in product(*(moves.items() for moves in each)):
            yield tuple(after for after, _ in chosen), sum(used for _, used in chosen)

    def _at_end(self, state: int, local: _Locals) -> int:
        return sum(
            max((used for _, used in self.stood(state, unit, one).values()), default=0)
            for unit, one in zip(self.units, local, strict=True)
        )

    def _moves(self, state: int, unit: Unit, local: int) -> dict[How, dict[int, int]]:
        """By way of leaving, the states of one unit after it and the most it uses up."""
        ledger, control = self.ledger, self.world.control
        node = control.nodes[state]
        if control.places[state] is not Place.STAND or node is None:
            ways = ledger.follow(state, unit, local)
            return {how: dict.fromkeys(bits_of(after), 0) for how, after in ways.items()}
        found: dict[How, dict[int, int]] = {}
        for begun, (_, used) in self.stood(state, unit, local).items():
            asked = self.asked(node, unit, begun)
            for how, after in ledger.gate(node, unit, control.valuation[state], 1 << begun).items():
                for each in bits_of(after):
                    # Where the time is over before anything of it was done, nothing is used up either.
                    more = 0 if how is How.LATE and self._same(unit, begun, each) else asked
                    ways_on = found.setdefault(how, {})
                    ways_on[each] = max(ways_on.get(each, 0), used + more)
        if node.in_time is not None:
            for each in bits_of(ledger.follow(state, unit, local)[How.LATE]):
                found.setdefault(How.LATE, {}).setdefault(each, 0)
        return found

    def _same(self, unit: Unit, before: int, after: int) -> bool:
        """Whether no counted item of a unit has moved."""
        mine = [item for item in unit.items if item in self._count]
        return all(
            unit.item_state(before, item) == unit.item_state(after, item)
            and unit.flag(before, ("fresh", item)) == unit.flag(after, ("fresh", item))
            for item in mine
        )

    def stood(self, state: int, unit: Unit, local: int) -> dict[int, tuple[int, int]]:
        """The states in which the step begins: by each, the state of `taken` it comes from and what was used up by what
        was taken up before it.
        """
        stand = self.ledger.stand_at(state, unit, local)
        used: dict[int, int] = {}
        for now, (before, place) in stand.closure(local).items():
            step = None if place < 0 else self.world.procedure.by_id[stand.offs[place]]
            used[now] = 0 if step is None else used.get(before, 0) + self.asked(step, unit, before)
        found: dict[int, tuple[int, int]] = {}
        for now, count in used.items():
            begun, _ = stand.begins(now)
            if begun is not None and (begun not in found or count > found[begun][1]):
                found[begun] = (now, count)
        return found

    def taken(self, state: int, unit: Unit, local: int, now: int) -> list[tuple[Node, int]]:
        """The put-off steps taken up from one state of a unit to another, each with the state before it."""
        stand = self.ledger.stand_at(state, unit, local)
        closure = stand.closure(local)
        found: list[tuple[Node, int]] = []
        while closure[now][1] >= 0:
            now, place = closure[now]
            found.append((self.world.procedure.by_id[stand.offs[place]], now))
        return found[::-1]

    def asked(self, node: Node, unit: Unit, local: int) -> int:
        """How many new ones a step asks for, begun in a state of the unit."""
        return sum(count for _, count in self._asked(node, unit, local))

    def asks(self, node: Node, unit: Unit, local: int) -> list[tuple[Act, int]]:
        """Each act of a step on what is counted, and how many new ones it asks for, begun in a state of the unit."""
        return list(self._asked(node, unit, local))

    def _asked(self, node: Node, unit: Unit, local: int) -> Iterator[tuple[Act, int]]:
        for act in node.acts:
            if act.item not in self._count or act.item not in unit:
                continue
            asked = 0
            for operation in operations(
                act, len(self.ledger.stages(act.item)), unit.item_state(local, act.item)
            ):
                move = self.ledger.table(act.item).move(unit.item_state(local, act.item), operation)
                if isinstance(move, Fault):
                    break
                fresh = ("fresh", act.item)
                if act.verb in ("starts", "fits") and not unit.flag(local, fresh):
                    asked += self._count[act.item]
                local = unit.with_item(local, act.item, move)
                if act.verb in ("starts", "fits", "tightens"):
                    local = unit.with_flag(local, fresh, on=act.verb == "starts")
            yield act, asked


class _Way:
    """The way that uses up most, told: where each new one is asked for, and what is chosen."""

    def __init__(self, uses: _Uses, part: str, last: _At) -> None:
        self._uses, self._part = uses, part
        self._number = 0
        self._hops: list[tuple[_At, Edge | None]] = [(last, None)]
        while last in uses.before:
            state, local, number = uses.before[last]
            last = (state, local)
            self._hops.append((last, uses.world.control.edges[state][number]))
        self._hops.reverse()

    def stations(self) -> Iterator[Station]:
        """The stations, the last of them where the last one is used up."""
        ledger, control = self._uses.ledger, self._uses.world.control
        states = [
            Stop(at[0], -1, -1 if edge is None else control.edges[at[0]].index(edge))
            for at, edge in self._hops
        ]
        yield from start_stations(ledger, states)
        for ((state, local), edge), (then, _) in zip(
            self._hops, (*self._hops[1:], self._hops[-1]), strict=True
        ):
            node, place = control.nodes[state], control.places[state]
            if place is Place.ARRIVE and node is not None:
                yield from self._listed(node, local, then[1], edge)
            elif place in (Place.STAND, Place.FINISH) and (edge is not None or node is None):
                yield from self._stood(node, state, local, edge, then[1])

    def _listed(self, node: Node, local: _Locals, then: _Locals, edge: Edge | None) -> Iterator[Station]:
        was_and_is = [
            (unit.off(one, node.id), unit.off(after, node.id))
            for unit, one, after in zip(self._uses.units, local, then, strict=True)
            if node.id in unit.offs
        ]
        if (
            edge is not None
            and edge.how is How.LISTED
            and any(was == NOT_OWED != now for was, now in was_and_is)
        ):
            yield listed_station(node)

    def _stood(
        self, node: Node | None, state: int, local: _Locals, edge: Edge | None, then: _Locals
    ) -> Iterator[Station]:
        uses = self._uses
        told: list[str] = []
        for unit, one, after in zip(uses.units, local, then, strict=True):
            ways = uses.stood(state, unit, one)
            fitting = {
                begun: way
                for begun, way in ways.items()
                if self._leads(node, state, unit, begun, edge, after)
            }
            if not fitting:
                continue  # the time was over before the step began, and nothing was asked for
            begun = max(fitting, key=lambda each: (fitting[each][1], -each))
            for step, before in uses.taken(state, unit, one, fitting[begun][0]):
                yield taken_up_station(step, node, "; ".join(self._told(step, unit, before)))
            if node is not None:
                told += self._told(node, unit, begun)
        if node is not None:
            told += deed_words(node, edge)
            if told:
                yield station(node, "; ".join(told), move_of(edge))

    def _leads(
        self, node: Node | None, state: int, unit: Unit, begun: int, edge: Edge | None, after: int
    ) -> bool:
        if node is None or edge is None:
            return True
        gate = self._uses.ledger.gate(node, unit, self._uses.world.control.valuation[state], 1 << begun)
        return bool(gate[edge.how] >> after & 1)

    def _told(self, node: Node, unit: Unit, begun: int) -> Iterator[str]:
        items = self._uses.world.procedure.item_by_key
        for act, asked in self._uses.asks(node, unit, begun):
            self._number += asked
            new = f" ({self._part} number {self._number})" if asked else ""
            yield f"{act.verb} {items[act.item].label}{new}"
