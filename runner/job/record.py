"""Entries as plain data for the log, and back. Each event carries its version; an unknown one is refused by name."""

import reprlib
from collections.abc import Mapping
from functools import cache
from typing import Any

from pydantic import TypeAdapter, ValidationError

from runner.job.events import AnyEvent, Entry
from runner.job.evolve import evolve
from runner.job.state import Job
from runner.stamp import Stamp


@cache
def _events() -> TypeAdapter[tuple[AnyEvent, ...]]:
    """The reader of all events; made when a log is first read, for making it costs more than starting."""
    return TypeAdapter(tuple[AnyEvent, ...])


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
    events = [
        {"kind": event.kind, "v": event.v, **event.model_dump(mode="json", exclude_defaults=True)}  # type: ignore[attr-defined]
        for event in entry.events
    ]
    return entry.kind, {"who": entry.who, "events": events}


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
        return Entry(who, stamp, _events().validate_python(raw))
    except ValidationError:
        return Entry(who, stamp, _raised(raw))


def followed(job: Job, entry: Entry) -> Job:
    """The job after an entry that was read from a log. Raises RecordError for one that names what the job has not.

    Who writes a log by hand can chain any events that have the right form. `evolve` decides nothing and asks for
    nothing, so what is not there fails in whatever way it is looked for.
    """
    try:
        return evolve(job, entry)
    except FOREIGN as error:
        raise RecordError("it does not follow from those before it") from error


def _version(event: Mapping[str, Any]) -> int:
    """The version that an event states; 0, which none has, where it states none."""
    stated = event.get("v")
    return stated if type(stated) is int else 0


def _raised(raw: list[Any]) -> tuple[AnyEvent, ...]:
    """Events of older versions raised step by step; what is not known is refused by name."""
    current = []
    for event in raw:
        while isinstance(event, dict) and (step := RAISE.get((str(event.get("kind")), _version(event)))):
            event = step(event)  # noqa: PLW2901  the event climbs one version a turn
        current.append(event)
    try:
        return _events().validate_python(current)
    except ValidationError as error:
        first = error.errors()[0]
        place = first["loc"][0] if first["loc"] else 0
        culprit = current[place] if isinstance(place, int) and place < len(current) else {}
        name = (
            f"{reprlib.repr(culprit.get('kind'))} version {reprlib.repr(culprit.get('v'))}"
            if isinstance(culprit, dict)
            else reprlib.repr(culprit)
        )
        where = ".".join(str(part) for part in first["loc"][1:])
        says = f"the event {name} is not known: {where} {first['msg']}".strip()
        raise RecordError(says[:_LONGEST_MESSAGE]) from error
