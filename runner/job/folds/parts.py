"""What the folds share: changing one entry of a mapping, progress on the step in hand, an item of the ledger."""

from collections.abc import Callable, Mapping
from typing import Any

from runner.job import events as e
from runner.job.state import FRESH, Job
from runner.joint.wrench import Wrench

Change = Callable[[Job, Any, e.Entry], Job]
Changes = Mapping[type[e.Event], Change]
"""By the class of an event: the job after it."""


def in_hand(job: Job, tool: str, identity: str, wrench: Wrench | None) -> Job:
    """Another tool is in hand: what it is, and nothing fitted to it."""
    job = job.without("wrenches", tool) if wrench is None else job.put("wrenches", tool, wrench)
    return job.put("tools", tool, identity).without("extensions", tool)


def performed_by(job: Job, node: str, who: str) -> Job:
    """One more has recorded an act on the step."""
    known = job.performed.get(node, frozenset())
    return job if who in known else job.put("performed", node, known | {who})


def progressed(job: Job, event: Any, entry: e.Entry, **changes: Any) -> Job:
    """Progress on the step in hand, with its performer."""
    return performed_by(job.but(progress=job.progress.but(begun=True, **changes)), event.node, entry.who)


def in_ledger(job: Job, key: str, **changes: Any) -> Job:
    """One item of the ledger is changed."""
    return job.put("ledger", key, job.ledger[key].but(**changes))


def set_aside(job: Job, name: str) -> Job:
    """What is in hand is kept as it stands, a stop among it, and something else begins."""
    kind = f"stopped {job.stopped_label}" if job.phase == "stopped" else "hand"
    aside = (*job.set_aside, (kind, name, job.progress))
    return job.but(set_aside=aside, progress=FRESH, phase="working", stopped_label="")


def taken_again(job: Job) -> tuple[Job, str]:
    """What was set aside goes on, and its name; a stop stands as it stood."""
    (what, name, progress), rest = job.set_aside[-1], job.set_aside[:-1]
    kind, _, label = what.partition(" ")
    phase = "stopped" if kind == "stopped" else job.phase
    return job.but(set_aside=rest, progress=progress, phase=phase, stopped_label=label), name


def settled(job: Job, *keys: str) -> Job:
    """Things to compare after a resume that need no more comparing."""
    return job.but(
        to_confirm=tuple(key for key in job.to_confirm if key not in keys), differs=job.differs - set(keys)
    )


def same(job: Job, event: e.Event, entry: e.Entry) -> Job:
    """An event that changes nothing of the job."""
    return job
