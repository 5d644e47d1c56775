"""What the proof hands to the engine: last chances, and the item states it allows at each step."""

from collections.abc import Iterable, Mapping, Sequence

from runner.job.gates import Gates
from runner.procedure.linked import END, Node, Procedure
from runner.proof.control import Place
from runner.proof.sweep import Ledger
from runner.proof.transfers import bits_of
from runner.proof.units import Unit
from runner.proof.world import World


def gates_of(world: World, told: Mapping[str, str] | None = None) -> Gates:
    """Last chances and allowed states, from an exploration.

    `told` are the steps whose allowed states are told, in the order in which the engine looks them up, each with the
    step whose states they are: all, in the order of the procedure, each with itself, unless said otherwise.
    """
    ledger, sets = world.ledger, world.sets
    own = {node.id: node.id for node in world.procedure.nodes} if told is None else told
    return Gates(
        proved=True,
        last_chance=last_chances(ledger, sets, world.passed_by),
        allowed=_allowed(ledger, sets, own),
    )


def last_chances(
    ledger: Ledger, sets: Sequence[int], passed_by: frozenset[str]
) -> dict[str, tuple[str, ...]]:
    """By step, the put-off steps that must be done before it: their window is open, and on some way ahead it does not
    open again before they are due. Backwards, a bit for each put-off step; only those `passed_by` can come too late.
    """
    procedure, control = ledger.procedure, ledger.control
    closing = [n for n in _closing(procedure) if n.id in passed_by]
    if not closing:
        return {}
    bit = {node.id: 1 << place for place, node in enumerate(closing)}
    behind = _waited_on(procedure)
    order = ledger.order[::-1]
    danger = [0] * len(control.nodes)
    leaving = [0] * len(control.nodes)
    opened, due = _at_each(ledger, bit, behind)
    onward = [
        [edge.target for number, edge in enumerate(edges) if (state, number) in ledger.known]
        for state, edges in enumerate(control.edges)
    ]
    changed = True
    while changed:
        changed = False
        for state in order:
            out = 0
            for target in onward[state]:
                out |= danger[target]
            now = out
            if control.places[state] in (Place.STAND, Place.FINISH):
                now = (out | due[state]) & ~opened[state]
            if now != danger[state] or out != leaving[state]:
                danger[state], leaving[state] = now, out
                changed = True
    found: dict[str, set[str]] = {}
    for state, node in enumerate(control.nodes):
        if control.places[state] is not Place.STAND or node is None or not sets[state]:
            continue
        for place in bits_of(leaving[state] & opened[state] & ~due[state]):
            name = closing[place].id
            if sets[state] & ledger.pending(name):
                found.setdefault(node.id, set()).add(name)
    names = [node.id for node in procedure.nodes]
    return {step: tuple(sorted(found[step], key=names.index)) for step in names if step in found}


def _closing(procedure: Procedure) -> list[Node]:
    """The put-off steps whose window can shut again: those that wait for a condition, or for work to be at a step."""
    return [
        n
        for n in procedure.nodes
        if n.put_off is not None and (n.put_off.until.kind in ("condition", "at") or n.put_off.until.tests)
    ]


def _waited_on(procedure: Procedure) -> dict[str, set[str]]:
    """By put-off step, the put-off steps whose window waits for it, through any number of others."""
    waits: dict[str, set[str]] = {}
    for node in procedure.nodes:
        if node.put_off is not None and node.put_off.until.kind in ("done", "time"):
            for name in node.put_off.until.nodes:
                waits.setdefault(name, set()).add(node.id)
    closed: dict[str, set[str]] = {}
    for first in waits:
        found: set[str] = set()
        waiting = [first]
        while waiting:
            for name in waits.get(waiting.pop(), ()):
                if name not in found:
                    found.add(name)
                    waiting.append(name)
        closed[first] = found
    return closed


def _at_each(
    ledger: Ledger, bit: Mapping[str, int], behind: Mapping[str, set[str]]
) -> tuple[list[int], list[int]]:
    """By state: which windows are open where work stands, and which put-off steps are due there."""
    control = ledger.control
    opened = [0] * len(control.nodes)
    due = [0] * len(control.nodes)
    waited: dict[str, int] = {}
    for name, others in behind.items():
        for other in others:
            waited[other] = waited.get(other, 0) | bit.get(name, 0)
    memo: dict[tuple[str, int], tuple[int, int]] = {}
    by_condition: dict[int, int] = {}
    for state, place in enumerate(control.places):
        if place not in (Place.STAND, Place.FINISH):
            continue
        node, valuation = control.nodes[state], control.valuation[state]
        number = ledger.condition_number(valuation)
        if number not in by_condition:
            by_condition[number] = _bits(bit, ledger.open_by_condition(valuation))
        if node is not None and node.id not in ledger.windows.places:
            opened[state] = by_condition[number]
            continue
        key = (END if node is None else node.id, number)
        found = memo.get(key)
        if found is None:
            open_bits = by_condition[number] | _bits(bit, ledger.open_at(key[0]))
            asked = ledger.due(node, valuation)
            due_bits = _bits(bit, asked)
            for name in asked:
                due_bits |= waited.get(name, 0)
            found = memo[key] = (open_bits, due_bits)
        opened[state], due[state] = found
    return opened, due


def _bits(bit: Mapping[str, int], names: Iterable[str]) -> int:
    found = 0
    for name in names:
        found |= bit.get(name, 0)
    return found


def _allowed(
    ledger: Ledger, sets: Sequence[int], names: Mapping[str, str]
) -> dict[str, dict[str, tuple[str, ...]]]:
    """By step in the order of `names` and by item, the states allowed on arrival, where they differ from those
    at the step before (before the first: from the start).
    """
    procedure, control = ledger.procedure, ledger.control
    at: dict[str, int] = {}
    for node, place, here in zip(control.nodes, control.places, sets, strict=True):
        if here and (place is Place.STAND or place is Place.FINISH):
            name = END if node is None else node.id
            at[name] = at[name] | here if name in at else here
    found: dict[str, dict[str, tuple[str, ...]]] = {}
    before = {unit.number: -1 for unit in ledger.units}
    told: dict[str, tuple[str, ...]] = {item.key: (item.at_start,) for item in procedure.items}
    memo: dict[tuple[int, int], list[tuple[str, ...]]] = {}
    last = 0
    for name, explored in (*names.items(), (END, END)):
        if explored not in at:
            continue
        here = at[explored]
        found[name] = {}
        if here == last:
            continue
        different, last = here ^ last, here
        for unit in ledger.units_in(different):
            part = ledger.part(here, unit)
            if part == before[unit.number]:
                continue
            before[unit.number] = part
            alike = (ledger.shapes[unit.number], part)
            if alike not in memo:
                memo[alike] = _words(unit, part)
            for item, words in zip(unit.items, memo[alike], strict=True):
                if words != told[item]:
                    told[item] = words
                    found[name][item] = words
    return found


def _words(unit: Unit, part: int) -> list[tuple[str, ...]]:
    """By item of a unit, the states that a set allows, least advanced first."""
    found = []
    for place, table in enumerate(unit.tables):
        states = {unit.part(state, place) for state in bits_of(part)}
        found.append(tuple(word for number, word in enumerate(table.states) if number in states))
    return found
