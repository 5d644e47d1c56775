"""What is known on a way back: nothing but what was found, until a step tells or a test needs it.

A way back is walked from wherever the job stands, so conditions, answers and choices are unknown at first. A test of
something unknown divides: it holds for some values and not for others, and from there on it is known.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence

from runner.job.items import table
from runner.procedure.linked import Node, Procedure, Test

Thing = tuple[str, str]
"""The kind of a test and its name."""

Known = tuple[tuple[Thing, str], ...]
"""What is known, in the order of the things, so that the same knowledge is the same value."""

UNANSWERED = ""
"""The answer of a step that was not asked."""


class Domains:
    """The values that each thing can have, for the steps of one way back; other items are as any test wants them."""

    def __init__(self, procedure: Procedure, nodes: Iterable[Node], item: str | None) -> None:
        self._procedure = procedure
        self._item = item
        self._choices = {choice.name: choice.values for choice in procedure.choices}
        nodes = tuple(nodes)
        self._own = {node.id for node in nodes}
        self.asked = {test.name for node in nodes for test in node.guard if test.kind == "answer"}

    def split(self, known: Known, test: Test) -> tuple[list[Known], list[Known]]:
        """All that may be known where the test holds, and all where it does not."""
        thing = (test.kind, test.name)
        if test.kind == "item" and test.name != self._item:
            return [known], []
        value = dict(known).get(thing)
        if value is None and test.kind == "answer" and test.name in self._own:
            value = UNANSWERED  # what this way back asks itself was not asked before it is walked
        if value is not None:
            return ([known], []) if value in test.values else ([], [known])
        holds: list[Known] = []
        fails: list[Known] = []
        for possible in self._values(test):
            side = holds if possible in test.values else fails
            side.append(learned(known, thing, possible))
        return holds, fails

    def all_hold(self, known: Known, tests: Sequence[Test]) -> tuple[list[Known], list[Known]]:
        """As `split`, for several tests: where all hold, and where any does not."""
        holds, fails = [known], []
        for test in tests:
            parts = [self.split(one, test) for one in holds]
            fails += [one for _, no in parts for one in no]
            holds = [one for yes, _ in parts for one in yes]
        return holds, fails

    def _values(self, test: Test) -> tuple[str, ...]:
        if test.kind == "condition":
            return self._procedure.condition_by_name[test.name].values
        if test.kind == "choice":
            return self._choices.get(test.name, ())
        if test.kind == "item":
            item = self._procedure.item_by_key[test.name]
            return table(item.kind, len(item.stages)).states
        node = self._procedure.by_id[test.name]
        return (*(way.label for way in node.exits if way.label), UNANSWERED)


def learned(known: Known, thing: Thing, value: str) -> Known:
    """What is known after `thing` is known to be at `value`. The first state of an item is kept beside the present."""
    facts = dict(known)
    facts[thing] = value
    if thing[0] == "item":
        facts.setdefault(("first", thing[1]), value)
    return tuple(sorted(facts.items()))


def facts(known: Known) -> Mapping[Thing, str]:
    """What is known, to look up."""
    return dict(known)


def onward(node: Node) -> Iterator[str]:
    """Every node that a step can lead to, whatever holds."""
    yield node.next
    if node.guard:
        yield node.skip
    ways = list(node.exits)
    while ways:
        way = ways.pop()
        yield way.to
        if way.limit is not None:
            ways.append(way.limit.then)
