"""Deviations: work departs from the procedure, with reason and authority, and stays an open point to the end."""

from runner.job import actions as a
from runner.job import events as e
from runner.job.aiming import UNFIT, against, as_read, waiver
from runner.job.asking import ABNORMAL, close_out_lines
from runner.job.at_gate import (
    aim_of,
    asked,
    not_now,
    performed,
    read_value,
    reading_taken,
    subject_words,
    tightened,
)
from runner.job.demand import Demand
from runner.job.draft import Draft
from runner.job.preparing import prerequisite
from runner.job.refusal import Refusal
from runner.job.settle import judge_windows, take
from runner.job.state import Job, same_person
from runner.job.tightening import pending
from runner.job.values import Value, outside
from runner.procedure.linked import STOP, Exit

ALLOWED: dict[str, tuple[str, ...]] = {
    "tighten": ("out of band", "by feel", "other value", "different order", "not done", UNFIT),
    "reading": ("out of band", "other value", "not done", UNFIT),
    "second reading": ("out of band", "not done", UNFIT),
    "worked out": ("out of band",),
    "new part": ("substitute", "not done"),
    "act": ("not done",),
    "confirm": ("not done",),
    "blocked": ("different order", "not done", UNFIT),
    "hold": ("hold point",),
    "due": ("not done", "late"),
    "cue": ("not done", "late"),
    "prepare": ("not available", "substitute", UNFIT),
    "close out": ("not done",),
    "make safe": ("not done",),
    "stop": ("go on",),
    "seal": ("not done",),
}
"""Which deviations answer which demand."""


def deviate(draft: Draft, action: a.Deviate) -> Refusal | None:
    """Depart from the procedure here, if the demand has such a way out and reason and authority are given."""
    wanted, job = asked(draft), draft.job
    if action.kind not in ALLOWED.get(wanted.kind, ()):
        ways = ALLOWED.get(wanted.kind, ())
        return Refusal(
            f"{action.kind} is no way out of: {wanted.prompt}",
            f"here there is: {', '.join(ways)}" if ways else wanted.lift or "answer what is asked",
        )
    if not action.reason.strip():
        return Refusal("a deviation has a reason", "say why")
    authority = action.authority.strip() or action.who
    alone = same_person(authority, job.performer) or same_person(authority, action.who)
    if alone and (wanted.kind == "stop" or _critical(job, action, wanted)):
        what = "a stop is passed" if wanted.kind == "stop" else "a critical point is departed from"
        return Refusal(
            f"{what} only on the word of someone other than the performer",
            "name that person as authority, or make safe and abandon",
        )
    handler = _HANDLERS[action.kind]
    return handler(draft, action, wanted, authority)


def _critical(job: Job, action: a.Deviate, wanted: Demand) -> bool:
    """Whether what is departed from is critical; owed work is, where its step, item or reading is."""
    owed = job.owed.get(action.subject or wanted.subject) if wanted.kind in ("due", "cue") else None
    node = job.procedure.by_id.get(owed.node) if owed else None
    if node is None:
        return wanted.critical
    items = job.procedure.item_by_key
    return (
        node.critical
        or any(items[act.item].critical for act in node.acts)
        or any(reading.critical for reading in node.readings)
    )


def _point(
    draft: Draft, action: a.Deviate, authority: str, subject: str, which: str = "", *, owed: bool = False
) -> None:
    draft.add(
        e.Deviated(
            deviation=action.kind,
            node=draft.job.node.id if draft.job.node else "",
            subject=subject,
            reason=action.reason.strip(),
            authority=authority,
            raw=action.raw.strip(),
            which=which,
            here=not owed and subject in draft.job.owed,
        )
    )


def _value(draft: Draft, action: a.Deviate, wanted: Demand, authority: str) -> Refusal | None:
    """Out of band, or another value with its source: the value is recorded as it was read."""
    job = draft.job
    if wanted.kind == "worked out":
        if _decides_the_way(job, wanted):
            return Refusal("the way on is decided by this value", "correct a reading that went into it")
        _point(draft, action, authority, wanted.subject)
        draft.add(e.Waived(node=_node_id(draft), what=f"reading {wanted.subject}"))
        return None
    if wanted.kind == "tighten":
        if not wanted.unit:
            return Refusal("this stage has no value", "deviate as not done")
        stage = job.procedure.item_by_key[wanted.subject].stages[wanted.stage - 1]
        value = as_read(aim_of(job, wanted), action.raw, stage)
        if isinstance(value, Refusal):
            return value
        if action.kind == "out of band" and outside(value, stage.band) is None:
            return _inside(value)
        _point(draft, action, authority, wanted.subject, _which(job, wanted.subject, wanted.member))
        draft.add(tightened(draft, wanted, value, "measured"))
        return None
    node = job.node
    assert node is not None
    reading = next(r for r in node.readings if r.name == wanted.subject)
    value = read_value(reading, action.raw)
    if isinstance(value, Refusal):
        return value
    if action.kind == "out of band" and (reading.kind != "number" or outside(value, reading.band) is None):
        return _inside(value)
    second = wanted.kind == "second reading"
    if second and performed(job, node, action.who):
        return Refusal(
            f"{action.who} did this step and cannot give its second reading",
            "fetch someone who has not seen the first",
        )
    _point(draft, action, authority, wanted.subject)
    draft.add(reading_taken(draft, node, reading, value, second=second))
    return None


def _which(job: Job, item: str, member: int) -> str:
    """The fastener of a group that is departed from; nothing where there is but one."""
    return f"number {member}" if job.procedure.item_by_key[item].count > 1 else ""


def _inside(value: Value) -> Refusal:
    return Refusal(f"{value.value} {value.unit} is not out of band", "enter it as it is")


def _by_feel(draft: Draft, action: a.Deviate, wanted: Demand, authority: str) -> Refusal | None:
    if not wanted.unit:
        return Refusal("this stage asks for no number", "confirm it")
    _point(draft, action, authority, wanted.subject, _which(draft.job, wanted.subject, wanted.member))
    stage = draft.job.procedure.item_by_key[wanted.subject].stages[wanted.stage - 1]
    draft.add(tightened(draft, wanted, Value("", "", stage.unit or ""), "by feel"))
    return None


def _order(draft: Draft, action: a.Deviate, wanted: Demand, authority: str) -> Refusal | None:
    """Another fastener first, or a step although something it needs is missing."""
    if wanted.kind == "blocked":
        if wanted.subject != "need":
            return Refusal(f"{wanted.prompt}", wanted.lift)
        _point(draft, action, authority, "need")
        draft.add(e.Waived(node=_node_id(draft), what="need"))
        return None
    node = draft.job.node
    assert node is not None
    members = {member for stage, member in pending(draft.job, wanted.index, node.acts[wanted.index])
               if stage == wanted.stage}  # fmt: skip
    if not action.subject.isascii() or not action.subject.isdigit() or int(action.subject[:4]) not in members:
        return Refusal(
            f"{action.subject or 'nothing'} is not a fastener still to do in this round",
            f"name one of: {', '.join(str(member) for member in sorted(members))}",
        )
    member = int(action.subject)
    _point(draft, action, authority, wanted.subject, _which(draft.job, wanted.subject, member))
    draft.add(e.OrderChanged(node=node.id, item=wanted.subject, member=member))
    return None


def _not_done(draft: Draft, action: a.Deviate, wanted: Demand, authority: str) -> Refusal | None:
    job = draft.job
    if wanted.kind in ("due", "cue"):
        key = action.subject or wanted.subject or wanted.options[0].key
        if key not in job.owed:
            return Refusal("nothing of that name is owed", "choose from the put-off list")
        _point(draft, action, authority, key, owed=True)
        if key == job.hand:
            draft.add(e.OwedDone(key=key))
            judge_windows(draft)
        return None
    if wanted.kind == "seal":
        return _left_open(draft, action, authority)
    if wanted.kind == "make safe":
        return _not_made_safe(draft, action, wanted, authority)
    if wanted.kind == "close out":
        return _close_out_not_done(draft, action, authority)
    if wanted.kind == "blocked" and wanted.subject not in job.ledger:
        return Refusal("a step whose needs are missing cannot be left out", wanted.lift)
    if job.node is None:  # extra work in hand
        _point(draft, action, authority, job.owed[job.hand].why)
        draft.add(e.OwedDone(key=job.hand))
        return None
    if _decides_the_way(job, wanted):
        return Refusal(
            "the way on is decided by this value", "enter it, give another value with its source, or abandon"
        )
    what = _what(draft, wanted)
    _point(
        draft, action, authority, subject_words(job, wanted) if wanted.kind == "confirm" else wanted.subject
    )
    draft.add(e.Waived(node=_node_id(draft), what=what))
    return None


def _decides_the_way(job: Job, wanted: Demand) -> bool:
    """Whether no way could be chosen without this value; a second reading chooses none."""
    readings = job.node.readings if job.node else ()
    sorted_names = {reading.name for reading in readings if reading.sorting}
    return wanted.kind in ("reading", "worked out") and wanted.subject in sorted_names and job.scope is None


def _what(draft: Draft, wanted: Demand) -> str:
    """Which part of the gate is let go."""
    job = draft.job
    if wanted.kind == "confirm":
        return "confirm"
    if wanted.kind in ("reading", "second reading"):
        return f"reading {wanted.subject}"
    if wanted.member:
        node = job.node
        assert node is not None
        if job.scope is not None and job.scope.what.startswith("member"):
            return "again"
        last = "|last" if len(pending(job, wanted.index, node.acts[wanted.index])) == 1 else ""
        return f"member {wanted.index}|{wanted.subject}|{wanted.stage}|{wanted.member}{last}"
    return f"act {wanted.index}"


def _left_open(draft: Draft, action: a.Deviate, authority: str) -> Refusal | None:
    """At the seal: an item that no step ahead closes any more."""
    job = draft.job
    item = job.procedure.item_by_key.get(action.subject)
    if job.phase != "closing" or item is None or not job.exists(item.key) or job.is_final(item.key):
        return Refusal("that item is not open", "name an open item of the ledger")
    if item.critical and same_person(authority, job.performer):
        return Refusal(f"{item.label} is critical", "name someone other than the performer as authority")
    _point(draft, action, authority, item.key)
    return None


def _close_out_not_done(draft: Draft, action: a.Deviate, authority: str) -> Refusal | None:
    job = draft.job
    lines = {line.key: line.label for line in close_out_lines(job)}
    if action.subject not in lines:
        return Refusal("that line is not open", f"name one of: {', '.join(lines)}")
    if lines[action.subject] == ABNORMAL:
        return Refusal("the last question is always answered", "say what was abnormal, or none")
    _point(draft, action, authority, action.subject)
    if action.subject.startswith("line:"):
        line = int(action.subject.removeprefix("line:"))
        draft.add(e.CloseOutConfirmed(line=line, said="not done", text=lines[action.subject]))
    return None


def _not_made_safe(draft: Draft, action: a.Deviate, wanted: Demand, authority: str) -> Refusal | None:
    """A make-safe line that cannot be done is said so, never confirmed for want of another way on."""
    lines = {option.key: option.label for option in wanted.options}
    if action.subject not in lines:
        return Refusal("that line is not open", f"name one of: {', '.join(lines)}")
    _point(draft, action, authority, lines[action.subject])
    draft.add(
        e.MadeSafe(line=int(action.subject.removeprefix("line:")), said=f"not done: {lines[action.subject]}")
    )
    return None


def _substitute(draft: Draft, action: a.Deviate, wanted: Demand, authority: str) -> Refusal | None:
    if wanted.kind == "prepare":
        return _prerequisite(draft, action, wanted, authority)
    _point(draft, action, authority, wanted.subject)
    draft.add(e.PartConfirmed(node=_node_id(draft), item=wanted.subject, number=action.raw.strip()))
    return None


def _prerequisite(draft: Draft, action: a.Deviate, wanted: Demand, authority: str) -> Refusal | None:
    line = prerequisite(draft.job, action.subject)
    if line is None or action.subject not in {option.key for option in wanted.options}:
        return Refusal("that line is not open", f"name one of: {', '.join(o.key for o in wanted.options)}")
    if action.subject.startswith("condition:"):
        return Refusal("the work does not start from another condition", f"bring it about: {line.text}")
    _point(draft, action, authority, action.subject)
    if action.kind == "substitute":
        if action.subject.startswith("tool:"):
            draft.add(e.CountedIn(tool=action.subject.removeprefix("tool:"), identity=action.raw.strip()))
        else:
            draft.add(e.PrerequisiteMet(key=action.subject, value=action.raw.strip() or "substitute"))
    return None


def _unfit_tool(draft: Draft, action: a.Deviate, wanted: Demand, authority: str) -> Refusal | None:
    """A tool is used although something speaks against it: picked so, or let through for the act in hand."""
    job, wrench = draft.job, action.wrench
    if wrench is None:
        if wanted.kind != "blocked" or not wanted.tool:
            return Refusal(
                "nothing speaks against the tool in hand here", wanted.lift or "answer what is asked"
            )
        held = job.wrenches.get(wanted.tool)
        _point(draft, action, authority, wanted.subject, held.label if held else "")
        draft.add(e.Waived(node=_node_id(draft), what=waiver(wanted.index, wanted.subject, wanted.stage)))
        return None
    tool = action.subject.removeprefix("tool:")
    before_step_1 = wanted.kind == "prepare"
    known = [o.key.removeprefix("tool:") for o in wanted.options] if before_step_1 else list(job.tools)
    if tool not in known:
        return Refusal("no tool of that name is asked for", f"say one of: {', '.join(known) or 'none'}")
    if not against(job, tool, wrench, draft.stamp):
        return Refusal(f"nothing speaks against {wrench.label}", "take it as it is")
    _point(draft, action, authority, f"tool:{tool}", wrench.label)
    if before_step_1:
        draft.add(e.CountedIn(tool=tool, identity=wrench.label, wrench=wrench))
    else:
        reason = action.reason.strip()
        draft.add(e.ToolChanged(tool=tool, identity=wrench.label, reason=reason, wrench=wrench))
    return None


def _hold(draft: Draft, action: a.Deviate, wanted: Demand, authority: str) -> Refusal | None:
    _point(draft, action, authority, wanted.role)
    draft.add(e.Waived(node=_node_id(draft), what="hold"))
    return None


def _late(draft: Draft, action: a.Deviate, wanted: Demand, authority: str) -> Refusal | None:
    key = action.subject or wanted.subject or (wanted.options[0].key if wanted.options else "")
    owed = draft.job.owed.get(key)
    if owed is None or not owed.overdue or owed.late_allowed:
        return not_now(wanted)
    _point(draft, action, authority, key, owed=True)
    return None


def _go_on(draft: Draft, action: a.Deviate, wanted: Demand, authority: str) -> Refusal | None:
    """At a stop: the authority takes the work on to the next step, straight ahead."""
    node = draft.job.node
    if node is None:
        return not_now(wanted)
    if draft.job.found and not draft.job.detour:
        name, value = next(iter(draft.job.found.items()))
        return Refusal(
            f"{name} is {value}, against the record", "bring it back first, or make safe and abandon"
        )
    _point(draft, action, authority, node.id)
    if draft.job.hand and not draft.job.detour:
        draft.add(e.StepDone(node=node.id, to=""))
        draft.add(e.OwedDone(key=draft.job.hand))
        return None
    onward = _past_the_stop(draft.job, node.next)
    for name, value in node.sets:
        draft.add(e.ConditionSet(name=name, value=value))
    draft.add(e.StepDone(node=node.id, to=onward))
    take(draft, node, Exit(label="", to=onward))
    return None


def _past_the_stop(job: Job, target: str) -> str:
    """The next step, behind a way back that is used up and stops: going on must not stop there again."""
    joint = job.procedure.by_id.get(target)
    while joint is not None and joint.joint is not None and joint.answers:
        way = joint.answers[0]
        while way.limit is not None and job.loops.get(way.limit.id, 0) >= way.limit.at_most:
            way = way.limit.then
        if way.to != STOP or way.limit is not None:
            break
        target = joint.next
        joint = job.procedure.by_id.get(target)
    return target


def _node_id(draft: Draft) -> str:
    return draft.job.node.id if draft.job.node else ""


_HANDLERS = {
    "out of band": _value,
    "other value": _value,
    "by feel": _by_feel,
    "different order": _order,
    "not done": _not_done,
    "substitute": _substitute,
    "not available": _prerequisite,
    "hold point": _hold,
    "late": _late,
    "go on": _go_on,
    UNFIT: _unfit_tool,
}
