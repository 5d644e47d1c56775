"""The fold around the work: start, people, pauses, close-out, end."""

from runner.job import events as e
from runner.job.folds.parts import Changes, in_hand, same, settled
from runner.job.state import Job


def _started(job: Job, event: e.Started, entry: e.Entry) -> Job:
    return job.but(
        phase="preparing",
        performer=entry.who,
        work_piece=event.work_piece,
        counters=event.counters,
        earlier=event.earlier,
    )


def _prerequisite(job: Job, event: e.PrerequisiteMet, entry: e.Entry) -> Job:
    job = job.put("met", event.key, event.value)
    kind, _, name = event.key.partition(":")
    if kind == "condition":
        job = job.put("conditions", name, event.value)
    return job


def _counted_in(job: Job, event: e.CountedIn, entry: e.Entry) -> Job:
    job = job.put("met", f"tool:{event.tool}", event.identity)
    return in_hand(job, event.tool, event.identity, event.wrench)


def _reconfirmed(job: Job, event: e.Reconfirmed, entry: e.Entry) -> Job:
    if not event.as_recorded:
        return job.but(differs=job.differs | {event.key})
    return settled(job, event.key)


def _handed_over(job: Job, event: e.HandedOver, entry: e.Entry) -> Job:
    return job.but(performer=event.to, handover_to="", handover_note="")


def _close_out(job: Job, event: e.CloseOutConfirmed, entry: e.Entry) -> Job:
    return job.but(confirmed_lines=job.confirmed_lines | {event.line})


def _abandoning(job: Job, event: e.Abandoning, entry: e.Entry) -> Job:
    return job.but(
        phase="making safe",
        paused=False,
        cut_off=False,
        to_confirm=(),
        differs=frozenset(),
        handover_to="",
        handover_note="",
        abandon_reason=event.reason,
        safe_lines=event.lines,
        safe_done=frozenset(),
    )


CHANGES: Changes = {
    e.Started: _started,
    e.PrerequisiteMet: _prerequisite,
    e.CountedIn: _counted_in,
    e.CountedOut: lambda job, event, _: job.but(counted_out=job.counted_out | {event.tool}),
    e.Chosen: lambda job, event, _: job.put("choices", event.name, event.value),
    e.Paused: lambda job, event, _: job.but(paused=True, pause_note=event.note),
    e.Resumed: lambda job, event, _: job.but(
        paused=False, cut_off=False, to_confirm=event.confirm, differs=frozenset()
    ),
    e.Reconfirmed: _reconfirmed,
    e.HandoverOffered: lambda job, event, _: job.but(handover_to=event.to, handover_note=event.note),
    e.HandedOver: _handed_over,
    e.TakenOver: lambda job, event, _: job.but(
        performer=event.by, handover_to="", handover_note="", paused=False, cut_off=False
    ),
    e.CloseOutConfirmed: _close_out,
    e.Abandoning: _abandoning,
    e.MadeSafe: lambda job, event, _: job.but(safe_done=job.safe_done | {event.line}),
    e.Sealed: lambda job, event, _: job.but(phase="sealed", outcome=event.outcome),
    e.LeftProof: lambda job, event, _: job.but(phase="outside proof"),
    e.Refused: same,
}
