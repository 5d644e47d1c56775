"""Answers to what the gate of a step asks: each is checked against the demand and nothing else is accepted."""

from decimal import Decimal

from runner.job import actions as a
from runner.job import events as e
from runner.job.aiming import Aim, aim, as_read, as_set, said_of_band
from runner.job.asking import demand, sorted_reading
from runner.job.demand import Demand
from runner.job.draft import Draft
from runner.job.keys import reading_key
from runner.job.refusal import Refusal
from runner.job.state import Job, same_person
from runner.job.tightening import next_state, pending
from runner.job.values import Value, outside, parse, too_long
from runner.job.words import item_words, owed_words, tool_words
from runner.joint.wrench import Wrench
from runner.procedure.linked import Interval, Node, Reading
from runner.quantities import kind_of

LOOKED_AGAIN = "looked again at the stop"


def asked(draft: Draft) -> Demand:
    """What is asked at the moment of the action."""
    return demand(draft.job, draft.stamp)


def not_now(wanted: Demand) -> Refusal:
    """Refuse what the gate does not ask for, saying what it asks."""
    return Refusal(f"not now: {wanted.prompt}", wanted.lift or "answer what is asked first")


def acknowledge(draft: Draft, action: a.Acknowledge) -> Refusal | None:
    """The next injury notice is acknowledged, one at a time and in order."""
    wanted = asked(draft)
    if wanted.kind != "acknowledge" or wanted.index != action.notice:
        return not_now(wanted)
    draft.add(e.Acknowledged(node=_node(draft.job).id, notice=action.notice))
    return None


def confirm_part(draft: Draft, action: a.ConfirmPart) -> Refusal | None:
    """A new single-use part is at hand."""
    wanted = asked(draft)
    if wanted.kind != "new part" or wanted.subject != action.item:
        return not_now(wanted)
    node = _node(draft.job)
    draft.add(e.PartConfirmed(node=node.id, item=action.item, number=action.number.strip()))
    return None


def do(draft: Draft, action: a.Do) -> Refusal | None:
    """An act, or a step without acts on items."""
    wanted, job = asked(draft), draft.job
    if wanted.kind == "confirm" and action.act is None:
        node = job.node
        if node is None:
            owed = job.owed[job.hand]
            draft.add(e.ExtraWorkFinished(key=owed.key))
            draft.add(e.OwedDone(key=owed.key))
            return None
        draft.add(e.Confirmed(node=node.id))
        return None
    if wanted.kind != "act" or wanted.index != action.act:
        return not_now(wanted)
    node = _node(job)
    act = node.acts[wanted.index]
    state = job.table_of(act.item).move(job.state_of(act.item), act.verb)
    assert isinstance(state, str)
    draft.add(e.Acted(node=node.id, act=wanted.index, item=act.item, verb=act.verb, state=state))
    return None


def tighten(draft: Draft, action: a.Tighten) -> Refusal | None:
    """One fastener at one stage, by the method allowed; a measured value is held against its band."""
    wanted, job = asked(draft), draft.job
    if wanted.kind != "tighten":
        return not_now(wanted)
    if (action.item, action.stage, action.member) != (wanted.subject, wanted.stage, wanted.member):
        return Refusal(
            f"that is not the next one: {wanted.prompt}",
            "keep the order, or deviate with a reason (different order)",
        )
    if action.method not in wanted.methods:
        return Refusal(
            f"{action.method} does not show {wanted.big}",
            f"use {' or '.join(wanted.methods)}; by feel is a deviation with a reason",
        )
    if action.method != "measured" and action.raw.strip():
        return Refusal(
            f"{action.method} takes no number, and {action.raw.strip()[:40]!r} was typed",
            "leave the number out; a value that was read is entered as measured, where that is asked",
        )
    stage = job.procedure.item_by_key[action.item].stages[action.stage - 1]
    aimed = aim_of(job, wanted)
    value = Value("", stage.target or "", stage.unit or "")
    if action.method == "measured":
        parsed = as_read(aimed, action.raw, stage)
        if isinstance(parsed, Refusal):
            return parsed
        set_to = aimed.setting.exact if aimed and aimed.setting else None
        refused = outside(parsed, stage.band, _previous(job, action.item), set_to)
        if refused is not None:
            return refused
        value = parsed
    elif aimed is not None and action.method == "click":
        value = as_set(aimed, stage)
    draft.add(tightened(draft, wanted, value, action.method))
    return None


def aim_of(job: Job, wanted: Demand) -> Aim | None:
    """What the wrench in hand is set to for the fastener asked for, where that is known."""
    node = _node(job)
    act = node.acts[wanted.index]
    return aim(job, wanted.index, act, job.procedure.item_by_key[act.item], wanted.stage)


def tightened(draft: Draft, wanted: Demand, value: Value, method: str) -> e.Tightened:
    """The event of one fastener tightened as `wanted` asks."""
    job, node = draft.job, _node(draft.job)
    act = node.acts[wanted.index]
    item = job.procedure.item_by_key[act.item]
    stage = item.stages[wanted.stage - 1]
    state = next_state(act, job.ledger[act.item].members[wanted.member - 1], wanted.stage)
    again = job.scope is not None and job.scope.what.startswith("member")
    if again:
        state = job.ledger[act.item].members[wanted.member - 1]
    return e.Tightened(
        node=node.id,
        act=wanted.index,
        item=act.item,
        stage=wanted.stage,
        member=wanted.member,
        state=state,
        target=stage.target or "",
        last=again or len(pending(job, wanted.index, act)) == 1,
        raw=value.raw,
        value=value.value,
        unit=value.unit,
        method=method,
        tool=tool_words(job, act.tool),
        wrench_value=value.wrench_value,
        wrench_unit=value.wrench_unit,
        correction=value.correction,
        **said_of_band(
            job.wrenches.get(act.tool or ""), value, stage.band, job.extensions.get(act.tool or "")
        ),
        low=stage.band.low if stage.band else None,
        high=stage.band.high if stage.band else None,
    )


def _previous(job: Job, item: str) -> Decimal | None:
    """What was read on the fastener of the group before: on the wrench, where that is another number."""
    for record in reversed(list(job.recorded.values())):
        held = record.held
        if isinstance(held, e.Tightened) and held.item == item and held.method == "measured" and held.value:
            return Decimal(held.wrench_value or held.value)
    return None


def read(draft: Draft, action: a.Read) -> Refusal | None:
    """A reading, or the second person's blind reading."""
    wanted, job = asked(draft), draft.job
    sorted_one = _sorted_reading(job) if wanted.kind == "stop" else None
    again = sorted_one is not None
    if wanted.kind not in ("reading", "second reading") and not again:
        return not_now(wanted)
    node = _node(job)
    reading = next((r for r in node.readings if r.name == action.name and r.kind != "worked out"), None)
    if reading is None or action.name != (sorted_one.name if sorted_one else wanted.subject):
        return not_now(wanted)
    if wanted.kind == "second reading" and performed(job, node, action.who):
        return Refusal(
            f"{action.who} did this step and cannot give its second reading",
            "fetch someone who has not seen the first",
        )
    value = read_value(reading, action.raw)
    if isinstance(value, Refusal):
        return value
    refused = outside(value, reading.band) if reading.kind == "number" else None
    if refused is not None:
        return refused
    if again and not job.progress.answer:
        draft.add(e.AskedAgain(node=node.id, reason=LOOKED_AGAIN))
        again = False
    draft.add(reading_taken(draft, node, reading, value, second=wanted.kind == "second reading", again=again))
    if again:
        _sort_again(draft, node, reading, value)
    return None


def read_value(reading: Reading, raw: str) -> Value | Refusal:
    """The typed text of a reading: a number in its unit, a text, or a photo's path and SHA-256."""
    if reading.kind == "number":
        return parse(raw, reading.unit or "ratio")
    text = raw.strip()
    refused = too_long(text)
    if refused is not None:
        return refused
    if not text:
        return Refusal(f"{reading.what}: nothing was typed", f"type the {reading.text_kind or reading.kind}")
    if reading.kind == "photo":
        path, _, digest = text.rpartition(" ")
        if not path or len(digest) != 64 or any(c not in "0123456789abcdef" for c in digest):
            return Refusal(
                "a photo is recorded by its path and SHA-256", "type the path, a blank and 64 hex digits"
            )
    return Value(raw, text, reading.text_kind or reading.kind)


def reading_taken(
    draft: Draft, node: Node, reading: Reading, value: Value, *, second: bool = False, again: bool = False,
    method: str = "measured",
) -> e.ReadingTaken:  # fmt: skip
    """The event of a reading as entered."""
    band: Interval | None = reading.band
    taken = draft.job.progress.taken.get(reading.name, 0)
    wrench = _measured_with(draft.job, node, reading)
    return e.ReadingTaken(
        node=node.id,
        name=reading.name,
        index=taken if second or again else taken + 1,
        second=second,
        raw=value.raw,
        value=value.value,
        unit=value.unit,
        method=method if reading.kind == "number" else reading.kind,
        tool=tool_words(draft.job, node.tools[0] if node.tools else None),
        **said_of_band(wrench, value, band if reading.kind == "number" else None),
        low=band.low if band else None,
        high=band.high if band else None,
    )


def _measured_with(job: Job, node: Node, reading: Reading) -> Wrench | None:
    """The tool of the toolbox that the step names first, where it measures this kind of reading."""
    wrench = job.wrenches.get(node.tools[0]) if node.tools else None
    if wrench is None or reading.unit is None or kind_of(wrench.unit) != kind_of(reading.unit):
        return None
    return wrench


def _sorted_reading(job: Job) -> Reading | None:
    """At a stop that a sorted reading led to: that reading, which may be taken again."""
    node = job.node
    if node is None or job.phase != "stopped" or job.progress.late or job.progress.hold == "refused":
        return None
    return sorted_reading(node)


def _sort_again(draft: Draft, node: Node, reading: Reading, value: Value) -> None:
    for sorting in reading.sorting:
        if sorting.band is None or sorting.band.holds(value.number):
            draft.add(e.Answered(node=node.id, label=sorting.exit.label, by="sorted"))
            return


def look(draft: Draft, action: a.Look) -> Refusal | None:
    """What was seen, asked as a look-for (and looked at again at a stop)."""
    return _answer(draft, action.label, "look")


def answer(draft: Draft, action: a.Answer) -> Refusal | None:
    """The answer to a question (and given again at a stop)."""
    return _answer(draft, action.label, "question")


def _answer(draft: Draft, label: str, kind: str) -> Refusal | None:
    wanted, job = asked(draft), draft.job
    node = job.node
    stopped = wanted.kind == "stop" and not job.progress.late and job.progress.hold != "refused"
    if node is None or not node.answers or (wanted.kind != kind and not stopped):
        return not_now(wanted)
    if stopped and (kind == "look") != bool(node.look_for):
        return not_now(wanted)
    if label not in {way.label for way in node.answers}:
        return Refusal(
            f"{label!r} is not one of the answers",
            f"say one of: {', '.join(way.label for way in node.answers)}",
        )
    if stopped and not job.progress.answer:
        # The stop stands behind this step, at a way back that is used up: its question is asked again here.
        draft.add(e.AskedAgain(node=node.id, reason=LOOKED_AGAIN))
    draft.add(e.Answered(node=node.id, label=label, by="look" if node.look_for else "question"))
    return None


def release(draft: Draft, action: a.Release) -> Refusal | None:
    """A hold point, released or refused by someone who did not do the step."""
    wanted, job = asked(draft), draft.job
    again = wanted.kind == "stop" and job.progress.hold == "refused"
    if wanted.kind != "hold" and not again:
        return not_now(wanted)
    node = _node(job)
    assert node.hold is not None
    if performed(job, node, action.who) or same_person(action.who, job.performer):
        return Refusal(
            f"{action.who} does this work and cannot release its hold point",
            f"fetch a {node.hold.role} who did not do this step",
        )
    owing = [owed for owed in job.owed.values() if owed.kind == "again" and owed.what != "hold"]
    if again and owing and not job.hand:
        return Refusal(f"first, before this hold point: {owed_words(job, owing[0])}", "take it up now")
    if not action.released and again:
        return not_now(wanted)
    kind = e.HoldReleased if action.released else e.HoldRefused
    draft.add(kind(node=node.id, role=node.hold.role, said=action.said.strip()))
    return None


def performed(job: Job, node: Node, who: str) -> bool:
    """Whether somebody recorded an act on a step."""
    return any(same_person(who, name) for name in job.performed.get(node.id, ()))


def _node(job: Job) -> Node:
    node = job.node
    assert node is not None
    return node


def subject_words(job: Job, wanted: Demand) -> str:
    """What a demand is about, for refusals and open points."""
    if wanted.subject in job.procedure.item_by_key:
        return item_words(job, wanted.subject)
    return wanted.subject or (job.node.title if job.node else "")


__all__ = [
    "acknowledge", "answer", "asked", "confirm_part", "do", "look", "not_now", "performed", "read",
    "read_value", "reading_key", "reading_taken", "release", "subject_words", "tighten", "tightened",
]  # fmt: skip
