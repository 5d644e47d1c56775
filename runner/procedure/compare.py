"""What differs between two linked procedures, in a technician's words: for a file changed since a run began."""

from runner.procedure.linked import Procedure

_MOST = 12


def differences(before: Procedure, after: Procedure) -> tuple[str, ...]:
    """At most a dozen lines: revision, steps and items that came, went or changed."""
    lines = []
    if before.revision != after.revision:
        lines.append(f"revision {before.revision} has become {after.revision}")
    old, new = before.by_id, after.by_id
    lines += [f"new step: {name}" for name in new if name not in old]
    lines += [f"step gone: {name}" for name in old if name not in new]
    lines += [
        f"step changed: {name}"
        for name, node in new.items()
        if name in old and node.model_copy(update={"mark": old[name].mark}) != old[name]
    ]
    lines += [f"new item: {key}" for key in after.item_by_key if key not in before.item_by_key]
    lines += [f"item gone: {key}" for key in before.item_by_key if key not in after.item_by_key]
    lines += [
        f"item changed: {key}"
        for key, item in after.item_by_key.items()
        if before.item_by_key.get(key) not in (None, item)
    ]
    if len(lines) > _MOST:
        return (*lines[:_MOST], f"and {len(lines) - _MOST} more")
    return tuple(lines)
