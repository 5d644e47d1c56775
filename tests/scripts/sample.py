"""Remake logs/sample-lower-arm.jsonl by a real rehearsal of the demonstration, typed in by lines.

Run: `python -m tests.scripts.sample`. Takes as long as the demonstration's own waits.
"""

import os
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).parents[2]
SAMPLE = ROOT / "logs" / "sample-lower-arm.jsonl"


def main() -> None:
    """Rehearse, then take the sealed log as the sample."""
    with tempfile.TemporaryDirectory() as folder:
        command = [str(Path(sys.executable).with_name("witnessmark")), "demo", "--plain"]
        with (ROOT / "tests" / "scripts" / "demo.txt").open("rb") as typed:
            subprocess.run(
                command,
                stdin=typed,
                stdout=subprocess.DEVNULL,
                env={**os.environ, "XDG_DATA_HOME": folder},
                check=True,
            )
        (log,) = Path(folder).rglob("*-lower-arm-*.jsonl")
        shutil.copyfile(log, SAMPLE)
    print(SAMPLE)


if __name__ == "__main__":
    main()
