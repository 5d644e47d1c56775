"""What can hold and what can be open at each step, for drawing: conditions along the line, windows of put-off steps.

This is a drawing, not the proof: each condition is followed alone, so that a value shown may be one that needs an
answer which rules it out; a value not shown cannot be there.
"""

from collections import deque
from collections.abc import Iterator, Mapping

from runner.frozen import Frozen
from runner.procedure.linked import BACK, END, STOP, Exit, Node, Procedure, Window

Values = frozenset[str]


class Span(Frozen):
    """Where a put-off node can stand after it was listed: every node it is carried to, where its window is open, where
    it is due (END among them).
    """

    carried: frozenset[str]
    open: frozenset[str]
    due: frozenset[str]


class _Move(Frozen):
    """One way from a node to the next: whether the node's `sets` have come about, whether it was passed over."""

    to: str
    done: bool
    passed: bool = False


def _moves(node: Node) -> Iterator[_Move]:
    if node.guard:
        yield _Move(node.skip, done=False, passed=True)
    early = [way for way in (node.hold and node.hold.refused, node.in_time and node.in_time.late) if way]
    sorted_ways = [sorting.exit for reading in node.readings for sorting in reading.sorting]
    answers = [*node.answers, *sorted_ways]
    if not answers or node.put_off is not None:
        yield _Move(node.next, done=True)
    for way in answers:
        yield from (_Move(to, done=True) for to in _ends(way))
    for way in early:
        yield from (_Move(to, done=False) for to in _ends(way))


def _ends(way: Exit) -> Iterator[str]:
    at: Exit | None = way
    while at is not None:
        yield at.to
        at = at.limit.then if at.limit else None


def values_along(procedure: Procedure) -> Mapping[str, Mapping[str, Values]]:
    """For each condition, which values it can have on coming to each node of the main line."""
    return {
        condition.name: _follow(procedure, condition.name, frozenset(condition.at_start))
        for condition in procedure.conditions
    }


def _follow(procedure: Procedure, name: str, start: Values) -> Mapping[str, Values]:
    found: dict[str, Values] = {procedure.first: start}
    waiting = deque([procedure.first])
    while waiting:
        at = waiting.popleft()
        node = procedure.by_id.get(at)
        if node is None:
            continue
        asked = [frozenset(t.values) for t in node.guard if t.kind == "condition" and t.name == name]
        inside = found[at].intersection(*asked)
        # A value that the guard names may still be passed over where the guard asks something else as well.
        outside = found[at] - asked[0] if len(node.guard) == 1 and asked else found[at]
        sets = dict(node.sets).get(name)
        after = frozenset({sets}) if sets is not None and inside else inside
        for move in _moves(node):
            values = outside if move.passed else after if move.done else inside
            known = found.get(move.to, frozenset())
            if values and not values <= known:
                found[move.to] = known | values
                waiting.append(move.to)
    return found


class Spans:
    """Follows put-off nodes; what waits for another put-off node waits for that one's window as well."""

    def __init__(self, procedure: Procedure, values: Mapping[str, Mapping[str, Values]]) -> None:
        self._procedure = procedure
        self._values = values
        self._known: dict[str, Span] = {}

    def of(self, node: Node) -> Span:
        """Follow a put-off node from where it is listed to every place where it is due."""
        if node.id not in self._known:
            # Stands while it is being followed: two that wait for each other never open.
            self._known[node.id] = Span(frozenset(), frozenset(), frozenset())
            self._known[node.id] = self._follow(node)
        return self._known[node.id]

    def _follow(self, node: Node) -> Span:
        assert node.put_off is not None
        by_id, until, due = self._procedure.by_id, node.put_off.until, _due(self._procedure, node)
        asked = frozenset(until.nodes) if until.kind in ("done", "time") else frozenset()
        later = {n: self.of(by_id[n]).open for n in asked if n in by_id and by_id[n].put_off is not None}
        before = frozenset(n for n in asked - set(later) if node.id in _reached(self._procedure, n))
        waiting, seen = [(node.next, before)], {(node.next, before)}
        opened: set[str] = set()
        while waiting:
            at, done = waiting.pop()
            done |= {n for n, places in later.items() if at in places}
            if self._open(at, done, until, asked):
                opened.add(at)
            here = by_id.get(at)
            if here is None or at in due:
                continue
            for move in _moves(here):
                put = move.done and at in asked and at not in later
                after = done | {at} if put else done
                if move.to not in (STOP, BACK, node.id) and (move.to, after) not in seen:
                    seen.add((move.to, after))
                    waiting.append((move.to, after))
        carried = frozenset(at for at, _ in seen)
        return Span(carried, frozenset(opened), carried & (due | {END}))

    def _open(self, at: str, done: frozenset[str], until: Window, asked: frozenset[str]) -> bool:
        """Whether the window can be open on coming to a node."""
        if until.kind == "condition":
            return all(self._values[t.name].get(at, frozenset()) & set(t.values) for t in until.tests)
        if until.kind == "at":
            return at in until.nodes
        return done >= asked if until.kind == "done" else bool(done)


def _due(procedure: Procedure, node: Node) -> frozenset[str]:
    """The nodes before which a put-off node must be done."""
    assert node.put_off is not None
    before = node.put_off.before
    if before.kind == "end":
        return frozenset({END})
    if before.test is None:
        return frozenset(before.nodes)
    name, values = before.test.name, before.test.values
    return frozenset(n.id for n in procedure.nodes if dict(n.sets).get(name) in values)


def _reached(procedure: Procedure, start: str) -> set[str]:
    """Every node that can come after `start`."""
    seen: set[str] = set()
    waiting = [start]
    while waiting:
        node = procedure.by_id.get(waiting.pop())
        for move in _moves(node) if node else ():
            if move.to not in seen:
                seen.add(move.to)
                waiting.append(move.to)
    return seen
