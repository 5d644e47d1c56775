"""The steps done, in order: a tuple to whoever reads it, that grows by one without being copied.

A long run does tens of thousands of steps; a tuple would be copied at each of them.
"""

from collections.abc import Iterator, Sequence
from typing import overload


class Trail(Sequence[str]):
    """The first `size` names of a list that later trails share and only ever lengthen."""

    __slots__ = ("_names", "_size")

    def __init__(self, names: Sequence[str] = ()) -> None:
        self._names = list(names)
        self._size = len(self._names)

    def then(self, name: str) -> "Trail":
        """The trail with one step more; this one stays as it is."""
        # A trail that was gone on from already has its end written over by nobody: the second one takes a copy.
        names = self._names if len(self._names) == self._size else self._names[: self._size]
        names.append(name)
        longer = Trail.__new__(Trail)
        longer._names, longer._size = names, self._size + 1
        return longer

    def __len__(self) -> int:
        return self._size

    @overload
    def __getitem__(self, at: int) -> str: ...
    @overload
    def __getitem__(self, at: slice) -> tuple[str, ...]: ...
    def __getitem__(self, at: int | slice) -> str | tuple[str, ...]:
        if isinstance(at, slice):
            return tuple(self._names[n] for n in range(*at.indices(self._size)))
        return self._names[range(self._size)[at]]

    def __iter__(self) -> Iterator[str]:
        return (self._names[n] for n in range(self._size))

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Trail) and tuple(self) == tuple(other)

    def __hash__(self) -> int:
        return hash(tuple(self))

    def __repr__(self) -> str:
        return f"Trail({list(self)!r})"
