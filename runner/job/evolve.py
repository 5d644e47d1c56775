"""What is true after an entry: a fold over recorded events that decides nothing and refuses nothing it knows.

The act of an entry comes first; for acts that may be taken back the job before it is kept.
"""

from collections.abc import Sequence
from typing import Any

from runner.job import events as e
from runner.job.folds import ends, gate, later, ways
from runner.job.folds.parts import Changes
from runner.job.state import Job
from runner.stamp import Stamp

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
    """A job inside `evolve_all`, where nobody else sees it: changed in place, for a job has fifty values to copy.

    A mapping is copied when it is first changed and is its own from then on, until the job is `kept` as it stands.
    A fold must not keep what it was given and look at it again after it has made the next one, and a mapping that it
    sets whole is a new one or the one that stands.
    """

    @classmethod
    def of(cls, job: Job) -> "_InChange":
        """The same values, to be changed."""
        changing = object.__new__(cls)
        changing.__dict__.update(job.__dict__, _own=set())
        return changing

    def but(self, **changes: Any) -> "_InChange":
        """This job itself, changed."""
        self.__dict__.update(changes)
        return self

    def _mapping(self, field: str) -> Any:
        """One of the mappings, to be changed."""
        values = self.__dict__
        if field not in values["_own"]:
            values["_own"].add(field)
            values[field] = dict(values[field])
        return values[field]

    def put(self, field: str, key: str, value: Any) -> "_InChange":
        """This job itself, with the entry set."""
        self._mapping(field)[key] = value
        return self

    def without(self, field: str, key: str) -> "_InChange":
        """This job itself, without the entry."""
        if key in self.__dict__[field]:
            del self._mapping(field)[key]
        return self

    def after(self, moment: Stamp, before: Job | None) -> "_InChange":
        """This job itself, with one entry more behind it."""
        values = self.__dict__
        values["seq"] += 1
        values["last"] = moment
        values["before"] = before
        return self

    def kept(self) -> Job:
        """The job as it stands, frozen; what it holds is not changed any more."""
        job = object.__new__(Job)
        job.__dict__.update(self.__dict__)
        del job.__dict__["_own"]
        self.__dict__["_own"].clear()
        return job


def evolve(job: Job, entry: e.Entry) -> Job:
    """The job after `entry`."""
    return evolve_all(job, (entry,))


def evolve_all(job: Job, entries: Sequence[e.Entry]) -> Job:
    """The job after each of `entries` in turn. Those between are seen by nobody, and so they are not made."""
    changing = _InChange.of(job)
    kinds = [entry.kind for entry in entries]
    looked_back_to = _looked_back_to(kinds)
    for number, (kind, entry) in enumerate(zip(kinds, entries, strict=True)):
        if kind == "taken_back" and changing.before is not None:
            # Whoever recorded an act on a step stays its performer, taken back or not.
            changed = changing.before.but(seq=changing.seq, performed=changing.performed)
            changing = _InChange.of(changed).after(entry.stamp, None)
            continue
        before = changing.before if kind in _KEEPS_BEFORE else None
        if number in looked_back_to:
            changing.but(before=None)
            before = changing.kept()
        was = changing.kept() if changing.lost else None
        for event in entry.events:
            _CHANGES.get(type(event), _unknown)(changing, event, entry)
        if was is not None:
            later.still_lost(was, changing, entry)
        changing.after(entry.stamp, before)
    return changing.kept()


def _looked_back_to(kinds: Sequence[str]) -> set[int]:
    """The acts before which the job is kept: those that are taken back, and the last one, which still may be."""
    found, wanted = set(), True
    for number in range(len(kinds) - 1, -1, -1):
        kind = kinds[number]
        if kind == "taken_back":
            wanted = True
        elif kind in _ENDS_BEFORE:
            wanted = False
        elif wanted and kind not in _KEEPS_BEFORE:
            found.add(number)
            wanted = False
    return found


def interrupted(job: Job) -> Job:
    """The job when its log is opened again: as if paused, whether or not anybody said so before leaving."""
    if job.phase in ("new", "sealed"):
        return job
    note = job.pause_note if job.paused else ""
    return job.but(paused=True, pause_note=note, cut_off=job.cut_off or not job.paused, before=None)


def apply(job: Job, event: e.Event, entry: e.Entry) -> Job:
    """The job after one event of an entry."""
    return _CHANGES.get(type(event), _unknown)(job, event, entry)


def _unknown(job: Job, event: e.Event, entry: e.Entry) -> Job:
    raise UnknownEventError(f"no rule for the event {type(event).__name__}")
