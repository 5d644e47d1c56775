"""How soon the bench is there: first frame with the identity row, and first key the gate accepts.

Alternates with a bare Textual app of one Static on the same pty. Bounds: first frame 1.6 (goal 1.3), first accepted
key 2.2 (goal 1.8), as ratios of medians. Run: `python -m tests.benchmarks.start [rounds]`; exits 1 past a bound.
"""

import statistics
import sys
import tempfile
import time
from pathlib import Path

from tests.benchmarks.terminal import Terminal

FIRST_FRAME = 1.6
FIRST_KEY = 2.2
TITLE = b"Change one wheel"
HAND_S = 0.04
"""A hand's pause before Enter, taken off again: what comes quicker was sent by a wrench and confirms nothing."""


def floor() -> float:
    """Seconds to the floor's first frame."""
    with Terminal([sys.executable, "-m", "tests.benchmarks.floors", "bare"]) as terminal:
        return terminal.wait_for(b"floor is drawn")


def bench(folder: Path) -> tuple[float, float]:
    """Seconds to the identity row and to the first entry the gate takes (the name, then the work piece)."""
    env = {"WITNESSMARK_LOGS": str(folder)}
    command = [str(Path(sys.executable).with_name("witnessmark")), "rehearse", "wheel-change"]
    with Terminal(command, env=env) as terminal:
        frame = terminal.wait_for(TITLE)
        start = len(terminal.seen)
        terminal.wait_for(b"Your name")
        terminal.write(b"Ann")
        terminal.wait_for(b"Ann", start)
        time.sleep(HAND_S)
        terminal.write(b"\r")
        key = terminal.wait_for(b"Work piece", start)
        return frame, key - HAND_S


def main() -> int:
    """Print the table and say whether the bounds hold."""
    rounds = int(sys.argv[1]) if len(sys.argv) > 1 else 9
    floors, frames, keys = [], [], []
    with tempfile.TemporaryDirectory() as folder:
        for _ in range(rounds):
            floors.append(floor())
            frame, key = bench(Path(folder))
            frames.append(frame)
            keys.append(key)
    base = statistics.median(floors)
    ratios = statistics.median(frames) / base, statistics.median(keys) / base
    print(f"rounds {rounds}; bare Textual app {base * 1000:.0f} ms")
    print(
        f"identity row    {statistics.median(frames) * 1000:.0f} ms = {ratios[0]:.2f} x (bound {FIRST_FRAME}, goal 1.3)"
    )
    print(
        f"first key taken {statistics.median(keys) * 1000:.0f} ms = {ratios[1]:.2f} x (bound {FIRST_KEY}, goal 1.8)"
    )
    return 0 if ratios[0] < FIRST_FRAME and ratios[1] < FIRST_KEY else 1


if __name__ == "__main__":
    sys.exit(main())
