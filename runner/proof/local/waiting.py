"""What waits for a step, or counts from it, that may itself be put off (P15); latest times too early (P16)."""

from collections.abc import Iterable, Mapping

from runner.procedure.link_bands import duration_text
from runner.procedure.linked import Node, Procedure
from runner.proof.local.found import Found


def waits_for_put_off(procedure: Procedure, found: Found) -> None:
    """Steps that are named where only a step done on the way can be meant.

    A put-off step has no place of its own on the way: nothing comes before it, no work stands at it, and the time
    at which it is done is anybody's guess. Waiting until one is done is allowed (`until: {step: …}`, and a time
    after it), for then its window is simply that much later.
    """
    by_id = procedure.by_id
    for node in procedure.nodes:
        if node.in_time is not None:
            for name in _put_off(node.in_time.start, by_id):
                message = f'the time of this step counts from "{name}", which may itself be put off'
                found.add(node, "waits-for-put-off", message)
        if node.put_off is None:
            continue
        until, before, no_later = node.put_off.until, node.put_off.before, node.put_off.no_later
        if until.kind == "at":
            for name in _put_off(until.nodes, by_id):
                message = f'this step waits until the work stands at "{name}", which may itself be put off'
                mend = (
                    f"name a step that is done on the way, or wait until it is done: until: {{step: {name}}}"
                )
                found.add(node, "waits-for-put-off", message, mend)
        if before.kind == "step":
            for name in _put_off(before.nodes, by_id):
                message = f'this step comes before "{name}", which may itself be put off'
                found.add(node, "waits-for-put-off", message)
        if no_later is not None:
            for name in _put_off(no_later[1], by_id):
                message = f'the latest time of this step counts from "{name}", which may itself be put off'
                found.add(node, "waits-for-put-off", message)


def _put_off(nodes: Iterable[str], by_id: Mapping[str, Node]) -> tuple[str, ...]:
    """The names of those steps that may be put off, each once."""
    steps = (by_id[name] for name in nodes if name in by_id)
    return tuple(dict.fromkeys(node.step for node in steps if node.put_off is not None))


def latest_too_early(procedure: Procedure, found: Found) -> None:
    """Put-off steps whose latest time is over before, or just when, their window opens.

    The window counts from the last of its steps, so a latest time that counts from some of them is no later.
    """
    for node in procedure.nodes:
        put_off = node.put_off
        if put_off is None or put_off.no_later is None or put_off.until.kind != "time":
            continue
        latest, start = put_off.no_later
        if start and set(start) <= set(put_off.until.nodes) and latest <= put_off.until.time:
            names = dict.fromkeys(procedure.by_id[name].step for name in start)
            after = " and ".join(names)
            message = (
                f"this step must be done within {duration_text(latest)} after {after}, "
                f"and its window opens {duration_text(put_off.until.time)} after {after}"
            )
            found.add(node, "latest-too-early", message)
