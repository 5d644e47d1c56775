"""What the proof hands to the engine, as data: last chances and the item states it allows at each step.

The engine does not know how these were found. All is empty for a run that was not proved.
"""

from bisect import bisect_right
from collections.abc import Iterator, Mapping

from pydantic import BaseModel, ConfigDict, PrivateAttr

from runner.frozen import Frozen
from runner.procedure.linked import END, Procedure


class Gates(BaseModel):
    """`last_chance`: by node, the put-off nodes that it insists on while their window is open.

    `allowed`: by node and item, the states allowed on arrival, only where they differ from those at the node before it
    in the procedure's order (before the first node: from the item's state at the start), so that a log's header stays
    small. They bind at the nodes named.
    """

    model_config = ConfigDict(frozen=True, extra="forbid", defer_build=True)

    proved: bool = False
    last_chance: Mapping[str, tuple[str, ...]] = {}
    allowed: Mapping[str, Mapping[str, tuple[str, ...]]] = {}
    _index: "_Index | None" = PrivateAttr(default=None)

    def __eq__(self, other: object) -> bool:
        """Gates are what they say; whether they were looked up before is no part of it."""
        if not isinstance(other, Gates):
            return NotImplemented
        mine, theirs = (
            (self.proved, self.last_chance, self.allowed),
            (other.proved, other.last_chance, other.allowed),
        )
        return mine == theirs

    __hash__ = None  # type: ignore[assignment]

    def allowed_at(self, procedure: Procedure, node: str) -> Iterator[tuple[str, tuple[str, ...]]]:
        """Every item and the states it may have on arrival at a node; nothing where the run was not proved."""
        if not self.proved or node not in self.allowed:
            return
        if self._index is None:
            self._index = _Index(self.allowed, procedure)
        here = self._index.places.get(node, -1)
        for item in procedure.items:
            places, states = self._index.changes.get(item.key, ([], []))
            found = bisect_right(places, here)
            yield item.key, states[found - 1] if found else (item.at_start,)


class Outlook(Frozen):
    """What the proof answers from where the job stands: what still closes everything, and what nothing closes any more.

    `closes` are lines for people; `lost` are (key of what is owed or open, line). `until` says of each thing owed
    before what it is done at the latest. `gates` replace those of the job.
    """

    gates: Gates
    closes: tuple[str, ...] = ()
    lost: tuple[tuple[str, str], ...] = ()
    until: tuple[tuple[str, str], ...] = ()


class _Index:
    """The allowed states in a form to look up: by item, the places where they change and the states from there."""

    def __init__(self, allowed: Mapping[str, Mapping[str, tuple[str, ...]]], procedure: Procedure) -> None:
        self.places = {name: place for place, name in enumerate((*procedure.by_id, END))}
        self.changes: dict[str, tuple[list[int], list[tuple[str, ...]]]] = {}
        for node in sorted(allowed, key=self.places.__getitem__):
            for item, states in allowed[node].items():
                places, words = self.changes.setdefault(item, ([], []))
                places.append(self.places[node])
                words.append(states)
