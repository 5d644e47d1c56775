"""What became true around the work: its start, its people, pauses, its close-out and its end; and refusals."""

from typing import Literal

from runner.job.events.base import Event
from runner.joint.wrench import Wrench


class Started(Event):
    """The run began."""

    kind: Literal["started"] = "started"
    work_piece: str
    counters: tuple[tuple[str, str], ...] = ()
    earlier: tuple[str, ...] = ()


class PrerequisiteMet(Event):
    """A prerequisite is ready; `value` is the person's name or the condition's value."""

    kind: Literal["prerequisite_met"] = "prerequisite_met"
    key: str
    value: str = ""


class CountedIn(Event):
    """A tool lies ready; `wrench` where it is one of the shop's toolbox."""

    kind: Literal["counted_in"] = "counted_in"
    tool: str
    identity: str = ""
    wrench: Wrench | None = None


class CountedOut(Event):
    """A tool is back."""

    kind: Literal["counted_out"] = "counted_out"
    tool: str


class Chosen(Event):
    """A variant or location was picked."""

    kind: Literal["chosen"] = "chosen"
    name: str
    value: str


class Paused(Event):
    """The bench was left."""

    kind: Literal["paused"] = "paused"
    note: str


class Resumed(Event):
    """Work goes on after the keys named are confirmed against the hardware."""

    kind: Literal["resumed"] = "resumed"
    confirm: tuple[str, ...] = ()


class Reconfirmed(Event):
    """One thing was compared with the record."""

    kind: Literal["reconfirmed"] = "reconfirmed"
    key: str
    as_recorded: bool


class HandoverOffered(Event):
    """The outgoing person hands over."""

    kind: Literal["handover_offered"] = "handover_offered"
    to: str
    note: str = ""


class HandedOver(Event):
    """The incoming person took over; both have acknowledged."""

    kind: Literal["handed_over"] = "handed_over"
    to: str


class TakenOver(Event):
    """The incoming person took over alone."""

    kind: Literal["taken_over"] = "taken_over"
    by: str
    reason: str


class CloseOutConfirmed(Event):
    """A close-out line holds."""

    kind: Literal["close_out_confirmed"] = "close_out_confirmed"
    line: int
    said: str = ""
    text: str = ""


class Abandoning(Event):
    """The run is being abandoned; the make-safe lines come first."""

    kind: Literal["abandoning"] = "abandoning"
    reason: str
    lines: tuple[str, ...] = ()


class MadeSafe(Event):
    """A make-safe line is done."""

    kind: Literal["made_safe"] = "made_safe"
    line: int
    said: str


class Sealed(Event):
    """The run has ended. Lists what stays open, by name, so that the seal can be read alone."""

    kind: Literal["sealed"] = "sealed"
    outcome: Literal["finished", "finished with open points", "abandoned"]
    reason: str = ""
    open_points: tuple[str, ...] = ()
    open_items: tuple[str, ...] = ()
    owed: tuple[str, ...] = ()
    conditions: tuple[tuple[str, str], ...] = ()
    follow_ups: tuple[str, ...] = ()
    steps_done: int = 0


class LeftProof(Event):
    """An item stands where the proof says it cannot: a program error; the run stops safely."""

    kind: Literal["left_proof"] = "left_proof"
    node: str
    item: str
    state: str


class Refused(Event):
    """An action was refused; nothing else changed."""

    kind: Literal["refused"] = "refused"
    action: str
    node: str = ""
    subject: str = ""
    raw: str = ""
    why: str
