"""The tools of a step against the settings it tightens to (P18, P20)."""

from collections.abc import Iterable, Iterator, Mapping
from decimal import Decimal
from functools import lru_cache

from runner.job.tightening import torque_stage
from runner.procedure.linked import Act, Interval, Item, Node, Procedure, Stage, Tool
from runner.proof.local.found import Found
from runner.quantities import QuantityError, convert, kind_of

Explicit = Mapping[str, frozenset[int]]
"""By item, the stages (from 1) that some step names by number."""


def tool_ranges(procedure: Procedure, found: Found) -> None:
    """Settings that no tool of their step covers, and steps that name none for a setting.

    Where a step names no tool of the kind, the wrench that the linker chose for the act counts as named: the bench
    shows it. An angle that may be turned by a mark needs no tool.
    """
    tools = {tool.name: tool for tool in procedure.tools}
    by_number = _by_number(procedure)
    for node in procedure.nodes:
        for act in node.acts:
            if act.verb in ("tightens", "re-tightens"):
                item = procedure.item_by_key[act.item]
                for stage in _stages(act, item, by_number):
                    _judge(node, act, item, stage, tools, found)


def _by_number(procedure: Procedure) -> Explicit:
    named: dict[str, set[int]] = {}
    for node in procedure.nodes:
        for act in node.acts:
            if act.stages is not None:
                first, last = act.stages
                named.setdefault(act.item, set()).update(range(first, last + 1))
    return {item: frozenset(stages) for item, stages in named.items()}


def _stages(act: Act, item: Item, by_number: Explicit) -> Iterator[Stage]:
    """The stages that an act comes to with a number to set.

    An act without numbers does all stages not yet done. Which these are hangs on the way; those that another step
    names by number are taken to be that step's, but for the last, with which every such act ends.
    """
    if act.verb == "re-tightens":
        numbers: Iterable[int] = [number] if (number := torque_stage(item)) else []
    elif act.stages is not None:
        numbers = range(act.stages[0], act.stages[1] + 1)
    else:
        last = len(item.stages)
        others = by_number.get(act.item, frozenset())
        numbers = [number for number in range(1, last + 1) if number == last or number not in others]
    yield from (stage for number in numbers if (stage := item.stages[number - 1]).kind != "snug")


def _judge(node: Node, act: Act, item: Item, stage: Stage, tools: Mapping[str, Tool], found: Found) -> None:
    kind = stage.kind
    fitting = [tool for tool in tools.values() if spans(tool.covers, stage)]
    named = [tools[name] for name in node.tools if name in tools and _kind(tools[name]) == kind]
    gets = f'"{item.name}" gets {asked_words(stage)}'
    instead = " or ".join(tool.name for tool in fitting)
    if named:
        if not any(tool in fitting for tool in named):
            reach = ", ".join(f"{tool.name} covers {tool.covers.text}" for tool in named if tool.covers)
            message = f"{gets}, and no tool named in this step can be set to that: {reach}"
            found.add(node, "tool-range", message, f"name {instead} in this step" if fitting else "")
    elif any(tool.name == act.tool for tool in fitting):
        return
    elif kind == "torque" or stage.methods == ("measured",):
        message = f"{gets}, and this step names no tool for it"
        found.add(node, "no-tool", message, f"name {instead} in this step" if fitting else "")


def asked_words(stage: Stage) -> str:
    """What is set, or the range to be reached where that is all that is written."""
    if stage.target is None or stage.unit is None:
        return stage.band.text if stage.band else stage.text
    return f"{stage.target}{'' if stage.unit == '°' else ' '}{stage.unit}"


def spans(covers: Interval | None, stage: Stage) -> bool:
    """Whether a tool can be set to what a stage asks: its setting, or both limits where only a range is written."""
    if covers is None or stage.unit is None or kind_of(covers.unit) != kind_of(stage.unit):
        return False
    if stage.target is not None:
        return _within(covers, stage.target, stage.unit)
    limits = (stage.band.low, stage.band.high) if stage.band else ()
    return all(_within(covers, limit, stage.unit) for limit in limits if limit is not None)


@lru_cache(maxsize=4096)
def _within(covers: Interval, value: str, unit: str) -> bool:
    try:
        return covers.holds(convert(Decimal(value), unit, covers.unit))
    except QuantityError:
        return False  # a value out of all proportion lies in no tool's range


def _kind(tool: Tool) -> str:
    return kind_of(tool.covers.unit) if tool.covers else ""
