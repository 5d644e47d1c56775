"""From a job to the one picture of it: pure, and the only place that turns state into what is shown."""

from decimal import Decimal

from runner.job import actions as a
from runner.job import events as e
from runner.job.aiming import extension_words
from runner.job.asking import demand
from runner.job.beginning_and_end import point_words
from runner.job.blind import first_hidden
from runner.job.decide import barred
from runner.job.demand import Demand
from runner.job.deviating import ALLOWED
from runner.job.elapsed import elapsed_ms
from runner.job.gate import acts_in_scope, readings_in_scope
from runner.job.reopening import reopens_to
from runner.job.state import Job, Owed
from runner.job.tightening import pending
from runner.job.windows import latest, ready, shut_by_time, steps_ahead
from runner.job.words import VERB_DONE, due_words, owed_words, tool_words, value_words, window_words
from runner.procedure.linked import Node
from runner.quantities import QuantityError, convert, show
from runner.stamp import Stamp
from runner.view import (
    ConditionLine,
    GateLine,
    Identity,
    ItemLine,
    MarkState,
    NoticeLine,
    Offer,
    OpenPoint,
    OwedLine,
    StepLine,
    StepView,
    View,
    WrenchLine,
)  # fmt: skip

REASONS = (
    "part not here yet",
    "tool not here",
    "waiting for a second person",
    "waiting for the customer's word",
    "thread or surface not as it should be",
)
"""Stock reasons offered for putting off or deviating; any other may be typed."""

_AHEAD = 12
_TRAIL = 200
_RECORDED = 50


def picture(job: Job, now: Stamp | None = None, torque_unit: str = "") -> View:
    """The picture of `job` at `now`; torques are shown in `torque_unit` too where it is another one."""
    wanted = _in_unit(demand(job, now), torque_unit)
    node = job.node if job.phase in ("working", "stopped", "making safe", "outside proof") else None
    return View(
        seq=job.seq,
        identity=Identity(
            title=job.procedure.title,
            procedure=job.procedure.procedure,
            revision=job.procedure.revision,
            fits=job.procedure.fits,
            work_piece=job.work_piece,
            performer=job.performer,
            rehearsal=job.rehearsal,
            unproved=job.unproved,
            sources=job.procedure.sources,
        ),
        conditions=_conditions(job),
        step=_step(job, node, wanted, now) if node is not None else None,
        demand=wanted,
        owed=_all_owed(job),
        items=tuple(_item(job, key) for key in job.ledger if job.exists(key)),
        trail=tuple(
            _line(job, name) for name in job.trail[-_TRAIL:] if job.procedure.by_id[name].joint is None
        ),
        ahead=_ahead(job),
        open_points=tuple(OpenPoint(d.number, point_words(job, d.number)) for d in job.deviations),
        offers=_offers(job, wanted),
        tools=tuple(job.tools.items()),
        wrenches=_wrenches(job),
        done_steps=len(job.done),
        all_steps=sum(
            1 for step in job.procedure.nodes if step.joint is None and not step.id.startswith("detour:")
        ),
        pause_note=job.pause_note,
        outcome=job.outcome,
        recorded=_recorded(job),
        reasons=REASONS,
        lost=_lost(job),
    )


def _in_unit(wanted: Demand, torque_unit: str) -> Demand:
    """The demand with its torque also in the preferred unit, to three figures."""
    if wanted.kind != "tighten" or not torque_unit or wanted.unit in ("", "°", torque_unit):
        return wanted
    try:
        number = Decimal(wanted.big.split()[0])
        other = show(convert(number, wanted.unit, torque_unit), torque_unit, digits=3)
    except (QuantityError, ArithmeticError):
        return wanted
    return wanted.but(band=f"{wanted.band} = {other}".strip(" ="))


def _conditions(job: Job) -> tuple[ConditionLine, ...]:
    node = job.node
    becoming = (
        dict(node.sets)
        if node and job.progress.begun and job.phase == "working" and job.scope is None
        else {}
    )
    lines = []
    for condition in job.procedure.conditions:
        name = condition.name
        value = job.conditions.get(name, "not known")
        new = becoming.get(name, value)
        lines.append(
            ConditionLine(
                name,
                value,
                becoming=new if new != value else "",
                found=job.found.get(name, ""),
                # While it is being changed, the hazards of both values hold.
                hazardous=bool({value, new, job.found.get(name, value)} & set(condition.hazardous)),
                others=tuple(each for each in condition.values if each != job.found.get(name, value)),
            )
        )
    return tuple(lines)


def _step(job: Job, node: Node, wanted: Demand, now: Stamp | None) -> StepView:
    notices = [
        NoticeLine(
            n.level, n.hazard, n.consequence, n.avoid, (i in job.progress.acknowledged) if n.injury else None
        )
        for i, n in enumerate(node.notices)
    ]
    for index in node.standing:
        notice = job.procedure.standing[index]
        notices.append(NoticeLine(notice.level, notice.hazard, notice.consequence, notice.avoid, None))
    limit, warn = _limit(job, node, now)
    return StepView(
        id=node.id,
        step=node.step,
        place=node.place,
        title=node.title,
        question=bool(node.ask),
        notices=tuple(notices),
        gate=tuple(_gate(job, node, wanted)),
        expect=node.expect or "",
        because=node.because or (node.put_off.because if node.put_off else "") or "",
        sketch=node.sketch or "",
        helper=node.helper or "",
        omission_likely=node.omission_likely,
        critical=node.critical,
        put_off=bool(job.hand),
        detour=bool(job.detour),
        limit_ms=limit,
        warn=warn,
        tools=tuple(tool_words(job, tool) for tool in node.tools),
    )


def _limit(job: Job, node: Node, now: Stamp | None) -> tuple[int | None, bool]:
    if node.in_time is None or now is None:
        return None, False
    start = latest(job, node.in_time.start)
    if start is None:
        return None, False
    elapsed, _ = elapsed_ms(start, now)
    warn = node.in_time.warn_at is not None and elapsed >= node.in_time.warn_at
    return max(0, node.in_time.within - elapsed), warn


def _gate(job: Job, node: Node, wanted: Demand) -> list[GateLine]:
    """The gate as a short list, in the order it is asked."""
    lines: list[tuple[str, bool, bool, str]] = []
    progress = job.progress
    for index, notice in enumerate(node.notices):
        if notice.injury:
            lines.append(
                (
                    f"{notice.level.upper()} read",
                    index in progress.acknowledged,
                    False,
                    f"acknowledge {index}",
                )
            )
    for index in acts_in_scope(job, node):
        act = node.acts[index]
        item = job.procedure.item_by_key[act.item]
        left = len(pending(job, index, act)) if act.verb == "tightens" else 0
        count = f", {left} to go" if left > 1 and index not in progress.acts else ""
        state = job.ledger[act.item]
        text = f"{VERB_DONE[act.verb]} {item.label}{count}"
        waived = state.not_applicable or f"act {index}" in progress.waived
        lines.append((text, index in progress.acts, waived, f"act {index}"))
    if not node.acts and node.do:
        lines.append(("Done", progress.confirmed, "confirm" in progress.waived, "confirm"))
    if node.wait:
        lines.append(("Wait", progress.wait_over, False, "wait"))
    for reading in readings_in_scope(job, node):
        done = progress.taken.get(reading.name, 0) >= reading.times
        band = f" ({reading.band.text})" if reading.band else ""
        lines.append(
            (
                f"{reading.what}{band}",
                done,
                f"reading {reading.name}" in progress.waived,
                f"read {reading.name}",
            )
        )
        if reading.blind_second:
            seconds = sum(1 for n in range(1, reading.times + 1) if f"{reading.name} {n}" in progress.seconds)
            lines.append(
                (f"{reading.what}, second person", seconds >= reading.times, False, f"second {reading.name}")
            )
    if node.answers:
        lines.append((node.look_for or "Answer", bool(progress.answer), False, "answer"))
    if node.hold:
        lines.append(
            (f"Hold point: {node.hold.role}", progress.hold == "released", progress.hold == "waived", "hold")
        )
    now = _now_key(wanted)
    return [
        GateLine(text, "waived" if waived else "done" if done else "now" if key == now else "later")
        for text, done, waived, key in lines
    ]


def _now_key(wanted: Demand) -> str:
    return {
        "acknowledge": f"acknowledge {wanted.index}",
        "new part": f"act {wanted.index}",
        "act": f"act {wanted.index}",
        "tighten": f"act {wanted.index}",
        "blocked": f"act {wanted.index}" if wanted.subject not in ("need", "change") else "",
        "confirm": "confirm",
        "wait": "wait",
        "reading": f"read {wanted.subject}",
        "worked out": f"read {wanted.subject}",
        "second reading": f"second {wanted.subject}",
        "look": "answer",
        "question": "answer",
        "hold": "hold",
    }.get(wanted.kind, "")


def _all_owed(job: Job) -> tuple[OwedLine, ...]:
    if not job.owed:
        return ()
    ahead = (
        steps_ahead(job.procedure, job.at) | {job.at} if job.gates.last_chance or job.until else frozenset()
    )
    return tuple(_owed(job, owed, ahead) for owed in job.owed.values())


def _owed(job: Job, owed: Owed, ahead: frozenset[str]) -> OwedLine:
    node = job.procedure.by_id.get(owed.node)
    plan = node.put_off if node and owed.kind == "put off" else None
    status = "overdue" if owed.overdue else owed.status
    chance = next((n for n in job.procedure.nodes if n.id in ahead and owed.key in _chances(job, n.id)), None)
    return OwedLine(
        key=owed.key,
        what=owed_words(job, owed)
        if node is None
        else node.title + (" (again)" if owed.kind == "again" else ""),
        where=node.place if node else "",
        why=plan.because if plan else owed.why,
        trigger=window_words(job, plan.until) if plan else "any time before it is due",
        before=due_words(job, plan.before) if plan else _until(job, owed, ahead),
        status=status,
        ready=ready(job, owed) and not shut_by_time(owed),
        last_chance=f'"{chance.title.rstrip(".")}"' if chance is not None else "",
    )


def _chances(job: Job, node: str) -> tuple[str, ...]:
    return job.gates.last_chance.get(node, ())


def _until(job: Job, owed: Owed, ahead: frozenset[str]) -> str:
    """Before what work off the plan is done, as the proof said; before the end, where the work has gone past that."""
    words = dict(job.until).get(owed.key, "").removeprefix("before ")
    titles = {
        f'"{job.procedure.by_id[name].title.rstrip(".")}"' for name in ahead if name in job.procedure.by_id
    }
    return words if words and (words in titles or not words.startswith('"')) else "the end"


def _lost(job: Job) -> tuple[str, ...]:
    """What nothing closes any more: without what is owed no longer, or is passed on every way ahead."""
    if not job.lost or job.phase not in ("working", "stopped", "closing"):
        return ()
    keys = {key for key, _ in job.lost} & set(job.procedure.by_id)
    ahead = steps_ahead(job.procedure, job.at) | {job.at} if keys else frozenset()
    return tuple(
        dict.fromkeys(
            words for key, words in job.lost if key and (key not in keys or key in ahead or key in job.owed)
        )
    )


def _item(job: Job, key: str) -> ItemLine:
    item, state = job.procedure.item_by_key[key], job.ledger[key]
    return ItemLine(
        key=key,
        label=item.label,
        kind=item.kind,
        state="not applicable" if state.not_applicable else job.state_of(key),
        mark=_mark(job, key),
        off_plan=state.off_plan,
        members=state.members if item.count > 1 else (),
        reopens=reopens_to(job, key),
    )


def _mark(job: Job, key: str) -> MarkState:
    state = job.ledger[key]
    if state.not_applicable:
        return "not applicable"
    now = job.state_of(key)
    if job.is_final(key):
        return (
            "whole" if now == job.procedure.item_by_key[key].at_start and not _touched(job, key) else "final"
        )
    if state.not_done:
        return "not done"
    return (
        "part" if now.startswith("stage ") or any(m.startswith("stage ") for m in state.members) else "open"
    )


def _touched(job: Job, key: str) -> bool:
    return any(act.item == key for name in job.done for act in job.procedure.by_id[name].acts)


def _line(job: Job, name: str) -> StepLine:
    node = job.procedure.by_id[name]
    return StepLine(node.id, node.title, node.place, job.answers.get(name, ""))


def _ahead(job: Job) -> tuple[StepLine, ...]:
    """The way straight on from here, as far as it can be told without knowing the answers."""
    lines: list[StepLine] = []
    name, seen = job.at, set[str]()
    by_id = job.procedure.by_id
    while name in by_id and name not in seen and len(lines) < _AHEAD:
        seen.add(name)
        node = by_id[name]
        if node.joint is None and (name != job.at or job.phase == "preparing"):
            lines.append(StepLine(node.id, node.title, node.place, "put off" if node.put_off else ""))
        name = node.next
    return tuple(lines)


def _wrenches(job: Job) -> tuple[WrenchLine, ...]:
    fitted = {tool: extension_words(extension) for tool, extension in job.extensions.items()}
    return tuple(WrenchLine(tool, wrench, fitted.get(tool, "")) for tool, wrench in job.wrenches.items())


def _recorded(job: Job) -> tuple[tuple[str, str], ...]:
    lines: list[tuple[str, str]] = []
    for key, record in reversed(list(job.recorded.items())):
        held = record.held
        node = job.procedure.by_id[record.node]
        place = f"{node.place}: " if node.place else ""
        hidden = (
            isinstance(held, e.ReadingTaken)
            and not held.second
            and first_hidden(job, node, held.name, held.index)
        )
        value = value_words(held)
        if isinstance(held, e.Tightened):
            item = job.procedure.item_by_key[held.item].label
            lines.append((key, f"{item} number {held.member}, stage {held.stage}: {value}"))
        elif isinstance(held, e.ReadingTaken) and not hidden:
            what = next((r.what for r in node.readings if r.name == held.name), held.name)
            lines.append((key, f"{place}{what}: {value}"))
    lines += [
        (f"answer {name}", _answered(job.procedure.by_id[name], label))
        for name, label in reversed(list(job.answers.items()))
    ]
    return tuple(lines[:_RECORDED])


def _answered(node: Node, label: str) -> str:
    """An answer with what was asked, the answer first: in a narrow row it must not be what is cut."""
    place = f"{node.place}: " if node.place else ""
    sorting = next((r.what for r in node.readings if r.sorting), "")
    return f"{place}{label} ({node.look_for or node.ask or sorting or node.title})"


def _offers(job: Job, wanted: Demand) -> tuple[Offer, ...]:
    """What may be done besides answering, each with why not where it may not."""
    ways = ALLOWED.get(wanted.kind, ())
    at_work = "" if job.phase in ("working", "stopped") else "only while the work goes on"
    in_hand = "" if job.node is not None and not job.hand and not job.detour else "no step in hand"
    can_take_up = any(ready(job, o) and not shut_by_time(o) for o in job.owed.values())
    extended = "Fit an extension or crowfoot to a wrench, or take it off"
    offers = (
        (a.PutOff, "Put this step off", at_work or in_hand),
        (a.Deviate, f"Deviate: {', '.join(ways)}" if ways else "Deviate", "" if ways else "not from here"),
        (a.TakeBack, "Take back the latest act", "" if job.before is not None else "nothing to take back"),
        (
            a.Correct,
            "Correct an earlier entry",
            "" if job.recorded or job.answers else "nothing recorded yet",
        ),
        (a.Reopen, "Reopen an item", at_work),
        (a.NotApplicable, "Not applicable to this work piece", at_work or in_hand),
        (a.FoundCondition, "A condition differs from the record", at_work),
        (
            a.ExtraWork,
            "Extra work: something opened or broken",
            "" if job.phase == "closing" else at_work,
        ),
        (a.TakeUp, "Take up something owed", "" if can_take_up else "nothing can be taken up now"),
        (a.ChangeTool, "Change a tool", "" if job.tools else "no tool counted in"),
        (a.FitExtension, extended, "" if job.wrenches else "no wrench of the toolbox is in hand"),
        (a.Note, "Write a note", ""),
        (a.Pause, "Pause", ""),
        (a.HandOver, "Hand over", ""),
        (a.TakeOverAlone, "Take over alone", ""),
    )
    # What the run as it stands does not let pass at all, the engine says itself: one rule, in one place.
    return (
        *(Offer(kind.__name__, what, _barred(job, kind) or why) for kind, what, why in offers),
        Offer("Abandon", "Abandon this run", _barred(job, a.Seal)),
    )


def _barred(job: Job, kind: type[a.Action]) -> str:
    refusal = barred(job, kind)
    return refusal.text if refusal is not None else ""
