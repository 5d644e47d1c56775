"""What is true after an entry: a fold over recorded events that decides nothing and refuses nothing it knows.

The act of an entry comes first; for acts that may be taken back the job before it is kept.
"""

from typing import Any

from runner.job import events as e
from runner.job.folds import ends, gate, later, ways
from runner.job.folds.parts import Changes
from runner.job.state import Job

_KEEPS_BEFORE = frozenset(
    {"refused", "noted", "time_told", "window_opened", "window_closed", "overdue", "wait_over"}
)
"""Entries that are no act: what came before them may still be taken back."""

_ENDS_BEFORE = frozenset(
    {"started", "hold_released", "hold_refused", "handover_offered", "handed_over", "taken_over", "sealed", "too_late",
     "paused", "resumed", "reconfirmed", "taken_back", "left_proof"}
)  # fmt: skip
"""Entries after which nothing before them may be taken back."""

_CHANGES: Changes = {**gate.CHANGES, **ways.CHANGES, **later.CHANGES, **ends.CHANGES}


class UnknownEventError(ValueError):
    """An event of a kind this program does not know."""


class _InChange(Job):
    """A job inside `evolve`, where nobody else sees it: changed in place, for a job has fifty values to copy.

    A fold must not keep what it was given and look at it again after it has made the next one.
    """

    @classmethod
    def of(cls, job: Job) -> Job:
        """The same values, to be changed."""
        changing = object.__new__(cls)
        changing.__dict__.update(job.__dict__)
        return changing

    def but(self, **changes: Any) -> "_InChange":
        """This job itself, changed."""
        self.__dict__.update(changes)
        return self


def _settled(changing: Job) -> Job:
    """The job, from now on as frozen as any."""
    object.__setattr__(changing, "__class__", Job)
    return changing


def evolve(job: Job, entry: e.Entry) -> Job:
    """The job after `entry`."""
    kind = entry.kind
    before = job.before if kind in _KEEPS_BEFORE else None if kind in _ENDS_BEFORE else job.but(before=None)
    if kind == "taken_back" and job.before is not None:
        # Whoever recorded an act on a step stays its performer, taken back or not.
        return job.before.but(seq=job.seq + 1, last=entry.stamp, before=None, performed=job.performed)
    changing: Job = _InChange.of(job)
    for event in entry.events:
        changing = apply(changing, event, entry)
    if job.lost or changing.lost:
        changing = later.still_lost(job, changing, entry)
    return _settled(changing.but(seq=job.seq + 1, last=entry.stamp, before=before))


def interrupted(job: Job) -> Job:
    """The job when its log is opened again: as if paused, whether or not anybody said so before leaving."""
    if job.phase in ("new", "sealed"):
        return job
    return job.but(paused=True, pause_note=job.pause_note if job.paused else "", before=None)


def apply(job: Job, event: e.Event, entry: e.Entry) -> Job:
    """The job after one event of an entry."""
    change = _CHANGES.get(type(event))
    if change is None:
        raise UnknownEventError(f"no rule for the event {type(event).__name__}")
    return change(job, event, entry)
