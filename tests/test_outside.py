"""Moments as text and back, and what the real outside tells."""

from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from runner.outside import Outside
from runner.stamp import Stamp, wall_from_iso


def at(wall_ms: int, offset_min: int = 0) -> Stamp:
    return Stamp(wall_ms, offset_min, 0, "boot")


@given(st.datetimes(datetime(2, 1, 1), datetime(9998, 12, 31), timezones=st.just(UTC)))  # noqa: DTZ001  the zone is added
def test_a_moment_as_text_reads_back(moment: datetime) -> None:
    wall_ms = (moment - datetime(1970, 1, 1, tzinfo=UTC)) // (datetime.resolution * 1000)
    text = at(wall_ms).iso()
    assert datetime.fromisoformat(text) == moment.replace(microsecond=moment.microsecond // 1000 * 1000)
    assert wall_from_iso(text) == wall_ms


def test_the_leap_second_of_rfc_3339_is_read() -> None:
    """RFC 3339, section 5.8: 1990-12-31T23:59:60Z is the leap second inserted at the end of 1990."""
    assert wall_from_iso("1990-12-31T23:59:60.500Z") == wall_from_iso("1991-01-01T00:00:00.500Z")


@pytest.mark.parametrize(
    "text",
    [
        "2026-11-25",
        "2026-11-25T09:04:00Z",
        "2026-11-25T09:04:00.000+00:00",
        "2026-02-30T09:04:00.000Z",
        "2026-11-25T12:00:60.000Z",
        "2026-11-25T23:59:61.000Z",
        "2026-11-25T24:00:00.000Z",
        "٢٠٢٦-11-25T09:04:00.000Z",
    ],
)
def test_other_times_are_refused(text: str) -> None:
    with pytest.raises(ValueError, match=r"second|UTC time|day|hour"):
        wall_from_iso(text)


def test_local_time_goes_by_the_offset() -> None:
    late = at(wall_from_iso("2026-11-25T23:30:00.000Z"), 90)
    assert (late.date_text(), late.clock_text()) == ("2026-11-26", "01:00")
    early = at(wall_from_iso("2026-11-25T00:10:00.000Z"), -570)
    assert (early.date_text(), early.clock_text()) == ("2026-11-24", "14:40")


def test_the_real_outside_runs_forward_and_draws_anew() -> None:
    outside = Outside()
    first, second = outside.now(), outside.now()
    assert second.mono_ms >= first.mono_ms > 0
    assert first.boot == second.boot == Outside().now().boot
    assert abs(first.offset_min) <= 24 * 60
    ids = {outside.new_id() for _ in range(100)}
    assert len(ids) == 100
    assert all(len(each) == 32 and int(each, 16) >= 0 for each in ids)
