"""The number to set on the wrench in hand, for the torque that is to reach the fastener; and the inverse.

    S = T · L / (L + E · cos θ)

T torque wanted at the fastener; S setting of the wrench; L mm from the force mark on the handle to the square
drive; E mm from the square drive to the fastener; θ angle between extension and wrench, 0° straight on, 180° back.
An adapter whose fastener is in line with the drive (a socket extension) turns about the same axis: S = T.

Rounding: to the nearest mark. Marks are counted from the lowest marked value in steps of the graduation, and the
highest marked value is a mark too. Exactly between two marks the error is the same either way, and the lower one is
taken, because more can be added to a fastener and nothing taken away. Where a wrench can be set to any value, four
significant digits are set, an error of at most 0.05 %. Numbers are exact decimals where no cosine is involved and the
division ends; otherwise they have 15 significant digits.
"""

import math
from decimal import ROUND_FLOOR, Context, Decimal, localcontext

from runner.frozen import Frozen
from runner.joint.sourced import Source, Working
from runner.joint.wrench import Extension, Wrench
from runner.quantities import QuantityError, convert, kind_of, show, unit_named
from runner.quantities.errors import NotTakenError
from runner.quantities.number import EXACT, tidy

LEAST_ARM = Decimal("0.25")
"""The least share of the wrench's length that an extension may leave as the effective one, L + E · cos θ.

The setting grows without limit as that goes to 0. An error of 1 % in a measured length (or in where the hand pulls)
changes the torque by (L / (L + E · cos θ) − 1) %; at a quarter that is 3 %, nearly all that a good wrench is allowed.
Chosen here for that reason; no standard names a margin.
"""

LOW_SHARE = Decimal("0.2")
"""The share of its maximum under which the accuracy of a wrench is not vouched for (20 %)."""

SETTING_DIGITS = 4
"""Significant digits set on a wrench that can be set to any value."""

ARMY_WRENCH = Source(
    "US Army TM 9-254, figures 4-5 and 4-6", "text", note="the plus sign of the angled form is misprinted"
)
IN_LINE = Source("wrench maker's manual: an adapter in line with the drive needs no correction", "text")
UNITS = Source(
    "units by their definitions: 1 lb = 0.453 592 37 kg, 1 in = 25.4 mm, g = 9.806 65 m/s²", "worked out"
)
TWENTY_PER_CENT = Source(
    "ISO 6789",
    "text",
    edition="2003",
    note="as a wrench maker's manual reviews it: tested at 20, 60 and 100 % of maximum; the 2017 edition uses the "
    "marked range",
)
ARMY_RANGE = Source(
    "US Army TM 1-1500-204-23-9", "text", note="no accuracy is required below 20 % of maximum"
)

_RANGE_DIGITS = 6  # of a range that was converted; what is marked on a tool has fewer
_ROUGH = Context(prec=15)
_APPLIED = Context(prec=10)
_FEW = Context(prec=SETTING_DIGITS)
_COSINES = {0: "1", 60: "0.5", 90: "0", 120: "-0.5", 180: "-1", 240: "-0.5", 270: "0", 300: "0.5"}
_HUNDREDTH = Decimal("0.01")


class SettingError(NotTakenError):
    """No setting can be given; no known word is near."""


class OutOfRangeError(SettingError):
    """The setting would be outside the marked range."""


class NoTorqueError(SettingError):
    """What is asked is no torque, or what is said of the wrench no graduation: no wrench could help."""


class Scale(Frozen):
    """What is needed of a wrench: its unit, marked range, graduation and length in mm, each None where not known."""

    unit: str
    low: Decimal | None = None
    high: Decimal | None = None
    graduation: Decimal | None = None
    length: Decimal | None = None
    name: str = "the wrench"


class Setting(Frozen):
    """One setting. `exact` and `set_to` are in `unit`, the wrench's; `applied` is in the unit of the torque wanted.

    `applied` reaches the fastener when `set_to` is set; `error_percent` says how far that is from the torque wanted,
    in per cent of it, to a hundredth. `warning` is empty where there is none. `corrected`: an extension changed it.
    """

    exact: Decimal
    set_to: Decimal
    unit: str
    applied: Decimal
    error_percent: Decimal
    warning: str
    working: Working
    corrected: bool = False

    @property
    def text(self) -> str:
        """The number to set, as it is shown: `44 lbf·ft`."""
        return show(self.set_to, self.unit)


def scale_of(wrench: Wrench) -> Scale:
    """The scale of a tool of the toolbox. Raises SettingError for one that shows no torque."""
    unit = unit_named(wrench.unit)
    if kind_of(unit) != "torque":
        raise SettingError(wrench.name, f"measures in {unit}", "a tool that is set to or shows a torque")
    return Scale(
        unit,
        Decimal(wrench.low),
        Decimal(wrench.high),
        Decimal(wrench.graduation) if wrench.graduation else None,
        Decimal(wrench.length) if wrench.length else None,
        wrench.name,
    )


def setting(torque: Decimal, unit: str, wrench: Wrench, extension: Extension | None = None) -> Setting:
    """What to set on `wrench` (or to pull to, where it is read) so that `torque`, in `unit`, reaches the fastener.

    Raises SettingError for a setting outside the marked range (its subclass OutOfRangeError), an extension on a wrench
    whose length is not known, an effective length under LEAST_ARM of the wrench's, and a torque that is not above 0;
    QuantityError for a unit that is not known or measures no torque.
    """
    return setting_on(torque, unit, scale_of(wrench), extension)


def setting_on(torque: Decimal, unit: str, scale: Scale, extension: Extension | None = None) -> Setting:
    """As `setting`, for a scale of which less may be known: without a range nothing is refused or warned of for it."""
    _above_zero(torque, unit)
    wanted = convert(torque, unit, scale.unit)
    arm = _arm(scale, extension)
    exact = wanted if arm is None or arm == 1 else tidy(_ROUGH.divide(wanted, arm))
    set_to = _nearest_mark(exact, scale)
    applied = tidy(_APPLIED.plus(_applied(set_to, arm, scale.unit, unit)))
    with localcontext(EXACT):
        error = ((applied - torque) * 100 / torque).quantize(_HUNDREDTH)
    warning = _warning(set_to, scale)
    shown = f"set {show(set_to, scale.unit)}"
    if set_to != exact:
        shown += f" (worked out: {show(exact, scale.unit, 6)})"
    shown += f"; {show(applied, unit, 6)} reaches the fastener"
    working = Working(
        "Setting of the wrench",
        "S = T" if extension is None else "S = T · L / (L + E · cos θ)",
        (
            ("T, wanted at the fastener", show(torque, unit)),
            *(
                [("T in the wrench's unit", show(wanted, scale.unit, 8))]
                if unit_named(unit) != scale.unit
                else []
            ),
            *_lengths(scale, extension),
            *_marks(scale),
        ),
        shown if error == 0 else f"{shown}, {percent(error)}",
        _sources(extension, converted=unit_named(unit) != scale.unit, low=bool(warning)),
    )
    return Setting(exact, set_to, scale.unit, applied, tidy(error), warning, working, arm not in (None, 1))


def applied_torque(
    set_value: Decimal, wrench: Wrench, extension: Extension | None = None, unit: str | None = None
) -> Decimal:
    """What reaches the fastener, in `unit` (the wrench's own without one), when `set_value` is set or read.

    T = S · (L + E · cos θ) / L, rounded to 12 significant digits where the unit differs. The marked range is not
    asked for. Raises SettingError and QuantityError as `setting` does.
    """
    return applied_on(set_value, scale_of(wrench), extension, unit)


def applied_on(
    set_value: Decimal, scale: Scale, extension: Extension | None = None, unit: str | None = None
) -> Decimal:
    """As `applied_torque`, for a scale of which less may be known."""
    _above_zero(set_value, scale.unit)
    return _applied(set_value, _arm(scale, extension), scale.unit, unit or scale.unit)


def worked_applied(
    set_value: Decimal, scale: Scale, extension: Extension | None = None, unit: str | None = None
) -> Working:
    """How `applied_on` comes about."""
    applied = applied_on(set_value, scale, extension, unit)
    return Working(
        "What reaches the fastener",
        "T = S" if extension is None else "T = S · (L + E · cos θ) / L",
        (("S, set on the wrench", show(set_value, scale.unit)), *_lengths(scale, extension)),
        f"{show(applied, unit or scale.unit, 6)} reaches the fastener",
        _sources(extension, converted=unit is not None and unit_named(unit) != scale.unit),
    )


def percent(error: Decimal) -> str:
    """An error in per cent with its sign: `+1.2 %`, `−0.57 %`; `0 %` for none."""
    return f"{'+' if error > 0 else ''}{show(error, '%')}"


def cosine(degrees: Decimal) -> Decimal:
    """The cosine of any angle, exact where it is 0, a half or 1; otherwise to 15 significant digits."""
    turned = degrees % 360 if degrees >= 0 else 360 - (-degrees) % 360
    if turned == turned.to_integral_value() and int(turned) % 360 in _COSINES:
        return Decimal(_COSINES[int(turned) % 360])
    return _ROUGH.create_decimal_from_float(math.cos(math.radians(float(turned))))


def _above_zero(torque: Decimal, unit: str) -> None:
    if kind_of(unit) != "torque":
        raise QuantityError(unit, "measures no torque", "a unit of torque such as N·m")
    if not torque.is_finite() or torque <= 0:
        shown = show(torque, unit) if torque.is_finite() else str(torque)
        raise NoTorqueError(shown, "is no torque to set", "a torque above 0")


def _arm(scale: Scale, extension: Extension | None) -> Decimal | None:
    """(L + E · cos θ) / L, by which an extension multiplies the setting; None where there is none."""
    if extension is None:
        return None
    reach = EXACT.multiply(extension.mm, cosine(extension.degrees))
    if not reach.is_finite() or extension.mm < 0:
        raise SettingError(extension.length, "is no length of an extension", "a length from 0 mm on")
    if reach == 0:
        return Decimal(1)
    length = scale.length
    if length is None:
        raise SettingError(
            scale.name,
            "has no length, and an extension is corrected for by it",
            "its length from the force mark on the handle to the square drive",
        )
    if length <= 0:
        raise SettingError(show(length, "mm"), "is no length of a wrench", "a length above 0 mm")
    effective = EXACT.add(length, reach)
    if effective < LEAST_ARM * length:
        raise SettingError(
            f"{show(extension.mm, 'mm')} at {show(extension.degrees, '°')} on {show(length, 'mm')}",
            f"leaves {_told_apart(effective, LEAST_ARM * length)} of effective length, where small errors of length "
            "become large errors of torque",
            f"at least a quarter of the wrench's length, {show(LEAST_ARM * length, 'mm')}",
        )
    return Context(prec=40).divide(effective, length)


def _told_apart(length: Decimal, limit: Decimal) -> str:
    """A length in mm with as few digits as it takes to be seen to differ from a limit."""
    told = (show(length, "mm", digits) for digits in range(SETTING_DIGITS, _ROUGH.prec))
    return next((each for each in told if each != show(limit, "mm")), show(length, "mm", _ROUGH.prec))


def _applied(set_value: Decimal, arm: Decimal | None, own: str, unit: str) -> Decimal:
    turned = set_value if arm is None or arm == 1 else tidy(_ROUGH.multiply(set_value, arm))
    return convert(turned, own, unit_named(unit))


def _nearest_mark(exact: Decimal, scale: Scale) -> Decimal:
    """The mark nearest to `exact`; raises SettingError where that would be outside the marked range."""
    low, high, step = scale.low, scale.high, scale.graduation
    if step is None:
        nearest = tidy(_FEW.plus(exact))
    else:
        if not step.is_finite() or step <= 0:
            shown = show(step, scale.unit) if step.is_finite() else str(step)
            raise NoTorqueError(shown, "is no graduation", "a graduation above 0")
        start = low or Decimal(0)
        with localcontext(EXACT):
            below = start + ((exact - start) / step).to_integral_value(ROUND_FLOOR) * step
            above = below + step
            if high is not None and below < high < above:
                above = high
            nearest = tidy(below if exact - below <= above - exact else above)
        if nearest == 0:
            raise SettingError(show(exact, scale.unit, 6), "is less than half a graduation", "a finer wrench")
    if (low is not None and nearest < low) or (high is not None and nearest > high):
        raise OutOfRangeError(
            show(exact, scale.unit, 6),
            f"is outside the marked range of {scale.name}",
            f"a setting from {_range(low, high, scale.unit)}",
        )
    return nearest


def _range(low: Decimal | None, high: Decimal | None, unit: str) -> str:
    if low is not None and high is not None:
        return f"{show(low, unit, _RANGE_DIGITS)} to {show(high, unit, _RANGE_DIGITS)}"
    top = show(high or Decimal(0), unit, _RANGE_DIGITS)
    return f"{show(low, unit, _RANGE_DIGITS)} up" if low is not None else f"0 to {top}"


def _warning(set_to: Decimal, scale: Scale) -> str:
    if scale.high is None or scale.low == scale.high or set_to >= LOW_SHARE * scale.high:
        return ""
    return (
        f"{show(set_to, scale.unit)} is under 20 % of the maximum of {scale.name}, {show(scale.high, scale.unit)}; "
        "its accuracy may not be vouched for there: take a smaller one if you have it"
    )


def _lengths(scale: Scale, extension: Extension | None) -> tuple[tuple[str, str], ...]:
    if extension is None:
        return ()
    wrench = () if scale.length is None else (("L, handle to square drive", show(scale.length, "mm")),)
    return (
        *wrench,
        ("E, square drive to fastener", show(extension.mm, "mm")),
        ("θ, between extension and wrench", show(extension.degrees, "°")),
    )


def _marks(scale: Scale) -> tuple[tuple[str, str], ...]:
    known = scale.low is not None or scale.high is not None
    marked = (("marked range", _range(scale.low, scale.high, scale.unit)),) if known else ()
    if scale.graduation is None:
        return (("graduation", f"none: {SETTING_DIGITS} significant digits are set"), *marked)
    return (("graduation", show(scale.graduation, scale.unit)), *marked)


def _sources(
    extension: Extension | None, *, converted: bool = False, low: bool = False
) -> tuple[Source, ...]:
    formula = () if extension is None else (IN_LINE,) if extension.mm == 0 else (ARMY_WRENCH,)
    return (*formula, *((UNITS,) if converted else ()), *((TWENTY_PER_CENT, ARMY_RANGE) if low else ()))
