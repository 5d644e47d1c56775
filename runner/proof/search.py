"""The shortest way to each fault: layers of what is new, and the path walked back through them."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

from runner.proof.book import HERE, UNWARNED
from runner.proof.control import Control, Place
from runner.proof.deeds import Breach
from runner.proof.sweep import Ledger
from runner.proof.transfers import bits_of
from runner.proof.units import Unit


@dataclass(slots=True)
class Waves:
    """A search in layers: `arrived[state]` are the sets new there by layer; `first` is where each breach shows."""

    arrived: dict[int, dict[int, int]] = field(default_factory=dict)
    first: dict[Breach, tuple[int, int]] = field(default_factory=dict)


def waves(
    ledger: Ledger,
    starts: Sequence[tuple[int, int]],
    wanted: Mapping[Breach, Sequence[int]],
    forbidden: Mapping[int, Sequence[Breach]],
) -> Waves:
    """Push only what is new, layer by layer, until every wanted breach has shown at (layer, state). `wanted` are the
    states at which each can show.
    """
    control, found, missing = ledger.control, Waves(), set(wanted)
    looked_at = {state for states in wanted.values() for state in states}
    keep = _bits_for(ledger, missing)
    seen: dict[int, int] = {}
    layer = 0
    front: dict[int, int] = {}
    for state, first in starts:
        front[state] = front.get(state, 0) | first & keep
    while front and missing:
        coming: dict[int, int] = {}
        for state, new in front.items():
            seen[state] = seen.get(state, 0) | new
            found.arrived.setdefault(state, {})[layer] = new
            shown: list[Breach] = []
            told = shown.append if state in looked_at else None
            if told is not None:
                shown += forbidden.get(state, ())
            afters = ledger.leave(state, new, told=told, partial=True)
            for number, (edge, after) in enumerate(zip(control.edges[state], afters, strict=True)):
                if (state, number) in ledger.known:
                    coming[edge.target] = coming.get(edge.target, 0) | after & keep
            for breach in shown:
                if breach in missing:
                    missing.discard(breach)
                    found.first[breach] = (layer, state)
        front = {
            state: sets & ~seen.get(state, 0)
            for state, sets in coming.items()
            if state not in seen or sets & ~seen[state]
        }
        layer += 1
    return found


def _bits_for(ledger: Ledger, wanted: Iterable[Breach]) -> int:
    """The bits that decide the wanted breaches; the two lowest go along."""
    keep = HERE | UNWARNED
    for number in {ledger.unit_for(breach) for breach in wanted} - {None}:
        assert number is not None
        keep |= ledger.units[number].mask
    return keep


_NOTHING: dict[int, int] = {}


class Stop(NamedTuple):
    """One state of a path: where, in which state of the unit (-1 where none is followed), and the edge taken on."""

    state: int
    local: int
    edge: int


def shortest(
    ledger: Ledger, found: Waves, breach: Breach, back: Mapping[int, Sequence[tuple[int, int]]]
) -> list[Stop]:
    """The shortest path to a breach, walked backwards through the layers; `back` are the edges into each state."""
    layer, state = found.first[breach]
    number = ledger.unit_for(breach)
    unit = None if number is None else ledger.units[number]
    local = _showing(ledger, found, breach, unit)
    path = [Stop(state, local, -1)]
    while layer:
        layer -= 1
        before = _one_before(ledger, found, unit, back[state], layer, state, local)
        assert before is not None, "a layer leads to the next"
        path.append(before)
        state, local = before.state, before.local
    return path[::-1]


def _showing(ledger: Ledger, found: Waves, breach: Breach, unit: Unit | None) -> int:
    """The state of the unit in which the breach shows."""
    layer, state = found.first[breach]
    new = found.arrived[state][layer]
    if unit is None:
        return 1 if breach.rule == "hazard-unannounced" else -1
    shown: list[Breach] = []
    for local in bits_of(ledger.part(new, unit)):
        ledger.leave(state, 1 << unit.offset + local, told=shown.append, partial=True)
        if breach in shown:
            return local
    return -1  # conditions alone decide it, wherever the item stands


def _one_before(
    ledger: Ledger,
    found: Waves,
    unit: Unit | None,
    into: Sequence[tuple[int, int]],
    layer: int,
    state: int,
    local: int,
) -> Stop | None:
    for before, number in into:
        new = found.arrived.get(before, _NOTHING).get(layer)
        if new is None or (before, number) not in ledger.known:
            continue
        how = ledger.control.edges[before][number].how
        if local < 0:
            return Stop(before, -1, number)
        if unit is None:
            node = ledger.control.nodes[before]
            stood = ledger.control.places[before] is Place.STAND
            warned = stood and node is not None and node.warns and node.put_off is None
            if new & UNWARNED and not warned:
                return Stop(before, 1, number)
            continue
        if ledger.idle(before, unit):
            if new >> unit.offset + local & 1:
                return Stop(before, local, number)
            continue
        for each in bits_of(ledger.part(new, unit)):
            if ledger.follow(before, unit, each).get(how, 0) >> local & 1:
                return Stop(before, each, number)
    return None


def edges_back(control: Control) -> dict[int, list[tuple[int, int]]]:
    """The edges into each state, as (state, number)."""
    back: dict[int, list[tuple[int, int]]] = {}
    for state, edges in enumerate(control.edges):
        for number, edge in enumerate(edges):
            back.setdefault(edge.target, []).append((state, number))
    return back
