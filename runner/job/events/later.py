"""Later words about earlier work: corrections, taking back, reopening, extra work, found conditions, notes."""

from collections.abc import Mapping

from runner.job.events.base import Event, Held
from runner.joint.wrench import Extension, Wrench


class Corrected(Held, frozen=True, kw_only=True, tag="corrected"):
    """A later value for an earlier entry; both stay. `stands` is False where the gate would now refuse it.

    `was` is the value it replaces, with its unit, so that old and new stand in one line of the log.
    """

    key: str
    reason: str
    stands: bool = True
    was: str = ""


class AskedAgain(Event, frozen=True, tag="asked_again"):
    """An answer was withdrawn; its question stands again. `loop`: the way back that is not counted after all."""

    node: str
    reason: str
    loop: str = ""


class HoldLapsed(Event, frozen=True, tag="hold_lapsed"):
    """A release given earlier no longer counts."""

    node: str


class TakenBack(Event, frozen=True, tag="taken_back"):
    """The latest act was undone in the record."""

    reason: str = ""


class Reopened(Event, frozen=True, tag="reopened"):
    """An item is open again outside the plan; `acts` of the step in hand are to be done again."""

    item: str
    state: str
    reason: str
    acts: tuple[int, ...] = ()


class ExtraWorkAdded(Event, frozen=True, tag="extra_work_added"):
    """Something the procedure does not name is open."""

    key: str
    text: str


class ExtraWorkFinished(Event, frozen=True, tag="extra_work_done"):
    """The extra work is closed."""

    key: str
    said: str = ""


class ConditionFound(Event, frozen=True, tag="condition_found"):
    """A condition was seen to differ from the record (or to agree with it again)."""

    name: str
    value: str


class DetourBegan(Event, frozen=True, tag="detour_began"):
    """The way back to the recorded condition begins."""

    node: str


class DetourEnded(Event, frozen=True, tag="detour_ended"):
    """The detour is over; the main line goes on where it stood."""


class Noted(Event, frozen=True, tag="noted"):
    """A remark."""

    node: str
    text: str


class Reproved(Event, frozen=True, tag="reproved"):
    """The proof was asked again from where this act leads: its gates hold from here on.

    `closes` says what still closes everything; `lost`, as (key, words), what nothing closes any more; `until`, as
    (key of what is owed, words), before what it is done at the latest.
    """

    last_chance: Mapping[str, tuple[str, ...]] = {}
    allowed: Mapping[str, Mapping[str, tuple[str, ...]]] = {}
    closes: tuple[str, ...] = ()
    lost: tuple[tuple[str, str], ...] = ()
    until: tuple[tuple[str, str], ...] = ()


class ToolChanged(Event, frozen=True, tag="tool_changed"):
    """From here on the tool is another one; what was fitted to the old one is not on it."""

    tool: str
    identity: str
    reason: str
    wrench: Wrench | None = None


class ExtensionFitted(Event, frozen=True, tag="extension_fitted"):
    """From here on an extension stands between the tool and the fastener, or none any more."""

    tool: str
    extension: Extension | None = None
