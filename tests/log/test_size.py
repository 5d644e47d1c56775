"""Long logs: read one entry at a time in a room that does not grow, and judged to the last byte."""

import json
import subprocess
import sys
from pathlib import Path

import pytest

from runner.log import line
from tests.log.tally import SHARE, Tally

ROOT = Path(__file__).parents[2]
READER = """
import json, resource, sys
from pathlib import Path
from runner.log.scan import Scanner
from runner.log.source import reading
from runner.outside import Files
def room():
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
with reading(Path(sys.argv[1]), Files()) as data:
    scanner, before, count = Scanner(data), 0, 0
    for entry in scanner:
        count += 1
        if count == 1_000:
            before = room()
report = scanner.report
print(json.dumps([report.summary(), count, room() - before, report.fault.byte if report.fault else None]))
"""


def long_log(path: Path, count: int) -> list[int]:
    """A log of `count` entries, sealed; where its lines begin (every thousandth)."""
    own = {"boot": "b", "log": 1, "offset_min": 0, "run": "r"}
    head, places, at = line.root(), [], 0
    with path.open("wb") as file:
        for n in range(count):
            kind, data = "note", line.encode({"number": n, "text": "Räder fest"})
            if n == 0:
                kind, data = "run", line.encode(own)
            elif n == count - 1:
                kind, data = "seal", line.encode({"count": n, "end": "finished", "head": head.hex()})
            whole, head = line.link(head, line.body(n, kind, data, "2026-11-25T09:04:00.000Z", n))
            if n % 1_000 == 0:
                places.append(at)
            at += file.write(whole)
    return places


def read(path: Path) -> tuple[str, int, int, int | None]:
    """Verdict, entries read, room that reading took after the first thousand (KiB), and the fault's byte."""
    told = subprocess.run(
        [sys.executable, "-c", READER, path], capture_output=True, text=True, check=True, cwd=ROOT
    )
    summary, count, grown, byte = json.loads(told.stdout)
    return summary, count, grown, byte


def judge(path: Path, count: int) -> None:
    places = long_log(path, count)
    tally = Tally("entries of one log, read in bounded room", least=count)
    summary, found, grown, byte = read(path)
    assert summary == f"COMPLETE: sealed, {count} entries."
    assert byte is None
    assert grown < 8_192, f"reading took {grown} KiB more after the first thousand entries"
    tally.add("entries", found)
    place = places[-2]
    with path.open("r+b") as file:
        file.seek(place + 30)
        file.write(b"X")
    summary, found, grown, byte = read(path)
    assert byte == place
    assert found == (len(places) - 2) * 1_000
    assert summary.startswith(f"BROKEN at line {found + 1}, byte {place}: ")
    tally.also["KiB more"] = grown
    tally.close()


def test_a_long_log_is_read_in_bounded_room(tmp_path: Path) -> None:
    judge(tmp_path / "long.jsonl", 10_000)


@pytest.mark.deep
def test_a_log_of_a_million_entries_is_read_in_bounded_room(tmp_path: Path) -> None:
    judge(tmp_path / "long.jsonl", int(1_000_000 * SHARE))
