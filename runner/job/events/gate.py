"""What became true at the gate of a step: read, done, tightened, entered, answered, released, or let go."""

from typing import Literal

from runner.job.events.base import Event, Held


class Acknowledged(Event, frozen=True, tag="acknowledged"):
    """An injury notice was read."""

    node: str
    notice: int


class PartConfirmed(Event, frozen=True, tag="part_confirmed"):
    """A new single-use part is at hand."""

    node: str
    item: str
    number: str = ""


class Acted(Event, frozen=True, tag="acted"):
    """An act was done; the item is now at `state`."""

    node: str
    act: int
    item: str
    verb: str
    state: str


class Confirmed(Event, frozen=True, tag="confirmed"):
    """A step without acts on items was done."""

    node: str


class Tightened(Held, frozen=True, kw_only=True, tag="tightened"):
    """One fastener reached one stage; `last` when it was the last of the act."""

    node: str
    act: int
    item: str
    stage: int
    member: int
    state: str
    target: str = ""
    last: bool = False


class ReadingTaken(Held, frozen=True, kw_only=True, tag="reading_taken"):
    """A reading, time number `index`; `second` for a second person's blind reading."""

    node: str
    name: str
    index: int = 1
    second: bool = False


class WorkedOut(Event, frozen=True, tag="worked_out"):
    """A value computed from earlier readings; `within` is False where it lies outside its band."""

    node: str
    name: str
    value: str
    unit: str
    inputs: tuple[tuple[str, str], ...] = ()
    low: str | None = None
    high: str | None = None
    within: bool = True


class Answered(Event, frozen=True, tag="answered"):
    """A look-for or question was answered, or a reading fell into a named band; the way is the label's."""

    node: str
    label: str
    by: Literal["look", "question", "sorted"] = "question"


class HoldReleased(Event, frozen=True, tag="hold_released"):
    """A hold point was released by `who` of the entry, in `role`."""

    node: str
    role: str
    said: str = ""


class HoldRefused(Event, frozen=True, tag="hold_refused"):
    """A hold point was refused."""

    node: str
    role: str
    said: str = ""


class Waived(Event, frozen=True, tag="waived"):
    """A deviation let the gate pass without `what` (`act 0`, `member 0|1|3`, `confirm`, `reading NAME`, `hold`…)."""

    node: str
    what: str


class Deviated(Event, frozen=True, tag="deviated"):
    """Work departed from the procedure: an open point to the end of the report.

    `which` is the fastener of a group that it is about, or what is known of the tool. `here`: the subject is a part of
    the step in hand, although something owed has the same name.
    """

    deviation: str
    node: str
    reason: str
    subject: str = ""
    authority: str = ""
    raw: str = ""
    which: str = ""
    here: bool = False


class NotApplicableSaid(Event, frozen=True, tag="not_applicable"):
    """This work piece does not have the item, or the step (then `item` is empty)."""

    node: str
    reason: str
    item: str = ""


class OrderChanged(Event, frozen=True, tag="order_changed"):
    """Fastener `member` comes first in the rest of the round."""

    node: str
    item: str
    member: int
