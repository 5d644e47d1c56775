"""The ways back to a recorded condition can be walked, and leave everything else as it was (P23)."""

from collections.abc import Iterator

from runner.procedure.linked import Condition, Node, Procedure
from runner.proof.local.found import Found
from runner.proof.local.known import Domains, onward
from runner.proof.local.walk import Strength, Walk

_MOST_FOUND = 3
"""So many found values are named in one finding."""


def way_back_broken(procedure: Procedure, found: Found) -> None:
    """Ways back that somebody could not walk, or that lead elsewhere.

    The job may stand anywhere when a condition is found to differ, so only what goes wrong from every such place, or
    by a way of the detour itself, is told: other conditions, earlier answers and other items are as they need be.
    Each item is followed by itself, for no way hangs on one (R1).
    """
    strength = Strength()
    for condition in procedure.conditions:
        for value, head in condition.getting_there:
            _judge(procedure, condition, value, head, strength, found)


def _judge(
    procedure: Procedure, condition: Condition, value: str, head: str, strength: Strength, found: Found
) -> None:
    nodes = list(_nodes(procedure, head))
    items = dict.fromkeys(act.item for node in nodes for act in node.acts)
    broken: dict[tuple[str, str], list[str]] = {}
    for item in (None, *items):
        for start in condition.values:
            if start == value:
                continue

            def fails(node: Node, why: str, start: str = start) -> None:
                starts = broken.setdefault((node.id, why), [])
                if start not in starts:
                    starts.append(start)

            domains = Domains(procedure, nodes, item)
            walk = Walk(procedure, head, (condition.name, value), item, domains, fails, strength)
            back, whole = walk.from_value(start)
            if not whole:
                fails(procedure.by_id[head], "there are too many ways through it to look at each")
            elif not back:
                fails(procedure.by_id[head], "every way ends in a stop")
    for (node, why), starts in broken.items():
        shown = " or ".join(starts[:_MOST_FOUND]) + (" or other" if len(starts) > _MOST_FOUND else "")
        message = f"on the way back to {condition.name} {value}, where it is found {shown}: {why}"
        found.add(procedure.by_id[node], "way-back-broken", message)


def _nodes(procedure: Procedure, head: str) -> Iterator[Node]:
    """Every step of a way back, from its first on."""
    seen = {head}
    waiting = [head]
    while waiting:
        node = procedure.by_id[waiting.pop()]
        yield node
        for name in onward(node):
            if name in procedure.by_id and name not in seen:
                seen.add(name)
                waiting.append(name)
