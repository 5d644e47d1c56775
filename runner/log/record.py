"""What reading a log gives: its entries, and the verdict on the file."""

from dataclasses import dataclass
from typing import Any, Final, Literal

from runner.frozen import Slim
from runner.stamp import Stamp

State = Literal["complete", "open", "torn", "broken", "not a log"]
"""complete: sealed, every byte in its place. open: unsealed, a valid prefix. torn: open, and a crash left
bytes behind the last good line. broken: changed or damaged. not a log: nothing of this format."""

RUN: Final = "run"
OPENED: Final = "opened"
CLOCK: Final = "clock"
SCAR: Final = "scar"
SEAL: Final = "seal"
OWN_KINDS: Final = frozenset({RUN, OPENED, CLOCK, SCAR, SEAL})
"""Kinds that only the log itself writes; every other kind is the caller's."""


class Record(Slim, frozen=True):
    """One entry."""

    n: int
    """Place in the order, from 0."""
    kind: str
    data: dict[str, Any]
    stamp: Stamp
    line: int
    """Its line in the file, from 1, as an editor counts."""
    head: bytes
    """The chain value after it."""


@dataclass(frozen=True, slots=True)
class Fault:
    """Where a file stops being a log, and why."""

    line: int
    byte: int
    """Offset of the first byte that is not in order."""
    why: str


@dataclass(frozen=True, slots=True)
class Tail:
    """Bytes behind the last good line which a crash may leave.

    `whole`: an entire entry of which only the line feed is missing; it was never confirmed. `start`: the
    first line itself is incomplete, so the run was never started. `fragment`: anything else.
    """

    kind: Literal["whole", "fragment", "start"]
    byte: int
    size: int


@dataclass(frozen=True, slots=True)
class Scar:
    """Crash leftovers that a later entry, number `n`, has counted in."""

    n: int
    byte: int
    size: int


@dataclass(frozen=True, slots=True)
class Report:
    """The verdict on one file. `records` is empty where the entries were read one by one."""

    state: State
    header: dict[str, Any] | None
    records: tuple[Record, ...]
    count: int
    """Good entries, the header among them."""
    head: bytes
    """The chain value after the last good entry."""
    good_bytes: int
    """Bytes up to the end of the last good line."""
    lines: int
    """Lines up to there."""
    tail: Tail | None
    fault: Fault | None
    scars: tuple[Scar, ...]

    def summary(self) -> str:
        """The verdict in one sentence."""
        entries = f"{self.count} {'entry' if self.count == 1 else 'entries'}"
        if self.fault is not None:
            name = "BROKEN" if self.state == "broken" else "NOT A LOG"
            return f"{name} at line {self.fault.line}, byte {self.fault.byte}: {self.fault.why}."
        if self.tail is not None:
            if self.tail.kind == "start":
                return "TORN TAIL: the first line is incomplete; the run was never started."
            size = f"{self.tail.size} {'byte' if self.tail.size == 1 else 'bytes'}"
            return (
                f"TORN TAIL: {entries}, then at line {self.lines + 1}, byte {self.good_bytes}, {size} that a crash "
                "may have left; not sealed."
            )
        if self.state == "complete":
            return f"COMPLETE: sealed, {entries}."
        return f"OPEN: {entries}, not sealed; it ends after line {self.lines}, byte {self.good_bytes}."
