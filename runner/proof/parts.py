"""How many single-use parts a job can use up: the largest number on any path, held against the parts list."""

from collections.abc import Mapping, Sequence

from runner.job.items import Fault
from runner.job.way import operations
from runner.procedure.linked import Act, Item, Node, Procedure
from runner.proof.control import Place
from runner.proof.search import in_order
from runner.proof.sweep import Ledger
from runner.proof.transfers import bits_of
from runner.proof.world import World


class Endless(Exception):  # noqa: N818  an answer: not decided
    """Parts are used up on a way back that is not counted in this exploration."""


def shortages(world: World) -> dict[str, int]:
    """By part, the most that a run can use up, where the parts list has fewer. Raises Endless."""
    procedure = world.procedure
    listed = {part.name: part.quantity for part in procedure.parts}
    single = [item for item in procedure.items if item.new_every_time and item.part in listed]
    found: dict[str, int] = {}
    if not single:
        return found
    weights = _weights(world, {item.key: item for item in single})
    for part, by_state in weights.items():
        if _at_most_once(procedure, world, by_state) <= listed[part]:
            continue
        most = _longest(world, by_state)
        if most > listed[part]:
            found[part] = most
    return found


def _weights(world: World, single: Mapping[str, Item]) -> dict[str, dict[int, int]]:
    """By part and state, how many new ones the step asks for there."""
    ledger, control = world.ledger, world.control
    found: dict[str, dict[int, int]] = {}
    for state, node in enumerate(control.nodes):
        place = control.places[state]
        if node is None or not world.sets[state]:
            continue
        # What is put off is counted where it is met, whenever it is done.
        if place is not (Place.ARRIVE if node.put_off is not None else Place.STAND):
            continue
        for act in node.acts:
            item = single.get(act.item)
            if item is not None and item.part and _asks(ledger, node, act, item, world.sets, state):
                by_state = found.setdefault(item.part, {})
                by_state[state] = by_state.get(state, 0) + item.count
    return found


def _asks(ledger: Ledger, node: Node, act: Act, item: Item, sets: Sequence[int], state: int) -> bool:
    """Whether the act asks for a new part in any state that is possible there."""
    if act.verb not in ("starts", "fits"):
        return False
    if node.put_off is not None:
        return True
    unit = ledger.unit_of[item.key]
    fresh = unit.places.get(("fresh", item.key))
    mine = [other for other in node.acts if other.item == item.key]
    for local in bits_of(ledger.part(sets[state], unit)):
        word = unit.item_state(local, item.key)
        at_hand = fresh is not None and bool(unit.part(local, fresh))
        for other in mine:
            for operation in operations(other, len(item.stages), word):
                move = ledger.table(item.key).move(word, operation)
                if isinstance(move, Fault):
                    break
                if other is act and not at_hand:
                    return True
                word = move
                at_hand = other.verb == "starts" if other.verb in ("starts", "fits", "tightens") else at_hand
            if other is act:
                break
    return False


def _at_most_once(procedure: Procedure, world: World, by_state: Mapping[int, int]) -> int:
    """An easy bound: every step once, where no way back is written at all."""
    if any(kind == "loop" for kind, _ in world.all_variables):
        return 1 << 30
    by_node: dict[str, int] = {}
    for state, weight in by_state.items():
        node = world.control.nodes[state]
        assert node is not None
        by_node[node.id] = max(by_node.get(node.id, 0), weight)
    del procedure
    return sum(by_node.values())


def _longest(world: World, by_state: Mapping[int, int]) -> int:
    """The largest sum of weights on any path; ways back are counted in the states, so that there is no circle."""
    control = world.control
    order = in_order(control, [state for state, _ in world.starts])
    rank = {state: place for place, state in enumerate(order)}
    best = dict.fromkeys((state for state, _ in world.starts), 0)
    most = 0
    for place, state in enumerate(order):
        here = best.get(state)
        if here is None:
            continue
        here += by_state.get(state, 0)
        most = max(most, here)
        for number, edge in enumerate(control.edges[state]):
            if (state, number) not in world.ledger.known:
                continue
            if rank[edge.target] <= place:
                raise Endless
            best[edge.target] = max(best.get(edge.target, 0), here)
    return most
