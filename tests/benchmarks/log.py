"""What the log costs: one durable append, reading a long log back, taking up a long run, and the room for that.

append   raw write + fdatasync of the same bytes, in turn with an append with all checks;
         median of the pairs' ratios
replay   json.loads of the lines, in turn with verifying and replaying them, a few hundred lines at a time; the ratio
         of the sums, and the median of the turns
resume   `witnessmark resume` of 5,000 events to the first key the gate takes, in turn with a log of one event
room     the most memory that a fresh process needs to verify and replay 200,000 events, over that for 2,000; of the
         whole process (peak resident set), and of what Python holds for it (tracemalloc's peak, in another process)

Run: `python -m tests.benchmarks.log [append|replay|resume|room ...]`; exits 1 past a bound. An event is an entry here:
one line, in which several things may have come true.
"""

import json
import os
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from itertools import islice
from pathlib import Path

from runner.log.scan import Scanner
from runner.log.source import reading
from runner.log.writer import create
from runner.outside import Files, Outside
from runner.replaying import Replay
from tests.benchmarks.laps import Built, build
from tests.benchmarks.start import HAND_S
from tests.benchmarks.terminal import Terminal

SEED = 20_261_126
STATIONS, ROUNDS = 12, 100
LONG, SHORT, RESUMED = 200_000, 2_000, 5_000
PAIRS = 2_000
ROUNDS_OF_RESUME = 9
FIRST_ASKED = {True: b"Lay out and confirm", False: b"Compare with the"}
"""What is drawn once the run goes on: behind the first entry it is prepared, later it is compared with the work."""
TURN = 500
"""Lines that are read in one turn of the replay."""
BOUNDS = {"append": 1.5, "replay": 3.0, "resume": 1.5, "room": 1.5}
GOALS = {"append": 1.25, "replay": 2.0, "resume": 1.5, "room": 1.5}

ROOM = """
import resource, sys, tracemalloc
from pathlib import Path
from tests.benchmarks.log import replayed
traced = sys.argv[2] == "traced"
if traced:
    tracemalloc.start()
job = replayed(Path(sys.argv[1]))
print(tracemalloc.get_traced_memory()[1] // 1024 if traced else resource.getrusage(resource.RUSAGE_SELF).ru_maxrss)
"""


def replayed(path: Path) -> Replay:
    """A log verified and replayed in one pass, as resume does it."""
    fold = Replay()
    with reading(path, Files()) as source:
        scanner = Scanner(source, say=fold.say)
        for entry in scanner:
            fold.take(entry)
    assert scanner.report.fault is None, scanner.report.summary()
    assert fold.job.seq == scanner.report.count - 1, "every entry was folded"
    return fold


def append(folder: Path) -> float:
    """The real writer on the entries of a real run, against their bytes by themselves; same folder, same disk."""
    path = folder / "short.jsonl"
    _built(path, SHORT)
    with reading(path, Files()) as source:
        entries = list(Scanner(source))
    raw = os.open(folder / "raw", os.O_RDWR | os.O_APPEND | os.O_CREAT, 0o600)
    lines = path.read_bytes().splitlines(keepends=True)
    outside = Outside()
    ratios, floors, ours = [], [], []
    with create(folder / "logs", "a.jsonl", {"procedure": {}}, outside) as log:
        for n, entry in enumerate(islice(entries, 1, PAIRS + 1), start=1):

            def floor(line: bytes = lines[n]) -> None:
                os.write(raw, line)
                os.fdatasync(raw)

            def whole(kind: str = entry.kind, data: dict = entry.data) -> None:
                log.append(kind, data, outside.now())

            # Which of the two comes first alternates too: the second finds the disk's journal as the first left it.
            first, second = (floor, whole) if n % 2 else (whole, floor)
            times = {first: _timed(first), second: _timed(second)}
            floors.append(times[floor])
            ours.append(times[whole])
            ratios.append(times[whole] / times[floor])
    os.close(raw)
    parts = statistics.quantiles(ratios, n=10)
    print(
        f"append: {len(ratios)} pairs; raw {statistics.median(floors) * 1e6:.0f} µs, whole "
        f"{statistics.median(ours) * 1e6:.0f} µs; paired ratio p10 {parts[0]:.2f}, p90 {parts[-1]:.2f}"
    )
    return statistics.median(ratios)


def replay(folder: Path) -> float:
    """Turn by turn: the same lines by json.loads, then verified and folded."""
    path = folder / "long.jsonl"
    built = _built(path, LONG)
    fold, turns = Replay(), []
    with reading(path, Files()) as source, reading(path, Files()) as plain:
        scanner = Scanner(source, say=fold.say)
        entries = iter(scanner)
        header = _timed(lambda: fold.take(next(entries)))
        header_floor = _timed(lambda: json.loads(plain.readline()))
        turns.append((header, header_floor))
        left = built.entries
        while left:
            size = min(TURN, left)
            left -= size

            def floor(size: int = size) -> None:
                for line in islice(plain, size):
                    json.loads(line)

            def whole(size: int = size) -> None:
                for entry in islice(entries, size):
                    fold.take(entry)

            floor_s = _timed(floor)
            turns.append((_timed(whole), floor_s))
        assert next(entries, None) is None, "nothing is left"
    assert scanner.report.fault is None, scanner.report.summary()
    assert fold.job.seq == built.entries, "every entry was folded"
    whole_s, floor_s = (sum(times) for times in zip(*turns, strict=True))
    print(
        f"replay: {built.entries} events ({built.changes} changes), {path.stat().st_size / 1e6:.0f} MB; json.loads "
        f"{floor_s:.2f} s, verified and replayed {whole_s:.2f} s; ratio of the sums {whole_s / floor_s:.2f}"
    )
    return statistics.median(ours / floor for ours, floor in turns)


def resume(folder: Path) -> float:
    """From the start of the program on a real terminal until Enter, *come back to this run*, is recorded and drawn."""
    times: dict[int, list[float]] = {1: [], RESUMED: []}
    logs = {events: folder / f"of-{events}.jsonl" for events in times}
    for events, path in logs.items():
        _built(path, events)
    for turn in range(ROUNDS_OF_RESUME):
        for events in sorted(times, reverse=bool(turn % 2)):
            times[events].append(_taken_up(logs[events]) * 1000)
    one, many = (statistics.median(times[events]) for events in (1, RESUMED))
    print(f"resume: {ROUNDS_OF_RESUME} rounds; one event {one:.0f} ms, {RESUMED} events {many:.0f} ms")
    return many / one


def _taken_up(log: Path) -> float:
    """Seconds to the first key that the gate takes; on a copy, for taking up writes into the log."""
    with tempfile.TemporaryDirectory() as name:
        copy = Path(name) / log.name
        copy.touch(0o600)
        copy.write_bytes(log.read_bytes())
        command = [str(Path(sys.executable).with_name("witnessmark")), "resume", str(copy)]
        with Terminal(command, env={"WITNESSMARK_LOGS": name}) as terminal:
            terminal.wait_for(b"come back to this run")
            start = len(terminal.seen)
            time.sleep(HAND_S)
            terminal.write(b"\r")
            return terminal.wait_for(FIRST_ASKED[log.stem == "of-1"], start) - HAND_S


def room(folder: Path) -> float:
    """The higher of two ratios: of whole processes, and of what Python holds for the log."""
    long, short = folder / "long.jsonl", folder / "short.jsonl"
    _built(long, LONG)
    _built(short, SHORT)
    ratios = []
    for how in ("resident", "traced"):
        most, least = (_room(path, how) for path in (long, short))
        print(f"room, {how}: {LONG} events {most / 1024:.1f} MB, {SHORT} events {least / 1024:.1f} MB")
        ratios.append(most / least)
    return max(ratios)


def _room(path: Path, how: str) -> int:
    told = subprocess.run([sys.executable, "-c", ROOM, path, how], capture_output=True, text=True, check=True)
    return int(told.stdout)


def _timed(act: Callable[[], object]) -> float:
    start = time.perf_counter()
    act()
    return time.perf_counter() - start


_KNOWN: dict[Path, Built] = {}


def _built(path: Path, events: int) -> Built:
    """The log of the seed's run up to so many events; made once."""
    if path not in _KNOWN:
        _KNOWN[path] = build(path, STATIONS, ROUNDS, SEED, events)
    return _KNOWN[path]


PARTS: dict[str, Callable[[Path], float]] = {
    "append": append,
    "replay": replay,
    "resume": resume,
    "room": room,
}


def main() -> int:
    """Print each ratio and say whether the bounds hold."""
    parts = sys.argv[1:] or list(PARTS)
    past = False
    with tempfile.TemporaryDirectory() as name:
        for part in parts:
            ratio = PARTS[part](Path(name))
            past |= ratio >= BOUNDS[part]
            print(
                f"{part}: {ratio:.2f} x (bound {BOUNDS[part]}, goal {GOALS[part]}), seed {SEED}", flush=True
            )
    return 1 if past else 0


if __name__ == "__main__":
    sys.exit(main())
