"""What is owed off the plan, as put-off steps to explore: with the waits and dues of the engine, in order of work."""

from collections.abc import Sequence

from runner.job.items import Fault
from runner.job.state import Job, Owed
from runner.job.way import stages_meant
from runner.job.windows import uses, waits_for
from runner.procedure.linked import Act, Due, Node, PutOff, Window

OWED = "owed: "
"""Before the key of what is owed off the plan: the step itself may come again on the main line."""


def name_of(owed: Owed) -> str:
    """What something owed is called among the steps that are explored."""
    return owed.key if owed.kind == "put off" else OWED + owed.key


def key_of(name: str) -> str:
    """The key of what is owed, or the step, that a name among the explored steps stands for."""
    return name.removeprefix(OWED)


def owed_step(job: Job, owed: Owed, steps: list[Node]) -> Node:
    """Work owed off the plan as a put-off step of its own, with the engine's waits and dues."""
    node = job.procedure.by_id[owed.node]
    tests = waits_for(job.procedure, owed)
    due = tuple(step.id for step in steps if step.joint is None and uses(owed, step))
    first = next((f'"{step.title.rstrip(".")}"' for step in steps if step.id in due), "")
    before = Due(kind="step", nodes=due, text=first) if due else Due(kind="end", text="the end")
    conditions = tuple(test for test in tests if test.kind == "condition")
    text = " and ".join(dict.fromkeys(f"{test.name} is {' or '.join(test.values)}" for test in conditions))
    return node.model_copy(
        update={
            "id": name_of(owed),
            "guard": (),
            "needs": tuple(test for test in tests if test.kind == "item"),
            "acts": _acts(job, owed, node),
            "put_off": PutOff(
                until=Window(kind="condition", tests=conditions, text=text), before=before, because=owed.why
            ),
            "sets": (),
        }
    )


def _acts(job: Job, owed: Owed, node: Node) -> tuple[Act, ...]:
    done = done_in_hand(job, owed.key)
    if owed.kind == "unplanned":
        gone = {item for item, state in job.ledger.items() if state.not_applicable}
        return tuple(act for index, act in enumerate(node.acts) if act.item not in gone and index not in done)
    left = tuple(index for index in owed.acts if index not in done)
    return tuple(node.acts[index] for index in left) if owed.what == "acts" else ()


def done_in_hand(job: Job, key: str) -> frozenset[int]:
    """The acts already done of something owed that is in hand."""
    if job.hand != key:
        return frozenset()
    return (job.set_aside[-1][2] if job.detour else job.progress).acts


def in_order_of_work(job: Job, nodes: Sequence[Node]) -> list[Node]:
    """The steps, where what is owed waits for what is owed before it on the same item and cannot be done without it.

    The engine lets it be taken up first, shows what it lacks, and lets it be put down again: nothing is lost by that.
    """
    places = {name: place for place, name in enumerate(job.procedure.by_id)}
    by_name = {name_of(owed): places[owed.node] for owed in job.owed.values() if owed.node}
    for node in nodes:  # put-off steps still ahead come after what is owed off the plan
        if (
            node.put_off is not None
            and node.id in places
            and node.id not in by_name
            and _off_plan_before(job, node, places)
        ):
            by_name[node.id] = places[node.id]
    last: dict[str, str] = {}
    changed: dict[str, Node] = {}
    by_id = {node.id: node for node in nodes}
    for name in sorted(by_name, key=by_name.__getitem__):
        node = by_id[name]
        items = [act.item for act in node.acts] + [test.name for test in node.needs if test.kind == "item"]
        before = tuple(dict.fromkeys(last[item] for item in items if item in last))
        if before and not _can_begin(job, node):
            changed[name] = _after(node, before)
        last.update(dict.fromkeys((act.item for act in node.acts), name))
    return [changed.get(node.id, node) for node in nodes]


def _off_plan_before(job: Job, node: Node, places: dict[str, int]) -> bool:
    items = {act.item for act in node.acts}
    return any(
        owed.kind in ("unplanned", "again") and owed.item in items and places[owed.node] < places[node.id]
        for owed in job.owed.values()
    )


def _can_begin(job: Job, node: Node) -> bool:
    """Whether the first act of a step, and what it needs of items, fits the ledger as it stands."""
    needed = (test for test in node.needs if test.kind == "item" and not job.ledger[test.name].not_applicable)
    if any(job.state_of(test.name) not in test.values for test in needed):
        return False
    for act in node.acts[:1]:
        state, table = job.state_of(act.item), job.table_of(act.item)
        stages = stages_meant(act, len(job.procedure.item_by_key[act.item].stages))
        operations = [f"tightens {stage}" for stage in stages] if act.verb == "tightens" else [act.verb]
        if all(isinstance(table.move(state, operation), Fault) for operation in operations):
            return False
    return True


def _after(node: Node, before: tuple[str, ...]) -> Node:
    """The step with its window shut until others are done besides. What waits for a time keeps that alone."""
    put_off = node.put_off
    if put_off is None or put_off.until.kind not in ("condition", "done"):
        return node
    until = put_off.until.model_copy(update={"kind": "done", "nodes": (*put_off.until.nodes, *before)})
    return node.model_copy(update={"put_off": put_off.model_copy(update={"until": until})})
