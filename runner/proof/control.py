"""Where the work can stand, and under what: every step with every valuation it can be reached with.

Control does not look at items (rules R1 and R4), so it is explored first and once. What depends on the ledger, whether
a put-off step is owed already or its window has opened by a step done, becomes two edges that the ledger's sets
choose between.
"""

from collections import deque
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import ClassVar, NamedTuple

from runner.job.way import led, passing
from runner.procedure.linked import BACK, END, STOP, Exit, Node, Procedure, Test
from runner.proof.variables import Liveness, Valuations, Variable


class TooManyStates(Exception):  # noqa: N818  an answer: the budget is spent
    """More states than the budget allows."""


class Place(int):
    """What a state is.

    A number with a name, as is `How`, and no Enum: of those, Python 3.11 makes a call of every mention of a member, and
    both are mentioned several times at every state.
    """

    STAND: ClassVar["Place"]
    """Work stands at a step."""
    ARRIVE: ClassVar["Place"]
    """Work comes to a put-off step, which is listed, owed already, or done on arrival."""
    JOINT: ClassVar["Place"]
    """Work passes the beginning or end of a used file, where something must hold."""
    FORK: ClassVar["Place"]
    """Work comes to a step whose guard may hold or not, because what it reads is not tracked."""
    FINISH: ClassVar["Place"]
    """The last step is done."""
    STOPPED: ClassVar["Place"]
    """Work stopped where the author says stop."""


class How(int):
    """How an edge leaves its state."""

    DONE: ClassVar["How"]
    """The step is done."""
    REFUSED: ClassVar["How"]
    """The hold point of the step was refused: its acts are done, the step is not."""
    LATE: ClassVar["How"]
    """The time was over, at any moment of the gate."""
    PASSED: ClassVar["How"]
    """A joint, which changes nothing."""
    LISTED: ClassVar["How"]
    """A put-off step is listed, or owed already."""
    ON_ARRIVAL: ClassVar["How"]
    """A put-off step is done as it is reached."""


for _named in (Place, How):
    for _number, _name in enumerate(_named.__annotations__):
        setattr(_named, _name, _named(_number))


Used = tuple[tuple[str, bool], ...]
"""The ways back that are counted (True) or found used up."""


class Edge(NamedTuple):
    """A way from one state to another.

    `label` is the answer given, `chosen` what was chosen by reading it, `used` the ways back that are counted (True) or
    found used up, `read` the guards (by node) that could go either way because what they read is not tracked.
    """

    target: int
    how: How
    label: str = ""
    chosen: tuple[tuple[str, str], ...] = ()
    used: Used = ()
    read: tuple[tuple[str, bool], ...] = ()


@dataclass(slots=True)
class Control:
    """The states in the order found: node (None for an end), valuation, place, edges."""

    procedure: Procedure
    valuations: Valuations
    nodes: list[Node | None] = field(default_factory=list)
    valuation: list[int] = field(default_factory=list)
    places: list[Place] = field(default_factory=list)
    edges: list[list[Edge]] = field(default_factory=list)
    starts: list[tuple[int, dict[str, str]]] = field(default_factory=list)
    start_reads: dict[int, list[tuple[tuple[str, bool], ...]]] = field(default_factory=dict)
    """By start, the guards read on the way to it that could go either way, for each way."""
    forbidden: list[tuple[int, str, str, str]] = field(default_factory=list)
    """(state, condition, from, to) of every change that `changes` does not allow."""
    before: list[int] = field(default_factory=list)
    """The state from which each was found first; -1 for a start."""


class _Arrival:
    """What is so on one arrival at a step: each answer is given from outside, one case at a time."""

    def __init__(self, *, guard: bool, needs: bool, owed: bool, opens: bool) -> None:
        self._guard, self._needs, self._owed, self._opens = guard, needs, owed, opens
        self._asked = 0

    def holds(self, tests: Sequence[Test]) -> bool:
        """The guard is asked first, then the needs of a joint."""
        self._asked += 1
        return self._guard if self._asked == 1 else self._needs

    def absent(self, node: Node) -> bool:
        """Nothing is said not to apply before it is."""
        return False

    def owed(self, node: Node) -> bool:
        """Whether the step is owed already."""
        return self._owed

    def opens(self, node: Node) -> bool:
        """Whether its window is open."""
        return self._opens


def arrival_cases(node: Node, opens: bool | None) -> dict[tuple[bool, bool], How]:
    """By (owed already, window open): how a put-off step is met. `opens` is None where the ledger knows."""
    cases: dict[tuple[bool, bool], How] = {}
    for owed in (False, True):
        for open_now in (False, True) if opens is None else (opens,):
            met = passing(node, _Arrival(guard=True, needs=True, owed=owed, opens=open_now))
            cases[owed, open_now] = How.ON_ARRIVAL if met == "" else How.LISTED
    return cases


class Explorer:
    """Explores the control of a procedure with some variables tracked; at most `budget` states."""

    def __init__(self, procedure: Procedure, tracked: Sequence[Variable], budget: int) -> None:
        self.valuations = Valuations(procedure, tracked)
        self.control = Control(procedure, self.valuations)
        self._live = Liveness(procedure, self.valuations)
        self._budget = budget
        self._ids: dict[tuple[str, int, Place], int] = {}
        self._waiting: deque[int] = deque()
        self._by_id = procedure.by_id
        self._chosen: dict[str, tuple[Exit, ...]] = {}
        self._routes: dict[int, list[tuple[str, Used]]] = {}
        self._counts = any(kind == "loop" for kind, _ in self.valuations.variables)
        self._cases: dict[tuple[str, bool | None], frozenset[How]] = {}
        self._plain: dict[str, _Spot] = {}
        """What work comes to at a name, where nothing has to be read for that: joints that ask nothing are passed."""
        self._straight: set[str] = set()
        """The steps that are left in one way only, and leave every variable as it is."""
        self._look_over(procedure.nodes)

    def explore(self, starts: Sequence[tuple[str, int, dict[str, str]]]) -> Control:
        """Everything reachable from the starts: (node, valuation, words for its conditions)."""
        for node, valuation, words in starts:
            for state, read in self._arrive(node, valuation, -1):
                self.control.starts.append((state, words | dict(read.chosen)))
                self.control.start_reads.setdefault(state, []).append(read.read)
        while self._waiting:
            self._leave(self._waiting.popleft())
        return self.control

    def _look_over(self, nodes: Sequence[Node]) -> None:
        """Find out once, of every step, what need not be asked at each state."""
        stopped = self._spot(None, STOP, Place.STOPPED)
        found = self._plain
        found |= {END: self._spot(None, END, Place.FINISH), STOP: stopped, BACK: stopped}
        begins = {name for kind, name in self.valuations.variables if kind == "begun"}
        for node in reversed(nodes):
            if not (node.may_choose or node.sets or node.id in begins):
                self._straight.add(node.id)
            if node.guard:
                continue
            if not _open_joint(node):
                found[node.id] = self._spot(node, node.id, _place(node))
            elif not (node.answers and node.answers[0].limit):
                beyond = found.get(node.answers[0].to if node.answers else node.next)
                if beyond is not None:
                    found[node.id] = beyond

    def _spot(self, node: Node | None, name: str, place: Place) -> "_Spot":
        return _Spot(node, name, place, *self._live.at(name))

    def _state(self, spot: "_Spot", valuation: int, before: int) -> int:
        node, name, place, live, number = spot
        key = (name, self.valuations.blank(valuation, live, number), place)
        found = self._ids.get(key)
        if found is None:
            control = self.control
            found = self._ids[key] = len(control.nodes)
            if found >= self._budget:
                raise TooManyStates
            control.nodes.append(node)
            control.valuation.append(key[1])
            control.places.append(place)
            control.edges.append([])
            control.before.append(before)
            self._waiting.append(found)
        return found

    def _arrive(
        self, name: str, valuation: int, before: int, forked: bool | None = None
    ) -> Iterator[tuple[int, "_Read"]]:
        """The states met on coming to a step, and what was read on the way; `forked` says whether its guard holds."""
        waiting: list[tuple[str, int, _Read]] = [(name, valuation, _NOTHING)]
        while waiting:
            target, now, met = waiting.pop()
            plain = self._plain.get(target)
            if plain is not None:
                yield self._state(plain, now, before), met
                continue
            node = self._by_id.get(target)
            if node is None:
                yield self._state(self._plain[END], now, before), met
                continue
            readings = self.valuations.readings(now, node.guard)
            if forked is not None:
                readings, forked = [(now, forked)], None
            elif set(readings) == {(now, True), (now, False)}:
                yield self._state(self._spot(node, target, Place.FORK), now, before), met
                continue
            for after, held in readings:
                chosen = met.chosen + (self.valuations.differences(now, after) if now != after else ())
                read = met.read
                if sum(other == after for other, _ in readings) > 1:
                    read = (*read, (target, held))
                then = _Read(chosen, met.used, read)
                passed = passing(node, _Arrival(guard=held, needs=True, owed=False, opens=True))
                if passed == "skipped":
                    waiting.append((node.skip, after, then))
                elif node.joint is not None and not node.needs:
                    if not node.answers:
                        waiting.append((node.next, after, then))
                    for to, last, counted in self.leads(node.answers[0], after) if node.answers else ():
                        waiting.append((to, last, _Read(chosen, met.used + counted, read)))
                else:
                    yield self._state(self._spot(node, target, _place(node)), after, before), then

    def leads(self, way: Exit, valuation: int) -> list[tuple[str, int, Used]]:
        """Where an exit can lead: (target, valuation after, ways back counted (True) or found used up (False))."""
        if way.limit is None:
            return [(way.to, valuation, ())]
        if self._counts:
            return list(self._counted(way, valuation))
        # What is not counted leads the same ways under every valuation.
        routes = self._routes.get(id(way))
        if routes is None:
            routes = self._routes[id(way)] = [(to, used) for to, _, used in self._counted(way, valuation)]
        return [(to, valuation, used) for to, used in routes]

    def _counted(self, way: Exit, valuation: int) -> Iterator[tuple[str, int, Used]]:
        chain: list[str] = []
        step = way
        while step.limit is not None:
            chain.append(step.limit.id)
            step = step.limit.then
        known = [self.valuations.value(valuation, ("loop", name)) for name in chain]
        tried: set[tuple[str, str]] = set()
        for spent in range(len(chain) + 1):
            # One that is not tracked may be used up or not; one that is tracked says itself.
            counts = {
                name: value if isinstance(value, int) else (1 << 30 if place < spent else 0)
                for place, (name, value) in enumerate(zip(chain, known, strict=True))
            }
            to, limit = led(way, counts.__getitem__)
            if (to, limit) in tried:
                continue
            tried.add((to, limit))
            after = valuation
            if limit and isinstance(count := self.valuations.value(valuation, ("loop", limit)), int):
                after = self.valuations.assign(valuation, ("loop", limit), count + 1)
            stop = chain.index(limit) if limit else len(chain)
            used = (*((name, False) for name in chain[:stop]), *(((limit, True),) if limit else ()))
            yield to, after, used

    def _leave(self, state: int) -> None:
        control = self.control
        node, valuation, place = control.nodes[state], control.valuation[state], control.places[state]
        if node is None:
            return
        if place is Place.STAND:
            if node.id in self._straight:
                self._go(state, node.next, valuation, How.DONE)
            else:
                self._exits(state, node, valuation)
        elif place is Place.JOINT:
            self._go(state, node.next, valuation, How.PASSED)
        elif place is Place.FORK:
            for held in (True, False):
                for met, read in self._arrive(node.id, valuation, state, held):
                    reads = ((node.id, held), *read.read)
                    control.edges[state].append(Edge(met, How.PASSED, "", read.chosen, read.used, reads))
        else:
            self._put_off(state, node, valuation)

    def _put_off(self, state: int, node: Node, valuation: int) -> None:
        assert node.put_off is not None
        until = node.put_off.until
        opens = self.valuations.holds(valuation, until.tests) if until.kind == "condition" else None
        ways = self._cases.get((node.id, opens))
        if ways is None:
            ways = self._cases[node.id, opens] = frozenset(arrival_cases(node, opens).values())
        if How.LISTED in ways:
            self._go(state, node.next, valuation, How.LISTED)
        if How.ON_ARRIVAL in ways:
            stand = self._state(self._spot(node, node.id, Place.STAND), valuation, state)
            self.control.edges[state].append(Edge(stand, How.ON_ARRIVAL))

    def _exits(self, state: int, node: Node, valuation: int) -> None:
        valuations, control = self.valuations, self.control
        done = valuation
        for name, value in node.sets:
            now = valuations.conditions(valuation).get(name)
            if now is not None and not control.procedure.condition_by_name[name].may_become(now, value):
                control.forbidden.append((state, name, now, value))
            done = valuations.assign(done, ("condition", name), value)
        answer = ("answer", node.id)
        if ("begun", node.id) in valuations.slot:
            done = valuations.assign(done, ("begun", node.id), True)
        ways = self._ways(node)
        if not ways:
            self._go(state, node.next, done, How.DONE)
            if node.hold is not None:
                self._take(state, node.hold.refused, valuation, How.REFUSED, "")
        read = answer in valuations.slot
        for way in ways:
            then = valuations.assign(done, answer, way.label) if read else done
            self._take(state, way, then, How.DONE, way.label)
            if node.hold is not None:
                said = valuations.assign(valuation, answer, way.label)
                self._take(state, node.hold.refused, said, How.REFUSED, way.label)
        if node.in_time is not None:
            begun = [valuations.value(valuation, ("begun", start)) for start in node.in_time.start]
            if any(value is None or value is True for value in begun):
                late = node.in_time.late
                self._take(
                    state, late, valuations.assign(valuation, answer, "too late"), How.LATE, late.label
                )

    def _ways(self, node: Node) -> tuple[Exit, ...]:
        """The ways a person or a reading chooses between; a state for each valuation asks again."""
        found = self._chosen.get(node.id)
        if found is None:
            sorted_ways = (sorting.exit for reading in node.readings for sorting in reading.sorting)
            found = self._chosen[node.id] = (*node.answers, *sorted_ways)
        return found

    def _take(self, state: int, way: Exit, valuation: int, how: How, label: str) -> None:
        if way.limit is None:
            self._go(state, way.to, valuation, how, label)
            return
        for to, after, counted in self.leads(way, valuation):
            self._go(state, to, after, how, label, counted)

    def _go(
        self,
        state: int,
        target: str,
        valuation: int,
        how: How,
        label: str = "",
        used: Used = (),
    ) -> None:
        edges = self.control.edges[state]
        plain = self._plain.get(target)
        if plain is not None:
            edges.append(Edge(self._state(plain, valuation, state), how, label, (), used))
            return
        for met, read in self._arrive(target, valuation, state):
            edges.append(Edge(met, how, label, read.chosen, used + read.used, read.read))


class _Spot(NamedTuple):
    """What work can come to: the step (None for an end), its name, what is read ahead of it (see `Liveness.at`)."""

    node: Node | None
    name: str
    place: Place
    live: int
    number: int


class _Read(NamedTuple):
    """What is read between two states."""

    chosen: tuple[tuple[str, str], ...] = ()
    used: tuple[tuple[str, bool], ...] = ()
    read: tuple[tuple[str, bool], ...] = ()


_NOTHING = _Read()


def _open_joint(node: Node) -> bool:
    """Whether a joint asks for nothing, so that it is passed without being a state."""
    return node.joint is not None and not node.needs


def _place(node: Node) -> Place:
    if node.joint is not None:
        return Place.JOINT
    return Place.ARRIVE if node.put_off is not None else Place.STAND


def starts_of(procedure: Procedure, valuations: Valuations) -> list[tuple[str, int, dict[str, str]]]:
    """Every start of a procedure: its first step under each value its conditions may have."""
    worlds: list[dict[str, str]] = [{}]
    for condition in procedure.conditions:
        worlds = [{**world, condition.name: value} for world in worlds for value in condition.at_start]
    asked = {c.name for c in procedure.conditions if len(c.at_start) > 1}
    return [
        (
            procedure.first,
            valuations.of({("condition", name): value for name, value in world.items()}),
            {name: value for name, value in world.items() if name in asked},
        )
        for world in worlds
    ]
