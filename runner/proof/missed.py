"""How a window is missed: it never opens, opens too late, was open too early, or opens on other ways only."""

from collections.abc import Iterable

from runner.procedure.linked import Window
from runner.proof.control import How, Place
from runner.proof.deeds import Breach
from runner.proof.world import World


def how_missed(world: World, breach: Breach, *, shown: bool) -> str:
    """The words for it, after "but"; `shown` where the finding has a path. Nothing for other rules."""
    if breach.rule not in ("missed-window", "change-too-soon"):
        return ""
    put_off = world.procedure.by_id[breach.node].put_off
    assert put_off is not None
    if _in_time_elsewhere(world, breach.node):
        return f"on {'the way shown' if shown else 'some way'} that does not come in time"
    opens = set(_opening(world, breach.node, put_off.until))
    if opens & _after(world, world.broken.get(breach, ())):
        return "that comes only afterwards"
    if opens and put_off.until.kind in ("condition", "at"):
        return "that was so only before it was put off"
    return "that never comes"


def _in_time_elsewhere(world: World, name: str) -> bool:
    """Whether on some way the step can be done: on arrival, or taken up where it is owed and open."""
    control, ledger, unit = world.control, world.ledger, world.ledger.unit_of["off", name]
    for state, sets in enumerate(world.sets):
        node, place = control.nodes[state], control.places[state]
        if place is Place.ARRIVE and node is not None and node.id == name:
            arrived = [n for n, edge in enumerate(control.edges[state]) if edge.how is How.ON_ARRIVAL]
            if any((state, number) in ledger.known for number in arrived):
                return True
        elif (
            place in (Place.STAND, Place.FINISH)
            and sets & ledger.pending(name)
            and name in ledger.taken_up_at(state, sets & unit.mask)
        ):
            return True
    return False


def _opening(world: World, name: str, until: Window) -> Iterable[int]:
    """The states that some run comes to, at which the window is open or (of steps) one that it waits for is done."""
    control = world.control
    for state, sets in enumerate(world.sets):
        node = control.nodes[state]
        if not sets or control.places[state] not in (Place.STAND, Place.FINISH):
            continue
        at = "" if node is None else node.id
        if until.kind in ("done", "time"):
            if at in until.nodes:
                yield state
        elif world.ledger.window_open(name, at, control.valuation[state]):
            yield state


def _after(world: World, states: Iterable[int]) -> set[int]:
    """The states that some run comes to after one of these."""
    control, known = world.control, world.ledger.known
    waiting = list(states)
    found: set[int] = set()
    while waiting:
        state = waiting.pop()
        for number, edge in enumerate(control.edges[state]):
            if (state, number) in known and edge.target not in found:
                found.add(edge.target)
                waiting.append(edge.target)
    return found
