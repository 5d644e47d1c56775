"""What every event is, and what a value as entered carries."""

from typing import ClassVar, Literal

from msgspec import Struct, field


class Event(
    Struct, frozen=True, kw_only=True, tag_field="kind", forbid_unknown_fields=True, omit_defaults=True
):
    """The base of all events; the tag of a class is the `kind` of its events.

    They are the greater part of every log and are read back by the hundred thousand: a class of this kind is read
    from JSON, and made, in a fifth of the time that a validated model takes, and it is held to its types all the same
    where it is read (`runner.job.record`).
    """

    v: Literal[1] = field(default_factory=lambda: 1)  # always written, for it is made

    kind: ClassVar[str] = ""
    """What became true, as the log calls it: the tag of the class (`runner.job.events` puts it there)."""


class Held(Event, frozen=True):
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
