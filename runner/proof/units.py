"""The ledger cut into units: what can be decided alone.

A unit is an item with whatever is put off on it, and what hangs together with that: the steps a window waits for, the
items a put-off step needs, the readings it uses. Most are one item. Its states are numbered, and a set of them is a
small whole number: bit n says that state n is possible.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

from runner.job.items import Table, table
from runner.job.way import may_be_done_on_arrival
from runner.procedure.linked import Node, Procedure

LARGEST_APART = 256
"""States of a unit in which nothing shares a coordinate; beyond it, what never matters at once does."""
LARGEST_UNIT = 4096
"""States of one unit; beyond it the question is not decided."""

NOT_OWED, SHUT, SEEN = 0, 1, 2
"""A put-off step is not owed; owed, and its window was shut so far; owed, and its window has been open since."""

Flag = tuple[str, str]
"""("done", node): that step has been done. ("entered", node): its readings have been entered. ("fresh", item): a new
single-use part is at hand and was not used up.
"""


Mark = tuple[str, str]
"""A put-off step, ("off", node), or a flag: what a unit remembers besides its items."""


class Spot(NamedTuple):
    """Where a mark stands: its coordinate, the values of its cluster there (`base`, so many), its digit in them."""

    place: int
    base: int
    many: int
    stride: int
    size: int


@dataclass(slots=True, eq=False)
class Unit:
    """Items, put-off steps and flags decided together. A state is a number made of coordinates, as digits are.

    Each item has one. `slots` are the other coordinates: a slot holds clusters of marks, and of its clusters only one
    is anything but nothing at any time. A cluster alone in its slot is just its marks.
    """

    number: int
    items: tuple[str, ...]
    tables: tuple[Table, ...]
    slots: tuple[tuple[tuple[Mark, ...], ...], ...] = ()
    offset: int = 0
    offs: tuple[str, ...] = ()
    flags: tuple[Flag, ...] = ()
    sizes: tuple[int, ...] = ()
    strides: tuple[int, ...] = ()
    place_of: dict[str, int] = field(default_factory=dict)
    spots: dict[Mark, Spot] = field(default_factory=dict)
    names: tuple[str | Mark, ...] = ()
    numbers: dict[object, int] = field(default_factory=dict)
    shape: tuple[object, ...] = ()
    """What makes two units move alike under gates that are alike."""
    _mask: int = 0
    _owed: dict[int, tuple[str, ...]] = field(default_factory=dict)
    _owed_in: list[tuple[str, int]] = field(default_factory=list)
    """By put-off step, the states in which it is owed; made when asked for, as the mask is."""

    def __post_init__(self) -> None:
        self.place_of = {item: place for place, item in enumerate(self.items)}
        sizes = [len(one.states) for one in self.tables]
        for slot in self.slots:
            base = 1
            for cluster in slot:
                many = 1
                for mark in cluster:
                    many *= _digits(mark)
                stride = 1
                for mark in cluster:
                    self.spots[mark] = Spot(len(sizes), base, many - 1, stride, _digits(mark))
                    stride *= _digits(mark)
                base += many - 1
            sizes.append(base)
        self.sizes = tuple(sizes)
        strides, size = [], 1
        for each in self.sizes:
            strides.append(size)
            size *= each
        self.strides = (*strides, size)
        self.offs = tuple(name for kind, name in self.spots if kind == "off")
        self.flags = tuple(mark for mark in self.spots if mark[0] != "off")
        self.names = (*self.items, *self.spots)
        self.numbers = {name: number for number, name in enumerate(self.names)}
        kinds = tuple((one.kind, len(one.states)) for one in self.tables)
        fresh = tuple(
            (self.place_of[name], self.spots[kind, name]) for kind, name in self.flags if kind == "fresh"
        )
        self.shape = (kinds, self.sizes, fresh)

    def __contains__(self, name: object) -> bool:
        return name in self.place_of or name in self.spots

    def spot(self, name: str | Mark) -> object:
        """Where an item or a mark stands in the state; None where it does not belong to the unit."""
        return self.place_of.get(name) if isinstance(name, str) else self.spots.get(name)

    @property
    def size(self) -> int:
        """How many states it has."""
        return self.strides[-1]

    @property
    def mask(self) -> int:
        """Its bits among all; made when asked for, as units too large to be decided have too many."""
        if not self._mask:
            self._mask = ((1 << self.size) - 1) << self.offset
        return self._mask

    def part(self, state: int, place: int) -> int:
        """One coordinate of a state."""
        return state // self.strides[place] % self.sizes[place]

    def put(self, state: int, place: int, value: int) -> int:
        """The state with another value for one coordinate."""
        return state + (value - self.part(state, place)) * self.strides[place]

    def item_state(self, state: int, item: str) -> str:
        """The state of an item in words."""
        place = self.place_of[item]
        return self.tables[place].states[self.part(state, place)]

    def with_item(self, state: int, item: str, word: str) -> int:
        """The state with an item in another state."""
        place = self.place_of[item]
        return self.put(state, place, self.tables[place].states.index(word))

    def mark(self, state: int, mark: Mark) -> int:
        """How a mark stands; 0 where another cluster of its slot does."""
        place, base, many, stride, size = self.spots[mark]
        code = self.part(state, place) - base + 1
        return code // stride % size if 0 < code <= many else 0

    def with_mark(self, state: int, mark: Mark, value: int) -> int:
        """The state with a mark standing otherwise."""
        place, base, many, stride, size = self.spots[mark]
        code = self.part(state, place) - base + 1
        if not 0 < code <= many:
            if not value:
                return state
            code = 0
        code += (value - code // stride % size) * stride
        return self.put(state, place, base + code - 1 if code else 0)

    def off(self, state: int, node: str) -> int:
        """How a put-off step stands: NOT_OWED, SHUT or SEEN."""
        return self.mark(state, ("off", node))

    def with_off(self, state: int, node: str, value: int) -> int:
        """The state with a put-off step standing otherwise."""
        return self.with_mark(state, ("off", node), value)

    def owed(self, states: int) -> tuple[str, ...]:
        """The put-off steps that are owed in any state of a set, in order."""
        found = self._owed.get(states)
        if found is None:
            if not self._owed_in:
                self._owed_in = [(name, self.marked(("off", name))) for name in self.offs]
            found = self._owed[states] = tuple(name for name, owed in self._owed_in if states & owed)
        return found

    def where(self, place: int, values: Iterable[int]) -> int:
        """The set of states in which a coordinate has one of some values."""
        stride, period = self.strides[place], self.strides[place + 1]
        block = 0
        for value in values:
            block |= (1 << stride) - 1 << value * stride
        # The same block again for every value of the coordinates after it.
        return block * (((1 << self.size) - 1) // ((1 << period) - 1))

    def marked(self, mark: Mark) -> int:
        """The set of states in which a mark is anything but nothing."""
        place, base, many, stride, size = self.spots[mark]
        return self.where(place, (base + code - 1 for code in range(1, many + 1) if code // stride % size))

    def flag(self, state: int, flag: Flag) -> bool:
        """Whether a flag is set."""
        return self.mark(state, flag) == 1

    def with_flag(self, state: int, flag: Flag, *, on: bool = True) -> int:
        """The state with a flag set, or not set."""
        return self.with_mark(state, flag, int(on))


def _digits(mark: Mark) -> int:
    return 3 if mark[0] == "off" else 2


def used_inputs(node: Node) -> tuple[str, ...]:
    """The other steps whose readings a step works with."""
    if not node.readings:
        return ()
    return tuple(
        dict.fromkeys(source for r in node.readings for _, source, _ in r.inputs if source != node.id)
    )


def waited_for(node: Node) -> tuple[str, ...]:
    """The steps that the window of a put-off step waits for or counts from."""
    if node.put_off is None or node.put_off.until.kind not in ("done", "time"):
        return ()
    return node.put_off.until.nodes


class TooEntangled(Exception):  # noqa: N818  an answer: not decided
    """A unit has more states than can be decided together; `names` are its items and steps."""

    def __init__(self, names: Iterable[str]) -> None:
        super().__init__()
        self.names = tuple(names)


class Regions:
    """The steps at which a put-off step can be owed, and those at which a flag can matter."""

    def __init__(self, procedure: Procedure) -> None:
        self._by_id = procedure.by_id
        self._names = list(procedure.by_id)
        self._place = {name: place for place, name in enumerate(self._names)}
        self._back = [
            (self._place[node.id], self._place[to])
            for node in procedure.nodes
            for to in node.onward
            if self._place.get(to, len(self._place)) <= self._place[node.id]
        ]
        self._users: dict[Flag, list[str]] = {}
        for node in procedure.nodes:
            for source in waited_for(node):
                self._users.setdefault(("done", source), []).append(node.id)
            for source in used_inputs(node):
                self._users.setdefault(("entered", source), []).append(node.id)

    def slots(self, marks: Sequence[Mark]) -> tuple[tuple[tuple[Mark, ...], ...], ...]:
        """The marks as clusters of one slot: what may matter at the same time stands in one cluster.

        A part at hand matters always, and so has a slot of its own.
        """
        fresh = tuple(((mark,),) for mark in marks if mark[0] == "fresh")
        clusters: list[tuple[set[str], list[Mark]]] = []
        for mark in marks:
            if mark[0] == "fresh":
                continue
            region, members = self._owed(mark[1]) if mark[0] == "off" else self._matters(mark), [mark]
            apart = []
            for other, others in clusters:
                if other & region:
                    region, members = region | other, others + members
                else:
                    apart.append((other, others))
            clusters = [*apart, (region, members)]
        shared = tuple(tuple(members) for _, members in clusters)
        return (*fresh, shared) if shared else fresh

    def _owed(self, name: str) -> set[str]:
        """From where it is listed to where it is due; past it where the clock can take the work on from there."""
        put_off = self._by_id[name].put_off
        ends = set(put_off.before.nodes) if put_off is not None and put_off.before.kind == "step" else set()
        found = {name}
        waiting = [self._by_id[name].next]
        while waiting:
            here = waiting.pop()
            node = self._by_id.get(here)
            if here in found or node is None:
                continue
            found.add(here)
            if here not in ends or node.in_time is not None or node.guard:
                waiting += node.onward
        return found

    def _matters(self, flag: Flag) -> set[str]:
        """At least every step between where it is set and where it is read; a put-off step reads while it is owed."""
        users = self._users.get(flag, [])
        places = [self._place[name] for name in (flag[1], *users)]
        first, last = min(places), max(places)
        grown = True
        while grown:
            grown = False
            for start, to in self._back:
                # What lies beyond is come back from only by a way back from there.
                if to <= last < start:
                    last = start
                    grown = True
                if start >= first > to and start <= last:
                    first = to
                    grown = True
        between = set(self._names[first : last + 1])
        for name in (*users, flag[1]):
            if self._by_id[name].put_off is not None:
                between |= self._owed(name)
        return between


class _Groups:
    """Names that must be decided together."""

    def __init__(self) -> None:
        self._parent: dict[object, object] = {}

    def find(self, name: object) -> object:
        self._parent.setdefault(name, name)
        while self._parent[name] != name:
            self._parent[name] = self._parent[self._parent[name]]
            name = self._parent[name]
        return name

    def join(self, one: object, other: object) -> None:
        self._parent[self.find(other)] = self.find(one)

    def members(self) -> Iterator[list[object]]:
        found: dict[object, list[object]] = {}
        for name in self._parent:
            found.setdefault(self.find(name), []).append(name)
        yield from found.values()


def units_of(procedure: Procedure, reached: set[str]) -> tuple[Unit, ...]:
    """The units of a procedure, over the steps that the main line can reach. Raises TooEntangled."""
    groups = _Groups()
    by_id = procedure.by_id
    for item in procedure.items:
        groups.find(item.key)
        if item.new_every_time and item.part:
            groups.join(item.key, ("fresh", item.key))
    for node in procedure.nodes:
        if (node.put_off is None and not node.readings) or node.id not in reached:
            continue
        for source in used_inputs(node):
            groups.find(("entered", source))
        if node.put_off is None:
            continue
        groups.find(("off", node.id))
        mine: list[object] = [act.item for act in node.acts]
        mine += [test.name for test in node.needs if test.kind == "item"]
        mine += [("done", source) for source in waited_for(node)]
        mine += [("entered", source) for source in used_inputs(node)]
        for other in mine:
            groups.join(("off", node.id), other)
        for kind, sources in (("done", waited_for(node)), ("entered", used_inputs(node))):
            for source in sources:
                if by_id[source].put_off is not None:
                    groups.join((kind, source), ("off", source))
    for name in list(groups._parent):
        if isinstance(name, tuple) and name[0] == "entered" and by_id[name[1]].put_off is not None:
            groups.join(name, ("off", name[1]))
    regions: Regions | None = None
    made: list[Unit] = []
    offset = 2  # the two lowest bits: some run comes here; one without having met an injury notice
    for members in groups.members():
        items = tuple(name for name in members if isinstance(name, str))
        marks = sorted(name for name in members if isinstance(name, tuple))
        tables = tuple(
            table(procedure.item_by_key[key].kind, len(procedure.item_by_key[key].stages)) for key in items
        )
        unit = Unit(len(made), items, tables, tuple(((mark,),) for mark in marks), offset)
        if unit.size > LARGEST_APART:
            regions = regions or Regions(procedure)
            unit = Unit(len(made), items, tables, regions.slots(marks), offset)
        if unit.size > LARGEST_UNIT:
            raise TooEntangled((*items, *(name for _, name in marks)))
        offset += unit.size
        made.append(unit)
    return tuple(made)


def start_state(procedure: Procedure, unit: Unit) -> int:
    """The state of a unit before step 1."""
    state = 0
    for key in unit.items:
        state = unit.with_item(state, key, procedure.item_by_key[key].at_start)
    return state


__all__ = [
    "LARGEST_UNIT", "NOT_OWED", "SEEN", "SHUT", "Flag", "TooEntangled", "Unit", "may_be_done_on_arrival",
    "start_state", "units_of", "used_inputs", "waited_for",
]  # fmt: skip
