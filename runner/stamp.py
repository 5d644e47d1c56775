"""One moment, as everything below the screen sees it: wall time, running clock, and which boot it was."""

import re
from datetime import UTC, datetime, timedelta
from functools import lru_cache

from runner.frozen import Slim

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_UTC_TEXT = re.compile(
    r"([0-9]{4})-([0-9]{2})-([0-9]{2})T([0-9]{2}):([0-9]{2}):([0-9]{2})\.([0-9]{3})Z", re.ASCII
)


class Stamp(Slim, frozen=True):
    """A moment. Order never comes from `wall_ms`, which may jump; durations use `mono_ms` in one `boot`."""

    wall_ms: int
    """Unix milliseconds, UTC."""
    offset_min: int
    """Local time minus UTC, in minutes."""
    mono_ms: int
    """A clock that only runs forward and counts sleep where the machine can; comparable within `boot`."""
    boot: str
    """Identity of the machine's boot (of the process, where the machine does not tell)."""

    def iso(self) -> str:
        """The moment in UTC as RFC 3339 `YYYY-MM-DDTHH:MM:SS.mmmZ`."""
        minute, rest = divmod(self.wall_ms, 60_000)
        return f"{_minute_text(minute)}:{rest // 1000:02d}.{rest % 1000:03d}Z"

    def local(self) -> datetime:
        """The wall time where the work was done, without a zone."""
        moved = timedelta(milliseconds=self.wall_ms, minutes=self.offset_min)
        return (_EPOCH + moved).replace(tzinfo=None)

    def clock_text(self) -> str:
        """Local time of day as `HH:MM`."""
        return self.local().strftime("%H:%M")

    def date_text(self) -> str:
        """Local date as `YYYY-MM-DD`."""
        return self.local().date().isoformat()


@lru_cache(16)
def _minute_text(minute: int) -> str:
    """The date and time of a minute since 1970; many moments share one."""
    return (_EPOCH + timedelta(minutes=minute)).isoformat(timespec="minutes")[:-6]


def wall_from_iso(text: str) -> int:
    """Unix milliseconds of `YYYY-MM-DDTHH:MM:SS.mmmZ`; the leap second 23:59:60 counts as the next second.

    Raises ValueError for any other form or a date that does not exist.
    """
    match = _UTC_TEXT.fullmatch(text)
    if match is None:
        raise ValueError(f"{text[:40]!r} is not a UTC time like 2026-11-25T09:04:00.000Z")
    year, month, day, hour, minute, second, milli = (int(part) for part in match.groups())
    if not 1 < year < 9999:  # the local time may be a day off, and must be a date too
        raise ValueError(f"{text!r} is out of all proportion")
    if second > 60 or (second == 60 and (hour, minute) != (23, 59)):
        raise ValueError(f"{text!r} has no such second")
    whole = datetime(year, month, day, hour, minute, tzinfo=UTC) - _EPOCH
    return whole // timedelta(milliseconds=1) + second * 1000 + milli
