"""Starting, preparing, leaving and coming back, handing over, closing out, sealing."""

from runner.job import actions as a
from runner.job import events as e
from runner.job.asking import ABNORMAL, close_out_lines, limits, outcomes
from runner.job.at_gate import asked, not_now
from runner.job.blind import deviation_hidden
from runner.job.draft import Draft
from runner.job.preparing import prerequisite
from runner.job.refusal import Refusal
from runner.job.state import Job, same_person
from runner.job.values import parse
from runner.job.words import owed_words, place_of, subject_named

LOOK_BACK = 3
"""Steps re-confirmed on resume (FAA AMT Handbook ch. 14: go back about three steps and look again)."""


def start(draft: Draft, action: a.Start) -> Refusal | None:
    """Begin the run; every counter the author asks for is given."""
    if draft.job.phase != "new":
        return not_now(asked(draft))
    if not action.work_piece.strip():
        return Refusal("a run is about one work piece", "say which: plate, chassis or serial number")
    given = dict(action.counters)
    for counter in draft.job.procedure.counters:
        if not given.get(counter.name, "").strip():
            return Refusal(f"{counter.name} is asked at the start", f"read it, in {counter.unit}")
        read = parse(given[counter.name], counter.unit)
        if isinstance(read, Refusal):
            return read
    draft.add(
        e.Started(
            work_piece=action.work_piece.strip(),
            counters=tuple((c.name, given[c.name].strip()) for c in draft.job.procedure.counters),
            earlier=action.earlier,
        )
    )
    return None


def choose_location(draft: Draft, action: a.ChooseLocation) -> Refusal | None:
    """Pick the location or variant of this work piece."""
    wanted = asked(draft)
    if wanted.kind != "choose" or wanted.subject != action.name:
        return not_now(wanted)
    if action.value not in {option.key for option in wanted.options}:
        labels = ", ".join(option.label for option in wanted.options)
        return Refusal(f"{action.value!r} is not one of them", f"say one of: {labels}")
    draft.add(e.Chosen(name=action.name, value=action.value))
    return None


def meet_prerequisite(draft: Draft, action: a.MeetPrerequisite) -> Refusal | None:
    """One prerequisite is ready; a person is named, a condition is as it must be."""
    wanted, job = asked(draft), draft.job
    line = prerequisite(job, action.key)
    if wanted.kind != "prepare" or line is None or action.key not in {o.key for o in wanted.options}:
        return not_now(wanted)
    value = action.value.strip()
    if action.key.startswith("tool:"):
        return Refusal("tools are counted in", "count it in")
    if action.key.startswith("person:"):
        if not value:
            return Refusal(f"{line.text}: nobody was named", "type the name")
        if same_person(value, job.performer):
            return Refusal(f"{value} is the performer", "name someone else, or deviate (not available)")
        if any(_role(key) == _role(action.key) and same_person(value, n) for key, n in job.met.items()):
            return Refusal(f"{value} is named already", "name someone else, or deviate (not available)")
    if line.values:
        value = value or (line.values[0] if len(line.values) == 1 else "")
        if value not in line.values:
            return Refusal(
                f"the work starts only where {line.text}",
                f"bring it there; say one of: {', '.join(line.values)}",
            )
    draft.add(e.PrerequisiteMet(key=action.key, value=value))
    return None


def _role(key: str) -> str:
    """The role of `person:checker 2`."""
    return key.rstrip("0123456789").rstrip()


def close_out(draft: Draft, action: a.CloseOut) -> Refusal | None:
    """One close-out line holds; the last asks for anything abnormal."""
    wanted = asked(draft)
    lines = {line.key: line.label for line in close_out_lines(draft.job)}
    key = f"line:{action.line}"
    if wanted.kind != "close out" or key not in lines:
        return not_now(wanted)
    if lines[key] == ABNORMAL and not action.text.strip():
        return Refusal("the last question needs words", "say what was abnormal, or none")
    draft.add(e.CloseOutConfirmed(line=action.line, said=action.text.strip(), text=lines[key]))
    return None


def make_safe(draft: Draft, action: a.MakeSafe) -> Refusal | None:
    """One make-safe line is done."""
    wanted = asked(draft)
    if wanted.kind != "make safe" or f"line:{action.line}" not in {o.key for o in wanted.options}:
        return not_now(wanted)
    draft.add(e.MadeSafe(line=action.line, said=draft.job.safe_lines[action.line]))
    return None


def make_safe_lines(job: Job) -> tuple[str, ...]:
    """The author's make-safe steps for the conditions as they are now (found or recorded)."""
    values = {job.found.get(name, value) for name, value in job.conditions.items()} | {"always"}
    return tuple(line for value, lines in job.procedure.make_safe if value in values for line in lines)


def seal(draft: Draft, action: a.Seal) -> Refusal | None:
    """End the run. Abandoning is offered everywhere; finishing only after close-out, with nothing owed."""
    job = draft.job
    if job.phase == "sealed":
        return Refusal("this run is sealed", "nothing follows a seal; begin a new run")
    if job.phase == "new":
        return Refusal("this run has not begun", "leave it")
    if action.outcome == "abandoned":
        return _abandon(draft, action)
    wanted = asked(draft)
    if wanted.kind != "seal" or job.phase != "closing":
        return not_now(wanted)
    if action.outcome not in outcomes(job):
        return Refusal(f"this run is not {action.outcome}", f"seal it as {' or '.join(outcomes(job))}")
    open_items = [
        item.label for item in job.procedure.items if job.exists(item.key) and not job.is_final(item.key)
    ]
    if action.outcome == "finished" and open_items:
        return Refusal(
            f"still open: {', '.join(open_items)}", "close them, or deviate with a reason (not done)"
        )
    uncovered = [
        item.label for item in job.procedure.items
        if job.exists(item.key) and not job.is_final(item.key) and not job.ledger[item.key].not_done
    ]  # fmt: skip
    if uncovered:
        return Refusal(
            f"still open: {', '.join(uncovered)}", "reopen them so that their steps come back, or abandon"
        )
    draft.add(sealed(job, action.outcome, action.reason.strip()))
    return None


def _abandon(draft: Draft, action: a.Seal) -> Refusal | None:
    job = draft.job
    if job.phase != "making safe":
        if not action.reason.strip():
            return Refusal("a run is abandoned with a reason", "say why")
        draft.add(e.Abandoning(reason=action.reason.strip(), lines=make_safe_lines(job)))
        return None
    wanted = asked(draft)
    if wanted.kind != "seal":
        return not_now(wanted)
    draft.add(sealed(job, "abandoned", job.abandon_reason))
    return None


def sealed(job: Job, outcome: a.Outcome, reason: str) -> e.Sealed:
    """The seal's words: what stays open, by name."""
    return e.Sealed(
        outcome=outcome,
        reason=reason,
        open_points=tuple(point_words(job, number) for number in range(1, len(job.deviations) + 1)),
        open_items=tuple(
            f"{item.label}: {job.state_of(item.key)}"
            for item in job.procedure.items
            if job.exists(item.key) and not job.is_final(item.key)
        ),
        owed=tuple(owed_words(job, owed) for owed in job.owed.values()),
        conditions=tuple((name, job.found.get(name, value)) for name, value in job.conditions.items()),
        follow_ups=tuple(f"{f.what} ({f.text})" for f in job.procedure.follow_up)
        + tuple(point_words(job, d.number) for d in job.deviations if d.kind == "not done"),
        steps_done=len(job.done),
    )


def point_words(job: Job, number: int) -> str:
    """An open point in one line."""
    point = job.deviations[number - 1]
    node = job.procedure.by_id.get(point.node)
    what = subject_named(job, point.subject)
    here = f"{place_of(node)}{node.title}" if node else ""
    where = f", at: {here}" if here and here != what else ""
    which = f" {point.which}" if point.which else ""
    value = f" {point.raw}" if point.raw and not deviation_hidden(job, point) else ""
    return f"{point.kind}: {what}{which}{value}{where}: {point.reason} (by {point.authority})"


def pause(draft: Draft, action: a.Pause) -> Refusal | None:
    """Leave the bench with a line on what was about to happen."""
    if draft.job.paused or draft.job.phase in ("new", "sealed"):
        return not_now(asked(draft))
    draft.add(e.Paused(note=action.note.strip()))
    return None


def resume(draft: Draft, action: a.Resume) -> Refusal | None:
    """Come back: the last steps, the conditions, tools and aids are to be compared with the work."""
    job = draft.job
    if job.phase in ("new", "sealed"):
        return not_now(asked(draft))
    draft.add(e.Resumed(confirm=to_compare(job) if job.phase in ("working", "stopped", "closing") else ()))
    return None


def to_compare(job: Job) -> tuple[str, ...]:
    """What is compared on resume: steps latest first, conditions, aids in place, tools, running times."""
    steps = list(dict.fromkeys(reversed(job.trail)))[:LOOK_BACK]
    keys = [f"step:{name}" for name in steps if job.procedure.by_id[name].joint is None]
    keys += [f"condition:{name}" for name in job.conditions if name not in job.found]
    keys += [
        f"aid:{item.key}"
        for item in job.procedure.items
        if item.kind == "aid" and job.state_of(item.key) == "in"
    ]
    keys += [f"tool:{tool}" for tool in job.tools if tool not in job.counted_out]
    keys += [f"time:{key}" for key, _, _ in limits(job)]
    return tuple(keys)


def reconfirm(draft: Draft, action: a.Reconfirm) -> Refusal | None:
    """One thing is as recorded; what is not becomes a found condition or a reopening, said after this."""
    if action.key not in draft.job.to_confirm or asked(draft).kind != "reconfirm":
        return not_now(asked(draft))
    draft.add(e.Reconfirmed(key=action.key, as_recorded=action.as_recorded))
    return None


def hand_over(draft: Draft, action: a.HandOver) -> Refusal | None:
    """The outgoing performer names the incoming one."""
    job = draft.job
    if job.phase in ("new", "sealed") or job.paused or job.handover_to:
        return not_now(asked(draft))
    if not same_person(action.who, job.performer):
        return Refusal(
            f"{job.performer} is the performer",
            f"{job.performer} hands over, or take over alone with a reason",
        )
    if not action.to.strip() or same_person(action.to, job.performer):
        return Refusal("a handover names someone else", "type the name of who takes over")
    draft.add(e.HandoverOffered(to=action.to.strip(), note=action.note.strip()))
    return None


def accept_handover(draft: Draft, action: a.AcceptHandover) -> Refusal | None:
    """The incoming person acknowledges."""
    job = draft.job
    if not job.handover_to or not same_person(action.who, job.handover_to):
        name = job.handover_to or "nobody"
        return Refusal(
            f"{name} was named to take over", f"fetch {name}" if job.handover_to else "hand over first"
        )
    draft.add(e.HandedOver(to=action.who.strip()))
    return None


def take_over_alone(draft: Draft, action: a.TakeOverAlone) -> Refusal | None:
    """The outgoing person is gone."""
    job = draft.job
    if job.phase in ("new", "sealed"):
        return not_now(asked(draft))
    if not action.reason.strip():
        return Refusal("taking over alone has a reason", "say why the other person cannot acknowledge")
    if same_person(action.who, job.performer) and not job.handover_to:
        return Refusal(f"{action.who} is the performer", "go on")
    draft.add(e.TakenOver(by=action.who.strip(), reason=action.reason.strip()))
    if job.phase in ("working", "stopped", "closing"):
        draft.add(e.Resumed(confirm=to_compare(job)))
    return None
