"""What a step does to one state of a unit, by the engine's tables; what is wrong is flagged and the work goes on.

A deed is the gate of a step as far as a unit is concerned: needs, acts, readings. `Stand` is what can happen where
work stands before the step begins: put-off steps taken up while their window is open, and what is due.
"""

from collections.abc import Iterator
from typing import NamedTuple

from runner.job.items import Fault
from runner.job.way import is_open, operations
from runner.procedure.linked import Node, Procedure
from runner.proof.units import NOT_OWED, SEEN, SHUT, Unit, used_inputs


class Breach(NamedTuple):
    """One rule broken at one step, about one item, condition or part."""

    rule: str
    node: str
    subject: str = ""


class Outcome(NamedTuple):
    """What became of one state: `done` and `refused` after the whole gate, `late` after any part of it."""

    done: int
    refused: int
    late: frozenset[int]
    breaches: frozenset[Breach]


def deed(
    procedure: Procedure, unit: Unit, node: Node, state: int, barred: frozenset[tuple[int, int]]
) -> Outcome:
    """Carry out `node` on one state of a unit. `barred` are (act, stage) whose `only when` does not hold now."""
    breaches: set[Breach] = set()
    rule = "agreement-broken" if node.joint is not None else "not-as-needed"
    for test in node.needs:
        # A name may stand in several tests; each is judged.
        if test.kind == "item" and test.name in unit and unit.item_state(state, test.name) not in test.values:
            breaches.add(Breach(rule, node.id, test.name))
    late = {state}
    for index, act in enumerate(node.acts):
        late.add(state)  # the time can be over before each act; after the last only if more is asked
        if act.item in unit:
            for before, after, breach in _act(procedure, unit, node, index, state, barred):
                late.add(before)
                state = after
                if breach:
                    breaches.add(breach)
    typed = any(reading.kind != "worked out" for reading in node.readings)
    decided = bool(node.answers) or node.hold is not None
    if node.wait is not None or typed or decided:
        late.add(state)
    if ("entered", node.id) in unit:
        state = unit.with_flag(state, ("entered", node.id))
        if decided:
            late.add(state)
    for source in used_inputs(node):
        if ("entered", source) in unit and not unit.flag(state, ("entered", source)):
            breaches.add(Breach("not-yet-entered", node.id, source))
    refused = state
    if ("done", node.id) in unit:
        state = unit.with_flag(state, ("done", node.id))
    return Outcome(state, refused, frozenset(late), frozenset(breaches))


def _act(
    procedure: Procedure, unit: Unit, node: Node, index: int, state: int, barred: frozenset[tuple[int, int]]
) -> Iterator[tuple[int, int, Breach | None]]:
    """The (state before, state after, breach) of each operation of an act; it ends at its first fault, the item staying
    as it is.
    """
    act = node.acts[index]
    machine = unit.tables[unit.place_of[act.item]]
    stages = len(procedure.item_by_key[act.item].stages)
    for operation in operations(act, stages, unit.item_state(state, act.item)):
        move = machine.move(unit.item_state(state, act.item), operation)
        if isinstance(move, Fault):
            yield state, state, Breach("wrong-state", node.id, act.item)
            return
        stage = int(operation.rpartition(" ")[2]) if act.verb == "tightens" else 0
        if (index, stage) in barred:
            yield state, state, Breach("wrong-moment", node.id, act.item)
            return
        after = unit.with_item(state, act.item, move)
        if ("fresh", act.item) in unit and act.verb in ("starts", "fits", "tightens"):
            # A new one is asked for at the start and used up when tightened or fitted.
            after = unit.with_flag(after, ("fresh", act.item), on=act.verb == "starts")
        yield state, after, None
        state = after


def open_on_arrival(unit: Unit, node: Node, state: int, *, holds: bool) -> tuple[bool, ...]:
    """Whether the window of a put-off step can be open on arrival; both where its time counts and may be over.

    `holds` says whether the conditions it waits for do.
    """
    assert node.put_off is not None
    until = node.put_off.until
    if until.kind == "condition":
        return (holds,)
    if until.kind == "at":
        return (False,)
    done = [unit.flag(state, ("done", name)) for name in until.nodes]
    if until.kind == "done":
        return (all(done) and holds,)
    return (False, True) if any(done) else (False,)


class Waiting(NamedTuple):
    """How what is owed of a unit stands at one place, by put-off step: whether its window's condition holds (None where
    the ledger knows), whether it is due, the conditions it needs that do not hold, and what is barred of its acts.
    """

    opens: tuple[bool | None, ...]
    due: tuple[bool, ...]
    unmet: tuple[tuple[str, ...], ...]
    barred: tuple[frozenset[tuple[int, int]], ...]


class Stand:
    """What can happen to one state of a unit where work stands, before the step begins."""

    def __init__(self, procedure: Procedure, unit: Unit, offs: tuple[str, ...], waiting: Waiting) -> None:
        self._procedure, self.unit, self.offs, self._waiting = procedure, unit, offs, waiting
        self._nodes = [procedure.by_id[name] for name in offs]

    def opened(self, state: int, place: int) -> bool:
        """Whether the window of a put-off step is open in a state."""
        known = self._waiting.opens[place]
        if known is not None:
            return known
        put_off = self._nodes[place].put_off
        assert put_off is not None
        return is_open(
            put_off.until,
            holds=lambda tests: True,
            done=lambda node: self.unit.flag(state, ("done", node)),
            at="",
            passed=lambda: True,  # its time can be waited for
        )

    def cued(self, state: int) -> int:
        """The state with every open window noted."""
        for place, name in enumerate(self.offs):
            if self.unit.off(state, name) == SHUT and (self.opened(state, place) or self._rings(place)):
                state = self.unit.with_off(state, name, SEEN)
        return state

    def _rings(self, place: int) -> bool:
        """Whether its conditions hold where it waits for other work besides: that is put to whoever works, who does the
        other work first.
        """
        put_off = self._nodes[place].put_off
        return self._waiting.opens[place] is None and put_off is not None and bool(put_off.until.tests)

    def taken_up(self, state: int, place: int) -> tuple[int, frozenset[Breach]]:
        """The state after a put-off step was taken up and done."""
        node = self._nodes[place]
        done = deed(self._procedure, self.unit, node, state, self._waiting.barred[place])
        unmet = {Breach("wrong-condition", node.id, name) for name in self._waiting.unmet[place]}
        after = self.unit.with_off(done.done, node.id, NOT_OWED)
        return self.cued(after), done.breaches | unmet

    def open_here(self, state: int) -> list[int]:
        """The places of the put-off steps that can be taken up."""
        return [p for p, name in enumerate(self.offs) if self.unit.off(state, name) and self.opened(state, p)]

    def closure(self, state: int) -> dict[int, tuple[int, int]]:
        """Every state that taking up leads to: by state, the state before and the place taken up (-1 at the first)."""
        first = self.cued(state)
        found = {first: (first, -1)}
        waiting = [first]
        while waiting:
            now = waiting.pop()
            for place in self.open_here(now):
                after, _ = self.taken_up(now, place)
                if after not in found:
                    found[after] = (now, place)
                    waiting.append(after)
        return found

    def begins(self, now: int) -> tuple[int | None, tuple[str, ...]]:
        """(the state in which the step begins, the put-off steps missed): None where something is first taken up.

        What is due and was never open is dropped, so that the work goes on. Where the window was open and the cue was
        passed by, no run goes on: a last chance keeps it from coming here.
        """
        unit = self.unit
        asked = [
            name
            for due, name in zip(self._waiting.due, self.offs, strict=True)
            if due and unit.off(now, name)
        ]
        if not asked:
            return now, ()
        open_now = {self.offs[place] for place in self.open_here(now)}
        needed = set(asked).union(*(_awaited(self._procedure.by_id[name], self._procedure) for name in asked))
        if open_now & needed:
            return None, ()
        if any(unit.off(now, name) == SEEN for name in asked):
            return None, tuple(asked)
        after = now
        for name in asked:
            after = unit.with_off(after, name, NOT_OWED)
        return after, tuple(asked)

    def escape(self, now: int) -> int:
        """The state in which the clock takes the work on before the step begins, and before anybody could choose: what
        was due stays owed, and nobody passed by what is open here.
        """
        for place in self.open_here(now):
            now = self.unit.with_off(now, self.offs[place], SHUT)
        return now

    def outcome(self, state: int) -> tuple[frozenset[int], frozenset[Breach], frozenset[int]]:
        """(states in which the step may begin, what is broken, places of what was passed by for the last time)."""
        begins: set[int] = set()
        breaches: set[Breach] = set()
        passed: set[int] = set()
        for now in self.closure(state):
            for place in self.open_here(now):
                breaches |= self.taken_up(now, place)[1]
            after, lost = self.begins(now)
            if after is not None:
                begins.add(after)
            for name in lost:
                if self.unit.off(now, name) == SHUT:
                    breaches.add(Breach(_missed_rule(self._procedure.by_id[name]), name))
                else:
                    passed.add(self.offs.index(name))
        return frozenset(begins), frozenset(breaches), frozenset(passed)


def _awaited(node: Node, procedure: Procedure) -> set[str]:
    """The put-off steps that the window of one waits for, through any number of others."""
    found: set[str] = set()
    waiting = [node]
    while waiting:
        put_off = waiting.pop().put_off
        if put_off is None or put_off.until.kind not in ("done", "time"):
            continue
        for name in put_off.until.nodes:
            if name not in found:
                found.add(name)
                waiting.append(procedure.by_id[name])
    return found


def _missed_rule(node: Node) -> str:
    assert node.put_off is not None
    return "change-too-soon" if node.put_off.before.kind == "condition" else "missed-window"
