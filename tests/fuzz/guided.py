"""Coverage-guided: `python -m tests.fuzz.guided TARGET RUNS SECONDS SEED`, by atheris (libFuzzer), memory bounded.

libFuzzer keeps an input that reaches what none before it reached, and changes those further; half of the changes are
libFuzzer's own, half ours. A log is given as its bodies, one a line, and chained here, so that a change is not merely
a broken chain; what begins with `!` is taken as the bytes of a file.
"""

import json
import random
import sys
import tempfile
from pathlib import Path

import atheris

with atheris.instrument_imports(
    include=["runner.procedure", "runner.log", "runner.toolbox", "runner.job.record"]
):
    from tests.fuzz.targets import TARGETS, watched

from tests.fuzz.mutating import LARGEST, mutated
from tests.fuzz.pieces import log_bytes, logs, procedures, toolboxes
from tests.hostile.chained import chained, raw_body

MOST_MEMORY_MB = 1_024
_RAW = b"!"


def bytes_of(target: str, data: bytes) -> bytes:
    """The file that an input stands for."""
    if target != "log":
        return data
    if data.startswith(_RAW):
        return data[1:]
    return chained(line for line in data.split(b"\n") if line.endswith(b"}"))


def seeds(target: str) -> list[bytes]:
    """The valid files as inputs."""
    if target == "log":
        files = [b"\n".join(map(raw_body, bodies)) for bodies in logs()]
        return [*files, *(_RAW + each for each in log_bytes())]
    return list(procedures() if target == "procedure" else toolboxes())


def main() -> None:
    """Fuzz until so many runs or seconds; the counts are printed as JSON before libFuzzer ends the process."""
    target, runs, seconds, seed = sys.argv[1], int(sys.argv[2]), int(sys.argv[3]), int(sys.argv[4])
    counts = {"target": target, "seed": seed, "inputs": 0, "accepted": 0}
    read, own = TARGETS[target], seeds(target)
    folder = Path(tempfile.mkdtemp(prefix="fuzz-"))
    for number, data in enumerate(own):
        (folder / f"seed-{number}").write_bytes(data[:LARGEST])

    def change(data: bytes, most: int, number: int) -> bytes:
        dice = random.Random(number)
        if dice.random() < 0.5:
            return atheris.Mutate(data, len(data))[:most]
        return mutated(dice, [data or b"\n", *own][: 1 if dice.random() < 0.9 else None])[:most]

    with watched() as once_more:

        def one(data: bytes) -> None:
            once_more()
            counts["inputs"] += 1
            counts["accepted"] += read(bytes_of(target, data))
            if counts["inputs"] % 1_000 == 0 or counts["inputs"] == runs:
                print("COUNTS " + json.dumps(counts), flush=True)

        options = [
            sys.argv[0], str(folder), f"-runs={runs}", f"-max_total_time={seconds}", f"-seed={seed or 1}",
            f"-max_len={LARGEST}", f"-rss_limit_mb={MOST_MEMORY_MB}", "-timeout=10", "-print_final_stats=1",
            f"-artifact_prefix={folder}/",
        ]  # fmt: skip
        atheris.Setup(options, one, custom_mutator=change)
        atheris.Fuzz()


if __name__ == "__main__":
    main()
