# ruff: noqa: N818 - these names are what the screen says: held, refused, sealed
"""Everything that the log can answer instead of "recorded". Each message is one sentence for the screen.

LogError
├── NotRecorded    the entry is not in the log; `may_retry` tells whether asking again can help
│   └── Latched    an earlier failure closed this writer for good; open the run again with `resume`
├── Unwritable     the entry itself cannot be written (too long, a fraction, a broken letter); the log goes on
├── Held           another process has the run open
├── Refused        the file or folder is not one that a log may be kept in
├── Broken         the log was changed or damaged; a person decides
├── Sealed         the run has ended; nothing may follow
└── KeyUnusable    a key cannot be read, made or used; the log itself does not depend on it
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from runner.log.record import Report


class LogError(Exception):
    """The root of the tree above."""


class NotRecorded(LogError):
    """The entry is not in the log, and the step must not advance."""

    def __init__(self, why: str, *, may_retry: bool) -> None:
        self.why = why
        self.may_retry = may_retry
        after = "Put that right and try again." if may_retry else "Leave the run and resume it."
        super().__init__(f"NOT RECORDED: {why}. {after}")


class Latched(NotRecorded):
    """This writer has stopped for good after an earlier failure."""

    def __init__(self, why: str) -> None:
        super().__init__(why, may_retry=False)


class Unwritable(LogError, ValueError):
    """The entry itself has no place in a log; nothing was written and the log goes on."""


class Held(LogError):
    """Another process has the run open; `pid` and `since` (UTC) as its own entry states them, if known."""

    def __init__(self, name: str, pid: int | None = None, since: str | None = None) -> None:
        self.pid = pid
        self.since = since
        who = f"process {pid}" if pid is not None else "another process"
        when = f" since {since}" if since is not None else ""
        super().__init__(f"The run {name} is open in {who}{when}. Close it there first.")


class Refused(LogError):
    """A log may not be kept here, or this is not one."""


class Broken(LogError):
    """The log was changed or damaged; `report` says where."""

    def __init__(self, name: str, report: Report) -> None:
        self.report = report
        fault = report.fault
        where = f" at line {fault.line}, byte {fault.byte}: {fault.why}" if fault else ""
        super().__init__(f"The log {name} is broken{where}.")


class Sealed(LogError):
    """The run has ended; its log takes nothing more."""

    def __init__(self, name: str) -> None:
        super().__init__(f"The log {name} is sealed; nothing may follow.")


class KeyUnusable(LogError):
    """A key cannot be read, made or used; the message is one sentence. A seal is recorded without it."""
