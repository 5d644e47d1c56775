"""How many single-use parts a job can use up: the largest number on any path, held against the parts list."""

from collections.abc import Iterator, Sequence
from itertools import product

from runner.job.items import Fault
from runner.job.way import operations
from runner.procedure.linked import Item, Node, Procedure
from runner.proof.control import How, Place
from runner.proof.search import in_order
from runner.proof.transfers import bits_of
from runner.proof.units import Unit, start_state
from runner.proof.world import World

MOST_WAYS = 400_000
"""States of a part's items along all ways; beyond it the question is not decided."""


class Endless(Exception):  # noqa: N818  an answer: not decided
    """Parts are used up on a way back that is not counted in this exploration, or in too many ways."""


def shortages(world: World) -> dict[str, int]:
    """By part, the most that a run can use up, where the parts list has fewer. Raises Endless."""
    procedure = world.procedure
    listed = {part.name: part.quantity for part in procedure.parts}
    by_part: dict[str, list[Item]] = {}
    for item in procedure.items:
        if item.new_every_time and item.part in listed:
            by_part.setdefault(item.part or "", []).append(item)
    found: dict[str, int] = {}
    for part, items in by_part.items():
        if _written(procedure, items) <= listed[part]:
            continue
        most = _Uses(world, items).most()
        if most > listed[part]:
            found[part] = most
    return found


def _written(procedure: Procedure, items: Sequence[Item]) -> int:
    """An easy bound: every act that may ask for a new one, once; no bound where a way back is written at all."""
    if any(way.limit is not None for node in procedure.nodes for way in node.exits):
        return 1 << 30
    counts = {item.key: item.count for item in items}
    return sum(
        counts.get(act.item, 0)
        for node in procedure.nodes
        for act in node.acts
        if act.verb in ("starts", "fits")
    )


class _Uses:
    """The longest way through the states of a part's items. Ways back are counted in the states: there is no circle."""

    def __init__(self, world: World, items: Sequence[Item]) -> None:
        self._world, self._ledger = world, world.ledger
        self._count = {item.key: item.count for item in items}
        units = {unit.number: unit for item in items if (unit := self._ledger.unit_of[item.key])}
        self._units = tuple(units.values())

    def most(self) -> int:
        """The largest number that one run uses up."""
        world, control = self._world, self._world.control
        order = in_order(control, [state for state, _ in world.starts])
        rank = {state: place for place, state in enumerate(order)}
        first = tuple(start_state(world.procedure, unit) for unit in self._units)
        best: dict[int, dict[tuple[int, ...], int]] = {state: {first: 0} for state, _ in world.starts}
        most = seen = 0
        for place, state in enumerate(order):
            here = best.pop(state, None)
            if here is None:
                continue
            seen += len(here)
            if seen > MOST_WAYS:
                raise Endless
            most = max(most, *here.values())
            for number, edge in enumerate(control.edges[state]):
                if (state, number) not in self._ledger.known:
                    continue
                if rank[edge.target] <= place:
                    raise Endless
                ahead = best.setdefault(edge.target, {})
                for local, used in here.items():
                    for after, more in self._onward(state, local, edge.how):
                        ahead[after] = max(ahead.get(after, 0), used + more)
            if control.places[state] is Place.FINISH:
                most = max(
                    most,
                    *(used + more for local, used in here.items() for more in self._at_end(state, local)),
                )
        return most

    def _onward(self, state: int, local: tuple[int, ...], how: How) -> Iterator[tuple[tuple[int, ...], int]]:
        """The states after an edge and what is used up on it: every combination of what each unit can do."""
        each = [
            self._moves(state, unit, one).get(how, {}) for unit, one in zip(self._units, local, strict=True)
        ]
        for chosen in product(*(moves.items() for moves in each)):
            yield tuple(after for after, _ in chosen), sum(used for _, used in chosen)

    def _at_end(self, state: int, local: tuple[int, ...]) -> Iterator[int]:
        for unit, one in zip(self._units, local, strict=True):
            yield max((used for _, used in self._stood(state, unit, one).items()), default=0)

    def _moves(self, state: int, unit: Unit, local: int) -> dict[How, dict[int, int]]:
        """By way of leaving, the states of one unit after it and the most it uses up."""
        ledger, control = self._ledger, self._world.control
        node = control.nodes[state]
        if control.places[state] is not Place.STAND or node is None:
            ways = ledger.follow(state, unit, local)
            return {how: dict.fromkeys(bits_of(after), 0) for how, after in ways.items()}
        found: dict[How, dict[int, int]] = {}
        for begun, used in self._stood(state, unit, local).items():
            asked = self._asked(node, unit, begun)
            for how, after in ledger.gate(node, unit, control.valuation[state], 1 << begun).items():
                for each in bits_of(after):
                    ways_on = found.setdefault(how, {})
                    ways_on[each] = max(ways_on.get(each, 0), used + asked)
        if node.in_time is not None:
            for each in bits_of(ledger.follow(state, unit, local)[How.LATE]):
                found.setdefault(How.LATE, {}).setdefault(each, 0)
        return found

    def _stood(self, state: int, unit: Unit, local: int) -> dict[int, int]:
        """The states in which the step begins, and what was used up by what was taken up before it."""
        ledger, control = self._ledger, self._world.control
        node = control.nodes[state]
        stand = ledger.stands_of(node, unit, control.valuation[state]).stand
        used: dict[int, int] = {}
        for now, (before, place) in stand.closure(local).items():
            more = (
                0 if place < 0 else self._asked(self._world.procedure.by_id[unit.offs[place]], unit, before)
            )
            used[now] = used.get(before, 0) + more if place >= 0 else 0
        found: dict[int, int] = {}
        for now, count in used.items():
            begun, _ = stand.begins(now)
            if begun is not None:
                found[begun] = max(found.get(begun, 0), count)
        return found

    def _asked(self, node: Node, unit: Unit, local: int) -> int:
        """How many new ones a step asks for, begun in a state of the unit."""
        asked = 0
        for act in node.acts:
            if act.item not in self._count or act.item not in unit.places:
                continue
            for operation in operations(
                act, len(self._ledger.stages(act.item)), unit.item_state(local, act.item)
            ):
                move = self._ledger.table(act.item).move(unit.item_state(local, act.item), operation)
                if isinstance(move, Fault):
                    break
                fresh = unit.places["fresh", act.item]
                if act.verb in ("starts", "fits") and not unit.part(local, fresh):
                    asked += self._count[act.item]
                local = unit.with_item(local, act.item, move)
                if act.verb in ("starts", "fits", "tightens"):
                    local = unit.put(local, fresh, int(act.verb == "starts"))
        return asked
