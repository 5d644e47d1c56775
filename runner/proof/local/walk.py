"""The walk of one way back: every way through it, from one value that was found."""

from collections import deque
from collections.abc import Callable, Iterator

from runner.frozen import Frozen
from runner.job.items import Fault, table
from runner.job.way import operations
from runner.procedure.linked import BACK, Act, Exit, Item, Node, Procedure, Stage, Test
from runner.proof.local.known import Domains, Known, Thing, facts, learned

Fails = Callable[[Node, str], None]
"""Told of a step at which the walk cannot go on as written, and in words why."""

MOST_STANDINGS = 30_000
"""So many standings are looked at on all ways back of a procedure; then walking is given up, and that is said."""


class Strength:
    """How many standings may still be looked at."""

    def __init__(self, left: int = MOST_STANDINGS) -> None:
        self.left = left


class Walk(Frozen):
    """One walk, with one item followed or none. `goal` is the condition and the value it is to be brought back to."""

    procedure: Procedure
    head: str
    goal: tuple[str, str]
    item: str | None
    domains: Domains
    fails: Fails
    strength: Strength

    def from_value(self, found: str) -> tuple[bool, bool]:
        """Walk every way from where the condition is at `found`; tell whether any leads back, and whether all were
        walked.

        What fails is told, and the walk goes on as if it had not: needs are let go, a change is made all the same,
        an act that cannot be done is left out.
        """
        start: Known = learned((), ("condition", self.goal[0]), found)
        seen = {(self.head, start)}
        waiting = deque(seen)
        back = False
        while waiting:
            if self.strength.left <= 0:
                return back, False
            self.strength.left -= 1
            name, known = waiting.popleft()
            node = self.procedure.by_id[name]
            # The work comes to the first step of a way back whatever its guard says.
            passing = [] if name == self.head and known == start else node.guard
            here, passed = self.domains.all_hold(known, passing)
            ways = [(node.skip, one) for one in passed]
            ways += [way for one in here for way in self._done(node, one)]
            for to, after in ways:
                if to == BACK:
                    back = True
                    self._came_back(node, after)
                elif to in self.procedure.by_id and (to, after) not in seen:
                    seen.add((to, after))
                    waiting.append((to, after))
        return back, True

    def _done(self, node: Node, known: Known) -> Iterator[tuple[str, Known]]:
        """Every way out of a step at which the work stands, and what is known then."""
        for needed in self._needs(node, known):
            if node.joint is not None:
                yield (node.answers[0].to if node.answers else node.next), needed
                continue
            for name, value in node.sets:
                self._may_set(node, needed, name, value)
            befores = [[needed]]
            for act in node.acts:
                befores.append([after for one in befores[-1] for after in self._act(node, act, one)])
            if node.in_time is not None:
                for one in (one for before in befores for one in before):
                    yield from self._along(node, node.in_time.late, one)
            for one in befores[-1]:
                yield from self._ended(node, one)

    def _ended(self, node: Node, known: Known) -> Iterator[tuple[str, Known]]:
        if node.hold is not None:
            yield from self._along(node, node.hold.refused, known)
        chosen = [*node.answers, *(sorting.exit for reading in node.readings for sorting in reading.sorting)]
        after = known
        for name, value in node.sets:
            after = learned(after, ("condition", name), value)
        for way in chosen or [Exit(label="", to=node.next)]:
            yield from self._along(node, way, after)

    def _along(self, node: Node, way: Exit, known: Known) -> Iterator[tuple[str, Known]]:
        """Where an exit may lead. How often a way back was taken before is not known, so it may be used up."""
        if way.label and node.id in self.domains.asked:
            known = learned(known, ("answer", node.id), way.label)
        leads: Exit | None = way
        while leads is not None:
            yield leads.to, known
            leads = leads.limit.then if leads.limit else None

    def _needs(self, node: Node, known: Known) -> list[Known]:
        """All that may be known where the needs hold; where one surely does not, it is told and let go."""
        possible = [known]
        for test in node.needs:
            parts: list[Known] = []
            for one in possible:
                holds, fails = self.domains.split(one, test)
                if not holds:
                    self.fails(node, self._needed(test, fails[0]))
                parts += holds or fails
            possible = parts
        return possible

    def _needed(self, test: Test, known: Known) -> str:
        now = facts(known).get((test.kind, test.name), "")
        return f"{self._called(test)} must be {' or '.join(test.values)} here, and it is {now}"

    def _called(self, test: Test) -> str:
        return f'"{self.procedure.item_by_key[test.name].name}"' if test.kind == "item" else test.name

    def _may_set(self, node: Node, known: Known, name: str, value: str) -> None:
        now = facts(known).get(("condition", name), value)
        if not self.procedure.condition_by_name[name].may_become(now, value):
            self.fails(node, f"{name} may not go from {now} to {value}")

    def _act(self, node: Node, act: Act, known: Known) -> list[Known]:
        """All that may be known after an act. The first act on an item is done in every state that allows it."""
        if act.item != self.item:
            return [known]
        thing: Thing = ("item", act.item)
        item = self.procedure.item_by_key[act.item]
        states = table(item.kind, len(item.stages)).states
        if thing in facts(known):
            return [self._worked(node, act, known, silent=False)[0]]
        tried = (self._worked(node, act, learned(known, thing, state), silent=True) for state in states)
        return [after for after, done in tried if done]

    def _worked(self, node: Node, act: Act, known: Known, *, silent: bool) -> tuple[Known, bool]:
        thing: Thing = ("item", act.item)
        item = self.procedure.item_by_key[act.item]
        moves = table(item.kind, len(item.stages))
        state = facts(known)[thing]
        for operation in operations(act, len(item.stages), state):
            move = moves.move(state, operation)
            if isinstance(move, Fault):
                if not silent:
                    self.fails(node, f'{act.verb} "{item.name}": it {move.why}')
                return known, False
            if operation.startswith("tightens "):
                self._only_when(node, item, item.stages[int(operation[9:]) - 1], known)
            state = move
        return learned(known, thing, state), True

    def _only_when(self, node: Node, item: Item, stage: Stage, known: Known) -> None:
        for test in stage.only_when:
            holds, fails = self.domains.split(known, test)
            if not holds:
                now = facts(fails[0]).get((test.kind, test.name), "")
                self.fails(node, f'"{item.name}" cannot get {stage.text} here: {test.name} is {now}')

    def _came_back(self, node: Node, known: Known) -> None:
        name, value = self.goal
        now = facts(known).get(("condition", name), "")
        # The end of a used file says so itself, as a need.
        said = node.joint is not None and any(test.name == name for test in node.needs)
        if now != value and not said:
            self.fails(node, f"it ends with {name} {now}")
        if self.item is None:
            return
        item = self.procedure.item_by_key[self.item]
        first, last = (facts(known).get((kind, self.item), "") for kind in ("first", "item"))
        finals = table(item.kind, len(item.stages)).finals
        if first != last and not (first in finals and last in finals):
            self.fails(node, f'"{item.name}" is not left as it was found: it is {last} where it was {first}')
