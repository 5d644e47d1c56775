"""The fold at the gate of a step."""

from runner.job import events as e
from runner.job.folds.parts import Changes, in_ledger, performed_by, progressed
from runner.job.keys import reading_key, tightening_key
from runner.job.state import Deviation, Job, Recorded, progress_but


def _acknowledged(job: Job, event: e.Acknowledged, entry: e.Entry) -> Job:
    return progressed(job, event, entry, acknowledged=job.progress.acknowledged | {event.notice})


def _part(job: Job, event: e.PartConfirmed, entry: e.Entry) -> Job:
    return in_ledger(progressed(job, event, entry), event.item, fresh=True)


def _acted(job: Job, event: e.Acted, entry: e.Entry) -> Job:
    state = job.ledger[event.item]
    members = (event.state,) * len(state.members)
    fresh = state.fresh and event.verb != "fits"
    job = progressed(job, event, entry, acts=job.progress.acts | {event.act}, acted_at=entry.stamp)
    return in_ledger(job, event.item, members=members, fresh=fresh, not_done=False)


def _confirmed(job: Job, event: e.Confirmed, entry: e.Entry) -> Job:
    return progressed(job, event, entry, confirmed=True, acted_at=entry.stamp)


def _tightened(job: Job, event: e.Tightened, entry: e.Entry) -> Job:
    members, member = job.ledger[event.item].members, event.member
    if not 0 < member <= len(members):
        raise IndexError(f"{event.item} has no fastener {member}")
    members = (*members[: member - 1], event.state, *members[member:])
    key = tightening_key(event.node, event.item, event.stage, event.member)
    progress = job.progress
    progress = progress.but(
        begun=True,
        acts=progress.acts | {event.act} if event.last else progress.acts,
        acted_at=entry.stamp,
        out_of_band="",
        taken={**progress.taken, f"act {event.act} {member}": event.stage},
        first_member=0 if progress.first_member == member else progress.first_member,
    )
    job = performed_by(job.but(progress=progress), event.node, entry.who)
    job = in_ledger(job, event.item, members=members, fresh=False)
    return job.put("recorded", key, Recorded(key, event.node, event, entry.who))


def _reading(job: Job, event: e.ReadingTaken, entry: e.Entry) -> Job:
    key = reading_key(event.node, event.name, event.index, second=event.second)
    progress = job.progress
    # Whoever gives the second reading has not performed the step; the first stays its performer.
    if event.second:
        progress = progress.but(seconds=progress.seconds | {f"{event.name} {event.index}"})
    else:
        progress = progress.but(taken={**progress.taken, event.name: event.index})
        job = performed_by(job, event.node, entry.who)
    job = job.but(progress=progress_but(progress, out_of_band=""))
    return job.put("recorded", key, Recorded(key, event.node, event, entry.who))


def _worked_out(job: Job, event: e.WorkedOut, entry: e.Entry) -> Job:
    held = e.Held(value=event.value, unit=event.unit, method="worked out", low=event.low, high=event.high)
    key = reading_key(event.node, event.name, 1)
    if job.node is not None and job.node.id == event.node:
        taken = {**job.progress.taken, event.name: 1}
        outside = "" if event.within else event.name
        job = job.but(progress=progress_but(job.progress, taken=taken, out_of_band=outside))
    return job.put("recorded", key, Recorded(key, event.node, held, entry.who))


def _answered(job: Job, event: e.Answered, entry: e.Entry) -> Job:
    job = progressed(job, event, entry, answer=event.label)
    return job.put("answers", event.node, event.label).but(phase="working", stopped_label="")


def _released(job: Job, event: e.HoldReleased, entry: e.Entry) -> Job:
    return job.but(
        progress=progress_but(job.progress, hold="released"),
        released=job.released | {event.node},
        phase="working",
        stopped_label="",
    )


def _hold_refused(job: Job, event: e.HoldRefused, entry: e.Entry) -> Job:
    return job.but(progress=progress_but(job.progress, hold="refused"))


def _waived(job: Job, event: e.Waived, entry: e.Entry) -> Job:
    progress = job.progress
    what, _, rest = event.what.partition(" ")
    if what == "act":
        act = int(rest)
        node = job.procedure.by_id[event.node]
        item = node.acts[act].item
        job = in_ledger(job, item, not_done=True)
        return progressed(
            job, event, entry, acts=progress.acts | {act}, waived=progress.waived | {event.what}
        )
    if what == "confirm":
        return progressed(job, event, entry, confirmed=True, waived=progress.waived | {event.what})
    if what == "hold":
        return job.but(progress=progress_but(progress, hold="waived", waived=progress.waived | {event.what}))
    if what == "member":
        act, item_key = int(rest.split("|")[0]), rest.split("|")[1]
        last = rest.endswith("|last")
        job = in_ledger(job, item_key, not_done=True)
        acts = progress.acts | {act} if last else progress.acts
        return progressed(
            job, event, entry, acts=acts, waived=progress.waived | {event.what.removesuffix("|last")}
        )
    return progressed(job, event, entry, waived=progress.waived | {event.what}, out_of_band="")


def _deviated(job: Job, event: e.Deviated, entry: e.Entry) -> Job:
    point = Deviation(
        len(job.deviations) + 1,
        event.deviation,
        event.node,
        event.subject,
        event.reason,
        event.authority,
        event.raw,
        event.which,
    )
    job = job.but(deviations=(*job.deviations, point))
    if event.subject in job.ledger:
        job = in_ledger(job, event.subject, off_plan=True)
    if event.deviation == "not available":
        job = job.put("met", event.subject, "not available")
    if event.deviation == "not done" and event.subject.startswith("tool:"):
        job = job.but(counted_out=job.counted_out | {event.subject.removeprefix("tool:")})
    if event.deviation == "late" and event.subject in job.owed:
        job = job.put("owed", event.subject, job.owed[event.subject].but(late_allowed=True))
    if event.deviation == "not done" and event.subject in job.ledger and job.phase == "closing":
        job = in_ledger(job, event.subject, not_done=True)
    if event.deviation == "go on":
        job = job.but(phase="working", stopped_label="")
    if event.deviation == "not done" and event.subject in job.owed and not event.here:
        owed = job.owed[event.subject]
        if owed.item:
            job = in_ledger(job, owed.item, not_done=True, off_plan=True)
        job = job.without("owed", event.subject)
    return job


def _not_applicable(job: Job, event: e.NotApplicableSaid, entry: e.Entry) -> Job:
    if event.item:
        return in_ledger(job, event.item, not_applicable=True, off_plan=True)
    return job.but(not_applicable=job.not_applicable | {event.node})


CHANGES: Changes = {
    e.Acknowledged: _acknowledged,
    e.PartConfirmed: _part,
    e.Acted: _acted,
    e.Confirmed: _confirmed,
    e.Tightened: _tightened,
    e.ReadingTaken: _reading,
    e.WorkedOut: _worked_out,
    e.Answered: _answered,
    e.HoldReleased: _released,
    e.HoldRefused: _hold_refused,
    e.Waived: _waived,
    e.Deviated: _deviated,
    e.NotApplicableSaid: _not_applicable,
    e.OrderChanged: lambda job, event, entry: progressed(job, event, entry, first_member=event.member),
}
