"""What every event is, and what a value as entered carries."""

from typing import Literal

from pydantic import BaseModel, ConfigDict


class Event(BaseModel):
    """The base of all events."""

    model_config = ConfigDict(frozen=True, extra="forbid", defer_build=True)

    v: Literal[1] = 1


class Held(Event):
    """A value as entered: `raw` typed, `value` in `unit`, the method and tool, the band it was held against."""

    raw: str = ""
    value: str = ""
    unit: str = ""
    method: str = ""
    tool: str = ""
    low: str | None = None
    high: str | None = None
