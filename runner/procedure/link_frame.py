"""Where the linker stands while it unfolds a procedure: the file, the place, the lists around it.

A `Unit` is one file at one call; a `Frame` is one point in it; a `Draft` is a node whose ways are known and
whose references are not yet.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Generic, TypeVar

from runner.procedure import linked, source
from runner.procedure.finding import Mark
from runner.procedure.link_outline import Outline

T = TypeVar("T")


@dataclass(frozen=True)
class Bound:
    """One location held at one of its values; `chosen` where only the value picked at the start exists."""

    location: str
    value: str
    chosen: bool = False

    def test(self) -> linked.Test:
        """The choice made at the start that this place needs."""
        return linked.Test(kind="choice", name=self.location, values=(self.value,))


Bounds = tuple[Bound, ...]


def place_of(bounds: Bounds) -> str:
    """The place as it stands in ids and on the screen: values joined by a point."""
    return ".".join(bound.value for bound in bounds)


def keyed(name: str, bounds: Bounds) -> str:
    """A name at a place: `bolt@left.2`."""
    return f"{name}@{place_of(bounds)}" if bounds else name


@dataclass
class Placed(Generic[T]):
    """The same thing at every place it has; all places hold the same locations.

    Kept by place, so that what is meant somewhere is found without looking at every place.
    """

    entries: list[tuple[Bounds, T]] = field(default_factory=list)
    _found: dict[tuple[str, ...], dict[tuple[str, ...], tuple[T, ...]]] = field(default_factory=dict)

    def add(self, place: Bounds, thing: T) -> None:
        """Add the thing at one more place."""
        self.entries.append((place, thing))
        self._found.clear()

    def at(self, bounds: Bounds) -> tuple[T, ...]:
        """What is meant at a place, in the order added: no location is held at another value there."""
        if not self.entries:
            return ()
        held = {bound.location: bound.value for bound in bounds}
        names = tuple(bound.location for bound in self.entries[0][0] if bound.location in held)
        return self._by(names).get(tuple(held[name] for name in names), ())

    def _by(self, names: tuple[str, ...]) -> dict[tuple[str, ...], tuple[T, ...]]:
        if names not in self._found:
            found: dict[tuple[str, ...], list[T]] = {}
            for place, thing in self.entries:
                values = tuple(bound.value for bound in place if bound.location in names)
                found.setdefault(values, []).append(thing)
            self._found[names] = {values: tuple(things) for values, things in found.items()}
        return self._found[names]


@dataclass(frozen=True)
class Family:
    """An item as written, and its members at every place it has."""

    written: source.Item
    members: Placed[linked.Item]

    def at(self, bounds: Bounds) -> tuple[linked.Item, ...]:
        """The members meant at a place, in the order of the locations."""
        return self.members.at(bounds)


@dataclass
class Unit:
    """One file at one call; `begin` is the id of its first joint, `items` are those of its own.

    `base` is the place of the call, `parent` the calling unit and the text order of the call in it,
    `drafts` are the nodes of a step by its name and detour, `standing` the notices that stand here: (index in
    the procedure, first and last step by text order), `calls` the files it uses, by the identity of the call,
    each with a name of its own here.
    """

    written: source.Source
    outline: Outline
    base: Bounds = ()
    parent: "tuple[Unit, int] | None" = None
    begin: str = ""
    items: list[linked.Item] = field(default_factory=list)
    families: dict[str, Family] = field(default_factory=dict)
    drafts: "dict[tuple[str, str], Placed[Draft]]" = field(default_factory=dict)
    standing: list[tuple[int, int, int]] = field(default_factory=list)
    calls: dict[int, tuple[source.Source, str]] = field(default_factory=dict)

    @cached_property
    def conditions(self) -> dict[str, source.Condition]:
        """Conditions by name."""
        return {condition.name.text: condition for condition in self.written.conditions}

    @cached_property
    def locations(self) -> dict[str, source.Location]:
        """Locations by name."""
        return {location.name.text: location for location in self.written.locations}

    @cached_property
    def variants(self) -> dict[str, source.Variant]:
        """Variants by name."""
        return {variant.name.text: variant for variant in self.written.variants}

    @cached_property
    def roles(self) -> dict[str, int]:
        """Roles and how many people each needs."""
        return {role.text: number for role, number in self.written.people}


@dataclass(frozen=True)
class Listed:
    """A list of entries, with the place of each step in it, so that a way back is found without a search."""

    entries: tuple[source.Entry, ...]

    @cached_property
    def places(self) -> dict[str, int]:
        """Where each step of this list stands first, by its name."""
        made: dict[str, int] = {}
        for place, entry in enumerate(self.entries):
            if isinstance(entry, source.Step):
                made.setdefault(entry.name.text, place)
        return made


@dataclass(frozen=True)
class Scope:
    """A list being unfolded and the position in it: the steps up to there can be gone back to."""

    listed: Listed
    position: int
    bounds: Bounds

    def goes_back_to(self, step: str) -> bool:
        """Whether a step of that name stands in the list, up to the position."""
        return self.listed.places.get(step, self.position + 1) <= self.position


@dataclass(frozen=True)
class Frame:
    """One point of the unfolding. `guard` holds the choices that every step here needs."""

    unit: Unit
    prefix: str = ""
    bounds: Bounds = ()
    guard: tuple[linked.Test, ...] = ()
    lists: tuple[Scope, ...] = ()
    detour: str = ""

    def key(self, name: str) -> str:
        """The id of the node `name` here."""
        return self.prefix + keyed(name, self.bounds)

    def at(self, listed: Listed, position: int) -> "Frame":
        """The same place, at an entry of a list."""
        return replace(self, lists=(*self.lists, Scope(listed, position, self.bounds)))

    def held(self, location: str) -> Bound | None:
        """The value at which a location of this file is held here, if it is."""
        mine = self.bounds[len(self.unit.base) :]
        return next((bound for bound in mine if bound.location == location), None)

    def drafts(self, step: str) -> "tuple[Draft, ...]":
        """The nodes of a step that are meant here, in a detour its own before those of the main line."""
        own = self.unit.drafts.get((step, self.detour))
        main = self.unit.drafts.get((step, ""))
        return (own and own.at(self.bounds)) or (main and main.at(self.bounds)) or ()


@dataclass
class Draft:
    """A node in the making. `only_if` is resolved in `frame` when all nodes are known."""

    id: str
    frame: Frame
    index: int
    mark: Mark
    next: str
    skip: str
    step: source.Step | None = None
    guard: tuple[linked.Test, ...] = ()
    only_if: tuple[source.Test, ...] = ()
    joint: str | None = None
    needs: tuple[linked.Test, ...] = ()
    answers: tuple[linked.Exit, ...] = ()
    sorted_ways: dict[str, tuple[linked.Exit, ...]] = field(default_factory=dict)
    refused: linked.Exit | None = None
    late: linked.Exit | None = None

    def standing(self) -> tuple[int, ...]:
        """The standing notices over this node, its own file's and those of the calls around it."""
        found: list[int] = []
        unit, index = self.frame.unit, self.index
        while True:
            found += [number for number, first, last in unit.standing if first <= index <= last]
            if unit.parent is None:
                return tuple(dict.fromkeys(found))
            unit, index = unit.parent


def labels(drafts: Iterable[Draft]) -> str:
    """The places of some nodes, for a message."""
    return ", ".join(place_of(draft.frame.bounds) or "no location" for draft in drafts)
