"""A path as a person reads it: the stops where something happens to what it is about, or a way is chosen."""

from collections.abc import Iterator, Sequence

from runner.procedure.finding import Station
from runner.procedure.linked import Act, Node, Procedure
from runner.proof.control import Edge, How, Place
from runner.proof.deeds import Breach, Stand, deed
from runner.proof.report import file_of, step_words
from runner.proof.search import Stop
from runner.proof.sweep import Ledger
from runner.proof.units import NOT_OWED, SHUT, Unit

_MISSED = ("missed-window", "change-too-soon")


def stations(ledger: Ledger, breach: Breach, path: Sequence[Stop]) -> tuple[Station, ...]:
    """The stations of a path to a breach; its last one is where the breach shows."""
    number = ledger.unit_for(breach)
    unit = None if number is None else ledger.units[number]
    found = list(start_stations(ledger, path))
    for stop, then in zip(path, (*path[1:], None), strict=True):
        edge = None if then is None else ledger.control.edges[stop.state][stop.edge]
        found += _at(ledger, unit, stop, edge, then, breach)
    if breach.rule in _MISSED and ledger.control.nodes[path[-1].state] is None:
        found.append(Station(found[-1].mark, "end", "", "end", _due(ledger.procedure, breach), "end"))
    return tuple(found)


def start_stations(ledger: Ledger, path: Sequence[Stop]) -> Iterator[Station]:
    """What the job starts from, where it may start from several conditions, and every choice the path makes."""
    control = ledger.control
    first = _first_node(ledger.procedure)
    words = next((words for state, words in control.starts if state == path[0].state), {})
    chosen = [pair for stop in path[:-1] for pair in control.edges[stop.state][stop.edge].chosen]
    for name, value in dict.fromkeys([*words.items(), *chosen]):
        yield Station(
            first.mark,
            first.step,
            "",
            first.id,
            f"the job starts with {name}: {value}",
            f"start {name}={value}",
        )


def _first_node(procedure: Procedure) -> Node:
    return procedure.by_id.get(procedure.first, procedure.nodes[0])


def _at(
    ledger: Ledger, unit: Unit | None, stop: Stop, edge: Edge | None, then: Stop | None, breach: Breach
) -> Iterator[Station]:
    node, place = ledger.control.nodes[stop.state], ledger.control.places[stop.state]
    if node is None:
        yield from _taken_up(ledger, unit, None, stop, None, None, breach)
        return
    if place is Place.ARRIVE:
        if unit is not None and edge is not None and then is not None and ("off", node.id) in unit:
            was, now = unit.off(stop.local, node.id), unit.off(then.local, node.id)
            if edge.how is How.LISTED and was == NOT_OWED != now:
                yield listed_station(node)
        return
    if place is Place.FORK:
        return
    if place is Place.JOINT:
        if edge is None:
            ends = (node.joint or "").startswith("end of ")
            yield Station(node.mark, file_of(node), node.place, node.id, "ends" if ends else "begins")
        return
    yield from _taken_up(ledger, unit, node, stop, edge, then, breach)
    if edge is None and breach.rule in _MISSED:
        yield station(node, _due(ledger.procedure, breach))
        return
    # Where what was taken up shows the breach, the step itself is not begun.
    told = list(_deed(ledger, unit, node, edge)) if edge is not None or breach.node == node.id else []
    if told or edge is None:
        yield station(node, "; ".join(told) or "work comes here", move_of(edge))


def _deed(ledger: Ledger, unit: Unit | None, node: Node, edge: Edge | None) -> Iterator[str]:
    """What happens at a step, as far as it matters to the path."""
    items = ledger.procedure.item_by_key
    if unit is not None:
        for act in node.acts:
            if act.item in unit:
                yield f"{act.verb} {items[act.item].label}{_stages(act)}"
    if edge is not None:
        yield from deed_words(node, edge)


def deed_words(node: Node, edge: Edge | None) -> Iterator[str]:
    """What is chosen at a step and what becomes of the conditions."""
    if edge is None:
        return
    if edge.label and edge.how is not How.LATE:
        yield f"answer: {edge.label}"
    if edge.how is How.REFUSED:
        yield "the hold point is refused"
    elif edge.how is How.LATE:
        yield "the time is over"
    else:
        for name, value in node.sets:
            yield f"{name} becomes {value}"
    if any(not counted for _, counted in edge.used):
        yield "the way back is used up"


def _stages(act: Act) -> str:
    if act.stages is None:
        return ""
    first, last = act.stages
    return f" (stage {first})" if first == last else f" (stages {first} to {last})"


def _due(procedure: Procedure, breach: Breach) -> str:
    """That a put-off step is due and cannot be done."""
    return f"{step_words(procedure.by_id[breach.node])} is due and cannot be done yet"


def move_of(edge: Edge | None) -> str:
    """How a step is left, for a program."""
    if edge is None:
        return ""
    if edge.how is How.LATE:
        return "late"
    moves = [f"answer {edge.label}"] if edge.label else []
    if edge.how is How.REFUSED:
        moves.append("refused")
    return "; ".join(moves) or "go on"


def _taken_up(
    ledger: Ledger, unit: Unit | None, node: Node | None, stop: Stop, edge: Edge | None, then: Stop | None,
    breach: Breach,
) -> Iterator[Station]:  # fmt: skip
    """The put-off steps that the path takes up where work stands, in order."""
    if unit is None or not unit.offs or stop.local < 0:
        return
    stand = ledger.stand_at(stop.state, unit, stop.local)
    closure = stand.closure(stop.local)
    last: int | None = None
    if edge is None or then is None or node is None:
        goal, last, _ = shown_at(ledger, breach, stop, unit)
    else:
        goal = next(now for now in closure if _leads_on(ledger, stand, node, stop, now, edge, then))
    taken = [] if last is None else [last]
    while True:
        before, place = closure[goal]
        if place < 0:
            break
        taken.append(place)
        goal = before
    for place in reversed(taken):
        step = ledger.procedure.by_id[stand.offs[place]]
        yield taken_up_station(step, node)


def shown_at(ledger: Ledger, breach: Breach, stop: Stop, unit: Unit) -> tuple[int, int | None, int]:
    """Where work stands and a breach shows: the state after what is taken up before, what is taken up to show it, and
    the state in which that, or the step, begins.
    """
    node, valuation = ledger.control.nodes[stop.state], ledger.control.valuation[stop.state]
    stand = ledger.stand_at(stop.state, unit, stop.local)
    closure = stand.closure(stop.local)
    for now in closure:
        for place in stand.open_here(now):
            if breach in stand.taken_up(now, place)[1]:
                return now, place, now
    otherwise: int | None = None
    for now in closure:
        begun, missed = stand.begins(now)
        if breach.node in missed and unit.off(now, breach.node) == SHUT:
            return now, None, now
        if begun is None or breach.rule in _MISSED:
            continue
        if _shows(ledger, unit, node, valuation, begun, breach):
            return now, None, begun
        otherwise = now if otherwise is None else otherwise
    first = next(iter(closure)) if otherwise is None else otherwise  # conditions alone show it
    return first, None, first


def _shows(ledger: Ledger, unit: Unit, node: Node | None, valuation: int, begun: int, breach: Breach) -> bool:
    if node is None:
        if breach.subject not in unit.items:
            return False
        return unit.item_state(begun, breach.subject) not in ledger.table(breach.subject).finals
    return breach in deed(ledger.procedure, unit, node, begun, ledger.barred(node, valuation)).breaches


def _leads_on(ledger: Ledger, stand: Stand, node: Node, stop: Stop, now: int, edge: Edge, then: Stop) -> bool:
    """Whether the step, begun from `now`, leads to where the path is next."""
    if edge.how is How.LATE and stand.escape(now) == then.local:
        return True
    begun, _ = stand.begins(now)
    return begun is not None and bool(
        ledger.gate(node, stand.unit, ledger.control.valuation[stop.state], 1 << begun)[edge.how]
        >> then.local
        & 1
    )


def station(node: Node, does: str, move: str = "") -> Station:
    """A stop at a step."""
    return Station(node.mark, node.step, node.place, node.id, does, move)


def listed_station(node: Node) -> Station:
    """A put-off step is listed."""
    assert node.put_off is not None
    return station(node, f"put off until {node.put_off.until.text}", "listed")


def taken_up_station(step: Node, node: Node | None, does: str = "") -> Station:
    """A put-off step taken up where work stands at `node` (None: at the end)."""
    where = "at the end" if node is None else f'before "{node.title.rstrip(".")}"'
    return station(step, f"taken up {where}{does and f': {does}'}", f"take up {step.id}")
