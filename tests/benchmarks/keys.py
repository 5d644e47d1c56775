"""How long a key takes: from the byte on the pty to the next step drawn, with the entry durable in between.

The procedure has 1,000 linked steps. Alternates, key by key, with a bare Textual form (header, footer, list, input) at
the same frame rate, both running at once on ptys of 80x24. Bound: p95 under 2 times the form's.
Run: `python -m tests.benchmarks.keys [keys]`; exits 1 past the bound.
"""

import statistics
import sys
import tempfile
import time
from pathlib import Path

from tests.benchmarks.terminal import LIMIT_S, Terminal

BOUND = 2.0
STEPS = 1000
REST_S = 0.2
"""Between two presses of Enter: the bench takes quicker ones for a bounce."""

HEAD = """format: 1
procedure: thousand
title: A thousand steps
revision: 1
fits: nothing (invented for a measurement)
sources: [Invented data.]
people: {performer: 1}
tools: none
parts: none
supplies: none
close out: [Nothing left over]
items:
  bolts: {kind: fastener, count: 4, tighten: [{torque: 50 N·m ±4 %, order: star}]}
steps:
"""


def procedure(folder: Path) -> Path:
    """Write a procedure of 1,000 steps."""
    path = folder / "thousand.yaml"
    steps = "".join(f"  - {{step: s{n:05d}, do: Press at number {n:05d}.}}\n" for n in range(STEPS))
    path.write_text(HEAD + steps, encoding="utf-8")
    return path


def until(terminal: Terminal, text: bytes, key: bytes = b"\r") -> None:
    """Press a key until a text is drawn (to get past the start)."""
    start = len(terminal.seen)
    end = time.perf_counter() + LIMIT_S
    while text not in terminal.seen[start:]:
        if time.perf_counter() > end:
            sys.exit(f"{text!r} was never drawn:\n{terminal.seen[-2000:].decode(errors='replace')}")
        terminal.write(key)
        terminal.read(0.3)


def press(terminal: Terminal, text: bytes) -> float:
    """Milliseconds from Enter to `text`."""
    start, then = len(terminal.seen), time.perf_counter()
    terminal.write(b"\r")
    terminal.wait_for(text, start)
    return (time.perf_counter() - then) * 1000


def main() -> int:
    """Print the table and say whether the bound holds."""
    keys = int(sys.argv[1]) if len(sys.argv) > 1 else 300
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        command = [str(Path(sys.executable).with_name("witnessmark")), "rehearse", str(procedure(folder))]
        form = Terminal([sys.executable, "-m", "tests.benchmarks.floors", "form"])
        bench = Terminal(command, env={"WITNESSMARK_LOGS": str(folder / "logs")})
        with form, bench:
            form.wait_for(b"floor is drawn")
            bench.wait_for(b"Your name")
            bench.write(b"Ann")
            until(bench, b"Work piece")
            bench.write(b"T-1")
            until(bench, b"number 00000")
            floor, ours = [], []
            time.sleep(REST_S)
            for n in range(1, keys + 1):
                floor.append(press(form, b"%05d" % n))
                time.sleep(0.09)
                ours.append(press(bench, b"number %05d" % n))
                time.sleep(0.09)

    def at(values: list[float], part: int) -> float:
        return statistics.quantiles(values, n=100)[part - 1]

    for label, values in (("form", floor), ("bench, durable", ours)):
        tail = "   ".join(f"p{part} {at(values, part):6.2f} ms" for part in (95, 99))
        print(f"{label:16} median {statistics.median(values):6.2f} ms   {tail}")
    ratio = at(ours, 95) / at(floor, 95)
    print(f"p95 ratio {ratio:.2f} (bound {BOUND}), {keys} keys each, {STEPS} linked steps")
    return 0 if ratio < BOUND else 1


if __name__ == "__main__":
    sys.exit(main())
