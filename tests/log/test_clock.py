"""Clocks that are set, jump, repeat a second or change their offset: told in entries, and order is by number."""

import secrets
from pathlib import Path
from random import Random

import pytest

from runner.log.scan import scan, scan_file
from runner.log.writer import create, reopen
from runner.stamp import wall_from_iso
from tests.doubles import SetOutside
from tests.log.makelog import fill, hand_made, start
from tests.log.medium import FOLDER, PATH, Medium
from tests.log.tally import SHARE, Tally

HOUR, DAY = 3_600_000, 86_400_000


def kinds(path: Path) -> list[str]:
    return [entry.kind for entry in scan_file(path).records]


@pytest.mark.parametrize(
    "step", [-HOUR, DAY, -2_001, 2_001], ids=["back an hour", "forward a day", "back", "on"]
)
def test_a_clock_that_is_set_is_recorded_and_order_stays(tmp_path: Path, step: int) -> None:
    outside = SetOutside(step_ms=0)
    with start(tmp_path, outside) as writer:
        fill(writer, outside, 1)
        outside.set_wall(step)
        fill(writer, outside, 2)
    found = scan_file(writer.path).records
    assert [entry.kind for entry in found] == ["run", "reading", "clock", "reading", "reading"]
    assert [entry.n for entry in found] == list(range(5))
    assert found[2].data["before"] == found[1].stamp.iso()
    assert found[2].data["after"] == found[3].stamp.iso()
    assert wall_from_iso(found[2].data["after"]) - wall_from_iso(found[2].data["before"]) == step
    assert found[3].stamp.mono_ms >= found[1].stamp.mono_ms


@pytest.mark.parametrize("offset", [60, 180], ids=["summer ends", "summer begins"])
def test_summer_time_is_recorded_and_gives_the_new_offset(tmp_path: Path, offset: int) -> None:
    outside = SetOutside()
    with start(tmp_path, outside) as writer:
        outside.offset_min = offset
        fill(writer, outside, 2)
    found = scan_file(writer.path).records
    assert [entry.kind for entry in found] == ["run", "clock", "reading", "reading"]
    assert [entry.stamp.offset_min for entry in found] == [120, offset, offset, offset]
    assert [entry.stamp.wall_ms for entry in found] == sorted(entry.stamp.wall_ms for entry in found)


@pytest.mark.parametrize("step", [-1_000, 1_000], ids=["a second twice", "a second left out"])
def test_a_leap_second_is_no_clock_that_was_set(tmp_path: Path, step: int) -> None:
    """Systems repeat the second, as POSIX time has no 23:59:60; what was recorded in it keeps its place by number."""
    outside = SetOutside(step_ms=100)
    with start(tmp_path, outside) as writer:
        fill(writer, outside, 2)
        outside.set_wall(step)
        fill(writer, outside, 2)
    found = scan_file(writer.path).records
    assert [entry.kind for entry in found] == ["run", *["reading"] * 4]
    assert [entry.n for entry in found] == list(range(5))
    assert (found[3].stamp.wall_ms < found[2].stamp.wall_ms) == (step < 0)


def test_a_leap_second_written_as_60_is_read() -> None:
    report = scan(hand_made(("reading", {}), ("reading", {}), utc="2016-12-31T23:59:60.500Z"))
    assert report.state == "open"
    assert report.count == 3
    assert scan(hand_made(("reading", {}), utc="2016-12-31T23:59:61.000Z")).state == "broken"


def test_small_steps_and_long_sleep_are_no_clock_jump(tmp_path: Path) -> None:
    outside = SetOutside()
    with start(tmp_path, outside) as writer:
        outside.set_wall(2_000)
        fill(writer, outside, 1)
        outside.pass_time(100 * HOUR)
        fill(writer, outside, 1)
    assert kinds(writer.path) == ["run", "reading", "reading"]


def test_a_clock_set_between_two_openings_is_recorded(tmp_path: Path) -> None:
    outside = SetOutside()
    start(tmp_path, outside).close()
    outside.set_wall(-60_000)
    reopen(tmp_path / "a.jsonl", outside)[0].close()
    assert kinds(tmp_path / "a.jsonl") == ["run", "clock", "opened"]
    outside.set_wall(-60_000)
    outside.reboot()
    reopen(tmp_path / "a.jsonl", outside)[0].close()
    assert kinds(tmp_path / "a.jsonl") == ["run", "clock", "opened", "opened"]


def any_clock(draw: Random, tally: Tally, steps: int) -> None:
    """Steps of every size, offsets, sleeps and restarts: each step of more than 2 s is told, and nothing refused."""
    medium = Medium()
    outside = SetOutside(files=medium)
    writer = create(FOLDER, PATH.name, {}, outside)
    told = 0
    for number in range(steps):
        what = draw.choice(("set", "a little", "offset", "sleep", "restart"))
        if what == "set":
            outside.set_wall(draw.choice((-1, 1)) * draw.randrange(2_001, 40 * DAY))
            told += 1
        elif what == "a little":
            outside.set_wall(draw.randrange(-500, 500))
        elif what == "offset":
            outside.offset_min += (
                draw.choice((-60, 60)) if -600 < outside.offset_min < 600 else -outside.offset_min
            )
            told += 1
        elif what == "sleep":
            outside.pass_time(draw.randrange(DAY))
        else:
            writer.close()
            outside.reboot()
            writer, _ = reopen(PATH, outside)
        writer.append("note", {"number": number}, outside.now())
        tally.add(what)
    writer.close()
    report = scan(medium.durable or b"")
    assert report.state == "open"
    assert [each.data["number"] for each in report.records if each.kind == "note"] == list(range(steps))
    assert sum(each.kind == "clock" for each in report.records) == told


def test_any_clock_is_told_and_refuses_nothing() -> None:
    tally = Tally("clock steps", least=300, seed=14)
    any_clock(Random(14), tally, 300)
    tally.close()
    assert len(tally.seen) == 5


@pytest.mark.deep
def test_any_clock_for_long_is_told_and_refuses_nothing() -> None:
    tally = Tally("clock steps", least=int(20_000 * SHARE), seed=secrets.randbelow(1_000_000))
    draw = Random(tally.seed)
    while tally.total < tally.least:
        any_clock(draw, tally, 500)
    tally.close()
