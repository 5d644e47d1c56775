"""`python -m tests.soak FIRST LAST [FOLDER [OFTEN]]`: the runs of the seeds from FIRST to LAST.

Prints what it counted, every 250 runs and at the end; exits 1 where a run has a fault, too few came to a seal, or some
kind of interruption occurred fewer than 500 times in 10,000 runs (once, in few runs).
"""

import sys
import tempfile
from pathlib import Path

from tests.soak import forked
from tests.soak.campaign import soak

SEALED_OF_100 = 98


def main(first: str, last: str, folder: str = "", often: str = "1") -> int:
    """Play, print, say whether all is in order."""
    place = Path(folder or tempfile.mkdtemp(prefix="soak-"))
    tally = soak(range(int(first), int(last) + 1), place, 250, int(often))
    print(f"seeds {first} to {last}: {tally.text()}")
    if not forked.POSSIBLE:
        print("kill -9 of a process: not run here, this system cannot fork")
    wrong = [*tally.faults, *tally.too_few(forks=forked.POSSIBLE)]
    if tally.sealed * 100 < tally.runs * SEALED_OF_100:
        wrong.append(f"only {tally.sealed} of {tally.runs} runs came to a seal")
    print(*wrong, sep="\n")
    return 1 if wrong else 0


sys.exit(main(*sys.argv[1:]))
