"""A picture of the job as lines: whole, by topic, or only what changed since the picture before.

Pure; the lines hold text as people typed it, and whoever prints them makes them safe.
"""

from collections.abc import Callable, Iterable, Mapping

from runner.job.demand import Demand
from runner.plain.wrenches import offer_lines, tool_lines
from runner.settingwords import order_lines, setting_lines
from runner.view import (
    NO_WAY,
    UNPROVED_MEANS,
    ConditionLine,
    ItemLine,
    NoticeLine,
    OwedLine,
    ProofLine,
    StepLine,
    StepView,
    View,
)


def heading(view: View) -> list[str]:
    """Return who and what this run is."""
    who = view.identity
    lines = [f"{who.title}, revision {who.revision} (for {who.fits})"]
    if not who.work_piece:
        lines += [f"Source: {source}" for source in who.sources]
    if who.rehearsal:
        lines.append("REHEARSAL: no work piece is touched; the log says so for ever.")
    if who.unproved:
        lines += [f"NOT PROVED: {who.unproved}", f"  so {UNPROVED_MEANS}."]
    if who.work_piece:
        lines.append(f"Work piece: {who.work_piece}. Performer: {who.performer} (as typed).")
    return lines


def changes(before: View | None, after: View) -> list[str]:
    """Return what changed between two pictures, and what is asked now; nothing where all is as before."""
    lines: list[str] = []
    if before is None or before.identity != after.identity:
        lines += heading(after)
    lines += _condition_changes(before, after)
    lines += _item_changes(before, after)
    lines += _owed_changes(before, after)
    if before is None:  # later the lines of the proof say it, with the act that lost it
        lines += [f"{NO_WAY}: {words}" for words in after.lost]
    else:
        lines += [f"No longer lost: {words}" for words in before.lost if words not in after.lost]
    told = before.open_points if before is not None else ()
    lines += [f"Open point {point.number}: {point.text}" for point in after.open_points if point not in told]
    lines += _step_changes(before, after)
    if before is not None and _list_goes_on(before.demand, after.demand):
        return [*lines, *_next_of_list(after)]
    if lines or before is None or before.demand != after.demand:
        lines += asked_lines(after)
    return lines


def _list_goes_on(before: Demand, after: Demand) -> bool:
    """Whether the same list is asked with fewer lines: only the next one is then read out."""
    same = (before.kind, before.prompt) == (after.kind, after.prompt)
    return same and len(after.options) < len(before.options) and set(after.options) < set(before.options)


def _next_of_list(view: View) -> list[str]:
    demand = view.demand
    if not demand.options:
        return [demand.prompt]
    left = len(demand.options) - 1
    more = f" (and {left} more; :again lists them)" if left else ""
    offers = offer_lines(view, demand.options[0].key, 1) if demand.kind == "prepare" else []
    return [f"  1. {demand.options[0].label}{more}", *offers]


def _condition_changes(before: View | None, after: View) -> list[str]:
    known = before.conditions if before is not None else ()
    return [f"Condition: {_condition(line)}" for line in after.conditions if line not in known]


def _condition(line: ConditionLine) -> str:
    words = f"{line.name} is {line.value or 'not known'}"
    if line.becoming:
        words = f"{line.name} is being changed from {line.value} to {line.becoming}"
    if line.found:
        words += f", but was found {line.found}"
    return words + (" (HAZARDOUS)" if line.hazardous else "")


def _item_changes(before: View | None, after: View) -> list[str]:
    if before is None:
        return [f"Open already: {_item(item)}" for item in after.items if item.mark in ("open", "part")]
    known = {item.key: item for item in before.items}
    return [
        f"Item: {_item(item)}"
        for item in after.items
        if item.key not in known
        or (item.state, item.mark, item.off_plan)
        != (known[item.key].state, known[item.key].mark, known[item.key].off_plan)
    ]


def _item(item: ItemLine) -> str:
    marks = {"final": " (final)", "not done": " (NOT DONE)", "not applicable": " (not applicable)"}
    mark = marks.get(item.mark, "")
    return f"{item.label}: {item.state}{mark}{', off the plan' if item.off_plan else ''}"


def _owed_changes(before: View | None, after: View) -> list[str]:
    known = {owed.key: owed for owed in before.owed} if before is not None else {}
    lines = []
    for owed in after.owed:
        was = known.get(owed.key)
        if was is None:
            lines.append(f"Put off: {_owed(owed)}")
        elif (was.status, was.ready, was.until) != (owed.status, owed.ready, owed.until):
            lines.append(f"Put-off work: {_owed(owed)}")
    left = {owed.key for owed in after.owed}
    lines += [f"No longer owed: {owed.what}" for key, owed in known.items() if key not in left]
    return lines


def _owed(owed: OwedLine) -> str:
    where = f" ({owed.where})" if owed.where else ""
    parts = [f"{owed.what.rstrip('.')}{where}"]
    parts += [f"why: {owed.why}"] if owed.why else []
    parts += [f"when: {owed.trigger}"] if owed.trigger else []
    parts += [f"last chance: before {owed.last_chance}"] if owed.last_chance else []
    parts += [f"before: {owed.before}"] if owed.before else []
    parts.append(f"{owed.status}{', can be taken up now' if owed.ready else ''}")
    return "; ".join(parts)


def _step_changes(before: View | None, after: View) -> list[str]:
    step = after.step
    if step is None:
        return []
    was = before.step if before is not None else None
    if was is None or (was.id, was.detour, was.put_off) != (step.id, step.detour, step.put_off):
        return ["", *step_lines(after)]
    new = [notice for notice in step.notices if _bare(notice) not in [_bare(old) for old in was.notices]]
    lines = [_notice(notice) for notice in new]
    if step.warn and not was.warn:
        lines.append("TIME: the time limit of this step is near.")
    return lines


def _bare(notice: NoticeLine) -> tuple[str, str, str, str]:
    return (notice.level, notice.hazard, notice.consequence, notice.avoid)


def step_lines(view: View) -> list[str]:
    """Return the step in hand, whole; nothing where there is none."""
    step = view.step
    if step is None:
        return []
    lines = [
        f"Step {view.done_steps + 1} of {view.all_steps}{_flags(view, step)}: {_where(step.place)}{step.title}"
    ]
    lines += [_notice(notice) for notice in step.notices]
    for name in ("expect", "because", "helper"):
        text = getattr(step, name)
        lines += [f"  {name}: {text}"] if text else []
    lines += [f"  tools: {', '.join(step.tools)}"] if step.tools else []
    lines += [f"  | {line}" for line in step.sketch.splitlines()] if step.sketch else []
    if step.omission_likely:
        lines.append("  This one is easily forgotten.")
    return lines


def _where(place: str) -> str:
    return f"{place}: " if place else ""


def _flags(view: View, step: StepView) -> str:
    flags = (
        ("unproved", bool(view.identity.unproved)),
        ("critical", step.critical),
        ("put off before", step.put_off),
        ("detour", step.detour),
    )
    words = [word for word, so in flags if so]
    return f" ({', '.join(words)})" if words else ""


def _notice(notice: NoticeLine) -> str:
    return f"{notice.level.upper()}: {notice.hazard} Consequence: {notice.consequence}. {notice.avoid}"


def proof_lines(answer: Iterable[ProofLine]) -> list[str]:
    """Return what the proof answers, a line each; what nothing closes any more says so itself."""
    return [f"Proof: {line.text}" for line in answer]


def demand_lines(demand: Demand, view: View | None = None) -> list[str]:
    """Return what is asked now: the sentence, the value to set with its band, the options with numbers.

    With `view` the tools of the shop stand under the lines that they would do for.
    """
    lines = [demand.prompt]
    if demand.big:
        read = demand.specified and "click" not in demand.methods
        lines.append(f"  {'pull until it reads' if read else 'set'}: {demand.big}")
    if demand.specified:
        lines.append(f"  for: {demand.specified} at the fastener")
    if demand.band:
        lines.append(f"  accepted: {demand.band}")
    elif demand.unit and not demand.big and demand.kind in ("reading", "second reading"):
        lines.append(f"  in: {demand.unit}")
    if demand.correction:
        lines.append(f"  corrected for: {demand.correction}")
    if demand.tool:
        lines.append(f"  tool: {demand.tool}")
    if demand.warning:
        lines.append(f"  WARNING: {demand.warning}")
    if demand.about:
        lines.append(f"  it is: {demand.about}")
    if len(demand.sequence) > 1:
        done = ", ".join(str(each) for each in demand.members_done) or "none"
        order = ", ".join(str(each) for each in demand.sequence)
        lines.append(f"  order: {order}; done: {done}")
        lines += [f"  stands: {words}" for words in [_stands(demand)] if words]
    if demand.role:
        lines.append(f"  by: {demand.role}")
    for number, option in enumerate(demand.options, start=1):
        lines.append(f"  {number}. {option.label}")
        lines += (
            offer_lines(view, option.key, number) if view is not None and demand.kind == "prepare" else []
        )
    if demand.lift:
        lines.append(f"  way on: {demand.lift}")
    if demand.kind == "blocked" and demand.tool:
        lines.append(
            "  by :tool NAME = OTHER: REASON, or :deviate unfit tool: REASON to use this one all the same"
        )
    return lines


def _stands(demand: Demand) -> str:
    """How the group stands, which the numbers count; empty for a line."""
    if demand.rows:
        same = len(set(demand.rows)) == 1
        each = f"{len(demand.rows)} rows of {demand.rows[0]}" if same and len(demand.rows) > 1 else ""
        rows = each or f"rows of {', '.join(str(many) for many in demand.rows)}"
        return f"in {rows}, numbered along the first row, then along the next"
    return "round a circle, numbered clockwise" if demand.circle else ""


def asked_lines(view: View) -> list[str]:
    """Return what is asked now, at a hold point with the receipt code of the record so far."""
    code = [f"  receipt code, for the job sheet: {view.receipt}"] if view.receipt else []
    return demand_lines(view.demand, view) + code


def topic(name: str, view: View) -> list[str]:
    """Return the lines of one topic that a command asks for."""
    lines = _TOPICS[name](view)
    return lines or ["None."]


def _why(view: View) -> list[str]:
    lines = asked_lines(view)
    lines += [
        f"    {label}: {words}" if label and words else f"    {label or words}".rstrip()
        for label, words in _setting_lines(view)
    ]
    if view.step is not None:
        lines += [f"  [{line.state}] {line.text}" for line in view.step.gate]
    open_ways = [offer.label for offer in view.offers if not offer.why_not]
    lines += [f"Besides: {', '.join(open_ways)}"] if open_ways else []
    lines += [f"Not now: {offer.label}: {offer.why_not}" for offer in view.offers if offer.why_not]
    lines += [f"Stock reasons: {'; '.join(view.reasons)}"] if view.reasons else []
    return lines


def _setting_lines(view: View) -> list[tuple[str, str]]:
    """How the setting was worked out, what is known of the wrench, and what an order of tightening rests on.

    Nothing of a wrench where no tool of the shop is asked.
    """
    tool = bool(view.demand.tool and (view.demand.band or view.demand.working))
    return [line for line in (*(setting_lines(view) if tool else ()), *order_lines(view)) if any(line)]


def _status(view: View) -> list[str]:
    lines = heading(view)
    lines += [f"Condition: {_condition(line)}" for line in view.conditions]
    lines += [f"Owed: {_owed(owed)}" for owed in view.owed]
    lines += [f"{NO_WAY}: {words}" for words in view.lost]
    lines += [f"Open: {_item(item)}" for item in view.items if item.mark in ("open", "part", "not done")]
    lines += [f"Open point {point.number}: {point.text}" for point in view.open_points]
    lines += [f"Pause note: {view.pause_note}"] if view.pause_note else []
    return [*lines, *step_lines(view), *asked_lines(view)]


def _numbered(texts: list[str]) -> list[str]:
    return [f"  {number}. {text}" for number, text in enumerate(texts, start=1)]


def _steps(steps: Iterable[StepLine]) -> list[str]:
    return [f"  {_where(step.place)}{step.title}{f' ({step.note})' if step.note else ''}" for step in steps]


_TOPICS: Mapping[str, Callable[[View], list[str]]] = {
    "why": _why,
    "step": lambda view: step_lines(view) + asked_lines(view),
    "status": _status,
    "back": lambda view: _steps(reversed(view.trail)),
    "ahead": lambda view: _steps(view.ahead),
    "owed": lambda view: (
        _numbered([_owed(owed) for owed in view.owed]) + [f"  {NO_WAY}: {words}" for words in view.lost]
    ),
    "items": lambda view: _numbered([_item(item) for item in view.items]),
    "tools": lambda view: list(tool_lines(view)),
    "points": lambda view: [f"  {point.number}. {point.text}" for point in view.open_points],
    "recorded": lambda view: _numbered([text for _, text in view.recorded]),
}
