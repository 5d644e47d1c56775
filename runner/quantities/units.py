"""The allow-list of units: per kind, each with one display form and the spellings people use.

A unit outside this list is refused with the nearest known one. Spellings are compared as written, upper and
lower case apart (mPa is not MPa); only the joint between two parts of a unit is free (`N·m`, `N.m`, `N m`).
"""

import re
from dataclasses import dataclass
from typing import Literal, get_args

from runner.quantities.errors import QuantityError

Kind = Literal[
    "torque",
    "angle",
    "length",
    "force",
    "pressure",
    "mass",
    "volume",
    "temperature",
    "voltage",
    "current",
    "resistance",
    "time",
    "distance",
    "count",
    "ratio",
]
KINDS: tuple[Kind, ...] = get_args(Kind)


@dataclass(frozen=True)
class Unit:
    """One unit: its display form, its kind, the pint expression we wrote for it, and other spellings.

    difference: the pint expression for a difference, where the zero of the unit is offset.
    many: the display form for more than one. tight: no blank between number and unit.
    """

    name: str
    kind: Kind
    pint: str
    spellings: tuple[str, ...] = ()
    difference: str | None = None
    many: str | None = None
    tight: bool = False


_UNITS = (
    Unit("N·m", "torque", "newton * meter", ("Nm",)),
    Unit("lbf·ft", "torque", "force_pound * foot", ("ft·lb", "lb·ft", "ft·lbf", "ft·lbs", "ftlb", "lbft")),
    Unit("lbf·in", "torque", "force_pound * inch", ("in·lb", "lb·in", "in·lbf", "in·lbs", "inlb", "lbin")),
    Unit("ozf·in", "torque", "force_ounce * inch", ("in·oz", "oz·in", "in·ozf")),
    Unit("kgf·m", "torque", "force_kilogram * meter", ("kgfm", "m·kgf", "kg·m", "mkg")),
    Unit("kgf·cm", "torque", "force_kilogram * centimeter", ("kgfcm", "cm·kgf", "kg·cm")),
    Unit("°", "angle", "degree", ("deg", "degree", "degrees"), tight=True),
    Unit("turn", "angle", "turn", ("turns",), many="turns"),
    Unit("mm", "length", "millimeter"),
    Unit("cm", "length", "centimeter"),
    Unit("m", "length", "meter"),
    Unit("µm", "length", "micrometer", ("um",)),
    Unit("in", "length", "inch", ("inch", "inches")),
    Unit("thou", "length", "thou"),
    Unit("N", "force", "newton"),
    Unit("kN", "force", "kilonewton"),
    Unit("lbf", "force", "force_pound"),
    Unit("kgf", "force", "force_kilogram"),
    Unit("kPa", "pressure", "kilopascal"),
    Unit("bar", "pressure", "bar"),
    Unit("MPa", "pressure", "megapascal"),
    Unit("psi", "pressure", "psi"),
    Unit("kg", "mass", "kilogram"),
    Unit("g", "mass", "gram"),
    Unit("lb", "mass", "pound", ("lbs",)),
    Unit("l", "volume", "liter", ("L", "litre", "litres")),
    Unit("ml", "volume", "milliliter", ("mL",)),
    Unit("°C", "temperature", "degree_Celsius", ("deg·C", "degC", "°·C"), difference="delta_degree_Celsius"),
    Unit(
        "°F",
        "temperature",
        "degree_Fahrenheit",
        ("deg·F", "degF", "°·F"),
        difference="delta_degree_Fahrenheit",
    ),
    Unit("V", "voltage", "volt"),
    Unit("mV", "voltage", "millivolt"),
    Unit("A", "current", "ampere"),
    Unit("mA", "current", "milliampere"),
    Unit("Ω", "resistance", "ohm", ("ohm", "ohms")),
    Unit("kΩ", "resistance", "kiloohm", ("kohm",)),
    Unit("s", "time", "second", ("sec", "second", "seconds")),
    Unit("min", "time", "minute", ("minute", "minutes")),
    Unit("h", "time", "hour", ("hour", "hours")),
    Unit("day", "time", "day", ("d", "days"), many="days"),
    Unit("week", "time", "week", ("weeks",), many="weeks"),
    Unit("km", "distance", "kilometer"),
    Unit("mi", "distance", "mile", ("mile", "miles")),
    Unit("count", "count", "dimensionless", ("piece", "pieces", "pcs")),
    Unit("%", "ratio", "percent", ("percent",)),
    Unit("ratio", "ratio", "dimensionless"),
)

_SAME_SIGN = str.maketrans({"º": "°", "˚": "°", "μ": "µ", "\u2126": "Ω", "℃": "°C", "℉": "°F"})


def _key(text: str) -> str:
    """Return the form under which a spelling is looked up: one sign per meaning, one joint."""
    return re.sub(r" *[·⋅•.*\-] *| +", "·", text.translate(_SAME_SIGN))


_BY_KEY = {_key(spelling): unit for unit in _UNITS for spelling in (unit.name, *unit.spellings)}

# Words that a person may well write and that would be read as something else by a general parser of units.
_REFUSED: dict[str, tuple[str, str | None]] = {
    **dict.fromkeys(("J", "kJ", "joule", "joules"), ("is an energy, and torque is not energy", "N·m")),
    **dict.fromkeys(("mil", "mils"), ("could be 0.001 inch or an angle", "thou")),
    **dict.fromkeys(('"', "″", "''", "”"), ("is a mark, not a unit", "in")),
    **dict.fromkeys(("'", "′", "’"), ("is a mark, not a unit", None)),
    "C": ("could be coulomb or Celsius", "°C"),
    "F": ("could be farad or Fahrenheit", "°F"),
}

_WORDS: dict[Kind, tuple[str, str]] = {
    "torque": ("a torque", "60 N·m"),
    "angle": ("an angle", "90°"),
    "length": ("a length", "2.5 mm"),
    "force": ("a force", "200 N"),
    "pressure": ("a pressure", "2.4 bar"),
    "mass": ("a mass", "1.5 kg"),
    "volume": ("a volume", "4.2 l"),
    "temperature": ("a temperature", "25 °C"),
    "voltage": ("a voltage", "12.6 V"),
    "current": ("a current", "5 A"),
    "resistance": ("a resistance", "120 Ω"),
    "time": ("a time", "10 min"),
    "distance": ("a distance", "50 km"),
    "count": ("a count", "5"),
    "ratio": ("a ratio", "4 %"),
}


def named(kind: Kind) -> str:
    """Return the kind with its article: `a torque`, `an angle`."""
    return _WORDS[kind][0]


def example(kind: Kind | None) -> str:
    """Return in words what is expected where a quantity of this kind is asked."""
    return f"{_WORDS[kind][0]} such as {_WORDS[kind][1]}" if kind else "a number and a unit such as 60 N·m"


def find(text: str, kind: Kind | None = None, whole: str | None = None) -> Unit:
    """Return the unit spelled by `text`, of this kind where one is given.

    whole: the text that the unit stands in, for the message. Raises QuantityError for a unit that is unknown,
    is of another kind, or has two meanings.
    """
    found = text if whole is None else whole
    unit = _BY_KEY.get(_key(text.strip(" ")))
    if unit is None:
        because, near = _REFUSED.get(text.strip(" "), ("names no unit known here", None))
        raise QuantityError(found, because, example(kind), near or _nearest(text, kind))
    if kind is not None and unit.kind != kind:
        raise QuantityError(found, f"is {named(unit.kind)}", example(kind), _nearest(text, kind))
    return unit


def _nearest(text: str, kind: Kind | None) -> str | None:
    """Return the display form of the nearest spelling among the units of the kind (or all), or None."""
    import difflib  # noqa: PLC0415 - only a refusal needs it

    known = {key: unit.name for key, unit in _BY_KEY.items() if kind is None or unit.kind == kind}
    wanted = _key(text.strip(" "))[:20]
    for key, name in known.items():
        if key.casefold() == wanted.casefold():
            return name
    close = difflib.get_close_matches(wanted, known, n=1, cutoff=0.5)
    return known[close[0]] if close else None


def unit_named(text: str, kind: Kind | None = None) -> str:
    """Return the display form of the unit that `text` spells (`Nm` gives `N·m`). Raises QuantityError."""
    return find(text, kind).name


def kind_of(unit: str) -> Kind:
    """Return the kind that a unit measures. Raises QuantityError for an unknown unit."""
    return find(unit).kind


def units_of(kind: Kind) -> tuple[str, ...]:
    """Return the display forms of the units of a kind, the most usual first."""
    return tuple(unit.name for unit in _UNITS if unit.kind == kind)
