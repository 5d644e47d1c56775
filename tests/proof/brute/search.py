"""The search: every place between two steps that some run comes to, shortest runs first."""

from collections import deque
from collections.abc import Hashable, Iterator
from itertools import product
from typing import NamedTuple

from runner.job import actions as a
from runner.job.asking import demand
from runner.job.gates import Gates
from runner.job.preparing import prerequisites
from runner.job.state import Job, new_job
from runner.job.windows import due_here, latest, ready
from runner.procedure.linked import END, Node, Procedure
from tests.proof.brute.bench import ARRIVED, EARLY, INSIDE, STOPPED, Bench, Moved
from tests.proof.brute.found import Broken, Fault, Place, Unfinished
from tests.proof.brute.gate import LATE, late, let_go, unmet_needs, walk
from tests.proof.brute.keys import Keys

BUDGET = 4000
"""So many places between steps are looked at; then the brute force gives up, and says so."""

Step = tuple[Place, str, str]
"""Where a run leads, how it comes there (`Moved.to`), and what was chosen on the way."""


def brute(procedure: Procedure, budget: int = BUDGET, gates: Gates | None = None) -> Broken | Unfinished:
    """Everything that some run of `procedure` breaks; with `gates`, of the runs they leave."""
    return Search(procedure, gates).run(budget)


class Guide(NamedTuple):
    """What a run may choose at a place, where it follows a path: one put-off step to take up, or moves at the gate."""

    take: str = ""
    only: frozenset[str] = frozenset()


class Search:
    """The places that runs come to, and the steps between them."""

    def __init__(self, procedure: Procedure, gates: Gates | None) -> None:
        self.bench = Bench(procedure)
        self.gates = gates
        self.keys = Keys(procedure)
        self.seen: dict[Hashable, Place] = {}
        self.came: dict[int, tuple[Place | None, str]] = {}
        self.onward: dict[Hashable, list[Hashable]] = {}
        self.goals: set[Hashable] = set()
        self.ends: set[Hashable] = set()
        self.missed: set[str] = set()

    def run(self, budget: int) -> Broken | Unfinished:
        waiting: deque[Hashable] = deque()
        starts: list[Hashable] = []
        for place, word in self.starts():
            starts.append(self._keep(place, None, word, waiting))
        while waiting:
            if len(self.seen) > budget:
                return Unfinished(len(self.seen))
            here = waiting.popleft()
            place = self.seen[here]
            self.bench.came_from = place
            onward = self.onward.setdefault(here, [])
            if place.job.phase == "closing":
                self.at_end(place)
                self.ends.add(here)
                continue
            for there, to, word in self.steps(place):
                if to == STOPPED:
                    self.goals.add(here)
                else:
                    onward.append(self._keep(there, place, word, waiting))
        self._reach(starts)
        return self._broken()

    def _keep(self, place: Place, before: Place | None, word: str, waiting: deque[Hashable]) -> Hashable:
        key = (place.job.phase, self.keys.of(place))
        if key not in self.seen:
            self.seen[key] = place
            self.came[id(place)] = (before, word)
            waiting.append(key)
        return key

    def starts(self) -> Iterator[tuple[Place, str]]:
        """A run for each condition and each choice it may start from, at its first step."""
        bench, procedure = self.bench, self.bench.procedure
        met = {
            line.key: ""
            for line in prerequisites(procedure)
            if not line.key.startswith(("condition:", "person:"))
        }
        met |= {line.key: "Bo" for line in prerequisites(procedure) if line.key.startswith("person:")}
        counters = tuple((counter.name, "12000") for counter in procedure.counters)
        fresh = Place(
            new_job(procedure, self.gates), frozenset(), (0,) * len(procedure.parts), warned=False, depth=0
        )
        chosen = [[(c.name, value) for value in c.values] for c in procedure.choices]
        at_start = [[(c.name, value) for value in c.at_start] for c in procedure.conditions]
        start = a.Start("Ann", EARLY, "T-1", counters)
        for choices in product(*chosen):
            for conditions in product(*at_start):
                ready_but = fresh.job.but(met=met)
                place = fresh._replace(job=ready_but)
                actions: list[a.Action] = [a.ChooseLocation("Ann", EARLY, *choice) for choice in choices]
                actions += [
                    a.MeetPrerequisite("Ann", EARLY, f"condition:{n}", value) for n, value in conditions
                ]
                actions.insert(0, start)
                moved = [Moved(place, "")]
                for action in actions:
                    moved = [m for before in moved for m in bench.act(before.place, action)]
                words = ", ".join(f"start {n}={v}" for n, v in (*choices, *conditions))
                for one in moved:
                    yield one.place, words

    def steps(self, place: Place, guide: Guide | None = None) -> Iterator[Step]:
        """Everything that can come next where nothing has been begun, or what a guide leaves of it."""
        bench, job = self.bench, place.job
        assert not job.hand
        assert not job.progress.begun
        node = job.node
        if node is not None and node.joint is not None:
            yield from self._joint(place, node)
            return
        openable = [owed.key for owed in job.owed.values() if ready(job, owed)]
        by_time = [key for key in job.owed if key not in openable and self._runs(job, key)]
        due = [owed.key for owed in due_here(job)]
        can = {*openable, *by_time}
        trapped = [key for key in due if key not in can and not self._waits_for(job, key) & can]
        if trapped:
            yield from self._trapped(place, node, trapped)
        else:
            for key in (*openable, *by_time):
                if guide is None or guide.take == key:
                    yield from self._taken_up(place, key, first=key in by_time)
        if guide is not None and guide.take:
            return
        only = None if guide is None or "*" in guide.only else guide.only
        if node is not None and (due or can) and (only is None or LATE in only):
            # The clock takes the work on before anybody could choose: what is due stays owed, and what is open now was
            # not passed by here, even where a last chance insists on it.
            for moved in late(bench, place._replace(opened=place.opened.difference(can)), node):
                yield moved.place, moved.to, f"{node.id}: late"
        if not due:
            assert node is not None
            for there, to, moves in walk(bench, place, only):
                yield there, to, f"{node.id}: {', '.join(moves)}" if moves else node.id

    def _waits_for(self, job: Job, key: str) -> set[str]:
        """What is owed that something owed waits for, and what that waits for in turn."""
        found: set[str] = set()
        waiting = [key]
        while waiting:
            put_off = job.procedure.by_id[job.owed[waiting.pop()].node].put_off
            assert put_off is not None
            for other in put_off.until.nodes if put_off.until.kind in ("done", "time") else ():
                if other in job.owed and other not in found:
                    found.add(other)
                    waiting.append(other)
        return found

    def _runs(self, job: Job, key: str) -> bool:
        """Whether a listed step waits for a time that has begun to run."""
        put_off = job.procedure.by_id[key].put_off
        assert put_off is not None
        return put_off.until.kind == "time" and latest(job, put_off.until.nodes) is not None

    def _taken_up(self, place: Place, key: str, *, first: bool) -> Iterator[Step]:
        """A listed step taken up and done; `first` where its time is to pass before that."""
        bench = self.bench
        places = [place]
        if first:
            places = [moved.place for moved in bench.act(place, a.LetTimePass("Ann", EARLY), key)]
        for here in places:
            for moved in bench.act(here, a.TakeUp("Ann", EARLY, key)):
                for there, to, moves in walk(bench, moved.place):
                    yield there, to, f"take up {key}{': ' if moves else ''}{', '.join(moves)}"

    def _joint(self, place: Place, node: Node) -> Iterator[Step]:
        """A contract that is not kept: flagged, and the run goes on without a look at what is owed."""
        for test in unmet_needs(place.job, node):
            self.bench.flag(place, "agreement-broken", node.id, test.name)
        for moved in let_go(self.bench, place, "need"):
            assert moved.to != INSIDE, node.id
            yield moved.place, moved.to, "go on"

    def _trapped(self, place: Place, node: Node | None, due: list[str]) -> Iterator[Step]:
        """Nothing can be taken up and something is due: the engine asks for it for ever. It is dropped."""
        job = place.job
        asked = demand(job, EARLY)
        assert asked.kind == "due", asked
        assert not {option.key for option in asked.options} & set(due), asked
        for key in due:
            owed = job.owed[key]
            put_off = job.procedure.by_id[owed.node].put_off
            assert put_off is not None
            if key in place.opened:
                self.missed.add(owed.node)
            else:
                rule = "change-too-soon" if put_off.before.kind == "condition" else "missed-window"
                self.bench.flag(place, rule, owed.node)
        if place.opened.intersection(due):
            # Its window was open and somebody passed it by: a last chance keeps a run from coming here.
            yield place, STOPPED, "passed by"
            return
        job = job.but(owed={key: owed for key, owed in job.owed.items() if key not in due})
        dropped = place._replace(job=job)
        if node is None and not job.owed:
            for moved in self.bench.act(dropped, None):
                yield moved.place, moved.to, "go on"
        else:
            yield dropped, ARRIVED, "go on"

    def at_end(self, place: Place) -> None:
        job = place.job
        for item in job.procedure.items:
            if job.exists(item.key) and not job.is_final(item.key):
                self.bench.flag(place, "left-open", END, item.key)

    def _reach(self, starts: list[Hashable]) -> None:
        """P1 and P2: what no run comes to, and starts and places from which nothing ends."""
        bench = self.bench
        for node in bench.procedure.nodes:
            if node.joint is None and node.id not in bench.reached and not node.id.startswith("detour:"):
                bench.faults[Fault("never-reached", node.id)] = 0
        before: dict[Hashable, list[Hashable]] = {}
        for key, onward in self.onward.items():
            for there in onward:
                before.setdefault(there, []).append(key)
        can_end = _back_from(self.ends, before)
        stops = _back_from(self.ends | self.goals, before)
        if not all(start in can_end for start in starts) or not all(key in stops for key in self.seen):
            bench.faults[Fault("no-way-out", "")] = 0

    def _broken(self) -> Broken:
        bench = self.bench
        return Broken(
            faults=bench.faults,
            paths={fault: self._path(place) for fault, place in bench.first.items()},
            missed=frozenset(self.missed),
            left=frozenset(bench.left),
            stands={n: {k: frozenset(v) for k, v in of.items()} for n, of in bench.stands.items()},
            states=len(self.seen),
        )

    def _path(self, place: Place | None) -> tuple[str, ...]:
        words: list[str] = []
        while place is not None:
            place, word = self.came[id(place)]
            words.append(word)
        return tuple(reversed(words))


def _back_from(goals: set[Hashable], before: dict[Hashable, list[Hashable]]) -> set[Hashable]:
    found = set(goals)
    waiting = list(goals)
    while waiting:
        for key in before.get(waiting.pop(), ()):
            if key not in found:
                found.add(key)
                waiting.append(key)
    return found


__all__ = ["BUDGET", "Guide", "Search", "brute"]
