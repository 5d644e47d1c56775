"""The gate of one step: the one thing it asks next, in fixed order, or None when everything is there.

The order: notices, needs, acts, wait, readings, look-for or question, hold point. `settle` then sets conditions
and judges windows. `demand` in `asking` puts this into the run as a whole.
"""

from dataclasses import replace

from runner.job.aiming import aim
from runner.job.demand import Demand, Option
from runner.job.holding import unmet
from runner.job.items import Fault
from runner.job.state import Job
from runner.job.tightening import Turn, torque_stage, turn
from runner.job.words import (
    VERB_DONE,
    about_words,
    duration_words,
    owed_words,
    place_of,
    round_words,
    test_finding,
    test_words,
    tool_words,
)
from runner.job.working_out import workings
from runner.procedure.linked import Act, Interval, Node, Reading, Test


def step_demand(job: Job, node: Node) -> Demand | None:
    """What the step in hand asks next; None when its gate is through."""
    progress = job.progress
    if progress.late or progress.hold == "refused":
        return None
    asked = (
        _notice(job, node)
        or _need(job, node)
        or _acts(job, node)
        or _wait(job, node)
        or _readings(job, node)
        or _question(job, node)
        or _hold(job, node)
    )
    # A critical step makes all of it critical, whatever its items and readings say of themselves.
    return replace(asked, critical=True) if asked is not None and node.critical else asked


def interval_words(band: Interval | None) -> str:
    """A band as it stands beside the field."""
    return band.text if band else ""


def _notice(job: Job, node: Node) -> Demand | None:
    for index, notice in enumerate(node.notices):
        if notice.injury and index not in job.progress.acknowledged:
            return Demand("acknowledge", f"{notice.hazard} {notice.avoid}", index=index, subject=notice.level)
    return None


def _need(job: Job, node: Node) -> Demand | None:
    test = unmet(job, _still_needed(job, node)) if "need" not in job.progress.waived else None
    if test is None:
        return _sets_allowed(job, node)
    return Demand(
        "blocked",
        f"{place_of(node)}{node.title} cannot be done yet: {test_finding(job, test)}",
        lift=test_words(job, test),
        subject="need",
        critical=node.critical,
    )


def _still_needed(job: Job, node: Node) -> tuple[Test, ...]:
    """The needs of a step; its own acts change its items, so their state is asked only before the first act."""
    if job.progress.acted_at is None:
        return node.needs
    own = {act.item for act in node.acts}
    return tuple(test for test in node.needs if test.kind != "item" or test.name not in own)


def _sets_allowed(job: Job, node: Node) -> Demand | None:
    for name, value in node.sets:
        now = job.found.get(name) or job.conditions.get(name, value)
        if not job.procedure.condition_by_name[name].may_become(now, value):
            return Demand(
                "blocked",
                f"{name} may not go from {now} to {value}",
                lift=f"{name} must first be at a value from which {value} is allowed",
                subject="change",
            )
    return None


def acts_in_scope(job: Job, node: Node) -> tuple[int, ...]:
    """Numbers of the acts asked: all, or those a step owed again is narrowed to."""
    scope = job.scope
    if scope is None:
        return tuple(range(len(node.acts)))
    return scope.acts


def _acts(job: Job, node: Node) -> Demand | None:
    scope = job.scope
    if scope is not None and scope.what.startswith("member"):
        return _member_again(job, node, scope.what)
    for index in acts_in_scope(job, node):
        if index in job.progress.acts or job.ledger[node.acts[index].item].not_applicable:
            continue
        if scope is not None and _done_since(job, index, node.acts[index]):
            continue
        return _act(job, node, index)
    if scope is None and not node.acts and node.do and not job.progress.confirmed:
        return Demand("confirm", node.do, critical=node.critical)
    return None


def _done_since(job: Job, index: int, act: Act) -> bool:
    """Whether the stages owed again were reached meanwhile by another step that tightens all not yet done."""
    return act.verb == "tightens" and turn(job, index, act) is None


def _act(job: Job, node: Node, index: int) -> Demand:
    act = node.acts[index]
    item = job.procedure.item_by_key[act.item]
    if act.verb == "tightens" or (act.verb == "re-tightens" and torque_stage(item)):
        whose = turn(job, index, act)
        if whose is not None:
            return (
                _blocked(job, index, act, whose.fault, whose)
                if whose.fault
                else _tighten(job, index, act, whose)
            )
    operation = "tightens 1" if act.verb == "tightens" else act.verb
    move = job.table_of(act.item).move(job.state_of(act.item), operation)
    if isinstance(move, Fault):
        return _blocked(job, index, act, move, None)
    if act.verb in ("starts", "fits") and item.new_every_time and not job.ledger[act.item].fresh:
        part = next((p for p in job.procedure.parts if p.name == item.part), None)
        number = f", part number {part.number}" if part and part.number else ""
        return Demand(
            "new part",
            f"Take a new {item.part or item.name}{number} for {item.label}: single use",
            subject=act.item,
            index=index,
            critical=item.critical,
        )
    many = f" (all {item.count})" if item.count > 1 else ""
    return Demand(
        "act",
        f"{VERB_DONE[act.verb]} {item.label}{many}",
        subject=act.item,
        index=index,
        critical=item.critical,
    )


def _blocked(job: Job, index: int, act: Act, fault: Fault, whose: Turn | None) -> Demand:
    item = job.procedure.item_by_key[act.item]
    number = f" number {whose.member}" if whose and item.count > 1 else ""
    return Demand(
        "blocked",
        f"{VERB_DONE[act.verb]} {item.label}{number}: it {fault.why}",
        lift=fault.lift,
        subject=act.item,
        index=index,
        stage=whose.stage if whose else 0,
        member=whose.member if whose else 0,
        critical=item.critical,
    )


def _tighten(job: Job, index: int, act: Act, whose: Turn) -> Demand:
    item = job.procedure.item_by_key[act.item]
    stage = item.stages[whose.stage - 1]
    members = job.ledger[act.item].members
    number = f", number {whose.member} of {item.count}" if item.count > 1 else ""
    rounds = f", round {whose.stage} of {len(item.stages)}" if len(item.stages) > 1 and item.count > 1 else ""
    if act.verb == "re-tightens":
        done = tuple(m for m in stage.sequence if f"act {index} {m}" in job.progress.taken)
        operation = "re-tightens"
    else:
        done = tuple(
            m
            for m in stage.sequence
            if members[m - 1].startswith("stage ") and int(members[m - 1][6:]) >= whose.stage
        )
        operation = f"tightens {whose.stage}"
    move = job.table_of(act.item).move(members[whose.member - 1], operation)
    assert isinstance(move, str)
    prompt = f"{VERB_DONE[act.verb]} {item.label}{number}{rounds}{round_words(stage)}"
    return _turn_demand(job, index, act, whose, prompt).but(
        sequence=stage.sequence,
        members_done=done,
        order=stage.order if item.count > 1 else "",
        rows=item.rows,
        circle=item.in_circle,
    )


def _turn_demand(job: Job, index: int, act: Act, whose: Turn, prompt: str) -> Demand:
    """One fastener at one stage, as it is asked whether it is its turn or once more."""
    item = job.procedure.item_by_key[act.item]
    stage = item.stages[whose.stage - 1]
    aimed = aim(job, index, act, item, whose.stage)
    if aimed is not None and aimed.setting is None:
        shut = _blocked(job, index, act, Fault("", aimed.lift), whose)
        return shut.but(prompt=f"{prompt}: {aimed.trouble}", tool=aimed.wrench.label)
    asked = Demand(
        "tighten",
        prompt,
        subject=act.item,
        index=index,
        big=_setting(stage.target, stage.unit) or stage.text,
        band=interval_words(stage.band),
        unit=stage.unit or "",
        tool=tool_words(job, act.tool),
        methods=("snug",) if stage.kind == "snug" else stage.methods,
        stage=whose.stage,
        stages=len(item.stages),
        member=whose.member,
        sequence=(whose.member,),
        critical=item.critical,
        about=about_words(item),
    )
    if aimed is None or aimed.setting is None:
        return asked
    return asked.but(
        big=aimed.big,
        specified=asked.big,
        unit=aimed.setting.unit,
        correction=aimed.correction,
        warning=aimed.setting.warning,
        methods=aimed.methods,
        working=aimed.setting.working,
    )


def _setting(target: str | None, unit: str | None) -> str:
    if target is None or unit is None:
        return ""
    return f"{target}{unit}" if unit in ("°",) else f"{target} {unit}"


def _member_again(job: Job, node: Node, what: str) -> Demand | None:
    """One fastener whose corrected value the gate would refuse: the same stage once more."""
    if "again" in job.progress.waived or job.progress.acts:
        return None
    index, key, stage, member = what.removeprefix("member ").split("|")
    act = node.acts[int(index)]
    whose = Turn(int(stage), int(member), last=True)
    demand = _tighten_again(job, int(index), act, whose)
    assert key == act.item
    return demand


def _tighten_again(job: Job, index: int, act: Act, whose: Turn) -> Demand:
    item = job.procedure.item_by_key[act.item]
    stage = item.stages[whose.stage - 1]
    test = unmet(job, stage.only_when)
    if test is not None:
        fault = Fault(f"cannot get {stage.text} now: {test_finding(job, test)}", test_words(job, test))
        return _blocked(job, index, act, fault, whose)
    number = f", number {whose.member} of {item.count}" if item.count > 1 else ""
    prompt = f"Tighten again {item.label}{number}: the corrected value is outside its band"
    return _turn_demand(job, index, act, whose, prompt)


def _wait(job: Job, node: Node) -> Demand | None:
    if node.wait is None or job.progress.wait_over or (job.scope is not None and job.scope.what != "acts"):
        return None
    return Demand("wait", f"Wait {duration_words(node.wait)}", until_ms=node.wait)


def readings_in_scope(job: Job, node: Node) -> tuple[Reading, ...]:
    """The readings asked: all, or those a step owed again is narrowed to."""
    scope = job.scope
    if scope is None or scope.what == "acts":
        return node.readings
    return tuple(r for r in node.readings if scope.what == f"reading {r.name}")


def _readings(job: Job, node: Node) -> Demand | None:
    for reading in readings_in_scope(job, node):
        if f"reading {reading.name}" in job.progress.waived:
            continue
        demand = _worked_out(job, node, reading) if reading.kind == "worked out" else _reading(job, reading)
        if demand is not None:
            return demand
    return None


def _worked_out(job: Job, node: Node, reading: Reading) -> Demand | None:
    if job.progress.out_of_band == reading.name:
        return Demand(
            "worked out",
            f"{reading.what} is outside {interval_words(reading.band)}",
            lift="correct a reading that went into it, or deviate with a reason",
            subject=reading.name,
            band=interval_words(reading.band),
            unit=reading.unit or "",
            critical=reading.critical,
            about=workings(job, node, reading),
        )
    return None


def _reading(job: Job, reading: Reading) -> Demand | None:
    taken = job.progress.taken.get(reading.name, 0)
    second_due = reading.blind_second and taken and f"{reading.name} {taken}" not in job.progress.seconds
    if taken >= reading.times and not second_due:
        return None
    times = f" ({taken + (0 if second_due else 1)} of {reading.times})" if reading.times > 1 else ""
    return Demand(
        "second reading" if second_due else "reading",
        f"{reading.what}{times}",
        subject=reading.name,
        band=interval_words(reading.band),
        unit=reading.unit or reading.text_kind or reading.kind,
        time_index=taken if second_due else taken + 1,
        times=reading.times,
        role="a second person" if second_due else "",
        critical=reading.critical,
    )


def _question(job: Job, node: Node) -> Demand | None:
    if not node.answers or job.progress.answer or (job.scope is not None and job.scope.what != "acts"):
        return None
    options = tuple(Option(way.label, way.label) for way in node.answers)
    if node.look_for:
        return Demand("look", node.look_for, options=options, critical=node.critical)
    return Demand("question", node.ask or node.title, options=options, critical=node.critical)


def _hold(job: Job, node: Node) -> Demand | None:
    if node.hold is None or job.progress.hold:
        return None
    scope = job.scope
    if scope is not None and scope.what not in ("acts", "hold"):
        return None
    again = [
        owed for owed in job.owed.values() if owed.kind == "again" and owed.what != "hold" and not job.hand
    ]
    if again:
        return Demand(
            "due",
            f"First, before this hold point: {owed_words(job, again[0])}",
            lift="take it up now",
            options=tuple(Option(owed.key, owed_words(job, owed)) for owed in again),
            subject=again[0].key,
        )
    return Demand(
        "hold",
        node.hold.asks,
        lift=f"fetch a {node.hold.role} who did not do this step",
        role=node.hold.role,
        critical=node.critical,
    )
