"""Work owed again because something about it has changed since it was done."""

from collections.abc import Container

from runner.job import events as e
from runner.job.draft import Draft
from runner.procedure.linked import Node


def owe(
    draft: Draft, key: str, node: Node, why: str, what: str, item: str, acts: tuple[int, ...] = ()
) -> None:
    """A done step, or the part of it that `what` names, is owed once more, unless it is so already."""
    if key not in draft.job.owed:
        draft.add(e.OwedAgain(key=key, node=node.id, why=why, what=what, item=item, acts=acts))


def settle_debt(draft: Draft, key: str) -> None:
    """What a later correction puts right is owed no more; what is in hand stays in hand."""
    if key in draft.job.owed and key != draft.job.hand:
        draft.add(e.OwedDropped(key=key))


def lapse(draft: Draft, items: set[str], node: Node, again: Container[str] = ()) -> None:
    """Releases of `node` and of steps on these items no longer count: their hold points are owed.

    Not so for the steps in `again`, which are owed as a whole: the hold point is asked at their gate.
    """
    for name in sorted(draft.job.released):
        other = draft.job.procedure.by_id[name]
        about = {act.item for act in other.acts} | {test.name for test in other.needs if test.kind == "item"}
        if name != node.id and not items & about:
            continue
        draft.add(e.HoldLapsed(node=name))
        if name not in again and (draft.job.node is None or draft.job.node.id != name):
            owe(draft, f"hold {name}", other, "what it released was changed since", "hold", "")
