"""One hand at the bench: a single act on a place, by `decide`, with everything that is judged on the way."""

from collections.abc import Iterator
from functools import cached_property
from typing import NamedTuple

from runner.job import actions as a
from runner.job import events as e
from runner.job.decide import decide
from runner.job.draft import Draft
from runner.job.evolve import evolve
from runner.job.gate import step_demand
from runner.job.keys import reading_key
from runner.job.settle import settle
from runner.job.state import Job
from runner.job.windows import latest, ready
from runner.procedure.linked import END, Condition, Node, Procedure
from runner.stamp import Stamp
from tests.proof.brute.found import Fault, Place

EARLY = Stamp(0, 0, 0, "bench")
"""When everything happens: no time passes, so no limit is over."""
DOUBTFUL = Stamp(10**15, 0, 0, "bench")
"""The wall clock says that every limit is over and the running clock that none is: the person's word decides each."""

ARRIVED, RETURNED, STOPPED, ENDED, INSIDE = "arrived", "returned", "stopped", "ended", "inside"


class Moved(NamedTuple):
    """Where an act led to, and whether the gate is through."""

    place: Place
    to: str


def permissive(procedure: Procedure) -> Procedure:
    """The same procedure in which every change of a condition is allowed, so that runs go on after a forbidden one."""

    def freed(condition: Condition) -> Condition:
        values = condition.values
        return condition.model_copy(update={"changes": tuple((value, values) for value in values)})

    made = procedure.model_copy(update={"conditions": tuple(freed(c) for c in procedure.conditions)})
    for name in ("condition_by_name", "by_id", "item_by_key"):
        made.__dict__.pop(name, None)
    return made


class Bench:
    """The engine for one procedure, and the book of what was found."""

    def __init__(self, procedure: Procedure) -> None:
        self.original = procedure
        self.procedure = permissive(procedure)
        self.faults: dict[Fault, int] = {}
        self.first: dict[Fault, Place] = {}
        self.reached: set[str] = set()
        self.left: set[tuple[str, str, str]] = set()
        self.stands: dict[str, dict[str, set[str]]] = {}
        self.parts = {part.name: (n, part.quantity) for n, part in enumerate(procedure.parts)}
        self.came_from: Place | None = None

    @cached_property
    def not_told(self) -> dict[str, bool]:
        """A person's word on every clock of the procedure: not yet."""
        keys: dict[str, bool] = {}
        for node in self.procedure.nodes:
            if node.wait is not None:
                keys[f"wait {node.id}"] = False
            if node.in_time is not None:
                keys[f"in time {node.id}"] = False
            if node.put_off is not None:
                keys[node.id] = keys[f"no later {node.id}"] = False
        return keys

    def flag(self, place: Place, rule: str, node: str, subject: str = "") -> None:
        """Write down a fault where it is new, with the length of this run."""
        fault = Fault(rule, node, subject)
        if place.depth < self.faults.get(fault, 1 << 30):
            self.faults[fault] = place.depth
            if self.came_from is not None:
                self.first[fault] = self.came_from

    def act(self, place: Place, action: a.Action | None, *passed: str) -> Iterator[Moved]:
        """Every outcome of an action (of nothing, where the job was changed by hand); `passed` are limits now over.

        A put-off step that waits for a time may find it over or not as it is reached: both are tried.
        """
        job = place.job
        moved, events = self._once(job, action, passed)
        yield self._judged(place, job, moved, events)
        for event in events:
            if isinstance(event, e.Listed) and self._may_be_open(job, event.node):
                other, others = self._once(job, action, (*passed, event.node))
                yield self._judged(place, job, other, others)

    def _may_be_open(self, job: Job, name: str) -> bool:
        put_off = self.procedure.by_id[name].put_off
        assert put_off is not None
        window = put_off.until
        return window.kind == "time" and put_off.no_later is None and latest(job, window.nodes) is not None

    def _once(
        self, job: Job, action: a.Action | None, passed: tuple[str, ...]
    ) -> tuple[Job, tuple[e.Event, ...]]:
        stamp = EARLY
        if passed:
            stamp = DOUBTFUL
            job = job.but(told={**self.not_told, **dict.fromkeys(passed, True)})
        if action is None:
            draft = Draft(job, "Ann", stamp)
            settle(draft)
            entry = draft.entry()
        else:
            decision = decide(job, action.but(stamp=stamp))
            assert decision.refusal is None, (action, decision.refusal)
            entry = decision.entry
        if entry is None:
            return job, ()
        made = evolve(job, entry)
        if passed:
            made = made.but(last=EARLY, told={}, done=dict.fromkeys(made.done, EARLY))
        return made.but(before=None), entry.events

    def _judged(self, place: Place, before: Job, job: Job, events: tuple[e.Event, ...]) -> Moved:
        to, opened, used, warned, depth = INSIDE, place.opened, place.used, place.warned, place.depth
        conditions = {**job.conditions, **before.conditions}
        for event in events:
            if isinstance(event, e.ConditionSet):
                assert before.node is not None
                self._change(place, before, before.node, event, conditions.get(event.name))
                conditions[event.name] = event.value
            elif isinstance(event, e.PartConfirmed):
                used = self._part(place, event, used)
            elif isinstance(event, e.WorkedOut):
                self._worked_out(place, before, event, events)
            elif isinstance(event, e.Listed):
                opened -= {event.node}
            elif isinstance(event, e.CameTo):
                to, depth = ARRIVED, depth + 1
                warned = self._stand(place._replace(depth=depth), event.node, conditions, warned)
                self._seen(event.node, job)
            elif isinstance(event, e.TakenUp):
                depth += 1
                owed = before.owed[event.key]
                warned = self._stand(place._replace(depth=depth), owed.node, conditions, warned)
            elif isinstance(event, e.OwedDone):
                to = RETURNED
            elif isinstance(event, e.StoppedAt):
                to = STOPPED
            elif isinstance(event, e.ClosingBegan):
                to = ENDED
            elif isinstance(event, e.LeftProof):
                self.left.add((event.node, event.item, event.state))
                to = STOPPED
        if job.owed and to in (ARRIVED, RETURNED):
            opened |= {key for key, owed in job.owed.items() if ready(job, owed)}
        return Moved(Place(job, opened, used, warned, depth), to)

    def _change(self, place: Place, job: Job, node: Node, event: e.ConditionSet, was: str | None) -> None:
        condition = self.original.condition_by_name[event.name]
        if was is None or condition.may_become(was, event.value):
            return
        self.flag(place, "forbidden-change", node.id, event.name)
        strict = job.but(procedure=self.original, progress=job.progress.but(hold="", late=False))
        asked = step_demand(strict, node)
        assert asked is not None, node.id
        assert (asked.kind, asked.subject) == ("blocked", "change"), (node.id, asked)

    def _part(self, place: Place, event: e.PartConfirmed, used: tuple[int, ...]) -> tuple[int, ...]:
        item = self.procedure.item_by_key[event.item]
        if item.part not in self.parts:
            return used
        number, quantity = self.parts[item.part]
        count = min(used[number] + item.count, quantity + 1)
        if count > quantity:
            self.flag(place, "too-few-parts", "", item.part)
        return (*used[:number], count, *used[number + 1 :])

    def _worked_out(self, place: Place, job: Job, event: e.WorkedOut, events: tuple[e.Event, ...]) -> None:
        """Whether every input was entered, before this entry or by it."""
        node = self.procedure.by_id[event.node]
        reading = next(r for r in node.readings if r.name == event.name)
        now = {
            reading_key(one.node, one.name, getattr(one, "index", 1))
            for one in events
            if isinstance(one, e.ReadingTaken | e.WorkedOut) and one is not event
        }
        known = now | set(job.recorded)
        for name, source, index in reading.inputs:
            if reading_key(source, name, index) not in known:
                self.flag(place, "not-yet-entered", node.id, source)

    def _stand(self, place: Place, name: str, conditions: dict[str, str], warned: bool) -> bool:
        """Work stands at a step: it is reached, and its notices warn of what is hazardous from here on."""
        node = self.procedure.by_id.get(name)
        if node is None or node.joint is not None:
            return warned
        self.reached.add(name)
        if node.put_off is not None:
            return warned  # its notice may come at any time, so it warns of nothing
        if any(notice.injury for notice in node.notices):
            return True
        if not warned and any(
            conditions.get(c.name) in c.hazardous for c in self.procedure.conditions if c.hazardous
        ):
            self.flag(place, "hazard-unannounced", name)
        return warned

    def _seen(self, name: str, job: Job) -> None:
        if name == END:
            return
        here = self.stands.setdefault(name, {})
        for item in job.ledger:
            here.setdefault(item, set()).add(job.state_of(item))
