"""The outline: a linked procedure put back into the order and the nesting in which a person reads it.

The linked form is flat and joined by names. Here it is a list again: steps of the main line in their order, under
each step its ways and the steps they lead to, used files and parts as sections, detours at the end.
"""

from itertools import chain

from runner.map.entries import Ending, Entry, Lead, Outline, Section, Step, Way, WayKind
from runner.map.folding import folded
from runner.map.words import guard_words
from runner.procedure.linked import BACK, END, STOP, Exit, Node, Procedure, Test


def outline(procedure: Procedure) -> Outline:
    """The outline of a linked procedure; every node stands in it exactly once."""
    made = _Builder(procedure)
    main = folded(made.walk(procedure.first, END, ()), procedure)
    detours = []
    for condition in procedure.conditions:
        for value, head in condition.getting_there:
            entries = folded(made.walk(head, BACK, ()), procedure)
            title = f"detour: how {condition.name} is brought back to {value}"
            detours.append(Section("detour", title, entries=entries))
    left = tuple(chain.from_iterable(made.walk(node.id, END, ()) for node in procedure.nodes))
    return Outline(procedure, main, tuple(detours), left)


class _Builder:
    """Walks the graph; each node is placed the first time it is met."""

    def __init__(self, procedure: Procedure) -> None:
        self._by_id = procedure.by_id
        self._seen: set[str] = set()

    def walk(self, start: str, until: str, held: tuple[Test, ...]) -> tuple[Entry, ...]:
        """The entries from `start` up to `until`; `held` are the choices that everything here needs."""
        made: list[Entry] = []
        while start != until and start in self._by_id and start not in self._seen:
            node = self._by_id[start]
            self._seen.add(start)
            entry, start = self._entry(node, held)
            made.append(entry)
        return tuple(made)

    def _entry(self, node: Node, held: tuple[Test, ...]) -> tuple[Entry, str]:
        only_for = tuple(test for test in node.guard if test.kind == "choice" and test not in held)
        now = (*held, *only_for)
        if node.joint is None:
            only = guard_words(test for test in node.guard if test.kind != "choice")
            return Step((node,), node.place, only_for, only, self._ways(node, now)), node.next
        if node.step == ":begin":
            return self._file(node, only_for, now)
        if node.step.startswith("part:"):
            entries = self.walk(node.next, node.skip, now)
            title = node.joint.removeprefix("part: ")
            return Section(
                "part", title, node.place, (node.id,), only_for=only_for, entries=entries
            ), node.skip
        if node.answers:
            lead = self._lead(node.answers[0], node.next, now)
            return Ending((node.id,), only_for, lead), node.next
        return Ending((node.id,), only_for, says=node.joint), node.next

    def _file(self, begin: Node, only_for: tuple[Test, ...], now: tuple[Test, ...]) -> tuple[Section, str]:
        end = _end_of(begin.id)
        entries = self.walk(begin.next, end, now)
        only = guard_words(test for test in begin.guard if test.kind != "choice")
        title = (begin.joint or "").partition(", revision ")[0]
        made = Section("file", title, begin.place, (begin.id,), only_for=only_for, only=only, entries=entries)
        if end not in self._by_id:
            return made, begin.skip
        self._seen.add(end)
        return made.but(ends=(end,)), self._by_id[end].next

    def _ways(self, node: Node, held: tuple[Test, ...]) -> tuple[Way, ...]:
        written: list[tuple[WayKind, Exit]] = [("answer", way) for way in node.answers]
        written += [("band", sorting.exit) for reading in node.readings for sorting in reading.sorting]
        if node.hold:
            written.append(("refused", node.hold.refused))
        if node.in_time:
            written.append(("too late", node.in_time.late))
        return tuple(Way(kind, way.label, self._lead(way, node.next, held)) for kind, way in written)

    def _lead(self, way: Exit, follow: str, held: tuple[Test, ...]) -> Lead:
        if way.limit is not None:
            then = self._lead(way.limit.then, follow, held)
            return Lead("again", way.to, way.limit.at_most, then)
        if way.to == STOP:
            return Lead("stop")
        if way.to == follow or way.to not in self._by_id:
            return Lead("go on", follow)
        if way.to in self._seen:
            return Lead("joins", way.to)
        return Lead("steps", way.to, entries=self.walk(way.to, follow, held))


def _end_of(begin: str) -> str:
    head, _, place = begin.rpartition(":begin")
    return f"{head}:end{place}"
