"""Later words about earlier work: corrections, taking back, reopening, extra work, found conditions, notes."""

from collections.abc import Mapping
from typing import Literal

from runner.job.events.base import Event, Held
from runner.joint.wrench import Extension, Wrench


class Corrected(Held):
    """A later value for an earlier entry; both stay. `stands` is False where the gate would now refuse it.

    `was` is the value it replaces, with its unit, so that old and new stand in one line of the log.
    """

    kind: Literal["corrected"] = "corrected"
    key: str
    reason: str
    stands: bool = True
    was: str = ""


class AskedAgain(Event):
    """An answer was withdrawn; its question stands again. `loop`: the way back that is not counted after all."""

    kind: Literal["asked_again"] = "asked_again"
    node: str
    reason: str
    loop: str = ""


class HoldLapsed(Event):
    """A release given earlier no longer counts."""

    kind: Literal["hold_lapsed"] = "hold_lapsed"
    node: str


class TakenBack(Event):
    """The latest act was undone in the record."""

    kind: Literal["taken_back"] = "taken_back"
    reason: str = ""


class Reopened(Event):
    """An item is open again outside the plan; `acts` of the step in hand are to be done again."""

    kind: Literal["reopened"] = "reopened"
    item: str
    state: str
    reason: str
    acts: tuple[int, ...] = ()


class ExtraWorkAdded(Event):
    """Something the procedure does not name is open."""

    kind: Literal["extra_work_added"] = "extra_work_added"
    key: str
    text: str


class ExtraWorkFinished(Event):
    """The extra work is closed."""

    kind: Literal["extra_work_done"] = "extra_work_done"
    key: str
    said: str = ""


class ConditionFound(Event):
    """A condition was seen to differ from the record (or to agree with it again)."""

    kind: Literal["condition_found"] = "condition_found"
    name: str
    value: str


class DetourBegan(Event):
    """The way back to the recorded condition begins."""

    kind: Literal["detour_began"] = "detour_began"
    node: str


class DetourEnded(Event):
    """The detour is over; the main line goes on where it stood."""

    kind: Literal["detour_ended"] = "detour_ended"


class Noted(Event):
    """A remark."""

    kind: Literal["noted"] = "noted"
    node: str
    text: str


class Reproved(Event):
    """The proof was asked again from where this act leads: its gates hold from here on.

    `closes` says what still closes everything; `lost`, as (key, words), what nothing closes any more; `until`, as
    (key of what is owed, words), before what it is done at the latest.
    """

    kind: Literal["reproved"] = "reproved"
    last_chance: Mapping[str, tuple[str, ...]] = {}
    allowed: Mapping[str, Mapping[str, tuple[str, ...]]] = {}
    closes: tuple[str, ...] = ()
    lost: tuple[tuple[str, str], ...] = ()
    until: tuple[tuple[str, str], ...] = ()


class ToolChanged(Event):
    """From here on the tool is another one; what was fitted to the old one is not on it."""

    kind: Literal["tool_changed"] = "tool_changed"
    tool: str
    identity: str
    reason: str
    wrench: Wrench | None = None


class ExtensionFitted(Event):
    """From here on an extension stands between the tool and the fastener, or none any more."""

    kind: Literal["extension_fitted"] = "extension_fitted"
    tool: str
    extension: Extension | None = None
