"""So many inputs from a seed, counted: `python -m tests.fuzz.campaign TARGET INPUTS SEED` prints the counts as JSON."""

import json
import random
import resource
import sys
import time
from collections.abc import Callable
from dataclasses import asdict, dataclass

from tests.fuzz.mutating import made_up, mutated, mutated_log
from tests.fuzz.pieces import log_bytes, logs, procedures, toolboxes
from tests.fuzz.targets import TARGETS, watched

MOST_MEMORY = 1 << 30
"""Bytes of address space that a fuzzing process may take for all its inputs."""

FROM_VALID = 0.85
"""The share of inputs mutated from valid files."""


@dataclass
class Counts:
    """What was counted, input by input."""

    target: str
    seed: int
    inputs: int = 0
    from_valid: int = 0
    accepted: int = 0
    accepted_from_valid: int = 0
    slowest_s: float = 0.0
    seconds: float = 0.0
    peak_mb: int = 0


def maker(target: str) -> Callable[[random.Random], bytes]:
    """What makes an input from a valid file."""
    if target == "log":
        return lambda dice: mutated_log(dice, logs(), log_bytes())
    files = procedures() if target == "procedure" else toolboxes()
    return lambda dice: mutated(dice, files)


def campaign(target: str, inputs: int, seed: int) -> Counts:
    """Run so many inputs. Raises what a reader raises, with the input that did it in a note."""
    counts, read, make, dice = Counts(target, seed), TARGETS[target], maker(target), random.Random(seed)
    began = time.perf_counter()
    with watched() as once_more:
        for _ in range(inputs):
            valid = dice.random() < FROM_VALID
            data = make(dice) if valid else made_up(dice)
            once_more()
            at = time.process_time()
            try:
                accepted = read(data)
            except BaseException as error:
                error.add_note(f"{target}, seed {seed}, input {counts.inputs}: {data!r}")
                raise
            counts.slowest_s = max(counts.slowest_s, time.process_time() - at)
            counts.inputs += 1
            counts.from_valid += valid
            counts.accepted += accepted
            counts.accepted_from_valid += accepted and valid
    counts.seconds = round(time.perf_counter() - began, 1)
    counts.slowest_s = round(counts.slowest_s, 3)
    counts.peak_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024
    return counts


def main() -> None:
    """Run one campaign in this process, its memory bounded."""
    target, inputs, seed = sys.argv[1], int(sys.argv[2]), int(sys.argv[3])
    resource.setrlimit(resource.RLIMIT_AS, (MOST_MEMORY, MOST_MEMORY))
    print(json.dumps(asdict(campaign(target, inputs, seed))))


if __name__ == "__main__":
    main()
