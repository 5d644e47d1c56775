"""Small facts of the writing end that no other test rests on alone."""

import errno
from pathlib import Path

import pytest

from runner.log import line
from runner.log.chainfile import ChainFile
from runner.log.errors import Latched, NotRecorded
from runner.log.scan import scan
from runner.log.writer import create, reopen
from tests.doubles import FaultyFiles, SetOutside
from tests.log.makelog import fill, hand_made, start
from tests.log.medium import FOLDER, PATH, Medium


def test_a_sync_is_not_tried_again_by_hand() -> None:
    medium = Medium(b"")
    medium.failing = {1: errno.EIO}
    chain = ChainFile(medium, PATH, 77, line.root())
    with pytest.raises(NotRecorded):
        chain.sync()
    with pytest.raises(Latched):
        chain.sync()
    with pytest.raises(Latched):
        chain.mend(SetOutside().now())
    with pytest.raises(Latched):
        chain.put(
            "note", {"no": 1.5}, SetOutside().now()
        )  # what it says comes before what is wrong with the entry
    assert medium.calls["fdatasync"] == 1


def test_closing_twice_closes_once() -> None:
    medium = Medium()
    writer = create(FOLDER, PATH.name, {}, SetOutside(files=medium))
    writer.close()
    writer.close()
    assert medium.calls["close"] == 1


def test_a_scar_without_its_line_feed_is_healed() -> None:
    """It is a whole entry: no second scar is put around it."""
    medium = Medium()
    outside = SetOutside(files=medium)
    medium.short = {2: 30}
    with create(FOLDER, PATH.name, {}, outside) as writer, pytest.raises(NotRecorded):
        writer.append("note", {}, outside.now())
    reopen(PATH, outside)[0].close()
    lines = (medium.durable or b"").split(b"\n")
    torn = Medium(b"\n".join(lines[:3]))
    assert lines[2].count(b'"kind":"scar"') == 1
    again, report = reopen(PATH, SetOutside(files=torn))
    again.close()
    assert report.tail is not None
    assert report.tail.kind == "whole"
    found = scan(torn.durable or b"")
    assert [each.kind for each in found.records] == ["run", "scar", "opened"]
    assert [each.size for each in found.scars] == [30]


def test_a_writer_that_stopped_gives_the_run_free(tmp_path: Path) -> None:
    """It is taken up again while the stopped writer is still there."""
    outside = SetOutside(files=FaultyFiles("fdatasync", 2))
    writer = start(tmp_path, outside)
    with pytest.raises(NotRecorded):
        fill(writer, outside, 1)
    reopen(writer.path, SetOutside())[0].close()


def test_a_healed_line_feed_is_synced_before_anything_follows(tmp_path: Path) -> None:
    outside = SetOutside()
    with start(tmp_path, outside) as writer:
        fill(writer, outside, 1)
    writer.path.write_bytes(writer.path.read_bytes()[:-1])
    files = FaultyFiles()
    reopen(writer.path, SetOutside(files=files))[0].close()
    made = [op for op in files.order if op in ("write", "fdatasync")]
    assert made == ["fdatasync", "write", "fdatasync", "write", "fdatasync"]


def test_the_quick_way_to_read_a_time_takes_no_other_second() -> None:
    """Minutes are remembered from one entry to the next; second 60 and what is no second are not read by the way."""
    good = hand_made(("reading", {}), utc="2026-11-25T09:04:59.000Z")
    assert scan(good).state == "open"
    for second, state in (("60", "broken"), ("61", "broken"), ("6 ", "broken"), ("\u0665\u0665", "broken")):
        data = hand_made(("reading", {}), utc=f"2026-11-25T09:04:{second}.000Z")
        assert scan(data).state == state, second
