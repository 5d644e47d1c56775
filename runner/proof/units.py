"""The ledger cut into units: what can be decided alone.

A unit is an item with whatever is put off on it, and what hangs together with that: the steps a window waits for, the
items a put-off step needs, the readings it uses. Most are one item. Its states are numbered, and a set of them is a
small whole number: bit n says that state n is possible.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

from runner.job.items import Table, table
from runner.job.way import may_be_done_on_arrival
from runner.procedure.linked import Node, Procedure

LARGEST_UNIT = 4096
"""States of one unit; beyond it the question is not decided."""

NOT_OWED, SHUT, SEEN = 0, 1, 2
"""A put-off step is not owed; owed, and its window was shut so far; owed, and its window has been open since."""

Flag = tuple[str, str]
"""("done", node): that step has been done. ("entered", node): its readings have been entered. ("fresh", item): a new
single-use part is at hand and was not used up.
"""


@dataclass(slots=True)
class Unit:
    """Items, put-off steps and flags decided together. A state is a tuple: items, then put-offs, then flags."""

    number: int
    items: tuple[str, ...]
    tables: tuple[Table, ...]
    offs: tuple[str, ...] = ()
    flags: tuple[Flag, ...] = ()
    offset: int = 0
    sizes: tuple[int, ...] = ()
    strides: tuple[int, ...] = ()
    places: dict[object, int] = field(default_factory=dict)
    names: tuple[str | Flag, ...] = ()
    shape: tuple[object, ...] = ()
    """What makes two units move alike under gates that are alike."""

    def __post_init__(self) -> None:
        self.sizes = (
            *(len(one.states) for one in self.tables),
            *(3 for _ in self.offs),
            *(2 for _ in self.flags),
        )
        strides, size = [], 1
        for each in self.sizes:
            strides.append(size)
            size *= each
        self.strides = (*strides, size)
        self.names = (*self.items, *(("off", name) for name in self.offs), *self.flags)
        self.places = {name: place for place, name in enumerate(self.names)}
        fresh = [self.items.index(name) for kind, name in self.flags if kind == "fresh"]
        self.shape = (
            tuple((one.kind, len(one.states)) for one in self.tables), len(self.offs), len(self.flags), tuple(fresh)
        )  # fmt: skip

    @property
    def size(self) -> int:
        """How many states it has."""
        return self.strides[-1]

    @property
    def mask(self) -> int:
        """Its bits among all."""
        return ((1 << self.size) - 1) << self.offset

    def part(self, state: int, place: int) -> int:
        """One coordinate of a state."""
        return state // self.strides[place] % self.sizes[place]

    def put(self, state: int, place: int, value: int) -> int:
        """The state with another value for one coordinate."""
        return state + (value - self.part(state, place)) * self.strides[place]

    def item_state(self, state: int, item: str) -> str:
        """The state of an item in words."""
        place = self.places[item]
        return self.tables[place].states[self.part(state, place)]

    def with_item(self, state: int, item: str, word: str) -> int:
        """The state with an item in another state."""
        place = self.places[item]
        return self.put(state, place, self.tables[place].states.index(word))

    def off(self, state: int, node: str) -> int:
        """How a put-off step stands: NOT_OWED, SHUT or SEEN."""
        return self.part(state, self.places["off", node])

    def with_off(self, state: int, node: str, value: int) -> int:
        """The state with a put-off step standing otherwise."""
        return self.put(state, self.places["off", node], value)

    def flag(self, state: int, flag: Flag) -> bool:
        """Whether a flag is set."""
        return bool(self.part(state, self.places[flag]))

    def with_flag(self, state: int, flag: Flag) -> int:
        """The state with a flag set."""
        return self.put(state, self.places[flag], 1)


def used_inputs(node: Node) -> tuple[str, ...]:
    """The other steps whose readings a step works with."""
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
        if node.id not in reached:
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
    made: list[Unit] = []
    offset = 2  # the two lowest bits: some run comes here; one without having met an injury notice
    for members in groups.members():
        items = tuple(name for name in members if isinstance(name, str))
        offs = tuple(name[1] for name in members if isinstance(name, tuple) and name[0] == "off")
        flags = tuple(name for name in members if isinstance(name, tuple) and name[0] != "off")
        tables = tuple(
            table(procedure.item_by_key[key].kind, len(procedure.item_by_key[key].stages)) for key in items
        )
        size = 3 ** len(offs) * 2 ** len(flags)
        for one in tables:
            size *= len(one.states)
        if size > LARGEST_UNIT:
            raise TooEntangled((*items, *offs, *(name for _, name in flags)))
        unit = Unit(len(made), items, tables, offs, flags, offset)
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
