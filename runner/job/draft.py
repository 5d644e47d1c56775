"""An entry in the making: events are added and the job follows, so that one rule sees what the one before made."""

from runner.job.events import Entry, Event
from runner.job.evolve import apply
from runner.job.state import Job
from runner.stamp import Stamp


class Draft:
    """The events of one action so far and the job they lead to. Only `decide` makes one, and throws it away."""

    def __init__(self, job: Job, who: str, stamp: Stamp) -> None:
        self.job = job
        self.who = who
        self.stamp = stamp
        self.events: list[Event] = []

    def add(self, event: Event) -> None:
        """Add one event; `self.job` is then the job after it."""
        self.events.append(event)
        self.job = apply(self.job, event, Entry(self.who, self.stamp, (event,)))

    def entry(self) -> Entry | None:
        """The finished entry; None when nothing happened."""
        return Entry(self.who, self.stamp, tuple(self.events)) if self.events else None
