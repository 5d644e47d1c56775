"""Later words about earlier work: corrections, taking back, not applicable, extra work, found conditions."""

from decimal import Decimal

from runner.job import actions as a
from runner.job import events as e
from runner.job.aiming import said_again
from runner.job.at_gate import asked, not_now, performed, read_value
from runner.job.draft import Draft
from runner.job.owing import lapse, owe, settle_debt
from runner.job.putting_off import decides_later
from runner.job.refusal import Refusal
from runner.job.settle import arrive
from runner.job.state import Job
from runner.job.values import Value, outside, parse
from runner.job.words import place_of
from runner.job.working_out import sorted_label, users, work_out_again, worked_out
from runner.procedure.linked import DETOUR, STOP, Node
from runner.quantities import convert


def correct(draft: Draft, action: a.Correct) -> Refusal | None:
    """A later entry for an earlier one; it meets the same gate. Answers are asked again instead."""
    job = draft.job
    if not action.reason.strip():
        return Refusal("a correction has a reason", "say why")
    if action.key.startswith("answer "):
        return _ask_again(draft, action.key.removeprefix("answer "), action.reason.strip())
    record = job.recorded.get(action.key)
    if record is None or record.held.method == "worked out":
        return Refusal("nothing of that key is recorded", "choose from what was recorded")
    node = job.procedure.by_id[record.node]
    if isinstance(record.held, e.Tightened):
        return _correct_tightening(draft, action, record.held, node)
    if isinstance(record.held, e.ReadingTaken):
        return _correct_reading(draft, action, record.held, node)
    return Refusal("this entry cannot be corrected", "note what is wrong, or reopen")


def _correct_tightening(draft: Draft, action: a.Correct, held: e.Tightened, node: Node) -> Refusal | None:
    job = draft.job
    stage = job.procedure.item_by_key[held.item].stages[held.stage - 1]
    if stage.unit is None:
        return Refusal("this stage has no value", "reopen the item, with its state now")
    value = _read_again(action.raw, held, stage.unit)
    if isinstance(value, Refusal):
        return value
    stands = outside(value, stage.band) is None
    _corrected(draft, action, held, value, stands=stands)
    if stands:
        settle_debt(draft, f"correction {action.key}")
    else:
        what = f"member {held.act}|{held.item}|{held.stage}|{held.member}"
        owe(
            draft,
            f"correction {action.key}",
            node,
            "the corrected value is outside its band",
            what,
            held.item,
        )
        lapse(draft, {held.item}, node)
    return None


def _read_again(raw: str, held: e.Tightened, unit: str) -> Value | Refusal:
    """The value as it should have been read: on the wrench; at the fastener where an extension stood between."""
    if not held.wrench_unit or held.correction:
        return parse(raw, unit)
    read = parse(raw, held.wrench_unit)
    if isinstance(read, Refusal):
        return read
    given = convert(read.number, held.wrench_unit, unit)
    return Value(read.raw, f"{given:f}", unit, read.value, read.unit)


def _correct_reading(draft: Draft, action: a.Correct, held: e.ReadingTaken, node: Node) -> Refusal | None:
    job = draft.job
    reading = next(r for r in node.readings if r.name == held.name)
    value = read_value(reading, action.raw)
    if isinstance(value, Refusal):
        return value
    if held.second and performed(job, node, action.who):
        return Refusal(
            f"{action.who} did this step and cannot give its second reading",
            "fetch who gave it, or someone else who did not do the step",
        )
    if reading.sorting and job.answers.get(node.id) not in (None, sorted_label(reading, value.number)):
        return _ask_again(draft, node.id, action.reason.strip())
    stands = reading.kind != "number" or outside(value, reading.band) is None
    _corrected(draft, action, held, value, stands=stands)
    if stands:
        settle_debt(draft, f"correction {action.key}")
    else:
        why = "the corrected value is outside its band"
        owe(draft, f"correction {action.key}", node, why, f"reading {reading.name}", "")
        lapse(draft, {act.item for act in node.acts}, node)
    refused = _sort_anew(draft, action)
    if refused is None:
        work_out_again(draft, action.key)
    return refused


def _sort_anew(draft: Draft, action: a.Correct) -> Refusal | None:
    """Where a value worked out from the reading chose a way and would now choose another: as for an answer."""
    for node, reading in users(draft.job, action.key):
        value = worked_out(draft.job, node, reading).value
        label = sorted_label(reading, Decimal(value)) if value else ""
        if reading.sorting and draft.job.answers.get(node.id) not in (None, label):
            return _ask_again(draft, node.id, action.reason.strip())
    return None


def _corrected(draft: Draft, action: a.Correct, held: e.Held, value: Value, *, stands: bool) -> None:
    draft.add(
        e.Corrected(
            key=action.key,
            reason=action.reason.strip(),
            stands=stands,
            was=f"{held.value} {held.unit}".strip(),
            raw=value.raw,
            value=value.value,
            unit=value.unit,
            method="measured" if held.method in ("click", "by mark", "by feel") else held.method,
            tool=held.tool,
            wrench_value=value.wrench_value,
            wrench_unit=value.wrench_unit,
            **said_again(held, value),
            low=held.low,
            high=held.high,
        )
    )


def _ask_again(draft: Draft, name: str, reason: str) -> Refusal | None:
    """Withdraw an answer where nothing was done on its strength yet; else say what to bring back first."""
    job = draft.job
    node = job.procedure.by_id.get(name)
    if node is None or job.answers.get(name, "too late") == "too late":
        return Refusal("nothing was answered there", "choose from what was recorded")
    if node.id not in job.trail:
        return _answer_in_hand(draft, node, reason)
    position = len(job.trail) - 1 - job.trail[::-1].index(node.id)
    since = [job.procedure.by_id[step] for step in job.trail[position + 1 :]]
    if since or job.progress.begun or job.hand or job.detour or node.sets or not _led_here(job, node):
        done = [f"{place_of(step)}{step.title}" for step in since] or [node.title]
        return Refusal("the work has gone on from that answer", f"bring back first: {'; '.join(done[:6])}")
    draft.add(e.AskedAgain(node=node.id, reason=reason, loop=_way_back_taken(job, node)))
    for owed in list(job.owed.values()):
        if owed.kind == "put off" and owed.listed_at == len(job.trail):
            draft.add(e.OwedDropped(key=owed.key))
    return None


def _led_here(job: Job, node: Node) -> bool:
    """Whether the main line stands where it was led from this step: not so from one of a detour that is over, nor from
    one that was put off and is done now.
    """
    if node.id.startswith(DETOUR):
        return False
    return node.put_off is None or job.came == job.done[node.id]


def _way_back_taken(job: Job, node: Node) -> str:
    """The limit under which the answer led back to an earlier step, or nothing: that time is not counted."""
    way = next((way for way in node.exits if way.label == job.answers[node.id]), None)
    taken = ""
    while way is not None and way.limit is not None:
        if job.loops.get(way.limit.id, 0) and way.to == job.at:
            taken = way.limit.id
        way = way.limit.then
    return taken


def _answer_in_hand(draft: Draft, node: Node, reason: str) -> Refusal | None:
    job = draft.job
    # An answer of an earlier round is none of this one: asking it again would pass the rest of the gate.
    if job.node is None or job.node.id != node.id or job.hand or job.detour or not job.progress.answer:
        return Refusal("that question is not in hand", "choose from what was recorded")
    draft.add(e.AskedAgain(node=node.id, reason=reason))
    return None


def take_back(draft: Draft, action: a.TakeBack) -> Refusal | None:
    """Undo the latest act in the record; both entries stay."""
    if draft.job.before is None:
        return Refusal(
            "there is nothing to take back",
            "a hold point, a handover, a resume or a seal stands; correct, reopen or note instead",
        )
    draft.add(e.TakenBack(reason=action.reason.strip()))
    return None


def not_applicable(draft: Draft, action: a.NotApplicable) -> Refusal | None:
    """Say that this work piece does not have an item, or a step that acts on nothing and sets nothing."""
    job = draft.job
    if not action.reason.strip():
        return Refusal("not applicable has a reason", "say why")
    if job.phase != "working" or job.hand or job.detour:
        return Refusal("not now", "finish what is in hand first")
    if job.found:
        return not_now(asked(draft))
    if action.subject:
        return _item_not_applicable(draft, action)
    node = job.node
    if node is None or node.acts or node.sets or node.hold is not None or _chooses(job, node):
        return Refusal(
            "only a step that acts on nothing, sets nothing and chooses no way can be not applicable",
            "do it, or deviate with a reason",
        )
    if job.progress.begun:
        return Refusal(f'"{node.title.rstrip(".")}" has been begun', "finish it, or take back")
    draft.add(e.NotApplicableSaid(node=node.id, reason=action.reason.strip()))
    arrive(draft, draft.job.at)
    return None


def _chooses(job: Job, node: Node) -> bool:
    """Whether the way ahead, here or later, is decided by what is answered at this step."""
    return bool({way.to for way in node.exits} - {STOP, node.next}) or decides_later(job, node)


def _item_not_applicable(draft: Draft, action: a.NotApplicable) -> Refusal | None:
    job = draft.job
    item = job.procedure.item_by_key.get(action.subject)
    if item is None:
        return Refusal("no item of that name", "choose from the ledger")
    state = job.ledger[item.key]
    touched = any(
        act.item == item.key for name in job.done for act in job.procedure.by_id[name].acts
    ) or any(act.item == item.key and index in job.progress.acts
             for index, act in enumerate(job.node.acts if job.node else ()))  # fmt: skip
    touched = touched or any(
        isinstance(record.held, e.Tightened) and record.held.item == item.key
        for record in job.recorded.values()
    )
    if touched or any(member != item.at_start for member in state.members):
        return Refusal(f"{item.label} has been worked on", "deviate, or reopen it")
    if state.not_applicable:
        return Refusal(f"{item.label} is not applicable already", "go on")
    node = job.node
    draft.add(e.NotApplicableSaid(node=node.id if node else "", item=item.key, reason=action.reason.strip()))
    for key, owed in list(draft.job.owed.items()):
        step = draft.job.procedure.by_id.get(owed.node)
        if step and step.acts and all(draft.job.ledger[act.item].not_applicable for act in step.acts):
            draft.add(e.OwedDropped(key=key))
    if node is not None and node.acts and all(draft.job.ledger[act.item].not_applicable for act in node.acts):
        arrive(draft, draft.job.at)
    return None


def extra_work(draft: Draft, action: a.ExtraWork) -> Refusal | None:
    """One typed line: something opened or broken that the procedure does not name; owed before the end."""
    job = draft.job
    if not action.text.strip():
        return Refusal("extra work is one line of text", "say what was opened or broken")
    if job.phase not in ("working", "stopped", "closing"):
        return Refusal("extra work belongs between start and seal", "note it instead")
    draft.add(e.ExtraWorkAdded(key=f"extra {job.extra + 1}", text=action.text.strip()))
    return None


def extra_work_done(draft: Draft, action: a.ExtraWorkDone) -> Refusal | None:
    """The extra work is closed again."""
    owed = draft.job.owed.get(action.key)
    if owed is None or owed.kind != "extra":
        return Refusal("no extra work of that name is open", "choose from the put-off list")
    if draft.job.hand == action.key:
        return Refusal("it is in hand", "confirm it")
    draft.add(e.ExtraWorkFinished(key=action.key, said=action.said.strip()))
    return None


def found_condition(draft: Draft, action: a.FoundCondition) -> Refusal | None:
    """A condition is seen to differ from the record; the main line waits until it is restored."""
    job = draft.job
    condition = job.procedure.condition_by_name.get(action.name)
    if condition is None or action.value not in condition.values:
        known = ", ".join(condition.values) if condition else ", ".join(job.procedure.condition_by_name)
        return Refusal("no such condition or value", f"say one of: {known}")
    if job.phase not in ("working", "stopped") or job.detour:
        return Refusal("not now", "finish what is in hand first")
    now = job.found.get(action.name) or job.conditions.get(action.name)
    if action.value == now:
        return Refusal(f"{action.name} is {now} in the record too", "go on")
    detour = dict(condition.getting_there).get(job.conditions.get(action.name, ""))
    if action.value == job.conditions.get(action.name) and detour is not None:
        return Refusal("there is a written way back", "take the detour that is shown")
    draft.add(e.ConditionFound(name=action.name, value=action.value))
    return None


def note(draft: Draft, action: a.Note) -> Refusal | None:
    """A remark for the log."""
    if not action.text.strip():
        return Refusal("an empty note says nothing", "type the note")
    node = draft.job.node
    draft.add(e.Noted(node=node.id if node else "", text=action.text.strip()))
    return None
