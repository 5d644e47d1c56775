"""kill -9 of a real writer on a real file with real syncs, at any moment; the same file is taken up again."""

import os
import secrets
import signal
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from random import Random
from typing import IO

import pytest

from runner.log.scan import scan_file
from tests.log.nursery import SEAL_AT
from tests.log.tally import SHARE, Tally

ROOT = Path(__file__).parents[2]
ROUND = 1_000


@contextmanager
def nursery() -> Iterator[tuple[IO[str], IO[str]]]:
    """What forks writers, as its input and output."""
    with subprocess.Popen(
        [sys.executable, "-m", "tests.log.nursery"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        cwd=ROOT,
        bufsize=1,
    ) as parent:
        assert parent.stdin is not None
        assert parent.stdout is not None
        yield parent.stdin, parent.stdout


def one_kill(ask: IO[str], told: IO[str], path: Path, first: int, draw: Random) -> list[str]:
    """Start a writer, kill it at a moment that is drawn, and give all that it had said."""
    print(path, first, draw.randrange(1 << 30), file=ask)
    said: list[str] = []
    pid, line = 0, ""
    wanted = draw.choice((0, 1, 2, 3, 5, 9, 14))
    while not pid or (len(said) < wanted and "sealed" not in said):
        line = told.readline().strip()
        if line == "gone":
            break
        if line.startswith("pid "):
            pid = int(line[4:])
        else:
            said.append(line)
    for _ in range(draw.randrange(20_000)):  # no moment is named: wherever the writer is by then
        pass
    os.kill(pid, signal.SIGKILL)
    while line != "gone":
        line = told.readline().strip()
        said.append(line)
    print(file=ask)
    return [each for each in said if each != "gone"]


def kill_often(folder: Path, tally: Tally, kills: int) -> None:
    draw, before, file = Random(tally.seed), [], 0
    with nursery() as (ask, told):
        for number in range(kills):
            path = folder / f"{file}.jsonl"
            said = one_kill(ask, told, path, number * ROUND, draw)
            confirmed = [int(each) for each in said if each.isdigit()]
            tally.add("kills")
            tally.also["confirmed"] += len(confirmed)
            if not path.exists() or scan_file(path).header is None:
                assert not before
                assert not said
                tally.also["not yet started"] += 1
                continue
            report = scan_file(path)
            assert report.state in ("open", "torn", "complete"), report.summary()
            found = [entry.data["number"] for entry in report.records if entry.kind == "note"]
            mine = found[len(before) :]
            assert found[: len(before)] == before, "what was confirmed earlier is there, in its order"
            assert mine[: len(confirmed)] == confirmed
            assert mine == list(range(number * ROUND, number * ROUND + len(mine)))
            assert len(mine) <= len(confirmed) + 1
            tally.also["found, not confirmed"] += len(mine) - len(confirmed)
            tally.also["torn tails"] += report.state == "torn"
            before = found
            assert report.state == "complete" or "sealed" not in said
            if report.state == "complete":
                assert len(found) == SEAL_AT
                tally.also["sealed"] += 1
                before, file = [], file + 1


def test_kill_9_loses_nothing_that_was_confirmed(tmp_path: Path) -> None:
    tally = Tally("kill -9", least=100, seed=9)
    kill_often(tmp_path, tally, 100)
    assert tally.also["confirmed"] > 100
    tally.close()


@pytest.mark.deep
def test_thousands_of_kills_lose_nothing_that_was_confirmed(tmp_path: Path) -> None:
    kills = int(5_000 * SHARE)
    tally = Tally("kill -9", least=kills, seed=secrets.randbelow(1_000_000))
    kill_often(tmp_path, tally, kills)
    assert tally.total == kills
    assert tally.also["sealed"] >= kills // 100
    assert tally.also["found, not confirmed"] > 0, "no kill came between the disk and the saying of it"
    tally.close()
