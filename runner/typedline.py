"""A log's line read straight into events, where it is of the form in which this program writes them.

Most lines of a long log are. Reading them by way of plain dictionaries takes three times as long. Whatever is unusual
in a line (an older event, a number that no log holds, a key that stands twice, an escaped letter) is left to
`runner.log.line.decode`, which says exactly what is wrong, and to `runner.job.record`.
"""

from functools import cache
from typing import Any, cast

from pydantic import ConfigDict, TypeAdapter, ValidationError
from typing_extensions import TypedDict

from runner.job.events import AnyEvent
from runner.log import line

_STRICT = ConfigDict(strict=True, extra="forbid")
_BEGIN = b'{"data":{"events":[{"'
_OUTSIDE_EVENTS = 8
"""Keys of a line besides those of its events: six of its own, two of its data."""


class _Data(TypedDict):
    __pydantic_config__ = _STRICT  # type: ignore[misc]
    events: tuple[AnyEvent, ...]
    who: str


_Line = TypedDict("_Line", {"data": _Data, "kind": str, "mono_ms": int, "n": int, "utc": str, "~": str})
_Line.__pydantic_config__ = _STRICT  # type: ignore[attr-defined]


@cache
def _lines() -> TypeAdapter[Any]:
    """The reader; made when a log is first read, as that of `runner.job.record`."""
    return TypeAdapter(_Line)


def decode(raw: bytes) -> Any:
    """The value of a line, as `runner.log.line.decode` gives it; its events may be a tuple of typed ones.

    Raises BadLine.
    """
    typed = _typed(raw)
    return line.decode(raw) if typed is None else typed


def _typed(raw: bytes) -> dict[str, Any] | None:
    if not raw.startswith(_BEGIN) or not raw.endswith(b'"}\n') or b"\\" in raw:
        return None
    try:
        value = _lines().validate_json(raw, strict=True)
    except ValidationError:
        return None
    # Without a backslash a quotation mark begins or ends a text, and one that a colon follows ends a key (no white
    # space stands between them). Fewer keys in the events than that: one stands twice, or a value has its own.
    events, keys = value["data"]["events"], _OUTSIDE_EVENTS
    for event in events:
        keys += len(event.__pydantic_fields_set__)  # `model_fields_set` is a call more, felt at every line
    if keys != raw.count(b'":') or b'" ' in raw or b'"\t' in raw or b'"\r' in raw or b'"\n' in raw:
        return None
    # The one number that is compared and not typed: 1.0 would do for the 1 of a version.
    if raw.count(b'"v":1,') + raw.count(b'"v":1}') != len(events):
        return None
    return cast("dict[str, Any]", value)
