"""Every exit code of the program, with its meaning; `--help` and the README take their table from here."""

from enum import IntEnum


class Exit(IntEnum):
    """How a command ended."""

    OK = 0
    PROBLEM = 1
    USAGE = 2
    UNFINISHED = 3
    TORN = 4
    NOT_RECORDED = 5
    CRASHED = 70
    INTERRUPTED = 130
    PIPE_CLOSED = 141


MEANINGS: dict[Exit, str] = {
    Exit.OK: "done: the run is sealed, the procedures have no errors, every log is complete",
    Exit.PROBLEM: "refused or wrong: errors in a procedure, a broken log, a file or an output that cannot be used",
    Exit.USAGE: "the command line or a settings file is wrong; nothing was done",
    Exit.UNFINISHED: "the run is not sealed (paused, left, or never started); verify, export: a log is open",
    Exit.TORN: "verify, export: a log ends in a torn tail, as a crash leaves it",
    Exit.NOT_RECORDED: "an entry could not be made durable, and the run was left",
    Exit.CRASHED: "an error of this program; a crash report was written",
    Exit.INTERRUPTED: "interrupted from the keyboard (Ctrl+C)",
    Exit.PIPE_CLOSED: "whoever read the output went away",
}

_WORST_LAST = (Exit.OK, Exit.UNFINISHED, Exit.TORN, Exit.PROBLEM)
"""Of several logs the worst counts: 1 is worse than 4, 4 worse than 3, 3 worse than 0."""


def worst(codes: list[Exit]) -> Exit:
    """Return the worst of the codes that `verify` gives; OK for none."""
    return max(codes, key=_WORST_LAST.index, default=Exit.OK)


def table() -> str:
    """Return the codes with their meanings, one a line."""
    return "\n".join(f"  {code.value:>3}  {meaning}" for code, meaning in MEANINGS.items())
