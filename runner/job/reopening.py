"""An item open again outside the plan: the steps that closed it are owed once more, holds and readings on it lapse."""

from runner.job import actions as a
from runner.job import events as e
from runner.job.draft import Draft
from runner.job.gate import step_demand
from runner.job.keys import tightening_key
from runner.job.owing import lapse, owe
from runner.job.refusal import Refusal
from runner.job.state import Job
from runner.procedure.kinds import states_of
from runner.procedure.linked import Item, Node


def reopens_to(job: Job, key: str) -> tuple[str, ...]:
    """The open states an item can be found in that are less advanced than where the record has it."""
    table = job.table_of(key)
    now = table.rank(job.state_of(key))
    return tuple(
        state
        for state in table.states
        if state not in table.finals
        and table.rank(state) < now
        and not _used_up(job, job.procedure.item_by_key[key], state)
    )


def _used_up(job: Job, item: Item, state: str) -> bool:
    """Whether a single-use fastener would go on from `state` without a new one being asked for."""
    tightened = job.state_of(item.key) not in ("loosened", "out", "started")
    return item.new_every_time and item.kind == "fastener" and tightened and state not in ("loosened", "out")


def reopen(draft: Draft, action: a.Reopen) -> Refusal | None:
    """`item` is open again, now at `state`; what closed it is owed in order, one debt for each step."""
    job = draft.job
    item = job.procedure.item_by_key.get(action.item)
    if item is None:
        return Refusal("no item of that name", "choose from the ledger")
    refused = _possible(job, item, action)
    if refused is not None:
        return refused
    closing = _closing_steps(job, item.key, action.state)
    if not closing:
        return Refusal(
            f"no step done so far closes {item.label} from {action.state}",
            "record it as extra work, or go on where the plan closes it",
        )
    reason = action.reason.strip()
    # What the step in hand did to the item is asked by its own gate again; earlier steps are owed.
    in_hand = tuple(index for node, acts in closing if node is job.node for index in acts)
    draft.add(e.Reopened(item=item.key, state=action.state, reason=reason, acts=in_hand))
    _drop_corrections(draft, item.key)
    for node, acts in closing:
        if node is not job.node:
            _owe_acts(draft, node, item.key, acts, reason)
    again = {node.id for node, _ in closing}
    lapse(draft, {item.key}, job.procedure.by_id[closing[0][0].id], again)
    _put_down(draft)
    return None


def _possible(job: Job, item: Item, action: a.Reopen) -> Refusal | None:
    states = states_of(item.kind, len(item.stages))
    if action.state not in states:
        return Refusal(f"{action.state!r} is no state of {item.label}", f"say one of: {', '.join(states)}")
    if not action.reason.strip():
        return Refusal("reopening has a reason", "say why")
    there = job.exists(item.key) and not job.ledger[item.key].not_applicable
    if job.phase not in ("working", "stopped", "closing") or not there:
        return Refusal(f"{item.label} cannot be reopened now", "finish what is asked first")
    table = job.table_of(item.key)
    if action.state in table.finals:
        return Refusal(f"{action.state} is closed", "say the state it is in now that it is open")
    if table.rank(action.state) >= table.rank(job.state_of(item.key)):
        return Refusal(
            f"{item.label} is {job.state_of(item.key)}, no further than that", "go on with the plan"
        )
    if _used_up(job, item, action.state):
        return Refusal(
            f"{item.label} is for single use and was tightened: it does not go on from {action.state}",
            "say loosened or out: the next start asks for a new one",
        )
    return None


def _drop_corrections(draft: Draft, item: str) -> None:
    """A stage that is tightened anew needs no repair of its value besides."""
    for key, owed in list(draft.job.owed.items()):
        if owed.item == item and owed.what.startswith("member") and key != draft.job.hand:
            draft.add(e.OwedDropped(key=key))


def _owe_acts(draft: Draft, node: Node, item: str, acts: tuple[int, ...], reason: str) -> None:
    """Owe acts of a step on an item; what a reopening before this one owes of it is taken in."""
    key = f"again {node.id} {item}"
    old = draft.job.owed.get(key)
    if old is not None and key != draft.job.hand:
        acts = tuple(sorted({*old.acts, *acts}))
        draft.add(e.OwedDropped(key=key))
    owe(draft, key, node, reason, "acts", item, acts)


def _put_down(draft: Draft) -> None:
    """Something taken up that cannot go on before what is now owed is put down, so that nothing is stuck."""
    job = draft.job
    if not job.hand or job.detour or job.node is None:
        return
    asked = step_demand(job, job.node)
    if asked is not None and asked.kind == "blocked":
        owed = job.owed[job.hand]
        acts = owed.kind == "again" and owed.what == "acts"
        done = tuple(sorted(job.progress.acts & set(owed.acts))) if acts else ()
        draft.add(e.PassedBy(key=job.hand, reason="it needs what was reopened", done=done))


def _closing_steps(job: Job, key: str, state: str) -> list[tuple[Node, tuple[int, ...]]]:
    """The steps (latest performance of each) whose done acts bring the item on from `state`, in order of work.

    The step in hand counts as far as it is done. What the plan still does ahead is not owed now: the list ends where
    the item's own progress stood.
    """
    done = [(job.procedure.by_id[name], None) for name in reversed(job.trail)]
    steps = [(job.node, job.progress.acts), *done] if job.node is not None else done
    found: list[tuple[Node, tuple[int, ...]]] = []
    for operation in _path(job, key, state, job.state_of(key)):
        places = [
            (node, index)
            for node, acts in steps
            for index, act in enumerate(node.acts)
            if act.item == key
            and (acts is None or index in acts)
            and operation in _operations(job, node, index)
        ]
        if not places:
            return []
        node, index = next((place for place in places if _did(job, place[0], key, operation)), places[0])
        if found and found[-1][0].id == node.id:
            if index not in found[-1][1]:
                found[-1] = (node, (*found[-1][1], index))
        else:
            found.append((node, (index,)))
    return found


def _did(job: Job, node: Node, key: str, operation: str) -> bool:
    """Whether it was this step that did the operation: `tightens: [bolt]` may do any stage that is left."""
    verb, _, stage = operation.partition(" ")
    if verb != "tightens":
        return True
    count = job.procedure.item_by_key[key].count
    return any(tightening_key(node.id, key, int(stage), n) in job.recorded for n in range(1, count + 1))


def _operations(job: Job, node: Node, index: int) -> tuple[str, ...]:
    act = node.acts[index]
    if act.verb != "tightens":
        return (act.verb,)
    first, last = act.stages or (1, len(job.procedure.item_by_key[act.item].stages))
    return tuple(f"tightens {number}" for number in range(first, last + 1))


def _path(job: Job, key: str, state: str, target: str) -> list[str]:
    """The operations that bring an item from `state` forward to `target` (its stage, or whole), without opening it."""
    item = job.procedure.item_by_key[key]
    table = job.table_of(key)
    if item.kind == "fastener":
        last = len(item.stages) if target == "untouched" else table.states.index(target) - 3
        reached = int(state.removeprefix("stage ")) if state.startswith("stage ") else 0
        start = ["starts"] if state in ("loosened", "out") else []
        return start + [f"tightens {number}" for number in range(reached + 1, last + 1)]
    return [operation for operation in table.operations if table.move(state, operation) == target][:1]
