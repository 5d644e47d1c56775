"""How long the proof takes, and how much room, for generated procedures and for hostile shapes.

The floor is `yaml.load` with PyYAML's C loader on the text of 10,000 linked steps with 500 items, measured in the same
run, in turn with what is held against it. All times are CPU times of this process, for on a shared machine the clock on
the wall measures the neighbours; what is alive before a measurement is kept from the collector of cycles during it.
Run: `python -m tests.benchmarks.proof [rounds]`; exits 1 past a bound.
"""

import gc
import itertools
import signal
import statistics
import subprocess
import sys
import tempfile
import time
import tracemalloc
from collections import Counter
from collections.abc import Callable
from pathlib import Path

import yaml

from runner.procedure.link import load_procedure
from runner.procedure.linked import Procedure
from runner.proof.prove import prove
from runner.proof.verdict import Verdict
from tests.benchmarks.big import written
from tests.benchmarks.hostile import shapes

STEPS = (100, 1_000, 10_000)
ITEMS = (5, 50, 500)
FAULTS = 24
PATHS = 20

SAME_ITEMS = 14.0
"""Ten times the steps, the same items."""
MORE_ITEMS = 25.0
"""Ten times the steps and the items."""
CLEAN, FAULTY, WHOLE, HOSTILE = 1.0, 2.0, 6.0, 25.0
"""Times the floor."""
ROOM_MB = 100.0

_PATIENCE = 2.0
"""A measurement is broken off at so many times its bound."""


class _Late(Exception):  # noqa: N818  an answer of a measurement
    """A measurement was broken off."""


class Table:
    """Prints one line for each measurement, and remembers whether a bound was passed."""

    def __init__(self) -> None:
        self.passed = 0

    def line(self, what: str, value: float, bound: float, unit: str = "x", note: str = "") -> None:
        """One measurement against its bound."""
        past = value >= bound
        self.passed += past
        print(f"{what:44} {value:8.2f} {unit:2} (bound {bound:g}){' PAST' if past else ''}  {note}".rstrip())

    def must(self, what: str, holds: bool, note: str) -> None:
        """What must hold besides."""
        self.passed += not holds
        print(f"{what:44} {'yes' if holds else 'NO':>8}  {note}".rstrip())


def seconds(call: Callable[[], object], most: float = 3600.0) -> float:
    """CPU seconds of a call; `most` where it was broken off there."""

    def late(_: int, __: object) -> None:
        raise _Late

    # What this benchmark itself holds must cost the floor no collecting: in a process of its own it would not be there.
    gc.collect()
    gc.freeze()
    old = signal.signal(signal.SIGPROF, late)
    signal.setitimer(signal.ITIMER_PROF, most)
    start = time.process_time()
    try:
        call()
    except _Late:
        return most
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)
        signal.signal(signal.SIGPROF, old)
        gc.unfreeze()
    return time.process_time() - start


def said(verdict: Verdict) -> str:
    """A verdict in a few words."""
    rules = Counter(finding.rule for finding in verdict.findings)
    found = ", ".join(f"{number} {rule}" for rule, number in rules.most_common(4))
    undecided = next((f.message for f in verdict.findings if f.rule == "not-proved"), "")
    return f"{verdict.states} states; {found or 'clean'}" + (f" ({undecided})" if undecided else "")


def linked(path: Path, text: str) -> Procedure:
    """The linked form of a text, written to `path`; ends the benchmark where it does not link."""
    path.write_text(text, encoding="utf-8")
    procedure, findings = load_procedure(path)
    if procedure is None:
        sys.exit("\n".join(finding.text() for finding in findings[:5]))
    return procedure


def floor(text: str) -> float:
    """CPU seconds of the C loader for a text."""
    return seconds(lambda: yaml.load(text, Loader=yaml.CSafeLoader))


def growth(table: Table, path: Path, rounds: int) -> None:
    """Times for every size, and how they grow."""
    sizes = [(steps, items) for steps in STEPS for items in ITEMS]
    procedures, proved = {}, {}
    for steps, items in sizes:
        procedure = procedures[steps, items] = linked(path, written(steps, items))
        verdict = prove(procedure)
        proved[steps, items] = verdict.proved
        table.must(f"{steps} steps, {items} items: proved", verdict.proved, said(verdict))
    taken: dict[tuple[int, int], list[float]] = {size: [] for size in sizes}
    for _ in range(rounds):
        for size, procedure in procedures.items():
            taken[size].append(seconds(lambda p=procedure: prove(p)))  # type: ignore[misc]
    at = {size: statistics.median(values) for size, values in taken.items()}

    def grown(what: str, small: tuple[int, int], large: tuple[int, int], bound: float) -> None:
        # An answer that was not found takes no time: its growth says nothing.
        void = "" if proved[small] and proved[large] else "says nothing: not proved"
        table.line(what, at[large] / at[small], bound, note=void)

    for steps, items in sizes:
        print(f"{f'{steps} steps, {items} items':44} {at[steps, items] * 1000:8.1f} ms")
    for small, large in itertools.pairwise(STEPS):
        for items in ITEMS:
            grown(f"{small} to {large} steps, {items} items", (small, items), (large, items), SAME_ITEMS)
    for less, more in itertools.pairwise(zip(STEPS, ITEMS, strict=True)):
        grown(f"{less[0]} to {more[0]} steps, items in step", less, more, MORE_ITEMS)


def against_floor(table: Table, path: Path, rounds: int) -> float:
    """The largest size against the floor; gives the floor in seconds."""
    text = written(STEPS[-1], ITEMS[-1])
    faulty = linked(path, written(STEPS[-1], ITEMS[-1], faults=FAULTS))
    clean = linked(path, text)
    verdict = prove(faulty)
    shown = sum(bool(finding.path) for finding in verdict.findings)
    table.must(f"{PATHS} paths shown of {FAULTS} slips", shown >= PATHS, f"{shown} paths; {said(verdict)}")

    def whole() -> None:
        procedure, _ = load_procedure(path)
        assert procedure is not None
        prove(procedure)

    held: dict[str, tuple[Callable[[], object], float]] = {
        "clean": (lambda: prove(clean), CLEAN),
        f"{PATHS} shortest paths": (lambda: prove(faulty), FAULTY),
        "reading and linking": (lambda: load_procedure(path), WHOLE),
        "reading, linking and proving": (whole, WHOLE),
    }
    floors: list[float] = []
    taken: dict[str, list[float]] = {what: [] for what in held}
    for _ in range(rounds):
        for what, (call, _bound) in held.items():
            floors.append(floor(text))
            taken[what].append(seconds(call))
    base = statistics.median(floors)
    print(f"{'floor: the C loader, ' + str(len(text) // 1024) + ' KiB':44} {base * 1000:8.1f} ms")
    for what, (_call, bound) in held.items():
        time_s = statistics.median(taken[what])
        table.line(f"{STEPS[-1]} steps, {ITEMS[-1]} items: {what}", time_s / base, bound)
    return base


def hostile(table: Table, base: float) -> None:
    """Every hostile shape against the floor, once; one that is broken off shows where."""
    for name, made in shapes():
        procedure = made()
        verdicts: list[Verdict] = []
        time_s = seconds(
            lambda p=procedure, v=verdicts: v.append(prove(p)),  # type: ignore[misc]
            HOSTILE * base * _PATIENCE,
        )
        note = said(verdicts[0]) if verdicts else "broken off"
        table.line(f"{name} ({len(procedure.nodes)} steps)", time_s / base, HOSTILE, note=note)


def room(path: Path) -> None:
    """Print the MB that the proof adds at its peak, by tracemalloc, for the file at `path`."""
    procedure, _ = load_procedure(path)
    assert procedure is not None
    gc.collect()
    tracemalloc.start()
    prove(procedure)
    print(tracemalloc.get_traced_memory()[1] / 1e6)


def main() -> int:
    """Print the table and say whether the bounds hold."""
    rounds = int(sys.argv[1]) if len(sys.argv) > 1 else 3
    table = Table()
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "big.yaml"
        growth(table, path, rounds)
        base = against_floor(table, path, rounds)
        for faults in (0, FAULTS):
            path.write_text(written(STEPS[-1], ITEMS[-1], faults=faults), encoding="utf-8")
            command = [sys.executable, "-m", "tests.benchmarks.proof", "room", str(path)]
            added = float(subprocess.run(command, check=True, capture_output=True, text=True).stdout)
            table.line(f"room that the proof adds, {faults} slips", added, ROOM_MB, "MB")
        hostile(table, base)
    print(f"rounds {rounds}; {table.passed} past their bounds")
    return 1 if table.passed else 0


if __name__ == "__main__":
    if sys.argv[1:2] == ["room"]:
        room(Path(sys.argv[2]))
    else:
        sys.exit(main())
