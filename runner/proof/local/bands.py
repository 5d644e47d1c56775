"""Sorted readings: every named band takes some value, and together they take every one (P17)."""

from collections.abc import Sequence
from decimal import Decimal

from runner.frozen import Frozen
from runner.procedure.linked import Interval, Procedure, Reading
from runner.proof.local.found import Found
from runner.quantities import kind_of

Cut = tuple[Decimal, int]
"""A place between values: just before a value (0) or just behind it (1). Cuts are in the order of their values."""

_LEAST: Cut = (Decimal("-Infinity"), 0)
_MOST: Cut = (Decimal("Infinity"), 1)


class Gap(Frozen):
    """All values between two cuts."""

    low: Cut
    high: Cut

    def empty(self, *, whole: bool) -> bool:
        """Whether no value lies in it; with `whole`, no whole number."""
        if self.low >= self.high:
            return True
        if not whole or not self.low[0].is_finite():
            return False
        first = self.low[0].to_integral_value(rounding="ROUND_CEILING")
        if first == self.low[0] and self.low[1] == 1:
            first += 1
        return (first, 1) > self.high

    def words(self, unit: str) -> str:
        """The values in a sentence, in `unit`: `values above 3 mm and below 4 mm`."""
        (low, behind), (high, through) = self.low, self.high
        if low == high:
            return f"the value {low:f} {unit}"
        sides = []
        if low.is_finite():
            sides.append(f"{'above' if behind else 'from'} {low:f} {unit}")
        if high.is_finite():
            sides.append(f"{'up to' if through else 'below'} {high:f} {unit}")
        return f"values {' and '.join(sides)}" if sides else "values of any size"


def band_never(procedure: Procedure, found: Found) -> None:
    """Bands that no value can come to, and values that no band takes, at every sorted reading."""
    for node in procedure.nodes:
        for reading in node.readings:
            if not reading.sorting:
                continue
            never, left = sorted_out(reading)
            for label in never:
                message = (
                    f'no value of "{reading.name}" is left for "{label}": the bands before it take them all'
                )
                found.add(node, "band-never", message)
            if left:
                message = f'no band of "{reading.name}" takes {left[0].words(reading.unit or "")}'
                mend = "let the bands meet, and let the last one be `above`"
                found.add(node, "band-never", message, mend)


def sorted_out(reading: Reading) -> tuple[tuple[str, ...], tuple[Gap, ...]]:
    """The labels of the bands that take no value, and the values that none takes, from low to high.

    Limits are compared exactly, as the engine compares them. What is counted is a whole number from 0 on; what is
    worked out may be anything, also in counts.
    """
    whole = reading.kind == "number" and reading.unit is not None and kind_of(reading.unit) == "count"
    left: Sequence[Gap] = (Gap((Decimal(0), 0) if whole else _LEAST, _MOST),)
    never: list[str] = []
    for sorting in reading.sorting:
        taken = _cuts(sorting.band)
        if all(_both(gap, taken).empty(whole=whole) for gap in left):
            never.append(sorting.exit.label)
        rest = (part for gap in left for part in _without(gap, taken))
        left = tuple(gap for gap in rest if not gap.empty(whole=whole))
    return tuple(never), tuple(left)


def _cuts(band: Interval | None) -> Gap:
    """The values of a band; one that is not written takes all."""
    low, high = _LEAST, _MOST
    if band is not None and band.low is not None:
        low = (Decimal(band.low), int(band.low_open))
    if band is not None and band.high is not None:
        high = (Decimal(band.high), int(not band.high_open))
    return Gap(low, high)


def _both(one: Gap, other: Gap) -> Gap:
    return Gap(max(one.low, other.low), min(one.high, other.high))


def _without(gap: Gap, taken: Gap) -> tuple[Gap, Gap]:
    """What is left of a gap below and above what is taken; either may be empty."""
    below = Gap(gap.low, min(gap.high, taken.low))
    above = Gap(max(gap.low, taken.high), gap.high)
    return below, above
