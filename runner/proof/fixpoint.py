"""The fixpoint over all runs: what is possible at every state, what is broken where, and which edges a run takes."""

from collections.abc import Iterable, Sequence
from itertools import compress
from typing import NamedTuple

from runner.proof.control import Control, Place
from runner.proof.deeds import Breach
from runner.proof.sweep import ANY, Ledger
from runner.proof.transfers import Taken


class Swept(NamedTuple):
    """What all runs come to."""

    sets: list[int]
    """By state, what is possible there."""
    broken: dict[Breach, list[int]]
    """Every rule broken somewhere, with the states at which it is, in order."""
    roundabout: frozenset[str]
    """The steps that are come to, or taken up, only along an edge that needs a closer look (see `swept`). Nothing
    stands against the runs that come to the others, however little is tracked.
    """


class _Sweep:
    """The sets as far as they are known, and the states whose sets have grown since they were last followed."""

    def __init__(self, ledger: Ledger) -> None:
        self._ledger = ledger
        self._rank = [0] * len(ledger.control.nodes)
        for place, state in enumerate(ledger.order):
            self._rank[state] = place
        self._dirty = bytearray(len(ledger.order))
        self.sets = [0] * len(ledger.control.nodes)
        self.broken: dict[Breach, set[int]] = {}
        self.shut: set[int] = set()
        """The states that had, at some time, an edge that the ledger did not let any run take."""

    def add(self, state: int, more: int) -> None:
        """More is possible at a state."""
        grown = self.sets[state] | more
        if grown != self.sets[state]:
            self.sets[state] = grown
            self._dirty[self._rank[state]] = 1

    def run(self, held_back: list[tuple[int, int]] | None = None) -> None:
        """Follow what has grown until nothing grows. With `held_back`, what comes along an edge that needs a closer
        look, (state, sets), is put there instead of being followed.

        What is broken is heard on the way: what the sets of a state break, they break as well when they have grown.
        """
        ledger, sets, rank, dirty = self._ledger, self.sets, self._rank, self._dirty
        order, stirs, leaving = ledger.order, ledger.stirs, ledger.control.edges
        heard: list[Breach] = []
        place = dirty.find(1)
        while place >= 0:
            dirty[place] = 0
            state = order[place]
            edges, here, stir = leaving[state], sets[state], stirs[state]
            if stir == ANY or here & stir:
                afters = ledger.leave(state, here, told=heard.append)
                for breach in heard:
                    self.broken.setdefault(breach, set()).add(state)
                heard.clear()
            else:
                afters = [here] * len(edges)
            for edge, after in zip(edges, afters, strict=True):
                if not after:
                    self.shut.add(state)
                elif held_back is not None and (edge.used or edge.read):
                    held_back.append((edge.target, after))
                else:
                    # Most states are come to once: they share the number of the state before.
                    target = edge.target
                    old = sets[target]
                    grown = old | after if old else after
                    if grown != old:
                        sets[target] = grown
                        dirty[rank[target]] = 1
            place = dirty.find(1, place + 1)
            if place < 0:
                place = dirty.find(1)  # a way back


def swept(ledger: Ledger, starts: Sequence[tuple[int, int]]) -> Swept:
    """Everything that is possible from (state, sets) of every start; the ledger learns the order and the edges taken.

    First without the edges that need a closer look: those that take a way back, or read a guard, of which a run may
    know more than is tracked. What is come to by then is come to by some run whatever is tracked.
    """
    control = ledger.control
    ledger.order = in_order(control, [state for state, _ in starts])
    sweep = _Sweep(ledger)
    held_back: list[tuple[int, int]] = []
    for state, first in starts:
        if all(control.start_reads.get(state, [()])):
            held_back.append((state, first))
        else:
            sweep.add(state, first)
    sweep.run(held_back)
    came, taken_up = bytearray(map(bool, sweep.sets)), set(ledger.taken_up)
    for state, more in held_back:
        sweep.add(state, more)
    sweep.run()
    late = [here and not before for here, before in zip(sweep.sets, came, strict=True)]
    roundabout = stood(control, late) | ledger.taken_up - taken_up
    if roundabout:
        roundabout -= stood(control, came) | taken_up
    ledger.known = _taken(ledger, sweep)
    for state, name, _, _ in control.forbidden:
        node = control.nodes[state]
        if sweep.sets[state] and node is not None:
            sweep.broken.setdefault(Breach("forbidden-change", node.id, name), set()).add(state)
    broken = {breach: sorted(states) for breach, states in sweep.broken.items()}
    return Swept(sweep.sets, broken, frozenset(roundabout))


def stood(control: Control, sets: Sequence[int]) -> set[str]:
    """The steps at which work can stand."""
    return {
        node.id
        for node, place in compress(zip(control.nodes, control.places, strict=True), sets)
        if place is Place.STAND and node is not None
    }


def _taken(ledger: Ledger, sweep: _Sweep) -> Taken:
    """The edges that some run takes: only on arrival at what is put off does the ledger choose."""
    forbidden = {
        (state, number)
        for state in sweep.shut
        for number, after in enumerate(ledger.leave(state, sweep.sets[state]))
        if not after
    }
    return Taken(sweep.sets, frozenset(forbidden))


def in_order(control: Control, starts: Iterable[int]) -> list[int]:
    """Reverse postorder: a state stands before those it leads to, ways back apart."""
    edges = control.edges
    seen = bytearray(len(control.nodes))
    postorder: list[int] = []
    for start in starts:
        if seen[start]:
            continue
        seen[start] = 1
        stack = [(start, iter(edges[start]))]
        while stack:
            state, ahead = stack[-1]
            for edge in ahead:
                target = edge.target
                if not seen[target]:
                    seen[target] = 1
                    stack.append((target, iter(edges[target])))
                    break
            else:
                postorder.append(state)
                stack.pop()
    return postorder[::-1]
