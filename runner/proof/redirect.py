"""Ways turned to another step: what led to one, or named it as a place, leads to or names another besides."""

from typing import Any

from runner.procedure.linked import Exit, Node


def led_elsewhere(node: Node, old: str, new: str) -> Node:
    """The step with every way to `old` turned to `new`, and `new` a place wherever `old` is one."""
    changes: dict[str, Any] = {}
    if node.next == old:
        changes["next"] = new
    if node.skip == old:
        changes["skip"] = new
    if any(_leads(way, old) for way in node.exits):
        changes["answers"] = tuple(_turned(way, old, new) for way in node.answers)
        changes["readings"] = tuple(
            reading.model_copy(
                update={
                    "sorting": tuple(
                        each.model_copy(update={"exit": _turned(each.exit, old, new)})
                        for each in reading.sorting
                    )
                }
            )
            for reading in node.readings
        )
        if node.hold is not None:
            refused = _turned(node.hold.refused, old, new)
            changes["hold"] = node.hold.model_copy(update={"refused": refused})
        if node.in_time is not None:
            late = _turned(node.in_time.late, old, new)
            changes["in_time"] = node.in_time.model_copy(update={"late": late})
    put_off = node.put_off
    if put_off is not None and put_off.until.kind == "at" and old in put_off.until.nodes:
        until = put_off.until.model_copy(update={"nodes": (*put_off.until.nodes, new)})
        put_off = put_off.model_copy(update={"until": until})
    if put_off is not None and old in put_off.before.nodes:
        before = put_off.before.model_copy(update={"nodes": (*put_off.before.nodes, new)})
        put_off = put_off.model_copy(update={"before": before})
    if put_off is not node.put_off:
        changes["put_off"] = put_off
    return node.model_copy(update=changes) if changes else node


def _leads(way: Exit, old: str) -> bool:
    return way.to == old or (way.limit is not None and _leads(way.limit.then, old))


def _turned(way: Exit, old: str, new: str) -> Exit:
    if not _leads(way, old):
        return way
    limit = way.limit
    if limit is not None:
        limit = limit.model_copy(update={"then": _turned(limit.then, old, new)})
    return way.model_copy(update={"to": new if way.to == old else way.to, "limit": limit})
