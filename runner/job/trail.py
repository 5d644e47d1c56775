"""The steps done, in order: a tuple to whoever reads it, that grows by one without being copied.

A long run does tens of thousands of steps; a tuple would be copied at each of them. Few of their names differ, so that
each is kept once and the trail is a row of small numbers.
"""

from array import array
from collections.abc import Iterator, Sequence
from typing import overload


class _Names:
    """Names by number and numbers by name; only ever more of them."""

    def __init__(self) -> None:
        self._by_number: list[str] = []
        self._by_name: dict[str, int] = {}

    def number(self, name: str) -> int:
        """The number of a name, a new one where it has none."""
        known = self._by_name.get(name)
        if known is None:
            known = self._by_name[name] = len(self._by_number)
            self._by_number.append(name)
        return known

    def name(self, number: int) -> str:
        """The name of a number."""
        return self._by_number[number]


class Trail(Sequence[str]):
    """The first `size` names of a row that later trails share and only ever lengthen."""

    __slots__ = ("_names", "_row", "_size")

    def __init__(self, names: Sequence[str] = ()) -> None:
        self._names = _Names()
        self._row = array("I", map(self._names.number, names))
        self._size = len(self._row)

    def then(self, name: str) -> "Trail":
        """The trail with one step more; this one stays as it is."""
        longer = Trail.__new__(Trail)
        # The end of a trail that was gone on from already is written over by nobody: the second one takes a copy.
        row = self._row if len(self._row) == self._size else self._row[: self._size]
        row.append(self._names.number(name))
        longer._names, longer._row, longer._size = self._names, row, self._size + 1
        return longer

    def __len__(self) -> int:
        return self._size

    @overload
    def __getitem__(self, at: int) -> str: ...
    @overload
    def __getitem__(self, at: slice) -> tuple[str, ...]: ...
    def __getitem__(self, at: int | slice) -> str | tuple[str, ...]:
        if isinstance(at, slice):
            return tuple(self._names.name(self._row[n]) for n in range(*at.indices(self._size)))
        return self._names.name(self._row[range(self._size)[at]])

    def __iter__(self) -> Iterator[str]:
        return (self._names.name(self._row[n]) for n in range(self._size))

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Trail) and tuple(self) == tuple(other)

    def __hash__(self) -> int:
        return hash(tuple(self))

    def __repr__(self) -> str:
        return f"Trail({list(self)!r})"
