"""Entries as plain data for the log, and back. Each event carries its version; an unknown one is refused by name."""

import reprlib
from collections.abc import Mapping, Sequence
from functools import cache
from typing import Any

from msgspec import NODEFAULT, ValidationError, convert
from msgspec.structs import FieldInfo, fields

from runner.job.events import AnyEvent, Entry, Event
from runner.job.evolve import evolve_all
from runner.job.state import Job
from runner.joint.wrench import Kept
from runner.stamp import Stamp

Events = tuple[AnyEvent, ...]


def foreign_in(kind: type, value: Any) -> Any:
    """What an event holds of another kind (a wrench, an extension), from plain data. Raises ValueError."""
    return kind.model_validate(value, strict=True)  # type: ignore[attr-defined]


def foreign_out(value: Any) -> Any:
    """The plain data of what an event holds of another kind. Raises TypeError where it has none."""
    if isinstance(value, Kept):
        return value.model_dump(mode="json", exclude_defaults=True)
    raise TypeError(f"{type(value).__name__} has no place in a log")


@cache
def _defaults(kind: type[Event]) -> tuple[tuple[str, Any], ...]:
    """The fields of an event besides its version, each with the value that need not be written."""
    return tuple((each.name, _default(each)) for each in fields(kind) if each.name != "v")


def _default(each: FieldInfo) -> Any:
    """The value of a field that nobody gave; NODEFAULT, which equals none, where one must be given."""
    return each.default if each.default_factory is NODEFAULT else each.default_factory()


def _plain(event: Event) -> dict[str, Any]:
    written = {"kind": event.kind, "v": event.v}
    for name, default in _defaults(type(event)):
        value = getattr(event, name)
        if value != default:
            written[name] = foreign_out(value) if isinstance(value, Kept) else value
    return written


_LONGEST_MESSAGE = 300
"""What a foreign record holds is quoted no further."""

RAISE: Mapping[tuple[str, int], Any] = {}
"""(event kind, old version) -> function from the old data to the next version's data; applied step by step."""


FOREIGN = (LookupError, TypeError, ValueError, AttributeError, ArithmeticError, AssertionError)
"""How it fails where a log names what its own procedure has not."""


class RecordError(ValueError):
    """A record that this program cannot read; the message names what it found."""


def to_record(entry: Entry) -> tuple[str, dict[str, Any]]:
    """The kind (the act's) and data of one log record. Stamp and order are the log's own fields."""
    return entry.kind, {"who": entry.who, "events": [_plain(event) for event in entry.events]}


def from_record(data: Mapping[str, Any], stamp: Stamp) -> Entry:
    """The entry of a record, whose events may have been read already (then they are a tuple, as JSON never gives one).

    Raises RecordError, naming an unknown event kind or version.
    """
    raw = data.get("events")
    who = data.get("who")
    if type(raw) is tuple and raw and type(who) is str:
        return Entry(who, stamp, raw)
    if not isinstance(raw, list) or not raw or not isinstance(who, str):
        raise RecordError("a record of the run has no events or no name")
    try:
        return Entry(who, stamp, convert(raw, Events, dec_hook=foreign_in))
    except (ValidationError, RecursionError):
        return Entry(who, stamp, _raised(raw))


def followed(job: Job, entries: Sequence[Entry]) -> Job:
    """The job after entries that were read from a log. Raises RecordError for one that names what the job has not.

    Who writes a log by hand can chain any events that have the right form. `evolve` decides nothing and asks for
    nothing, so what is not there fails in whatever way it is looked for.
    """
    try:
        return evolve_all(job, entries)
    except FOREIGN as error:
        raise RecordError("it does not follow from those before it") from error


def _version(event: Mapping[str, Any]) -> int:
    """The version that an event states; 0, which none has, where it states none."""
    stated = event.get("v")
    return stated if type(stated) is int else 0


def _raised(raw: list[Any]) -> Events:
    """Events of older versions raised step by step; what is not known is refused by name."""
    return tuple(_raised_one(event) for event in raw)


def _raised_one(event: Any) -> AnyEvent:
    while isinstance(event, dict) and (step := RAISE.get((str(event.get("kind")), _version(event)))):
        event = step(event)
    try:
        read: AnyEvent = convert(event, AnyEvent, dec_hook=foreign_in)
    except (ValidationError, RecursionError) as error:
        name = (
            f"{reprlib.repr(event.get('kind'))} version {reprlib.repr(event.get('v'))}"
            if isinstance(event, dict)
            else reprlib.repr(event)
        )
        says = f"the event {name} is not known: {error}"
        raise RecordError(says[:_LONGEST_MESSAGE]) from error
    return read
