"""What became true at the gate of a step: read, done, tightened, entered, answered, released, or let go."""

from typing import Literal

from runner.job.events.base import Event, Held


class Acknowledged(Event):
    """An injury notice was read."""

    kind: Literal["acknowledged"] = "acknowledged"
    node: str
    notice: int


class PartConfirmed(Event):
    """A new single-use part is at hand."""

    kind: Literal["part_confirmed"] = "part_confirmed"
    node: str
    item: str
    number: str = ""


class Acted(Event):
    """An act was done; the item is now at `state`."""

    kind: Literal["acted"] = "acted"
    node: str
    act: int
    item: str
    verb: str
    state: str


class Confirmed(Event):
    """A step without acts on items was done."""

    kind: Literal["confirmed"] = "confirmed"
    node: str


class Tightened(Held):
    """One fastener reached one stage; `last` when it was the last of the act."""

    kind: Literal["tightened"] = "tightened"
    node: str
    act: int
    item: str
    stage: int
    member: int
    state: str
    target: str = ""
    last: bool = False


class ReadingTaken(Held):
    """A reading, time number `index`; `second` for a second person's blind reading."""

    kind: Literal["reading_taken"] = "reading_taken"
    node: str
    name: str
    index: int = 1
    second: bool = False


class WorkedOut(Event):
    """A value computed from earlier readings; `within` is False where it lies outside its band."""

    kind: Literal["worked_out"] = "worked_out"
    node: str
    name: str
    value: str
    unit: str
    inputs: tuple[tuple[str, str], ...] = ()
    low: str | None = None
    high: str | None = None
    within: bool = True


class Answered(Event):
    """A look-for or question was answered, or a reading fell into a named band; the way is the label's."""

    kind: Literal["answered"] = "answered"
    node: str
    label: str
    by: Literal["look", "question", "sorted"] = "question"


class HoldReleased(Event):
    """A hold point was released by `who` of the entry, in `role`."""

    kind: Literal["hold_released"] = "hold_released"
    node: str
    role: str
    said: str = ""


class HoldRefused(Event):
    """A hold point was refused."""

    kind: Literal["hold_refused"] = "hold_refused"
    node: str
    role: str
    said: str = ""


class Waived(Event):
    """A deviation let the gate pass without `what` (`act 0`, `member 0|1|3`, `confirm`, `reading NAME`, `hold`…)."""

    kind: Literal["waived"] = "waived"
    node: str
    what: str


class Deviated(Event):
    """Work departed from the procedure: an open point to the end of the report.

    `here`: the subject is a part of the step in hand, although something owed has the same name.
    """

    kind: Literal["deviated"] = "deviated"
    deviation: str
    node: str
    subject: str = ""
    reason: str
    authority: str = ""
    raw: str = ""
    here: bool = False


class NotApplicableSaid(Event):
    """This work piece does not have the item, or the step (then `item` is empty)."""

    kind: Literal["not_applicable"] = "not_applicable"
    node: str
    item: str = ""
    reason: str


class OrderChanged(Event):
    """Fastener `member` comes first in the rest of the round."""

    kind: Literal["order_changed"] = "order_changed"
    node: str
    item: str
    member: int
