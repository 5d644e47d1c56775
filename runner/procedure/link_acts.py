"""Acts: verbs that belong to the kind of their item, one act for each item meant, with the tool to use."""

from collections.abc import Iterable

from runner.procedure import linked, source
from runner.procedure.kinds import KINDS, with_article
from runner.procedure.link_frame import Family, Frame
from runner.procedure.link_report import Report
from runner.procedure.stages import Counted, counted
from runner.quantities import Band, Quantity, QuantityError, convert


def acts(step: source.Step, frame: Frame, report: Report) -> tuple[linked.Act, ...]:
    """The acts of a step here; a list of items, and an item at several places, is several acts (R2)."""
    made: list[linked.Act] = []
    for act in step.acts:
        family = frame.unit.families.get(act.item.text)
        if family is None:
            report.unknown(act.item, "unknown-item", "item", frame.unit.families)
            continue
        verb = next((verb for verb in KINDS[family.written.kind].verbs if verb == act.verb), None)
        if verb is None:
            _wrong_verb(act, family, report)
            continue
        stages = _stages(act, family, report)
        tool = _tool(act, family, step, frame)
        members = family.at(frame.bounds)
        report.touch(len(members), act.mark)
        made += [linked.Act(verb=verb, item=item.key, stages=stages, tool=tool) for item in members]
    return tuple(made)


def tools(step: source.Step, frame: Frame, report: Report) -> tuple[str, ...]:
    """The tools a step names, each declared."""
    known = [tool.name for tool in frame.unit.written.tools]
    for name in step.tools:
        if name.text not in known:
            report.unknown(name, "unknown-tool", "tool", known)
    return tuple(dict.fromkeys(name.text for name in step.tools))


def _wrong_verb(act: source.Act, family: Family, report: Report) -> None:
    kind = family.written.kind
    message = f'"{act.verb}" is not done to {with_article(kind)}, and "{act.item.text}" is one'
    report.at(act.item, "verb", message, expected=", ".join(KINDS[kind].verbs))


def _stages(act: source.Act, family: Family, report: Report) -> tuple[int, int] | None:
    if act.stages is None:
        return None
    number = len(counted(family.written))
    first, last = act.stages
    if act.verb != "tightens":
        report.at(act.item, "stages", f'stages belong to "tightens", not to "{act.verb}"')
    elif not 1 <= first <= last <= number:
        what = f"stage {first}" if first == last else f"stages {first} to {last}"
        stages = f"stages 1 to {number}" if number > 1 else "stage 1 only"
        report.at(act.item, "stages", f'"{act.item.text}" has no {what}', expected=stages)
    return act.stages


def _tool(act: source.Act, family: Family, step: source.Step, frame: Frame) -> str | None:
    """The first tool of the step that covers the last torque of the act, else the first declared one."""
    if act.verb not in ("tightens", "re-tightens"):
        return None
    stages = counted(family.written)
    first, last = act.stages or (1, len(stages))
    torques = [stage for stage in stages[first - 1 : last] if stage.written.kind == "torque"]
    if not torques:
        return None
    declared = {tool.name: tool for tool in frame.unit.written.tools}
    listed = [declared[name.text] for name in step.tools if name.text in declared]
    for tool in (*listed, *declared.values()):
        if tool.covers and all(_covers(tool.covers, asked) for asked in _asked(torques[-1])):
            return tool.name
    return None


def _asked(stage: Counted) -> Iterable[Quantity]:
    """What a tool must reach for a stage: the target, or both limits where only a range is written."""
    if stage.target:
        return [stage.target]
    if stage.written.band is None:
        return []
    band = stage.band(stage.written.band)
    return [Quantity(limit, band.unit, band.kind) for limit in (band.low, band.high) if limit is not None]


def _covers(band: Band, asked: Quantity) -> bool:
    try:
        return band.kind == asked.kind and band.holds(convert(asked.value, asked.unit, band.unit))
    except QuantityError:
        return False  # a value out of all proportion is reported where it stands
