"""The run as it is, telling whoever asks what it was to record and what it confirmed as recorded."""

from collections.abc import Callable
from typing import Any

from runner.job.events import Entry
from runner.log.writer import Recorded
from runner.run import Run


class Watched(Run):
    """A real run; `asked` is the entry last given to the log, `size` the bytes of the file that were confirmed."""

    def __init__(self, *args: Any, **more: Any) -> None:
        super().__init__(*args, **more)
        self.asked: Entry | None = None
        self.size = 0
        self.told: Callable[[Recorded], None] | None = None

    def record(self, entry: Entry) -> Recorded:
        self.asked = entry
        recorded = super().record(entry)
        self.measure()
        if self.told is not None:
            self.told(recorded)
        return recorded

    def measure(self) -> None:
        """Take all that stands in the file as confirmed."""
        assert self.path is not None
        self.size = self.path.stat().st_size
