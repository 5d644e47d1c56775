"""For each tool a procedure asks for: which of the shop's would do, the best first, and what each would be set to."""

from decimal import Decimal

from runner.frozen import Frozen
from runner.joint.wrench import Wrench
from runner.procedure.linked import Procedure, Stage, Tool
from runner.quantities import QuantityError, convert, kind_of
from runner.toolbox.choosing import Choice, best_for, given_otherwise, takes
from runner.toolbox.model import Toolbox, range_text


class Proposal(Frozen):
    """One tool of the shop for one tool of the procedure, counted among its like from the best on.

    `settings` are (torque asked, what is set on it) for each torque that it can give; `lacking` the torques that it
    cannot, or not as they are asked. `against` says what speaks against taking it at all: then it needs a deviation.
    """

    tool: str
    wrench: Wrench
    settings: tuple[tuple[str, str], ...] = ()
    lacking: tuple[str, ...] = ()
    against: tuple[str, ...] = ()

    @property
    def words(self) -> str:
        """What a person is told of it, in one line."""
        gives = [asked if asked == given else f"{asked}: set {given}" for asked, given in self.settings]
        gives += [f"not {', '.join(self.lacking)}"] if self.lacking and (gives or not self.against) else []
        if self.against:
            against = "; ".join(self.against)
            return f"{against} (else {'; '.join(gives)})" if gives else against
        return "; ".join(gives) or range_text(self.wrench)


def proposals(procedure: Procedure, toolbox: Toolbox, day: str) -> tuple[Proposal, ...]:
    """Every proposal, tool by tool in the procedure's order; a tool that the shop has none for has none."""
    found: list[Proposal] = []
    for tool in procedure.tools:
        asked = torques(procedure, tool.name)
        found += _by_torque(tool, asked, toolbox, day) if asked else _by_range(tool, toolbox, day)
    return tuple(found)


def torques(procedure: Procedure, tool: str) -> tuple[Stage, ...]:
    """Every torque that is set or read on a tool, in the order of the steps; those asked alike once."""
    found: dict[object, Stage] = {}
    for node in procedure.nodes:
        for act in node.acts:
            if act.tool != tool or act.verb not in ("tightens", "re-tightens"):
                continue
            stages = procedure.item_by_key[act.item].stages
            first, last = act.stages or (1, len(stages))
            for stage in stages[first - 1 : last]:
                if stage.kind == "torque" and stage.target and stage.unit:
                    found.setdefault((stage.target, stage.unit, stage.methods, stage.band), stage)
    return tuple(found.values())


def _by_torque(tool: Tool, asked: tuple[Stage, ...], toolbox: Toolbox, day: str) -> list[Proposal]:
    ranked: dict[str, list[tuple[Stage, Choice, int]]] = {}
    for stage in asked:
        choices = best_for(toolbox, Decimal(stage.target or "0"), stage.unit or "", day)
        for place, choice in enumerate(choices):
            ranked.setdefault(choice.wrench.name, []).append((stage, choice, place))
    made = []
    for each in ranked.values():
        wrench = each[0][1].wrench
        short = [_lacking(stage, choice) for stage, choice, _ in each]
        settings = dict.fromkeys(
            (_words(stage), choice.setting.text)
            for (stage, choice, _), lacks in zip(each, short, strict=True)
            if choice.setting is not None and not lacks
        )
        lacking = tuple(dict.fromkeys(filter(None, short)))
        against = [f"overdue since {wrench.due_on}"] if wrench.overdue(day) else []
        if all(choice.setting is None for _, choice, _ in each):
            against.append(f"covers {range_text(wrench)} only")
        proposal = Proposal(tool.name, wrench, tuple(settings), lacking, tuple(against))
        rank = (bool(against), not settings, sum(map(bool, short)), sum(place for *_, place in each))
        made.append((rank, proposal))
    return [proposal for _, proposal in sorted(made, key=lambda pair: pair[0])]


def _lacking(stage: Stage, choice: Choice) -> str:
    """A torque that a tool cannot give, or not as its stage asks; empty where it can."""
    if choice.setting is None:
        return _words(stage)
    if not given_otherwise(choice.wrench, stage, choice.setting):
        return ""
    asked = "within its band" if takes(choice.wrench, stage) else " or ".join(stage.methods)
    return f"{_words(stage)} {asked}"


def _words(stage: Stage) -> str:
    return f"{stage.target} {stage.unit}"


def _by_range(tool: Tool, toolbox: Toolbox, day: str) -> list[Proposal]:
    """Gauges whose range takes in the one that the procedure writes: another one is another tool, not an unfit one."""
    if tool.covers is None:
        return []
    made = []
    for wrench in toolbox.wrenches:
        if kind_of(wrench.unit) == kind_of(tool.covers.unit) and _spans(wrench, tool):
            against = (f"overdue since {wrench.due_on}",) if wrench.overdue(day) else ()
            made.append(Proposal(tool.name, wrench, against=against))
    return sorted(made, key=lambda each: len(each.against))


def _spans(wrench: Wrench, tool: Tool) -> bool:
    covers = tool.covers
    assert covers is not None
    try:
        low, high = (convert(Decimal(end), wrench.unit, covers.unit) for end in (wrench.low, wrench.high))
    except QuantityError:  # a range out of all proportion spans nothing that is asked
        return False
    below = covers.low is None or low <= Decimal(covers.low)
    return below and (covers.high is None or high >= Decimal(covers.high))
