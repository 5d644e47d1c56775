"""What an outline consists of: steps with their ways, sections, endings."""

from collections.abc import Iterable
from typing import Literal

from runner.frozen import Frozen
from runner.procedure.linked import Node, Procedure, Test

LeadKind = Literal["go on", "stop", "again", "steps", "joins"]
WayKind = Literal["answer", "band", "refused", "too late"]
SectionKind = Literal["file", "part", "only for", "detour", "unjoined"]


class Lead(Frozen):
    """Where a way leads. `again` goes back to the node `to` at most so often, and then along `then`; `steps` leads
    into `entries` and then on; `joins` leads to the node `to`, which stands elsewhere.
    """

    kind: LeadKind
    to: str = ""
    at_most: int = 0
    then: "Lead | None" = None
    entries: "tuple[Entry, ...]" = ()


class Way(Frozen):
    """One way out of a step, with the answer, band or event that takes it."""

    kind: WayKind
    label: str
    lead: Lead


class Step(Frozen):
    """One step at its place; several nodes where the same step stands once for each place chosen at the start."""

    nodes: tuple[Node, ...]
    place: str = ""
    only_for: tuple[Test, ...] = ()
    only: str = ""
    ways: tuple[Way, ...] = ()

    @property
    def node(self) -> Node:
        """The first of the nodes; the others differ from it by the place alone."""
        return self.nodes[0]


class Section(Frozen):
    """Entries that belong together: a used file, a part under one guard, a detour; `heads`, `ends`: its joints."""

    kind: SectionKind
    title: str
    place: str = ""
    heads: tuple[str, ...] = ()
    ends: tuple[str, ...] = ()
    only_for: tuple[Test, ...] = ()
    only: str = ""
    entries: "tuple[Entry, ...]" = ()


class Ending(Frozen):
    """A way back or a stop at the end of nested steps; a contract's last joint has no lead and only `says` it."""

    nodes: tuple[str, ...]
    only_for: tuple[Test, ...] = ()
    lead: Lead | None = None
    says: str = ""


Entry = Step | Section | Ending


class Outline(Frozen):
    """The whole: the main line, the detours, and what no way leads to."""

    procedure: Procedure
    main: tuple[Entry, ...]
    detours: tuple[Section, ...] = ()
    unjoined: tuple[Entry, ...] = ()


def nodes_of(entries: Iterable[Entry]) -> Iterable[str]:
    """The ids of all nodes in some entries, joints among them, in the order of the text."""
    for entry in entries:
        match entry:
            case Step():
                yield from (node.id for node in entry.nodes)
                for way in entry.ways:
                    yield from _in_lead(way.lead)
            case Section():
                yield from entry.heads
                yield from nodes_of(entry.entries)
                yield from entry.ends
            case Ending():
                yield from entry.nodes
                yield from _in_lead(entry.lead)


def _in_lead(lead: Lead | None) -> Iterable[str]:
    while lead is not None:
        yield from nodes_of(lead.entries)
        lead = lead.then
