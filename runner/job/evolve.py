"""What is true after an entry: a fold over recorded events that decides nothing and refuses nothing it knows.

The act of an entry comes first; for acts that may be taken back the job before it is kept.
"""

from collections.abc import Callable, Mapping
from typing import Any

from runner.job import events as e
from runner.job.state import (
    FRESH,
    Deviation,
    ItemState,
    Job,
    Owed,
    OwedStatus,
    Progress,
    Recorded,
    progress_but,
)


class UnknownEventError(ValueError):
    """An event of a kind this program does not know."""


_KEEPS_BEFORE = frozenset(
    {"refused", "noted", "time_told", "window_opened", "window_closed", "overdue", "wait_over"}
)
"""Entries that are no act: what came before them may still be taken back."""

_ENDS_BEFORE = frozenset(
    {"started", "hold_released", "hold_refused", "handover_offered", "handed_over", "taken_over", "sealed", "too_late",
     "paused", "resumed", "reconfirmed", "taken_back", "left_proof"}
)  # fmt: skip
"""Entries after which nothing before them may be taken back."""


def evolve(job: Job, entry: e.Entry) -> Job:
    """The job after `entry`."""
    kind = entry.kind
    before = job.before if kind in _KEEPS_BEFORE else None if kind in _ENDS_BEFORE else job.but(before=None)
    if kind == "taken_back" and job.before is not None:
        # Whoever recorded an act on a step stays its performer, taken back or not.
        return job.before.but(seq=job.seq + 1, last=entry.stamp, before=None, performed=job.performed)
    for event in entry.events:
        job = apply(job, event, entry)
    return job.but(seq=job.seq + 1, last=entry.stamp, before=before)


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


def _with(mapping: Mapping[str, Any], key: str, value: Any) -> Mapping[str, Any]:
    return {**mapping, key: value}


def _without(mapping: Mapping[str, Any], key: str) -> Mapping[str, Any]:
    return {k: v for k, v in mapping.items() if k != key}


def _by(job: Job, node: str, who: str) -> Mapping[str, frozenset[str]]:
    known = job.performed.get(node, frozenset())
    return job.performed if who in known else {**job.performed, node: known | {who}}


def _step(job: Job, event: Any, entry: e.Entry, **changes: Any) -> Job:
    """Progress on the step in hand, with its performer."""
    return job.but(progress=progress_but(job.progress, **changes), performed=_by(job, event.node, entry.who))


def _item(job: Job, key: str, **changes: Any) -> Mapping[str, ItemState]:
    return {**job.ledger, key: job.ledger[key].but(**changes)}


def _started(job: Job, event: e.Started, entry: e.Entry) -> Job:
    return job.but(
        phase="preparing", performer=entry.who, work_piece=event.work_piece, counters=event.counters
    )


def _prerequisite(job: Job, event: e.PrerequisiteMet, entry: e.Entry) -> Job:
    job = job.but(met=_with(job.met, event.key, event.value))
    kind, _, name = event.key.partition(":")
    if kind == "condition":
        job = job.but(conditions=_with(job.conditions, name, event.value))
    return job


def _counted_in(job: Job, event: e.CountedIn, entry: e.Entry) -> Job:
    return job.but(
        met=_with(job.met, f"tool:{event.tool}", event.identity),
        tools=_with(job.tools, event.tool, event.identity),
    )


def _acknowledged(job: Job, event: e.Acknowledged, entry: e.Entry) -> Job:
    return _step(job, event, entry, acknowledged=job.progress.acknowledged | {event.notice})


def _part(job: Job, event: e.PartConfirmed, entry: e.Entry) -> Job:
    return _step(job, event, entry).but(ledger=_item(job, event.item, fresh=True))


def _acted(job: Job, event: e.Acted, entry: e.Entry) -> Job:
    count = len(job.ledger[event.item].members)
    fitted = event.verb == "fits"
    state = job.ledger[event.item]
    ledger = _item(
        job,
        event.item,
        members=(event.state,) * count,
        fresh=state.fresh and not fitted,
        not_done=False,
    )
    done = _step(job, event, entry, acts=job.progress.acts | {event.act}, acted_at=entry.stamp)
    return done.but(ledger=ledger)


def _confirmed(job: Job, event: e.Confirmed, entry: e.Entry) -> Job:
    return _step(job, event, entry, confirmed=True, acted_at=entry.stamp)


def tightening_key(node: str, item: str, stage: int, member: int) -> str:
    """The key under which one tightening is recorded and may be corrected."""
    return f"tighten {node}|{item}|{stage}|{member}"


def reading_key(node: str, name: str, index: int, *, second: bool = False) -> str:
    """The key under which one reading is recorded and may be corrected."""
    return f"read {node}|{name}|{index}{'|second' if second else ''}"


def answer_key(node: str) -> str:
    """The key under which an answer may be corrected."""
    return f"answer {node}"


def _tightened(job: Job, event: e.Tightened, entry: e.Entry) -> Job:
    state = job.ledger[event.item]
    members = tuple(event.state if n == event.member else m for n, m in enumerate(state.members, start=1))
    key = tightening_key(event.node, event.item, event.stage, event.member)
    progress = job.progress
    job = _step(
        job,
        event,
        entry,
        acts=progress.acts | {event.act} if event.last else progress.acts,
        acted_at=entry.stamp,
        out_of_band="",
        taken=_with(progress.taken, f"act {event.act} {event.member}", event.stage),
        first_member=0 if progress.first_member == event.member else progress.first_member,
    )
    return job.but(
        ledger=_item(job, event.item, members=members, fresh=False),
        recorded=_with(job.recorded, key, Recorded(key, event.node, event, entry.who)),
    )


def _reading(job: Job, event: e.ReadingTaken, entry: e.Entry) -> Job:
    key = reading_key(event.node, event.name, event.index, second=event.second)
    progress = job.progress
    # Whoever gives the second reading has not performed the step; the first stays its performer.
    performed = job.performed if event.second else _by(job, event.node, entry.who)
    taken = progress.taken if event.second else _with(progress.taken, event.name, event.index)
    seconds = progress.seconds | {f"{event.name} {event.index}"} if event.second else progress.seconds
    return job.but(
        progress=progress_but(progress, taken=taken, seconds=seconds, out_of_band=""),
        performed=performed,
        recorded=_with(job.recorded, key, Recorded(key, event.node, event, entry.who)),
    )


def _worked_out(job: Job, event: e.WorkedOut, entry: e.Entry) -> Job:
    held = e.Held(value=event.value, unit=event.unit, method="worked out", low=event.low, high=event.high)
    key = reading_key(event.node, event.name, 1)
    if job.node is not None and job.node.id == event.node:
        taken = _with(job.progress.taken, event.name, 1)
        outside = "" if event.within else event.name
        job = job.but(progress=progress_but(job.progress, taken=taken, out_of_band=outside))
    return job.but(
        recorded=_with(job.recorded, key, Recorded(key, event.node, held, entry.who)),
    )


def _answered(job: Job, event: e.Answered, entry: e.Entry) -> Job:
    job = _step(job, event, entry, answer=event.label)
    return job.but(answers=_with(job.answers, event.node, event.label), phase="working", stopped_label="")


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
        job = job.but(ledger=_item(job, item, not_done=True))
        return _step(job, event, entry, acts=progress.acts | {act}, waived=progress.waived | {event.what})
    if what == "confirm":
        return _step(job, event, entry, confirmed=True, waived=progress.waived | {event.what})
    if what == "hold":
        return job.but(progress=progress_but(progress, hold="waived", waived=progress.waived | {event.what}))
    if what == "member":
        act, item_key = int(rest.split("|")[0]), rest.split("|")[1]
        last = rest.endswith("|last")
        job = job.but(ledger=_item(job, item_key, not_done=True))
        acts = progress.acts | {act} if last else progress.acts
        return _step(
            job, event, entry, acts=acts, waived=progress.waived | {event.what.removesuffix("|last")}
        )
    return _step(job, event, entry, waived=progress.waived | {event.what}, out_of_band="")


def _deviated(job: Job, event: e.Deviated, entry: e.Entry) -> Job:
    point = Deviation(
        len(job.deviations) + 1,
        event.deviation,
        event.node,
        event.subject,
        event.reason,
        event.authority,
        event.raw,
    )
    job = job.but(deviations=(*job.deviations, point))
    if event.subject in job.ledger:
        job = job.but(ledger=_item(job, event.subject, off_plan=True))
    if event.deviation == "not available":
        job = job.but(met=_with(job.met, event.subject, "not available"))
    if event.deviation == "not done" and event.subject.startswith("tool:"):
        job = job.but(counted_out=job.counted_out | {event.subject.removeprefix("tool:")})
    if event.deviation == "late" and event.subject in job.owed:
        owed = job.owed[event.subject].but(late_allowed=True)
        job = job.but(owed=_with(job.owed, event.subject, owed))
    if event.deviation == "not done" and event.subject in job.ledger and job.phase == "closing":
        job = job.but(ledger=_item(job, event.subject, not_done=True))
    if event.deviation == "go on":
        job = job.but(phase="working", stopped_label="")
    if event.deviation == "not done" and event.subject in job.owed:
        owed = job.owed[event.subject]
        if owed.item:
            job = job.but(ledger=_item(job, owed.item, not_done=True, off_plan=True))
        job = job.but(owed=_without(job.owed, event.subject))
    return job


def _not_applicable(job: Job, event: e.NotApplicableSaid, entry: e.Entry) -> Job:
    if event.item:
        return job.but(ledger=_item(job, event.item, not_applicable=True, off_plan=True))
    return job.but(not_applicable=job.not_applicable | {event.node})


def _condition(job: Job, event: e.ConditionSet, entry: e.Entry) -> Job:
    return job.but(
        conditions=_with(job.conditions, event.name, event.value), found=_without(job.found, event.name)
    )


def _step_done(job: Job, event: e.StepDone, entry: e.Entry) -> Job:
    return job.but(
        done=_with(job.done, event.node, entry.stamp),
        trail=(*job.trail, event.node),
        progress=FRESH,
        told=_untold(job, event.node),
    )


def _untold(job: Job, name: str) -> Mapping[str, bool]:
    """A person's word about a clock holds for the one wait or window it was given on, not for the next pass."""
    about = (name, f"wait {name}", f"in time {name}", f"no later {name}")
    if not any(key in job.told for key in about):
        return job.told
    return {key: said for key, said in job.told.items() if key not in about}


def _came_to(job: Job, event: e.CameTo, entry: e.Entry) -> Job:
    if job.detour:
        return job.but(detour=event.node, progress=FRESH)
    return job.but(at=event.node, progress=FRESH, phase="working", stopped_label="")


def _stopped(job: Job, event: e.StoppedAt, entry: e.Entry) -> Job:
    return job.but(phase="stopped", stopped_label=event.label)


def _listed(job: Job, event: e.Listed, entry: e.Entry) -> Job:
    acts = job.procedure.by_id[event.node].acts
    owed = Owed(event.node, "put off", event.node, item=acts[0].item if acts else "")
    return job.but(owed=_with(job.owed, event.node, owed))


def _unplanned(job: Job, event: e.PutOffUnplanned, entry: e.Entry) -> Job:
    node = job.procedure.by_id[event.node]
    item = node.acts[0].item if node.acts else ""
    if item:
        job = job.but(ledger=_item(job, item, off_plan=True))
    owed = Owed(event.node, "unplanned", event.node, "passed by", event.reason, item=item)
    return job.but(owed=_with(job.owed, event.node, owed), progress=FRESH)


def _owed_status(status: OwedStatus) -> Callable[[Job, Any, e.Entry], Job]:
    def change(job: Job, event: Any, entry: e.Entry) -> Job:
        owed = job.owed[event.key].but(status=status)
        return job.but(owed=_with(job.owed, event.key, owed))

    return change


def _overdue(job: Job, event: e.Overdue, entry: e.Entry) -> Job:
    return job.but(owed=_with(job.owed, event.key, job.owed[event.key].but(overdue=True)))


def _taken_up(job: Job, event: e.TakenUp, entry: e.Entry) -> Job:
    return _set_aside(job, job.hand).but(hand=event.key)


def _set_aside(job: Job, name: str) -> Job:
    """What is in hand is kept as it stands, a stop among it, and something else begins."""
    kind = f"stopped {job.stopped_label}" if job.phase == "stopped" else "hand"
    aside = (*job.set_aside, (kind, name, job.progress))
    return job.but(set_aside=aside, progress=FRESH, phase="working", stopped_label="")


def _owed_done(job: Job, event: e.OwedDone, entry: e.Entry) -> Job:
    job, hand = _taken_again(job)
    return job.but(hand=hand, owed=_without(job.owed, event.key), told=_untold(job, event.key))


def _taken_again(job: Job) -> tuple[Job, str]:
    """What was set aside goes on, and its name; a stop stands as it stood."""
    (what, name, progress), rest = job.set_aside[-1], job.set_aside[:-1]
    kind, _, label = what.partition(" ")
    phase = "stopped" if kind == "stopped" else job.phase
    return job.but(set_aside=rest, progress=progress, phase=phase, stopped_label=label), name


def _owed_again(job: Job, event: e.OwedAgain, entry: e.Entry) -> Job:
    owed = Owed(event.key, "again", event.node, "cued", event.why, event.what, event.item, event.acts)
    # Close-out waits for what is owed: a correction made while looking round brings the work back.
    phase = "working" if job.phase == "closing" else job.phase
    return job.but(owed=_with(job.owed, event.key, owed), phase=phase)


def _wait_over(job: Job, event: e.WaitOver, entry: e.Entry) -> Job:
    return job.but(progress=progress_but(job.progress, wait_over=True))


def _too_late(job: Job, event: e.TooLate, entry: e.Entry) -> Job:
    return job.but(
        progress=progress_but(job.progress, late=True),
        answers=_with(job.answers, event.node, "too late"),
        told=_untold(job, event.node),
    )


def _corrected(job: Job, event: e.Corrected, entry: e.Entry) -> Job:
    old = job.recorded[event.key]
    fields = event.model_dump(include=set(e.Held.model_fields) - {"v"})
    held = old.held.model_copy(update=fields)
    second = isinstance(old.held, e.ReadingTaken) and old.held.second
    job = job.but(
        recorded=_with(job.recorded, event.key, Recorded(event.key, old.node, held, entry.who)),
        performed=job.performed if second else _by(job, old.node, entry.who),
    )
    if isinstance(old.held, e.Tightened):
        job = job.but(ledger=_item(job, old.held.item, off_plan=True))
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
    return job.but(
        at=event.node,
        progress=full,
        answers=_without(job.answers, event.node),
        phase="working",
        stopped_label="",
    )


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
    job = _settled(job, f"aid:{event.item}", *steps)
    return job.but(
        progress=job.progress.but(acts=job.progress.acts - set(event.acts)) if event.acts else job.progress,
        ledger=_item(
            job, event.item, members=(event.state,) * count, off_plan=True, fresh=False, not_done=False
        ),
    )


def _extra(job: Job, event: e.ExtraWorkAdded, entry: e.Entry) -> Job:
    owed = Owed(event.key, "extra", why=event.text, status="passed by")
    job = _settled(job, *sorted(job.differs))
    return job.but(extra=job.extra + 1, owed=_with(job.owed, event.key, owed))


def _extra_done(job: Job, event: e.ExtraWorkFinished, entry: e.Entry) -> Job:
    return job.but(owed=_without(job.owed, event.key))


def _found(job: Job, event: e.ConditionFound, entry: e.Entry) -> Job:
    job = _settled(job, f"condition:{event.name}")
    if job.conditions.get(event.name) == event.value:
        return job.but(found=_without(job.found, event.name))
    return job.but(found=_with(job.found, event.name, event.value))


def _detour(job: Job, event: e.DetourBegan, entry: e.Entry) -> Job:
    return _set_aside(job, job.detour).but(detour=event.node)


def _detour_over(job: Job, event: e.DetourEnded, entry: e.Entry) -> Job:
    job, detour = _taken_again(job)
    return job.but(detour=detour)


def _reconfirmed(job: Job, event: e.Reconfirmed, entry: e.Entry) -> Job:
    if not event.as_recorded:
        return job.but(differs=job.differs | {event.key})
    return _settled(job, event.key)


def _settled(job: Job, *keys: str) -> Job:
    """Things to compare after a resume that need no more comparing."""
    return job.but(
        to_confirm=tuple(key for key in job.to_confirm if key not in keys), differs=job.differs - set(keys)
    )


def _handed_over(job: Job, event: e.HandedOver, entry: e.Entry) -> Job:
    return job.but(performer=event.to, handover_to="")


def _close_out(job: Job, event: e.CloseOutConfirmed, entry: e.Entry) -> Job:
    return job.but(confirmed_lines=job.confirmed_lines | {event.line})


def _abandoning(job: Job, event: e.Abandoning, entry: e.Entry) -> Job:
    return job.but(
        phase="making safe",
        paused=False,
        to_confirm=(),
        differs=frozenset(),
        handover_to="",
        abandon_reason=event.reason,
        safe_lines=event.lines,
        safe_done=frozenset(),
    )


def _same(job: Job, event: e.Event, entry: e.Entry) -> Job:
    return job


_CHANGES: Mapping[type[e.Event], Callable[[Job, Any, e.Entry], Job]] = {
    e.Started: _started,
    e.PrerequisiteMet: _prerequisite,
    e.CountedIn: _counted_in,
    e.CountedOut: lambda job, event, _: job.but(counted_out=job.counted_out | {event.tool}),
    e.Chosen: lambda job, event, _: job.but(choices=_with(job.choices, event.name, event.value)),
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
    e.OrderChanged: lambda job, event, entry: _step(job, event, entry, first_member=event.member),
    e.ConditionSet: _condition,
    e.StepDone: _step_done,
    e.LoopTaken: lambda job, event, _: job.but(
        loops=_with(job.loops, event.limit, job.loops.get(event.limit, 0) + 1)
    ),
    e.CameTo: _came_to,
    e.StoppedAt: _stopped,
    e.ClosingBegan: lambda job, event, _: job.but(phase="closing", progress=FRESH),
    e.Listed: _listed,
    e.PutOffUnplanned: _unplanned,
    e.WindowOpened: _owed_status("cued"),
    e.WindowClosed: _owed_status("waiting"),
    e.Overdue: _overdue,
    e.TakenUp: _taken_up,
    e.OwedDone: _owed_done,
    e.OwedDropped: lambda job, event, _: job.but(owed=_without(job.owed, event.key)),
    e.PassedBy: _owed_status("passed by"),
    e.OwedAgain: _owed_again,
    e.WaitOver: _wait_over,
    e.TooLate: _too_late,
    e.TimeTold: lambda job, event, _: job.but(told=_with(job.told, event.subject, event.has_passed)),
    e.Corrected: _corrected,
    e.AskedAgain: _asked_again,
    e.HoldLapsed: _hold_lapsed,
    e.TakenBack: _same,
    e.Reopened: _reopened,
    e.ExtraWorkAdded: _extra,
    e.ExtraWorkFinished: _extra_done,
    e.ConditionFound: _found,
    e.DetourBegan: _detour,
    e.DetourEnded: _detour_over,
    e.Noted: _same,
    e.ToolChanged: lambda job, event, _: _settled(
        job.but(tools=_with(job.tools, event.tool, event.identity)), f"tool:{event.tool}"
    ),
    e.Paused: lambda job, event, _: job.but(paused=True, pause_note=event.note),
    e.Resumed: lambda job, event, _: job.but(paused=False, to_confirm=event.confirm, differs=frozenset()),
    e.Reconfirmed: _reconfirmed,
    e.HandoverOffered: lambda job, event, _: job.but(handover_to=event.to),
    e.HandedOver: _handed_over,
    e.TakenOver: lambda job, event, _: job.but(performer=event.by, handover_to="", paused=False),
    e.CloseOutConfirmed: _close_out,
    e.Abandoning: _abandoning,
    e.MadeSafe: lambda job, event, _: job.but(safe_done=job.safe_done | {event.line}),
    e.Sealed: lambda job, event, _: job.but(phase="sealed", outcome=event.outcome),
    e.LeftProof: lambda job, event, _: job.but(phase="outside proof"),
    e.Refused: _same,
}
