"""What the run as a whole asks next: the gate of the step in hand, or what stands before it.

The order is fixed: the end; a pause; a handover; re-confirmation after a resume; the start; a stop; making safe;
prerequisites; close-out; then, while working, a found condition, owed work that is due or cued, the step's gate.
"""

from runner.job.aiming import extension_words
from runner.job.demand import Demand, Option
from runner.job.elapsed import elapsed_ms
from runner.job.gate import step_demand
from runner.job.preparing import still_to_choose, still_to_meet
from runner.job.state import Job, Owed
from runner.job.windows import (
    due_here,
    has_passed,
    in_order,
    lacking,
    latest,
    only_by_last_chance,
    ready,
    shut_by_time,
)
from runner.job.words import duration_words, owed_words, stop_words, test_words, window_words
from runner.procedure.linked import END, Node, Reading
from runner.stamp import Stamp

ABNORMAL = "Anything abnormal that the procedure does not mention? Say what, or none."


def demand(job: Job, now: Stamp | None = None) -> Demand:
    """The one thing asked now; `now` only shortens waits and finds clocks that disagree."""
    return _standing(job) or _preparing(job) or _closing(job) or _working(job, now or job.last)


def _standing(job: Job) -> Demand | None:
    if job.phase == "sealed":
        return Demand("sealed", f"This run is sealed: {job.outcome}.")
    if job.phase == "outside proof":
        return Demand(
            "outside proof",
            "The program found the work in a state that its proof excludes. Nothing more is accepted; all is recorded.",
            lift="make the work safe, abandon this run, and report the log to the author of the program",
        )
    if job.paused:
        if job.cut_off:
            return Demand("resume", "Cut off: the program ended here, and nobody had paused.")
        return Demand("resume", f"Paused: {job.pause_note}" if job.pause_note else "Paused.")
    if job.handover_to:
        said = f" {job.performer} says: {job.handover_note}" if job.handover_note else ""
        prompt = f"{job.handover_to} takes over: read the record, then say so.{said}"
        return Demand("handover", prompt, role=job.handover_to)
    if job.to_confirm:
        return Demand(
            "reconfirm",
            "Compare with the work, by paint and position. No tight fastener goes under the wrench again for this.",
            lift="what differs is said: a found condition, a reopening, another tool, or extra work"
            if job.differs
            else "",
            options=tuple(Option(key, confirm_words(job, key)) for key in job.to_confirm),
        )
    return None


def _stop(job: Job) -> Demand:
    """A stop stands behind what differs and what is due: nobody goes on from it past either.

    What may be given once more at it stands in the demand: answers, a reading, or the word of a role.
    """
    rest = (
        "take back, reopen, note, hand over, make safe and abandon, "
        "or go on by the word of someone other than the performer"
    )
    node, again = job.node, ""
    demand = Demand("stop", f"Stopped at: {stop_words(job)}")
    if node is None or job.progress.late:
        return demand.but(lift=rest)
    sorting = sorted_reading(node)
    if job.progress.hold == "refused" and node.hold is not None:
        demand, again = demand.but(role=node.hold.role), f"have the {node.hold.role} look again, "
    elif sorting is not None:
        demand, again = demand.but(subject=sorting.name, unit=sorting.unit or ""), "measure again, "
    elif node.answers and node.joint is None:
        options = tuple(Option(way.label, way.label) for way in node.answers)
        demand, again = (
            demand.but(subject="look" if node.look_for else "question", options=options),
            "look again, ",
        )
    return demand.but(lift=again + rest)


def sorted_reading(node: Node) -> Reading | None:
    """The reading of a step whose value chooses the way ahead."""
    return next((r for r in node.readings if r.sorting and r.kind == "number"), None)


def confirm_words(job: Job, key: str) -> str:
    """A thing to compare with the record after a resume."""
    kind, _, name = key.partition(":")
    if kind == "step":
        node = job.procedure.by_id[name]
        return f"Done: {node.place + ': ' if node.place else ''}{node.title}"
    if kind == "condition":
        return f"{name} is {job.conditions.get(name, 'not known')}"
    if kind == "aid":
        return f"In place: {job.procedure.item_by_key[name].label}"
    if kind == "tool":
        return f"Tool at hand: {name} {held_as(job, name)}".rstrip()
    step = name.removeprefix("in time ").removeprefix("wait ").removeprefix("no later ")
    node = job.procedure.by_id[step]
    what = "the time limit of" if name.startswith(("in time ", "no later ")) else "the wait for"
    return f"Still counting: {what} {node.place + ': ' if node.place else ''}{node.title}"


def held_as(job: Job, tool: str) -> str:
    """What is written on a tool in hand, and what is fitted to it."""
    fitted = job.extensions.get(tool)
    return f"{job.tools.get(tool, '')}{f' with {extension_words(fitted)}' if fitted else ''}"


def _preparing(job: Job) -> Demand | None:
    if job.phase == "new":
        return Demand("start", "Who does this work, and on what?", options=tuple(
            Option(counter.name, f"{counter.name} in {counter.unit}") for counter in job.procedure.counters
        ))  # fmt: skip
    if job.phase == "making safe":
        lines = tuple(
            Option(f"line:{n}", line) for n, line in enumerate(job.safe_lines) if n not in job.safe_done
        )
        if lines:
            return Demand("make safe", "Make the work safe before it is left.", options=lines)
        return Demand(
            "seal",
            "Everything is safe. Seal this run as abandoned?",
            options=(Option("abandoned", "abandoned"),),
        )
    if job.phase != "preparing":
        return None
    choice = still_to_choose(job)
    if choice is not None:
        kind = "Which location" if choice.location else "Which variant"
        return Demand(
            "choose", f"{kind}: {choice.name}?", subject=choice.name,
            options=tuple(Option(value, value) for value in choice.values),
        )  # fmt: skip
    return Demand("prepare", "Lay out and confirm one by one.", options=still_to_meet(job))


def close_out_lines(job: Job) -> tuple[Option, ...]:
    """What is still to be confirmed at the end: tools counted out, the author's lines, anything abnormal."""
    tools = [
        Option(f"tool:{tool}", f"{tool} {identity}".rstrip() + " is back")
        for tool, identity in job.tools.items()
        if tool not in job.counted_out
    ]
    lines = [
        Option(f"line:{n}", line)
        for n, line in enumerate((*job.procedure.close_out, ABNORMAL))
        if n not in job.confirmed_lines
    ]
    return (*tools, *lines)


def outcomes(job: Job) -> tuple[str, ...]:
    """How a closed-out run may be sealed."""
    return ("finished with open points",) if job.deviations else ("finished",)


def _closing(job: Job) -> Demand | None:
    if job.phase != "closing":
        return None
    lines = close_out_lines(job)
    if lines:
        return Demand("close out", "Look round once more and confirm one by one.", options=lines)
    return Demand(
        "seal",
        "Everything is done. Seal the log?",
        options=tuple(Option(outcome, outcome) for outcome in outcomes(job)),
    )


def _working(job: Job, now: Stamp | None) -> Demand:
    doubt = _doubt(job, now)
    if doubt is not None:
        return doubt
    if job.found and not job.detour:
        name, value = next(iter(job.found.items()))
        return Demand(
            "restore",
            f"{name} is {value}, the record says {job.conditions.get(name)}",
            lift=f"bring {name} back to {job.conditions.get(name)} and say so, or abandon the run",
            subject=name,
        )
    if job.hand and not job.detour and (late := job.owed[job.hand]).overdue and not late.late_allowed:
        return Demand(
            "due",
            f"The time is over for: {owed_words(job, late)}",
            lift="deviate with a reason: late, or not done",
            subject=late.key,
        )
    if not job.hand and not job.detour:
        waiting = _due(job, now) or (_cue(job) if job.phase != "stopped" else None)
        if waiting is not None:
            return waiting
    if job.phase == "stopped":
        return _stop(job)
    node = job.node
    if node is None and job.hand:
        owed = job.owed[job.hand]
        return Demand("confirm", owed.why)
    if node is None:
        return Demand("seal", "The last step is done.")
    asked = step_demand(job, node)
    if asked is None:
        return Demand("confirm", node.title)
    if asked.kind == "wait" and now is not None:
        start = wait_start(job)
        if start is not None:
            left = max(0, (node.wait or 0) - elapsed_ms(start, now)[0])
            return Demand(
                "wait",
                f"Wait: {duration_words(left)} left of {duration_words(node.wait or 0)}",
                until_ms=left,
            )
    return asked


def wait_start(job: Job) -> Stamp | None:
    """From when the wait of the step in hand counts: its last act, the end of the one before, or its arrival."""
    return job.progress.acted_at or (job.done.get(job.trail[-1]) if job.trail else job.came)


def cued(job: Job) -> tuple[Owed, ...]:
    """Owed work whose moment is now, in procedure order."""
    return in_order(job, (owed for owed in job.owed.values() if owed.status == "cued" and ready(job, owed)))


def _cue(job: Job) -> Demand | None:
    if job.progress.begun:
        return None
    now = cued(job)
    if not now:
        return None
    return Demand(
        "cue",
        f"Now is the time: {owed_words(job, now[0])}",
        options=tuple(Option(owed.key, owed_words(job, owed)) for owed in now),
    )


def _due(job: Job, now: Stamp | None) -> Demand | None:
    due = due_here(job)
    if not due:
        return None
    can = tuple(owed for owed in due if ready(job, owed) and not shut_by_time(owed))
    first = (can or due)[0]
    before = "the end" if job.at == END else f'"{job.procedure.by_id[job.at].title.rstrip(".")}"'
    lift = "take it up now" if can else _missing(job, first, now)
    lead = "First"
    if can and only_by_last_chance(job, first):
        lead = "Last chance"
        lift = "take it up now: after this step its window does not open again before it is due"
    return Demand(
        "due",
        f"{lead}, before {before}: {owed_words(job, first)}",
        lift=lift,
        options=tuple(Option(owed.key, owed_words(job, owed)) for owed in can),
        subject=first.key,
        until_ms=_left(job, first, now),
    )


def _left(job: Job, owed: Owed, now: Stamp | None) -> int:
    node = job.procedure.by_id.get(owed.node)
    window = node.put_off.until if node and node.put_off else None
    if window is None or window.kind != "time" or now is None:
        return 0
    start = latest(job, window.nodes)
    if start is None:
        return 0
    return max(0, window.time - elapsed_ms(start, now)[0])


def _missing(job: Job, owed: Owed, now: Stamp | None) -> str:
    """What a due thing that cannot be done yet is waiting for."""
    if shut_by_time(owed):
        return "its time is over: deviate with a reason, to do it late or to leave it undone"
    node = job.procedure.by_id.get(owed.node)
    window = node.put_off.until if node and node.put_off and owed.kind == "put off" else None
    if window is not None:
        left = _left(job, owed, now)
        if left and now is not None:
            then = Stamp(now.wall_ms + left, now.offset_min, 0, "").clock_text()
            return f"waiting until {then}; the run can be paused"
        return f"it waits for: {window_words(job, window)}"
    test = lacking(job, owed) if node else None
    return test_words(job, test) if test else "take it up now"


def doubts(job: Job, now: Stamp) -> tuple[str, ...]:
    """Keys of limits about which wall and running clock disagree and nobody has said anything yet."""
    found = []
    for key, start, limit in limits(job):
        if key not in job.told and has_passed(job, key, start, now, limit)[0] == "doubtful":
            found.append(key)
    return tuple(found)


def limits(job: Job) -> list[tuple[str, Stamp, int]]:
    """Every time limit that runs now: its key, where it counts from, its milliseconds."""
    running: list[tuple[str, Stamp, int]] = []
    node = job.node
    if (
        node is not None
        and node.in_time
        and not job.hand
        and not job.progress.late
        and job.phase == "working"
    ):
        start = latest(job, node.in_time.start)
        if start is not None:
            running.append((f"in time {node.id}", start, node.in_time.within))
    if node is not None and node.wait is not None and not job.progress.wait_over and job.phase == "working":
        asked = step_demand(job, node)
        start = wait_start(job)
        if start is not None and asked is not None and asked.kind == "wait":
            running.append((f"wait {node.id}", start, node.wait))
    for owed in job.owed.values():
        step = job.procedure.by_id.get(owed.node)
        if owed.kind != "put off" or step is None or step.put_off is None:
            continue
        start = latest(job, step.put_off.until.nodes)
        if step.put_off.until.kind == "time" and owed.status == "waiting" and start is not None:
            running.append((owed.key, start, step.put_off.until.time))
        if step.put_off.no_later is not None and not owed.overdue:
            start = latest(job, step.put_off.no_later[1])
            if start is not None:
                running.append((f"no later {owed.key}", start, step.put_off.no_later[0]))
    return running


def _doubt(job: Job, now: Stamp | None) -> Demand | None:
    if now is None:
        return None
    keys = doubts(job, now)
    if not keys:
        return None
    return Demand(
        "doubt",
        "The clocks disagree: has the time passed?",
        lift="say whether it has, by your own watch",
        subject=keys[0],
        options=(Option("passed", "it has passed"), Option("not yet", "not yet")),
    )
