"""What the head of a linked procedure declares: conditions, choices, tools, parts, counters, follow-ups; and bands."""

from decimal import Decimal

from pydantic import BaseModel, ConfigDict


class Linked(BaseModel):
    """A part of the linked form."""

    model_config = ConfigDict(frozen=True, extra="forbid", defer_build=True)


class Interval(Linked):
    """A band: limits as decimal text in `unit`, None where there is none; `text` as shown beside the field.

    Limits belong to the band unless `low_open` or `high_open` says otherwise (`above 5 mm`).
    """

    low: str | None = None
    high: str | None = None
    target: str | None = None
    unit: str
    text: str
    low_open: bool = False
    high_open: bool = False

    def holds(self, value: Decimal) -> bool:
        """Whether `value`, in `unit`, lies in the band; compared exactly."""
        low = None if self.low is None else Decimal(self.low)
        high = None if self.high is None else Decimal(self.high)
        above = low is None or value > low or (value == low and not self.low_open)
        below = high is None or value < high or (value == high and not self.high_open)
        return above and below


class Condition(Linked):
    """A condition: its values, the allowed changes and the detours (value, first node of the detour)."""

    name: str
    at_start: tuple[str, ...]
    changes: tuple[tuple[str, tuple[str, ...]], ...]
    hazardous: tuple[str, ...] = ()
    getting_there: tuple[tuple[str, str], ...] = ()

    @property
    def values(self) -> tuple[str, ...]:
        """Every value it can have."""
        return tuple(value for value, _ in self.changes)

    def may_become(self, now: str, then: str) -> bool:
        """Whether the change is allowed; staying is always allowed."""
        return now == then or then in dict(self.changes).get(now, ())


class Choice(Linked):
    """A variant or a location chosen at the start."""

    name: str
    values: tuple[str, ...]
    location: bool = False


class Tool(Linked):
    """A tool to lay out and the range it covers."""

    name: str
    covers: Interval | None = None


class Part(Linked):
    """A part to lay out; `quantity` is for all locations together."""

    name: str
    number: str | None = None
    quantity: int = 1


class Counter(Linked):
    """A counter asked at the start."""

    name: str
    unit: str


class FollowUp(Linked):
    """Due after the job, in the author's words."""

    what: str
    text: str
