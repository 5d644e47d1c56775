"""The shop's tools for what a procedure asks: what to set on each, what is lost by its marks, what is against it.

Which wrench can give a torque, and how, is `job.aiming.aim_on`, the gate's own answer: a wrench that the sheet calls
fit is one that the gate takes.
"""

from collections.abc import Iterable
from decimal import Decimal

from runner.job.aiming import aim_on
from runner.joint.setting import percent
from runner.procedure.linked import Stage
from runner.quantities import QuantityError, convert, show
from runner.ready.facts import Offer, SettingLine
from runner.toolbox.choosing import Choice, best_for
from runner.toolbox.model import Toolbox
from runner.toolbox.proposing import Proposal

_DIGITS_BESIDE = 3
"""Significant digits of a torque in a second unit: what counts is the first."""
_DIGITS_APPLIED = 4


def offers(tool: str, proposed: Iterable[Proposal]) -> tuple[Offer, ...]:
    """What the shop has for a tool, the best first. What is set on it stands with each torque, not here."""
    return tuple(
        Offer(each.wrench.label, _offer_words(each), _gives_any(each) and not each.against, not each.settings)
        for each in proposed
        if each.tool == tool
    )


def _gives_any(each: Proposal) -> bool:
    """Whether it does for some of what is asked; a gauge is proposed only where it does."""
    return bool(each.settings) or not each.lacking


def _offer_words(each: Proposal) -> str:
    if not each.settings:
        return each.words
    lacking = f"not {', '.join(each.lacking)}" if each.lacking else "gives every torque"
    return "; ".join((*each.against, lacking))


def settings_for(stage: Stage, toolbox: Toolbox, day: str) -> tuple[SettingLine, ...]:
    """Every torque tool of the shop for a stage, those that give it first; none for a stage without torque."""
    if stage.kind != "torque" or stage.target is None or stage.unit is None:
        return ()
    found = [
        _line(stage, choice, day) for choice in best_for(toolbox, Decimal(stage.target), stage.unit, day)
    ]
    return tuple(sorted(found, key=lambda line: not line.fits))


def _line(stage: Stage, choice: Choice, day: str) -> SettingLine:
    wrench = choice.wrench
    aimed = aim_on(wrench, None, stage)
    against = [aimed.trouble] if aimed.trouble else []
    if wrench.overdue(day):
        against.append(f"the calibration was due on {wrench.due_on}")
    made = aimed.setting or choice.setting
    if made is None:
        return SettingLine(wrench.label, fits=False, reads=not wrench.sets, against=tuple(against))
    unit = stage.unit or ""
    return SettingLine(
        wrench=wrench.label,
        fits=not against,
        reads=not wrench.sets,
        text=made.text,
        applied=show(made.applied, unit, _DIGITS_APPLIED),
        error="" if made.error_percent == 0 else percent(made.error_percent),
        warning=made.warning,
        against=tuple(against),
        from_memory=made.working.from_memory,
    )


def torque_in(stage: Stage, unit: str) -> str:
    """The torque of a stage in another unit, rounded; empty where there is none or it is asked in that one."""
    if stage.kind != "torque" or stage.target is None or not unit or stage.unit in (None, unit):
        return ""
    try:
        return show(convert(Decimal(stage.target), stage.unit or "", unit), unit, digits=_DIGITS_BESIDE)
    except QuantityError:  # a torque out of all proportion is shown as it is asked
        return ""
