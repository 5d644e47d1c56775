"""An entry of a job out of a line of its log."""

from functools import cache
from typing import Any

from pydantic import TypeAdapter, ValidationError

from runner.job.events import AnyEvent, Entry
from runner.log.record import Record


class UnreadableError(ValueError):
    """The line is whole, but this program does not know what it says; the message names kind or version."""


def entry_of(record: Record) -> Entry:
    """Return who, when and what of one line. Raises UnreadableError."""
    who, events = record.data.get("who"), record.data.get("events")
    if not isinstance(who, str) or not isinstance(events, list) or not events:
        raise UnreadableError(f"entry {record.n} of kind {record.kind} has no events")
    return Entry(who, record.stamp, tuple(_event(each, record) for each in events))


def _event(data: Any, record: Record) -> Any:
    try:
        return _adapter().validate_python(data)
    except ValidationError as error:
        kind = data.get("kind") if isinstance(data, dict) else None
        version = data.get("v") if isinstance(data, dict) else None
        raise UnreadableError(
            f"entry {record.n}: the event {kind!r} of version {version!r} is not known to this program"
        ) from error


@cache
def _adapter() -> TypeAdapter[Any]:
    return TypeAdapter(AnyEvent)
