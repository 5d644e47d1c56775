"""The one writer: a single thread that makes entries durable, in the order they were given.

It is a plain, non-daemon thread and not a worker of the screen's toolkit: leaving the app waits for it, and an error
comes back as a message instead of ending anything. The screen confirms nothing while an entry is on its way.
"""

import queue
import threading
from collections.abc import Callable
from typing import Any, Protocol

from runner.frozen import Frozen
from runner.log.errors import LogError, NotRecorded

Entry = Any
"""An entry as `Run.decide` gives it. The bench carries it from one call to the next and never looks inside."""


class Saved(Frozen):
    """The entry is durable."""

    entry: Entry


class SaveFailed(Frozen):
    """The entry is not in the log, and why."""

    entry: Entry
    error: Exception

    @property
    def may_retry(self) -> bool:
        """Whether the same entry may be tried again."""
        return isinstance(self.error, NotRecorded) and self.error.may_retry

    @property
    def run_over(self) -> bool:
        """Whether nothing more can be recorded before the run is closed and resumed."""
        return isinstance(self.error, NotRecorded) and not self.error.may_retry

    @property
    def why(self) -> str:
        """The reason in one sentence."""
        if isinstance(self.error, NotRecorded):
            return self.error.why
        return (
            str(self.error)
            if isinstance(self.error, LogError)
            else f"{type(self.error).__name__}: {self.error}"
        )


Outcome = Saved | SaveFailed


class Recorder(Protocol):
    """Whoever takes entries to record: the thread below, or something immediate in tests."""

    def put(self, entry: Entry) -> None:
        """Take one more entry; its outcome comes back later."""

    def close(self) -> None:
        """Record what was taken and stop."""


class Writer:
    """Calls `record` for each entry and hands every outcome to `told`, both on the writer's thread."""

    def __init__(self, record: Callable[[Entry], object], told: Callable[[Outcome], None]) -> None:
        self._record = record
        self._told = told
        self._queue: queue.SimpleQueue[tuple[Entry] | None] = queue.SimpleQueue()
        self._thread = threading.Thread(target=self._work, name="log writer", daemon=False)
        self._thread.start()

    def put(self, entry: Entry) -> None:
        """Take one more entry."""
        self._queue.put((entry,))

    def close(self) -> None:
        """Record everything taken so far, then end the thread; returns when it has ended."""
        self._queue.put(None)
        self._thread.join()

    def _work(self) -> None:
        while (taken := self._queue.get()) is not None:
            (entry,) = taken
            try:
                self._record(entry)
            except Exception as error:  # told on the screen as NOT RECORDED; a dead thread would tell nothing
                self._told(SaveFailed(entry, error))
            else:
                self._told(Saved(entry))
