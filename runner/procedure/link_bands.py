"""Bands and quantities of the author as exact decimal text, and durations in words."""

from decimal import Decimal

from runner.procedure.linked import Interval
from runner.quantities import Band

_TIMES = ((86_400_000, "day"), (3_600_000, "h"), (60_000, "min"), (1000, "s"))


def decimal_text(value: Decimal) -> str:
    """A number as plain decimal text: no exponent, nothing rounded."""
    return f"{value:f}"


def interval(band: Band) -> Interval:
    """The band as text, in its own unit."""
    low, high, target = (
        None if limit is None else decimal_text(limit) for limit in (band.low, band.high, band.target)
    )
    return Interval(
        low=low,
        high=high,
        target=target,
        unit=band.unit,
        text=band.text(),
        low_open=band.low_open,
        high_open=band.high_open,
    )


def duration_text(milliseconds: int) -> str:
    """A duration in words, exact: `1 h 30 min`, `7 days`."""
    parts, rest = [], milliseconds
    for size, name in _TIMES:
        number, rest = divmod(rest, size)
        if number:
            parts.append(f"{number} {name}{'s' if name == 'day' and number > 1 else ''}")
    if rest:
        parts.append(f"{rest} ms")
    return " ".join(parts) or "0 s"
