"""What every event is, and what a value as entered carries."""

from typing import Literal

from pydantic import BaseModel, ConfigDict


class Event(BaseModel):
    """The base of all events."""

    model_config = ConfigDict(frozen=True, extra="forbid", defer_build=True)

    v: Literal[1] = 1


class Held(Event):
    """A value as entered: `raw` typed, `value` in `unit`, the method and tool, the band it was held against.

    `wrench_value` in `wrench_unit` is what a tool of the toolbox was set to or showed, where that is not the value
    itself; `correction` says why (the extension fitted). `conformity` is what the reading says of the band with the
    tool's certified uncertainty (`expanded`, in `unit`), or `bare band` where no certificate is known.
    """

    raw: str = ""
    value: str = ""
    unit: str = ""
    method: str = ""
    tool: str = ""
    wrench_value: str = ""
    wrench_unit: str = ""
    correction: str = ""
    expanded: str = ""
    conformity: Literal["", "in", "out", "too close", "bare band"] = ""
    low: str | None = None
    high: str | None = None
