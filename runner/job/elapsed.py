"""How much time has passed between two stamps, on which clock, and whether the clocks agree about a limit.

Within one boot the running clock counts (it also counts sleep); across boots only the wall clock is left. Where
they disagree about whether a limit has passed, a person decides.
"""

from typing import Literal

from runner.stamp import Stamp

Basis = Literal["running clock", "wall clock", "person"]
Verdict = Literal["passed", "not yet", "doubtful"]

AGREEMENT_MS = 2000
"""Steps of the wall clock up to this are not worth a question."""


def elapsed_ms(start: Stamp, now: Stamp) -> tuple[int, Basis]:
    """Milliseconds from `start` to `now` and the clock they were taken from; never negative."""
    if start.boot == now.boot:
        return max(0, now.mono_ms - start.mono_ms), "running clock"
    return max(0, now.wall_ms - start.wall_ms), "wall clock"


def passed(start: Stamp, now: Stamp, limit_ms: int) -> tuple[Verdict, Basis]:
    """Whether `limit_ms` have passed; doubtful where wall and running clock differ about it.

    Across boots a wall clock that went backwards leaves no evidence at all: doubtful.
    """
    wall = now.wall_ms - start.wall_ms
    if start.boot != now.boot:
        if wall < 0:
            return "doubtful", "wall clock"
        return ("passed" if wall >= limit_ms else "not yet"), "wall clock"
    running = now.mono_ms - start.mono_ms
    if abs(wall - running) > AGREEMENT_MS and (wall >= limit_ms) != (running >= limit_ms):
        return "doubtful", "running clock"
    return ("passed" if running >= limit_ms else "not yet"), "running clock"
