"""Which tool is best for a torque, in words, and what is against one that somebody picked."""

from collections.abc import Collection
from decimal import Decimal

from runner.frozen import Frozen
from runner.joint.setting import LOW_SHARE, OutOfRangeError, Setting, SettingError, percent, setting
from runner.joint.wrench import Extension, Wrench, WrenchKind
from runner.procedure.linked import Stage
from runner.quantities import QuantityError, convert, kind_of, show
from runner.toolbox.model import Toolbox, range_text

_SHOWN_DIGITS = 4


class Choice(Frozen):
    """One tool for a torque: what to set, why it stands where it stands, and what is against it.

    `setting` is None where none can be given. A tool with anything against it needs a deviation.
    """

    wrench: Wrench
    setting: Setting | None
    reason: str
    against: tuple[str, ...]

    @property
    def fits(self) -> bool:
        """Whether nothing is against it."""
        return not self.against


def best_for(
    toolbox: Toolbox,
    torque: Decimal,
    unit: str,
    day: str,
    kinds: Collection[WrenchKind] | None = None,
    extension: Extension | None = None,
) -> tuple[Choice, ...]:
    """Every torque tool of the toolbox (of these kinds), the best for `torque` first.

    In this order: in its marked range; not overdue on `day` (ISO 8601 text); set to 20 % of its maximum or more; the
    smallest rounding error in per cent; the narrowest range; the name. Raises QuantityError for a unit that is not
    known or measures no torque.
    """
    if kind_of(unit) != "torque":
        raise QuantityError(unit, "measures no torque", "a unit of torque such as N·m")
    ranked = []
    for wrench in toolbox.wrenches:
        if kind_of(wrench.unit) != "torque" or (kinds is not None and wrench.kind not in kinds):
            continue
        choice = _choice(wrench, torque, unit, day, extension)
        ranked.append((_rank(choice, day), choice))
    return tuple(choice for _, choice in sorted(ranked, key=lambda each: each[0]))


def fit_for(
    wrench: Wrench, torque: Decimal, unit: str, day: str, extension: Extension | None = None
) -> tuple[str, ...]:
    """What is against using a tool for a torque on a day, each in words; nothing where it fits.

    Raises QuantityError as `best_for` does.
    """
    return _judged(wrench, torque, unit, day, extension)[1]


def takes(wrench: Wrench, stage: Stage) -> bool:
    """Whether a stage may be known the way the tool tells its torque: set before the pull, or read."""
    return any((method == "click") == wrench.sets for method in stage.methods)


def given_otherwise(wrench: Wrench, stage: Stage, made: Setting) -> str:
    """Why a tool that can be set does not give a torque as its stage asks, in words; nothing where it does.

    It is known another way than the stage takes, or its nearest mark lies outside the band.
    """
    if not takes(wrench, stage):
        how = "is set and clicks" if wrench.sets else "is read and does not click"
        return f"{wrench.label} {how}; this stage takes {' or '.join(stage.methods)}"
    if wrench.sets and stage.band is not None and not stage.band.holds(made.applied):
        gives = show(made.applied, stage.unit or "", digits=_SHOWN_DIGITS)
        set_to = show(made.set_to, made.unit)
        return (
            f"the nearest mark of {wrench.label} is {set_to}, which gives {gives}, outside {stage.band.text}"
        )
    return ""


def _judged(
    wrench: Wrench, torque: Decimal, unit: str, day: str, extension: Extension | None
) -> tuple[Setting | None, tuple[str, ...]]:
    against, made = [], None
    try:
        made = setting(torque, unit, wrench, extension)
    except OutOfRangeError as error:
        asked = f"{error.found} would have to be set"
        against.append(f"covers {range_text(wrench)} only ({asked})")
    except SettingError as error:
        against.append(f"{error.found} {error.because}")
    if wrench.overdue(day):
        against.append(f"overdue since {wrench.due_on}")
    return made, tuple(against)


def _choice(wrench: Wrench, torque: Decimal, unit: str, day: str, extension: Extension | None) -> Choice:
    made, against = _judged(wrench, torque, unit, day, extension)
    if made is None:
        return Choice(wrench, None, "; ".join(against), against)
    share = made.set_to / Decimal(wrench.high)
    words = [*against, f"set {made.text}"]
    words.append("no rounding" if made.error_percent == 0 else f"{percent(made.error_percent)} by rounding")
    if wrench.kind != "fixed":
        low = " (under 20 %: least accurate there)" if share < LOW_SHARE else ""
        words.append(f"{show(share * 100, '%', 2)} of its maximum{low}")
    return Choice(wrench, made, "; ".join(words), against)


def _rank(choice: Choice, day: str) -> tuple[bool, bool, bool, Decimal, Decimal, str]:
    wrench, made = choice.wrench, choice.setting
    span = convert(Decimal(wrench.high), wrench.unit, "N·m") - convert(
        Decimal(wrench.low), wrench.unit, "N·m"
    )
    return (
        made is None,
        wrench.overdue(day),
        made is not None and bool(made.warning),
        abs(made.error_percent) if made is not None else Decimal(0),
        span,
        wrench.name,
    )
