"""Frozen records that cost little to define: dataclasses whose methods are shared instead of generated.

The standard library writes and compiles five methods for every dataclass. The program has more than a hundred
records and is started at the bench, so making them was a third of its start. These are dataclasses all the same:
`dataclasses.fields` and `replace`, keyword and positional arguments, defaults, equality and hashing work as usual.

What is made at every entry of a long log is `Slim`: its fields stand in slots, and it is made and changed by compiled
code.
"""

from dataclasses import MISSING, Field, dataclass, field, fields
from typing import TYPE_CHECKING, Any, ClassVar, Self, dataclass_transform

from msgspec import Struct


@dataclass_transform(frozen_default=True, field_specifiers=(field,))
class Frozen:
    """The base of frozen records; annotations of a subclass are its fields, in order."""

    __dataclass_fields__: ClassVar[dict[str, Field[Any]]]
    _plain: ClassVar[dict[str, Any]] = {}
    _made: ClassVar[dict[str, Any]] = {}
    _names: ClassVar[tuple[str, ...]] = ()
    _known: ClassVar[frozenset[str]] = frozenset()
    _compared: ClassVar[tuple[str, ...]] = ()
    _shown: ClassVar[tuple[str, ...]] = ()

    def __init_subclass__(cls) -> None:
        """Collect the fields once, when the class is made."""
        dataclass(init=False, repr=False, eq=False)(cls)
        own = sorted(fields(cls), key=lambda f: f.kw_only is True)
        cls._names = tuple(f.name for f in own)
        cls._known = frozenset(cls._names)
        cls._plain = {f.name: f.default for f in own if f.default is not MISSING}
        cls._made = {f.name: f.default_factory for f in own if f.default_factory is not MISSING}
        cls._compared = tuple(f.name for f in own if f.compare)
        cls._shown = tuple(f.name for f in own if f.repr)

    def __init__(self, *args: Any, **values: Any) -> None:
        cls = type(self)
        state = self.__dict__
        if not values and len(args) == len(cls._names):  # every field in order: nothing to look up
            state.update(zip(cls._names, args, strict=True))
            return
        state.update(cls._plain)
        for name, make in cls._made.items():
            state[name] = values[name] if name in values else make()
        if args:
            if len(args) > len(cls._names) or not values.keys().isdisjoint(cls._names[: len(args)]):
                raise TypeError(cls._takes(values))
            state.update(zip(cls._names, args, strict=False))
        state.update(values)
        if not values.keys() <= cls._known:
            raise TypeError(cls._takes(values))
        if len(state) != len(cls._names):
            missing = [name for name in cls._names if name not in state]
            raise TypeError(f"{cls.__name__} lacks {', '.join(missing)}")

    @classmethod
    def _takes(cls, values: dict[str, Any]) -> str:
        return f"{cls.__name__} takes {', '.join(cls._names)}, each once; got {sorted(values)}"

    def but(self, **changes: Any) -> Self:
        """The same record with other values."""
        other = object.__new__(type(self))
        other.__dict__.update(self.__dict__)
        other.__dict__.update(changes)
        return other

    def __setattr__(self, name: str, value: object) -> None:
        raise AttributeError(f"{type(self).__name__} is frozen")

    def __delattr__(self, name: str) -> None:
        raise AttributeError(f"{type(self).__name__} is frozen")

    def __eq__(self, other: object) -> bool:
        if type(other) is not type(self):
            return NotImplemented
        mine, its = self.__dict__, other.__dict__
        return all(mine[name] == its[name] for name in self._compared)

    def __hash__(self) -> int:
        return hash((type(self), *(self.__dict__[name] for name in self._compared)))

    def __repr__(self) -> str:
        return (
            f"{type(self).__name__}({', '.join(f'{name}={self.__dict__[name]!r}' for name in self._shown)})"
        )


class Slim(Struct, frozen=True):
    """The base of frozen records that are made by the hundred thousand; a subclass says `frozen=True` again."""

    if TYPE_CHECKING:

        def but(self, **changes: Any) -> Self:
            """The same record with other values."""

    else:
        but = Struct.__replace__  # a function around it would take four times as long
