"""The vocabulary of items: per kind its states, the state it is in when whole, and its verbs.

Only words live here; which verb leads from which state to which is `runner.job.items`.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from runner.procedure.linked import Verb
from runner.procedure.source import ItemKind

FINAL = "final"
"""In `needs`: any state in which the item is closed."""


@dataclass(frozen=True, slots=True)
class Kind:
    """The words of one item kind; a fastener has its stages besides `states` (see `states_of`)."""

    states: tuple[str, ...]
    whole: str
    verbs: tuple[Verb, ...]


KINDS: Mapping[ItemKind, Kind] = MappingProxyType(
    {
        "fastener": Kind(
            ("untouched", "loosened", "out", "started"),
            "untouched",
            ("loosens", "takes out", "starts", "tightens", "re-tightens"),
        ),
        "connection": Kind(("connected", "disconnected"), "connected", ("disconnects", "connects")),
        "aid": Kind(("out", "in"), "out", ("puts in", "takes out")),
        "cover": Kind(("on", "off"), "on", ("takes off", "puts back")),
        "fitted part": Kind(("in", "out"), "in", ("fits", "takes out")),
        "fluid": Kind(("full", "drained"), "full", ("drains", "fills")),
        "valve": Kind(("shut", "open"), "shut", ("opens", "shuts")),
        "lock": Kind(("off", "on"), "off", ("puts on", "takes off")),
    }
)
"""Every item kind; the whole state is named first."""


def with_article(kind: ItemKind) -> str:
    """The kind in a sentence: `a cover`, `an aid`."""
    return f"an {kind}" if kind[0] in "aeiou" else f"a {kind}"


def stage_state(number: int) -> str:
    """The state of a fastener whose stage `number` (counted from 1) is done."""
    return f"stage {number}"


def fastener_states(stages: int) -> tuple[str, ...]:
    """Every state of a fastener with so many stages, least advanced first; untouched stands first."""
    return KINDS["fastener"].states + tuple(stage_state(number + 1) for number in range(stages))


def states_of(kind: ItemKind, stages: int) -> tuple[str, ...]:
    """Every state of an item of `kind`; `stages` counts only for a fastener."""
    return fastener_states(stages) if kind == "fastener" else KINDS[kind].states


def final_states(kind: ItemKind, stages: int) -> tuple[str, ...]:
    """The states in which an item is closed: whole, and for a fastener also its last stage done."""
    whole = KINDS[kind].whole
    return (whole, stage_state(stages)) if kind == "fastener" and stages else (whole,)
