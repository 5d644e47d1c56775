"""The product of steps with conditions, answers, choices and counted ways back, as a networkx graph.

It is made anew from the linked form alone, by the words of the guide: nothing of `runner.proof` or `runner.job` is
asked, no value is blanked, nothing is merged, every choice is made at the start. What the proof keeps in sets of bits
is here one vertex each, so that textbook algorithms can be let loose on it.
"""

from collections import deque
from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import product
from typing import NamedTuple

import networkx as nx

from runner.procedure.linked import BACK, END, STOP, Exit, Node, Procedure, Test

MOST_VERTICES = 4_000
"""A procedure with more is left out, and counted."""
STAND, ARRIVE, JOINT, FINISH, STOPPED = "stand", "arrive", "joint", "finish", "stopped"
DONE, REFUSED, LATE, ON, HERE = "done", "refused", "late", "on", "here"
"""How an edge leaves: `on` past an arrival or a joint, `here` to a put-off step that is done as it is reached."""


class TooLarge(Exception):  # noqa: N818  an answer
    """More vertices than MOST_VERTICES."""


class At(NamedTuple):
    """A vertex. `known` has conditions, answers that some guard reads, choices, counters and starts of time limits."""

    place: str
    node: str
    known: tuple[tuple[str, str | int], ...]

    def value(self, kind: str, name: str) -> str | int | None:
        """What is known of one thing."""
        return dict(self.known).get(f"{kind}:{name}")


Known = Mapping[str, str | int]


class Product:
    """The graph, with its starts; every vertex is reached from one."""

    def __init__(self, procedure: Procedure) -> None:
        self.procedure = procedure
        self.graph = nx.DiGraph()
        self.starts: list[At] = []
        nodes = procedure.nodes
        self._asked = {test.name for node in nodes for test in node.guard if test.kind == "answer"}
        self._timed = {name for node in nodes if node.in_time for name in node.in_time.start}
        waiting: deque[At] = deque()
        for known in self._beginnings():
            start = self._arrive(procedure.first, known)
            self.starts.append(start)
            waiting.append(start)
        self.graph.add_nodes_from(self.starts)
        seen = set(self.starts)
        while waiting:
            here = waiting.popleft()
            for there, how in self._leave(here):
                if not self.graph.has_edge(here, there):
                    self.graph.add_edge(here, there, hows={how})
                else:
                    self.graph.edges[here, there]["hows"].add(how)
                if there not in seen:
                    seen.add(there)
                    waiting.append(there)
            if len(seen) > MOST_VERTICES:
                raise TooLarge

    # making it

    def _beginnings(self) -> Iterator[dict[str, str | int]]:
        procedure = self.procedure
        each = [[(f"condition:{c.name}", value) for value in c.at_start] for c in procedure.conditions]
        each += [[(f"choice:{c.name}", value) for value in c.values] for c in procedure.choices]
        for chosen in product(*each):
            yield dict(chosen)

    def _arrive(self, name: str, known: Known) -> At:
        known = dict(known)
        while True:
            node = self.procedure.by_id.get(name)
            if node is None:
                assert name in (END, STOP, BACK), name
                return At(FINISH if name == END else STOPPED, "", tuple(sorted(known.items())))
            if not holds(node.guard, known):
                name = node.skip
            elif node.joint is not None and not node.needs:
                if node.answers:
                    name, known = self._led(node.answers[0], known)
                else:
                    name = node.next
            else:
                place = JOINT if node.joint is not None else ARRIVE if node.put_off is not None else STAND
                return At(place, node.id, tuple(sorted(known.items())))

    def _led(self, way: Exit, known: Known) -> tuple[str, dict[str, str | int]]:
        while way.limit is not None:
            key = f"taken:{way.limit.id}"
            times = known.get(key, 0)
            assert isinstance(times, int)
            if times < way.limit.at_most:
                return way.to, {**known, key: times + 1}
            way = way.limit.then
        return way.to, dict(known)

    def _leave(self, here: At) -> Iterator[tuple[At, str]]:
        node = self.procedure.by_id.get(here.node)
        known = dict(here.known)
        if node is None:
            return
        if here.place == JOINT:
            yield self._arrive(node.next, known), ON
        elif here.place == ARRIVE:
            yield self._arrive(node.next, known), ON
            yield here._replace(place=STAND), HERE
        else:
            yield from self._exits(node, known)

    def _exits(self, node: Node, known: Known) -> Iterator[tuple[At, str]]:
        done = {**known, **{f"condition:{name}": value for name, value in node.sets}}
        if node.id in self._timed:
            done[f"begun:{node.id}"] = 1
        ways = [*node.answers, *(sorting.exit for r in node.readings for sorting in r.sorting)]
        for way in ways or [Exit(label="", to=node.next)]:
            said = {f"answer:{node.id}": way.label} if ways and node.id in self._asked else {}
            yield self._arrive(*self._led(way, {**done, **said})), DONE
            if node.hold is not None:
                yield self._arrive(*self._led(node.hold.refused, {**known, **said})), REFUSED
        if node.in_time is not None and any(f"begun:{name}" in known for name in node.in_time.start):
            said = {f"answer:{node.id}": "too late"} if node.id in self._asked else {}
            yield self._arrive(*self._led(node.in_time.late, {**known, **said})), LATE

    # asking it

    def standing(self, name: str) -> list[At]:
        """The vertices at which work stands at a step."""
        return [at for at in self.graph if at.place == STAND and at.node == name]

    def places(self, *kinds: str) -> list[At]:
        """The vertices of some kinds."""
        return [at for at in self.graph if at.place in kinds]

    def node(self, at: At) -> Node | None:
        """The step of a vertex."""
        return self.procedure.by_id.get(at.node)

    def hazardous(self, at: At) -> bool:
        """Whether a condition has a hazardous value."""
        return any(at.value("condition", c.name) in c.hazardous for c in self.procedure.conditions)

    def from_starts(self, graph: nx.DiGraph) -> set[At]:
        """Everything reached from the starts in a part of the graph."""
        return reached(graph, self.starts)


def holds(tests: Sequence[Test], known: Known) -> bool:
    """Whether all tests of conditions, answers and choices hold."""
    return all(known.get(f"{test.kind}:{test.name}") in test.values for test in tests)


def reached(graph: nx.DiGraph, starts: Iterable[object]) -> set[At]:
    """The starts and all their descendants (breadth-first search by networkx, all starts at once)."""
    found: set[At] = set()
    for start in starts:
        if start in graph and start not in found:
            found.add(start)  # type: ignore[arg-type]
            found |= nx.descendants(graph, start)
    return found
