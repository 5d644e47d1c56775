"""What the folds share: changing one entry of a mapping, progress on the step in hand, an item of the ledger."""

from collections.abc import Callable, Mapping
from typing import Any

from runner.job import events as e
from runner.job.state import FRESH, ItemState, Job
from runner.joint.wrench import Wrench

Change = Callable[[Job, Any, e.Entry], Job]
Changes = Mapping[type[e.Event], Change]
"""By the class of an event: the job after it."""


def put(mapping: Mapping[str, Any], key: str, value: Any) -> Mapping[str, Any]:
    """The mapping with one entry set."""
    return {**mapping, key: value}


def without(mapping: Mapping[str, Any], key: str) -> Mapping[str, Any]:
    """The mapping without one entry."""
    return {k: v for k, v in mapping.items() if k != key}


def in_hand(job: Job, tool: str, identity: str, wrench: Wrench | None) -> dict[str, Any]:
    """Another tool is in hand: what it is, and nothing fitted to it."""
    wrenches = without(job.wrenches, tool) if wrench is None else put(job.wrenches, tool, wrench)
    return {
        "tools": put(job.tools, tool, identity),
        "wrenches": wrenches,
        "extensions": without(job.extensions, tool),
    }


def performed_by(job: Job, node: str, who: str) -> Mapping[str, frozenset[str]]:
    """Who has recorded an act on which step, with one more."""
    known = job.performed.get(node, frozenset())
    return job.performed if who in known else {**job.performed, node: known | {who}}


def progressed(job: Job, event: Any, entry: e.Entry, **changes: Any) -> Job:
    """Progress on the step in hand, with its performer."""
    return job.but(
        progress=job.progress.but(begun=True, **changes), performed=performed_by(job, event.node, entry.who)
    )


def in_ledger(job: Job, key: str, **changes: Any) -> Mapping[str, ItemState]:
    """The ledger with one item changed."""
    return {**job.ledger, key: job.ledger[key].but(**changes)}


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
