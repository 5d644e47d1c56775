"""What became true around the work: its start, its people, pauses, its close-out and its end; and refusals."""

from typing import Literal

from runner.job.events.base import Event
from runner.joint.wrench import Wrench


class Started(Event, frozen=True, tag="started"):
    """The run began."""

    work_piece: str
    counters: tuple[tuple[str, str], ...] = ()
    earlier: tuple[str, ...] = ()


class PrerequisiteMet(Event, frozen=True, tag="prerequisite_met"):
    """A prerequisite is ready; `value` is the person's name or the condition's value."""

    key: str
    value: str = ""


class CountedIn(Event, frozen=True, tag="counted_in"):
    """A tool lies ready; `wrench` where it is one of the shop's toolbox."""

    tool: str
    identity: str = ""
    wrench: Wrench | None = None


class CountedOut(Event, frozen=True, tag="counted_out"):
    """A tool is back."""

    tool: str


class Chosen(Event, frozen=True, tag="chosen"):
    """A variant or location was picked."""

    name: str
    value: str


class Paused(Event, frozen=True, tag="paused"):
    """The bench was left."""

    note: str


class Resumed(Event, frozen=True, tag="resumed"):
    """Work goes on after the keys named are confirmed against the hardware."""

    confirm: tuple[str, ...] = ()


class Reconfirmed(Event, frozen=True, tag="reconfirmed"):
    """One thing was compared with the record."""

    key: str
    as_recorded: bool


class HandoverOffered(Event, frozen=True, tag="handover_offered"):
    """The outgoing person hands over."""

    to: str
    note: str = ""


class HandedOver(Event, frozen=True, tag="handed_over"):
    """The incoming person took over; both have acknowledged."""

    to: str


class TakenOver(Event, frozen=True, tag="taken_over"):
    """The incoming person took over alone."""

    by: str
    reason: str


class CloseOutConfirmed(Event, frozen=True, tag="close_out_confirmed"):
    """A close-out line holds."""

    line: int
    said: str = ""
    text: str = ""


class Abandoning(Event, frozen=True, tag="abandoning"):
    """The run is being abandoned; the make-safe lines come first."""

    reason: str
    lines: tuple[str, ...] = ()


class MadeSafe(Event, frozen=True, tag="made_safe"):
    """A make-safe line is done."""

    line: int
    said: str


class Sealed(Event, frozen=True, tag="sealed"):
    """The run has ended. Lists what stays open, by name, so that the seal can be read alone."""

    outcome: Literal["finished", "finished with open points", "abandoned"]
    reason: str = ""
    open_points: tuple[str, ...] = ()
    open_items: tuple[str, ...] = ()
    owed: tuple[str, ...] = ()
    conditions: tuple[tuple[str, str], ...] = ()
    follow_ups: tuple[str, ...] = ()
    steps_done: int = 0


class LeftProof(Event, frozen=True, tag="left_proof"):
    """An item stands where the proof says it cannot: a program error; the run stops safely."""

    node: str
    item: str
    state: str


class Refused(Event, frozen=True, tag="refused"):
    """An action was refused; nothing else changed."""

    action: str
    why: str
    node: str = ""
    subject: str = ""
    raw: str = ""
