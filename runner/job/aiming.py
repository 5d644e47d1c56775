"""What the wrench in hand is set to, or read to, for the torque asked; and what a reading on it says of the band.

Only a tool picked from the toolbox is known well enough for this. Of any other the gate asks the torque as it is
specified, in its unit, as if the tool showed just that.
"""

from decimal import Decimal
from functools import lru_cache
from typing import Any

from runner.frozen import Frozen
from runner.job.events import Held
from runner.job.refusal import Refusal
from runner.job.state import Job
from runner.job.values import Value, parse
from runner.joint.conformity import decide as decide_conformity
from runner.joint.conformity import expanded_at
from runner.joint.setting import (
    OutOfRangeError,
    Setting,
    SettingError,
    applied_torque,
    scale_of,
    setting,
    setting_on,
)
from runner.joint.wrench import Extension, Wrench
from runner.procedure.linked import Act, Interval, Item, Stage
from runner.quantities import kind_of, show
from runner.stamp import Stamp
from runner.toolbox.choosing import given_otherwise
from runner.toolbox.proposing import torques

_SHOWN_DIGITS = 4
UNFIT = "unfit tool"
"""The deviation by which a tool is used although something speaks against it."""


class Aim(Frozen):
    """One torque on one wrench. `trouble` says why it cannot be given with it, `lift` what would help."""

    wrench: Wrench
    extension: Extension | None
    setting: Setting | None
    methods: tuple[str, ...] = ()
    trouble: str = ""
    lift: str = ""

    @property
    def big(self) -> str:
        """The number to set or to read to, in the wrench's unit."""
        if self.setting is None:
            return ""
        exact = None if self.wrench.graduation else _SHOWN_DIGITS
        return show(self.setting.set_to, self.setting.unit, digits=exact)

    @property
    def correction(self) -> str:
        """What stands between the wrench and the fastener, in words; nothing where nothing does."""
        return extension_words(self.extension) if self.extension else ""


def extension_words(extension: Extension) -> str:
    """`50 mm extension at 0°`."""
    return f"{extension.length} mm extension at {extension.angle}°"


def waiver(index: int, item: str, stage: int) -> str:
    """The part of the gate that an unfit tool is let through by, for one act on one stage of an item."""
    return f"wrench {index}|{item}|{stage}"


def aim(job: Job, index: int, act: Act, item: Item, number: int) -> Aim | None:
    """What is set for stage `number` of an item; None where the tool is none of the toolbox, or nothing is set."""
    stage = item.stages[number - 1]
    wrench = job.wrenches.get(act.tool or "")
    if wrench is None or stage.kind != "torque" or stage.target is None or stage.unit is None:
        return None
    forced = waiver(index, item.key, number) in job.progress.waived
    return aim_on(wrench, job.extensions.get(act.tool or ""), stage, forced=forced)


@lru_cache(maxsize=512)
def aim_on(wrench: Wrench, extension: Extension | None, stage: Stage, *, forced: bool = False) -> Aim:
    """The torque of a stage on one wrench; `forced` where a deviation lets it through although it is unfit."""
    assert stage.target is not None
    assert stage.unit is not None
    methods = tuple(m for m in stage.methods if (m == "click") == wrench.sets) or stage.methods
    another = "change the wrench, or deviate with a reason (unfit tool)"
    try:
        scale = scale_of(wrench)
        try:
            found = setting_on(Decimal(stage.target), stage.unit, scale, extension)
        except OutOfRangeError:
            if not forced:
                raise
            # Past the marks only where the nearest one is not among them: a coarse wrench still has just its own.
            found = setting_on(Decimal(stage.target), stage.unit, scale.but(low=None, high=None), extension)
    except SettingError as error:
        return Aim(wrench, extension, None, methods, f"{error.found} {error.because}", another)
    if not forced and (words := given_otherwise(wrench, stage, found)):
        return Aim(wrench, extension, None, methods, words, another)
    return Aim(wrench, extension, found, methods)


def as_set(aimed: Aim, stage: Stage) -> Value:
    """What is recorded when the wrench was released at its setting: the setting, and what it gives the fastener."""
    assert aimed.setting is not None
    given = aimed.setting
    if given.applied == given.set_to and given.unit == stage.unit:
        return Value("", f"{given.applied:f}", stage.unit)
    return Value(
        "", f"{given.applied:f}", stage.unit or "", f"{given.set_to:f}", given.unit, aimed.correction
    )


def as_read(aimed: Aim | None, raw: str, stage: Stage) -> Value | Refusal:
    """What is recorded of a number typed for a stage: read on the wrench in hand, it is what it gives the fastener."""
    unit = stage.unit or ""
    if aimed is None:
        return parse(raw, unit)
    read = parse(raw, aimed.wrench.unit)
    if isinstance(read, Refusal) or (aimed.extension is None and read.unit == unit):
        return read
    try:
        given = applied_torque(read.number, aimed.wrench, aimed.extension, unit)
    except SettingError as error:
        return Refusal(f"{error.found} {error.because}", f"type {error.expected}")
    return Value(read.raw, f"{given:f}", unit, read.value, read.unit, aimed.correction)


def said_of_band(
    wrench: Wrench | None, value: Value, band: Interval | None, extension: Extension | None = None
) -> dict[str, Any]:
    """The uncertainty and conformity that go with a recorded value; nothing without a band or a known tool.

    Nothing either where the tool measures something else: an act of torque and angle has one tool for both.
    """
    if wrench is None or band is None or not value.value or kind_of(wrench.unit) != kind_of(value.unit):
        return {}
    expanded = expanded_at(wrench, value.number, value.unit, extension)
    if expanded is None:
        return {"conformity": "bare band"}
    return {"expanded": f"{expanded:f}", "conformity": _verdict(value, band.low, band.high, expanded)}


def said_again(held: Held, value: Value) -> dict[str, Any]:
    """The same for a corrected value, with the uncertainty of the tool it was first read with."""
    if not held.expanded or not value.value:
        return {"conformity": held.conformity if held.conformity == "bare band" else ""}
    verdict = _verdict(value, held.low, held.high, Decimal(held.expanded))
    return {"expanded": held.expanded, "conformity": verdict}


def _verdict(value: Value, low: str | None, high: str | None, expanded: Decimal) -> str:
    least = None if low is None else Decimal(low)
    most = None if high is None else Decimal(high)
    return decide_conformity(value.number, least, most, expanded)


def against(job: Job, tool: str, wrench: Wrench, stamp: Stamp) -> str:
    """What speaks against using a wrench for a tool of the procedure from now on; nothing where nothing does."""
    day = stamp.date_text()
    if wrench.overdue(day):
        return f"the calibration of {wrench.label} was due on {wrench.due_on}"
    asked = torques(job.procedure, tool)
    if asked and not any(_reaches(wrench, stage) for stage in asked):
        wanted = ", ".join(dict.fromkeys(f"{stage.target} {stage.unit}" for stage in asked))
        return f"{wrench.label} covers {wrench.low} to {show(Decimal(wrench.high), wrench.unit)}, and {wanted} is asked"
    return ""


def _reaches(wrench: Wrench, stage: Stage) -> bool:
    assert stage.target is not None
    assert stage.unit is not None
    try:
        setting(Decimal(stage.target), stage.unit, wrench)
    except SettingError:
        return False
    return True
