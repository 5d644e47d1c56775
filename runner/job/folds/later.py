"""The fold of later words about earlier work."""

from msgspec.structs import replace

from runner.job import events as e
from runner.job.folds.parts import (
    Changes,
    in_hand,
    in_ledger,
    performed_by,
    same,
    set_aside,
    settled,
    taken_again,
)
from runner.job.gates import Gates
from runner.job.state import Job, Owed, Progress, Recorded

_HELD = tuple(name for name in e.Held.__struct_fields__ if name != "v")


def _corrected(job: Job, event: e.Corrected, entry: e.Entry) -> Job:
    old = job.recorded[event.key]
    held = replace(old.held, **{name: getattr(event, name) for name in _HELD})
    job = job.put("recorded", event.key, Recorded(event.key, old.node, held, entry.who))
    if not (isinstance(old.held, e.ReadingTaken) and old.held.second):
        job = performed_by(job, old.node, entry.who)
    if isinstance(old.held, e.Tightened):
        job = in_ledger(job, old.held.item, off_plan=True)
    return job


def _asked_again(job: Job, event: e.AskedAgain, entry: e.Entry) -> Job:
    full = Progress(
        acknowledged=frozenset(range(len(job.procedure.by_id[event.node].notices))),
        acts=frozenset(range(len(job.procedure.by_id[event.node].acts))),
        confirmed=True,
        acted_at=entry.stamp,
        wait_over=True,
        taken={r.name: r.times for r in job.procedure.by_id[event.node].readings if not r.sorting},
        seconds=frozenset(
            f"{r.name} {n}" for r in job.procedure.by_id[event.node].readings for n in range(1, r.times + 1)
            if not r.sorting
        ),
        begun=True,
    )  # fmt: skip
    job = job.without("answers", event.node)
    if event.loop:
        job = job.put("loops", event.loop, job.loops[event.loop] - 1)
    return job.but(at=event.node, progress=full, phase="working", stopped_label="")


def _hold_lapsed(job: Job, event: e.HoldLapsed, entry: e.Entry) -> Job:
    return job.but(released=job.released - {event.node})


def _reopened(job: Job, event: e.Reopened, entry: e.Entry) -> Job:
    count = len(job.ledger[event.item].members)
    by_id = job.procedure.by_id
    steps = [
        key
        for key in job.to_confirm
        if key.startswith("step:") and any(act.item == event.item for act in by_id[key[5:]].acts)
    ]
    job = settled(job, f"aid:{event.item}", *steps)
    if event.acts and not job.progress.late:
        # What came after these acts in the gate of the step in hand, a stop among it, is asked anew after them.
        again = job.progress.acts - set(event.acts)
        kept = {
            key: value
            for key, value in job.progress.taken.items()
            if key.startswith("act ") and int(key.split()[1]) not in event.acts
        }
        progress = job.progress.but(
            acts=again, taken=kept, seconds=frozenset(), out_of_band="", answer="", hold=""
        )
        phase = "working" if job.phase == "stopped" else job.phase
        job = job.but(
            progress=progress, phase=phase, stopped_label="" if phase == "working" else job.stopped_label
        )
    return in_ledger(job, event.item, members=(event.state,) * count, off_plan=True, not_done=False)


def _extra(job: Job, event: e.ExtraWorkAdded, entry: e.Entry) -> Job:
    owed = Owed(event.key, "extra", why=event.text, status="passed by")
    job = settled(job, *sorted(job.differs))
    phase = "working" if job.phase == "closing" else job.phase
    return job.put("owed", event.key, owed).but(extra=job.extra + 1, phase=phase)


def _extra_done(job: Job, event: e.ExtraWorkFinished, entry: e.Entry) -> Job:
    return job.without("owed", event.key)


def _found(job: Job, event: e.ConditionFound, entry: e.Entry) -> Job:
    job = settled(job, f"condition:{event.name}")
    if job.conditions.get(event.name) == event.value:
        return job.without("found", event.name)
    return job.put("found", event.name, event.value)


def _reproved(job: Job, event: e.Reproved, entry: e.Entry) -> Job:
    gates = Gates(proved=True, last_chance=event.last_chance, allowed=event.allowed)
    return job.but(gates=gates, lost=event.lost, until=event.until)


def still_lost(was: Job, job: Job, entry: e.Entry) -> Job:
    """The job without the lines of what nothing was to close any more and this entry has closed all the same."""
    if not job.lost or any(isinstance(event, e.Reproved) for event in entry.events):
        return job
    closed = {event.node for event in entry.events if isinstance(event, e.StepDone)}
    closed |= {event.key for event in entry.events if isinstance(event, e.OwedDone | e.OwedDropped)}
    closed |= {
        key for key, _ in job.lost if key in job.ledger and job.is_final(key) and not was.is_final(key)
    }
    return job.but(lost=tuple(line for line in job.lost if line[0] not in closed)) if closed else job


def _detour(job: Job, event: e.DetourBegan, entry: e.Entry) -> Job:
    return set_aside(job, job.detour).but(detour=event.node)


def _detour_over(job: Job, event: e.DetourEnded, entry: e.Entry) -> Job:
    job, detour = taken_again(job)
    return job.but(detour=detour)


def _extension(job: Job, event: e.ExtensionFitted, entry: e.Entry) -> Job:
    job = job.without("extensions", event.tool)
    return job if event.extension is None else job.put("extensions", event.tool, event.extension)


CHANGES: Changes = {
    e.Corrected: _corrected,
    e.AskedAgain: _asked_again,
    e.HoldLapsed: _hold_lapsed,
    e.TakenBack: same,
    e.Reopened: _reopened,
    e.ExtraWorkAdded: _extra,
    e.ExtraWorkFinished: _extra_done,
    e.ConditionFound: _found,
    e.DetourBegan: _detour,
    e.DetourEnded: _detour_over,
    e.Noted: same,
    e.Reproved: _reproved,
    e.ToolChanged: lambda job, event, _: settled(
        in_hand(job, event.tool, event.identity, event.wrench), f"tool:{event.tool}"
    ),
    e.ExtensionFitted: _extension,
}
