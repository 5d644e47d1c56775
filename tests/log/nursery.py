"""Writers to be killed: each line read on stdin forks one, on a real file, with real syncs.

`python -m tests.log.nursery`: a line `PATH FIRST SEED` starts a writer that creates or resumes PATH and records notes
numbered from FIRST; it says `pid N` at once and then each number when it is recorded; at `SEAL_AT` notes it seals the
run and says `sealed`. When it is gone, `gone` is said. Forking saves a thousand starts of the interpreter.
"""

import os
import sys
from pathlib import Path
from random import Random

from runner.log.scan import scan_file
from runner.log.writer import create, reopen
from runner.outside import Outside

SEAL_AT = 120


def say(text: str) -> None:
    os.write(1, text.encode() + b"\n")


def write_run(path: Path, first: int, draw: Random, outside: Outside) -> None:
    """A run until it is sealed or killed."""
    if path.exists() and scan_file(path, outside.files).header is not None:
        writer, report = reopen(path, outside)
        done = sum(entry.kind == "note" for entry in report.records)
    else:
        path.unlink(missing_ok=True)  # no started run: its first line was never whole
        writer, done = create(path.parent, path.name, {"procedure": {}}, outside), 0
    say("ready")
    for number in range(first, first + max(SEAL_AT - done, 0)):
        writer.append("note", {"number": number, "text": "n" * draw.randrange(900)}, outside.now())
        say(str(number))
    writer.seal({"end": "finished"}, outside.now())
    say("sealed")


def main() -> None:
    outside = Outside()
    for asked in sys.stdin:
        path, first, seed = asked.split()
        child = os.fork()
        if child == 0:
            try:
                write_run(Path(path), int(first), Random(int(seed)), outside)
            finally:
                os._exit(0)
        say(f"pid {child}")
        # Not reaped before all is said: until then its number is nobody else's, and a late kill reaches nobody.
        os.waitid(os.P_PID, child, os.WEXITED | os.WNOWAIT)
        say("gone")
        sys.stdin.readline()
        os.waitpid(child, 0)


if __name__ == "__main__":
    main()
