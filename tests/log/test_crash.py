"""Crashes: what a power cut may leave of the last write, crashes inside the recovery, kill -9 of a writer."""

import json
import random
import subprocess
import sys
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path

from runner.log.errors import Broken, LogError
from runner.log.scan import scan, scan_file
from runner.log.writer import reopen
from tests.doubles import FaultyFiles, SetOutside
from tests.log.makelog import fill, start

ROOT = Path(__file__).parents[2]


def three_states(folder: Path) -> tuple[bytes, bytes]:
    """The confirmed bytes of a log, and the one entry being written when the power goes."""
    outside = SetOutside()
    with start(folder, outside) as writer:
        fill(writer, outside, 2)
        before = writer.path.read_bytes()
        writer.append("note", {"text": "n" * 700}, outside.now())
        after = writer.path.read_bytes()
    return before, after[len(before) :]


def images(confirmed: bytes, last: bytes, draw: random.Random) -> Iterator[bytes]:
    """What the medium may hold: a prefix; lost sectors; the length before the content; garbage."""
    for size in range(0, len(last), 11):
        yield last[:size]
        yield last[:size] + bytes(draw.randrange(len(last) - size))
    edges = [0, *range(512 - len(confirmed) % 512, len(last), 512), len(last)]
    for lost in range(1, 2 ** (len(edges) - 1)):
        image = bytearray(last)
        for i, (begin, end) in enumerate(pairwise(edges)):
            if lost >> i & 1:
                image[begin:end] = bytes(end - begin)
        yield bytes(image)
    for _ in range(40):
        yield draw.randbytes(draw.randrange(1, len(last))).replace(b"\n", b"N")


def test_whatever_a_power_cut_leaves_the_run_goes_on(tmp_path: Path) -> None:
    confirmed, last = three_states(tmp_path)
    path, seen = tmp_path / "image.jsonl", 0
    for image in images(confirmed, last, random.Random(5)):
        path.write_bytes(confirmed + image)
        path.chmod(0o600)
        outside = SetOutside()
        again, report = reopen(path, outside)
        with again:
            assert report.count in (3, 4)
            fill(again, outside, 2)
        found = scan_file(path)
        assert found.state == "open"
        assert path.read_bytes().startswith(confirmed + image)
        assert [entry.kind for entry in found.records[-2:]] == ["reading", "reading"]
        seen += 1
    assert seen > 200


def test_garbage_with_line_feeds_never_gives_a_wrong_entry(tmp_path: Path) -> None:
    confirmed, last = three_states(tmp_path)
    good, draw = scan(confirmed).records, random.Random(6)
    for _ in range(300):
        report = scan(confirmed + draw.randbytes(draw.randrange(1, len(last))))
        assert report.records == good
        assert report.state in ("torn", "broken")


def test_a_crash_inside_the_recovery_is_recovered_from(tmp_path: Path) -> None:
    """The healing writes are cut at a sample of lengths, twice over; then a third opening must succeed."""
    confirmed, last = three_states(tmp_path)
    path, draw, crashes = tmp_path / "image.jsonl", random.Random(8), 0
    for _ in range(150):
        image = last[: draw.randrange(1, len(last))]
        path.write_bytes(confirmed + image)
        path.chmod(0o600)
        for _ in range(2):
            files = FaultyFiles("write", draw.choice((1, 2)), short=draw.randrange(1, 330))
            try:
                reopen(path, SetOutside(files=files))[0].close()
            except Broken:
                raise
            except LogError:
                crashes += 1
        outside = SetOutside()
        again, report = reopen(path, outside)
        with again:
            assert report.records[:3] == scan(confirmed).records
            fill(again, outside, 2)
        found = scan_file(path)
        assert found.state == "open"
        assert path.read_bytes().startswith(confirmed + image)
    assert crashes > 120


WRITER = """
import sys
from pathlib import Path
from runner.log.writer import create, reopen
from runner.outside import Outside
path, outside = Path(sys.argv[1]), Outside()
if path.exists():
    writer, report = reopen(path, outside)
else:
    writer = create(path.parent, path.name, {"procedure": {}}, outside)
print("ready", flush=True)
number = int(sys.argv[2])
while True:
    writer.append("note", {"number": number}, outside.now())
    print(number, flush=True)
    number += 1
"""


def test_kill_9_loses_nothing_that_was_confirmed(tmp_path: Path) -> None:
    """A real writer on one file, killed at moments that its own output times, resumed each time."""
    path, draw, kills, unconfirmed = tmp_path / "a.jsonl", random.Random(9), 12, 0
    confirmed: list[int] = []
    for round_number in range(kills):
        first = round_number * 100_000
        with subprocess.Popen(
            [sys.executable, "-c", WRITER, path, str(first)], stdout=subprocess.PIPE, text=True, cwd=ROOT
        ) as writer:
            assert writer.stdout is not None
            for _ in range(draw.randrange(1, 40)):
                writer.stdout.readline()
            writer.kill()
            said = writer.stdout.read().splitlines()
        last = int(said[-1]) if said and said[-1].isdigit() and said != ["ready"] else None
        report = scan_file(path)
        assert report.state in ("open", "torn"), report.summary()
        found = [entry.data["number"] for entry in report.records if entry.kind == "note"]
        mine = [number for number in found if number >= first]
        assert mine == list(range(first, first + len(mine)))
        if last is not None:
            assert mine[-1] in (last, last + 1)
            unconfirmed += mine[-1] == last + 1
        confirmed += mine
        assert found == confirmed
    assert len(confirmed) > kills
    opened = [entry for entry in scan_file(path).records if entry.kind == "opened"]
    assert len(opened) == kills - 1
    assert all(json.loads(each) for each in path.read_bytes().split(b"\n")[:-1] if not each.endswith(b"\x18"))
