"""The ready sheet as data for other programs: names as they stay, all text as the procedure and the toolbox have it."""

from dataclasses import asdict
from typing import Any

from runner.joint.sourced import FROM_MEMORY
from runner.ready.facts import Sheet
from runner.ready.wording import CAUTIONS, warnings


def document(sheet: Sheet) -> dict[str, Any]:
    """Everything on the sheet. Times are milliseconds; `when` is empty for a step of every way."""
    stages = [stage for each in sheet.tightenings for stage in each.stages]
    memory = any(line.from_memory for stage in stages for line in stage.settings)
    memory = memory or any(source.from_memory for stage in stages for source in stage.order_sources)
    pairs = {
        "people": ("role", "number"),
        "holds": ("use", "released_by"),
        "seconds": ("use", "what"),
        "counters": ("name", "unit"),
        "follow_up": ("what", "text"),
    }
    made = asdict(sheet)
    for key, names in pairs.items():
        made[key] = [dict(zip(names, each, strict=True)) for each in made[key]]
    for each in made["put_off"]:
        if each["no_later"] is not None:
            each["no_later"] = {"after_ms": each["no_later"][0], "of": list(each["no_later"][1])}
    return {
        **made,
        "warnings": list(warnings(sheet)),
        "cautions": list(CAUTIONS),
        "from_memory": FROM_MEMORY if memory else None,
    }
