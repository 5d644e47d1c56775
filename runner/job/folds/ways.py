"""The fold of the way: conditions, steps, work put off, time."""

from collections.abc import Callable, Mapping
from typing import Any

from runner.job import events as e
from runner.job.folds.parts import Changes, in_ledger, set_aside, taken_again
from runner.job.state import FRESH, Job, Owed, OwedStatus, progress_but


def _condition(job: Job, event: e.ConditionSet, entry: e.Entry) -> Job:
    return job.put("conditions", event.name, event.value).without("found", event.name)


def _step_done(job: Job, event: e.StepDone, entry: e.Entry) -> Job:
    return job.put("done", event.node, entry.stamp).but(
        trail=job.trail.then(job.procedure.by_id[event.node].id),  # the procedure's own text, kept once
        progress=FRESH,
        told=_untold(job, event.node),
    )


def _untold(job: Job, name: str) -> Mapping[str, bool]:
    """A person's word about a clock holds for the one wait or window it was given on, not for the next pass."""
    if not job.told:
        return job.told
    about = (name, f"wait {name}", f"in time {name}", f"no later {name}")
    if not any(key in job.told for key in about):
        return job.told
    return {key: said for key, said in job.told.items() if key not in about}


def _came_to(job: Job, event: e.CameTo, entry: e.Entry) -> Job:
    if job.detour:
        return job.but(detour=event.node, progress=FRESH)
    return job.but(at=event.node, came=entry.stamp, progress=FRESH, phase="working", stopped_label="")


def _stopped(job: Job, event: e.StoppedAt, entry: e.Entry) -> Job:
    return job.but(phase="stopped", stopped_label=event.label)


def _listed(job: Job, event: e.Listed, entry: e.Entry) -> Job:
    acts = job.procedure.by_id[event.node].acts
    item = acts[0].item if acts else ""
    owed = Owed(event.node, "put off", event.node, item=item, listed_at=len(job.trail))
    return job.put("owed", event.node, owed)


def _unplanned(job: Job, event: e.PutOffUnplanned, entry: e.Entry) -> Job:
    node = job.procedure.by_id[event.node]
    item = node.acts[0].item if node.acts else ""
    if item:
        job = in_ledger(job, item, off_plan=True)
    owed = Owed(event.node, "unplanned", event.node, "passed by", event.reason, item=item)
    return job.put("owed", event.node, owed).but(progress=FRESH)


def _passed_by(job: Job, event: e.PassedBy, entry: e.Entry) -> Job:
    """A cue is passed by; what was taken up is put down, and what was in hand before goes on."""
    if job.hand == event.key:
        job, hand = taken_again(job)
        job = job.but(hand=hand)
    owed = job.owed[event.key]
    # What was done of it before it was put down is not done a second time.
    acts = tuple(act for act in owed.acts if act not in event.done)
    return job.put("owed", event.key, owed.but(status="passed by", acts=acts))


def _closing(job: Job, event: e.ClosingBegan, entry: e.Entry) -> Job:
    """Close-out begins, or begins again: after more work everything is looked at and counted once more."""
    lost = {point.subject for point in job.deviations if point.kind == "not done"}
    return job.but(
        phase="closing",
        progress=FRESH,
        confirmed_lines=frozenset(),
        counted_out=frozenset(tool for tool in job.counted_out if f"tool:{tool}" in lost),
    )


def _owed_status(status: OwedStatus) -> Callable[[Job, Any, e.Entry], Job]:
    def change(job: Job, event: Any, entry: e.Entry) -> Job:
        return job.put("owed", event.key, job.owed[event.key].but(status=status))

    return change


def _overdue(job: Job, event: e.Overdue, entry: e.Entry) -> Job:
    return job.put("owed", event.key, job.owed[event.key].but(overdue=True))


def _taken_up(job: Job, event: e.TakenUp, entry: e.Entry) -> Job:
    return set_aside(job, job.hand).but(hand=event.key)


def _owed_done(job: Job, event: e.OwedDone, entry: e.Entry) -> Job:
    job, hand = taken_again(job)
    return job.without("owed", event.key).but(hand=hand, told=_untold(job, event.key))


def _owed_again(job: Job, event: e.OwedAgain, entry: e.Entry) -> Job:
    owed = Owed(event.key, "again", event.node, "cued", event.why, event.what, event.item, event.acts)
    # Close-out waits for what is owed: a correction made while looking round brings the work back.
    phase = "working" if job.phase == "closing" else job.phase
    return job.put("owed", event.key, owed).but(phase=phase)


def _wait_over(job: Job, event: e.WaitOver, entry: e.Entry) -> Job:
    return job.but(progress=progress_but(job.progress, wait_over=True))


def _too_late(job: Job, event: e.TooLate, entry: e.Entry) -> Job:
    job = job.put("answers", event.node, "too late")
    return job.but(progress=progress_but(job.progress, late=True), told=_untold(job, event.node))


CHANGES: Changes = {
    e.ConditionSet: _condition,
    e.StepDone: _step_done,
    e.LoopTaken: lambda job, event, _: job.put("loops", event.limit, job.loops.get(event.limit, 0) + 1),
    e.CameTo: _came_to,
    e.StoppedAt: _stopped,
    e.ClosingBegan: _closing,
    e.Listed: _listed,
    e.PutOffUnplanned: _unplanned,
    e.WindowOpened: _owed_status("cued"),
    e.WindowClosed: _owed_status("waiting"),
    e.Overdue: _overdue,
    e.TakenUp: _taken_up,
    e.OwedDone: _owed_done,
    e.OwedDropped: lambda job, event, _: job.without("owed", event.key),
    e.PassedBy: _passed_by,
    e.OwedAgain: _owed_again,
    e.WaitOver: _wait_over,
    e.TooLate: _too_late,
    e.TimeTold: lambda job, event, _: job.put("told", event.subject, event.has_passed),
}
