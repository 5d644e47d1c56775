"""The type and class of a torque tool (ISO 6789-1), and how far one may deviate from the reference reading.

Type I indicates, type II is set: I A torsion or flexion bar, I B scale or dial, I C electronic, I D scaled
screwdriver, I E electronic screwdriver; II A adjustable with a scale, II B fixed, II C adjustable without a scale,
II D to F the same for screwdrivers, II G flexion bar, adjustable.

The permissible deviation says whether a tool passes its calibration. It is no uncertainty of a reading: that is
the certificate's alone (`conformity`).
"""

import re
from decimal import Context, Decimal

from runner.frozen import Frozen
from runner.joint.sourced import Source, Working
from runner.joint.wrench import WrenchKind
from runner.quantities import convert, show
from runner.quantities.errors import NotTakenError

MANUAL = Source("ISO 6789 as a wrench maker's manual reviews it", "text", note="type II class A only")
STANDARD = Source("ISO 6789-1, 5.1.5", "memory", edition="2017")
SIGN = Source("ISO 6789-1, clause 7", "memory", note="the manual divides by the reference reading too")

SMALL = Decimal(10)
"""N·m: up to this maximum the classes with two values have the larger one."""
_SIX, _FOUR = Decimal(6), Decimal(4)
_TWO_VALUES = frozenset({"I B", "I C", "I E", "II A", "II B", "II C"})
_SIX_ALWAYS = frozenset({"I A", "I D", "II D", "II E", "II F", "II G"})
CLASSES = tuple(sorted(_TWO_VALUES | _SIX_ALWAYS))
"""Every type and class, as written here: `II A`."""

_WRITTEN = re.compile(
    r"(?:type *)?(?P<type>i{1,2}|1|2)(?: *[,/-]? *class)? *[-/]? *(?P<letter>[a-g])", re.IGNORECASE
)
_ROUGH = Context(prec=15)


class ToolClassError(NotTakenError):
    """Text that is no type and class."""

    def __init__(self, found: str, near: str | None) -> None:
        expected = f"a type and class of ISO 6789 such as II A (one of {', '.join(CLASSES)})"
        super().__init__(found, "is no type and class of a torque tool", expected, near)


class Permissible(Frozen):
    """How far a tool may deviate, `percent` of the reference reading either way, for its type and class."""

    type_class: str
    percent: Decimal
    sources: tuple[Source, ...]

    def passes(self, deviation: Decimal) -> bool:
        """Whether a deviation in per cent is permissible; the limit itself is."""
        return abs(deviation) <= self.percent


def parse_class(text: str) -> str:
    """Return a type and class as written here. Read: `II A`, `IIA`, `2A`, `type II class A`; case is free.

    Raises ToolClassError.
    """
    match = _WRITTEN.fullmatch(" ".join(text.split()))
    if match is None:
        raise ToolClassError(text, None)
    kind = {"1": "I", "2": "II"}.get(match["type"], match["type"].upper())
    named = f"{kind} {match['letter'].upper()}"
    if named not in CLASSES:
        other = f"{'II' if kind == 'I' else 'I'} {match['letter'].upper()}"
        raise ToolClassError(text, other if other in CLASSES else None)
    return named


def permissible(type_class: str, maximum: Decimal, unit: str) -> Permissible:
    """The permissible deviation of a tool of this type and class whose maximum is `maximum`, in `unit`.

    ±6 %, or ±4 % where the class has two values and the maximum is above 10 N·m. Raises ToolClassError, and
    QuantityError for a unit that measures no torque.
    """
    named = parse_class(type_class)
    small = named in _SIX_ALWAYS or convert(maximum, unit, "N·m") <= SMALL
    return Permissible(named, _SIX if small else _FOUR, (MANUAL,) if named == "II A" else (STANDARD,))


def deviation(shown: Decimal, reference: Decimal) -> Decimal:
    """By how many per cent a tool deviates: (shown or set − reference) / reference · 100, to 15 digits.

    The reference reading is the denominator: set 100 where the reference reads 104.1 is −3.94 %, not −4.10 %.
    Raises ValueError where the reference is not above 0.
    """
    if not reference.is_finite() or reference <= 0:
        raise ValueError(f"the reference reading is {reference}; expected a reading above 0")
    return _ROUGH.divide(_ROUGH.multiply(_ROUGH.subtract(shown, reference), Decimal(100)), reference)


def worked_deviation(shown: Decimal, reference: Decimal, unit: str, limit: Permissible | None) -> Working:
    """How a deviation comes about, and whether a tool may have it; without a `limit` it is not judged.

    Raises ValueError as `deviation`.
    """
    found = deviation(shown, reference)
    inputs = [("set or shown on the tool", show(shown, unit)), ("reference reading", show(reference, unit))]
    words = deviation_text(found, limit)
    if limit is None:
        result = f"{words}; no type and class of the tool is known, so it is not judged"
    else:
        inputs.append(("permissible", f"±{show(limit.percent, '%')} for class {limit.type_class}"))
        result = f"{words}, {'within' if limit.passes(found) else 'beyond'} the permissible ±{show(limit.percent, '%')}"
    return Working(
        "Deviation of the tool",
        "a = (set or shown − reference) / reference · 100 %",
        tuple(inputs),
        result,
        (SIGN, *(limit.sources if limit else ())),
    )


def deviation_text(found: Decimal, limit: Permissible | None = None) -> str:
    """A deviation with its sign, to a hundredth of a per cent; to more digits where that would hide the verdict."""
    rounded = found.quantize(Decimal("0.01"), context=_ROUGH)
    if limit is not None and limit.passes(rounded) != limit.passes(found):
        rounded = Context(prec=8).plus(found)
    return f"{'+' if rounded > 0 else ''}{show(rounded, '%')}"


def unlike(kind: WrenchKind, type_class: str) -> str:
    """Why a class cannot be this kind of tool's, in words; empty where it can. Raises ToolClassError."""
    named = parse_class(type_class)
    sets = kind in ("click", "fixed")
    if kind in ("angle gauge", "gauge"):
        return f"{'an' if kind == 'angle gauge' else 'a'} {kind} shows no torque and so has no type and class"
    if kind in ("dial", "beam", "electronic") and named.startswith("II "):
        return f"a {kind} tool indicates and so is of type I; {named} is a tool that is set"
    if sets and named.startswith("I "):
        return f"a {kind} tool is set and so is of type II; {named} is a tool that indicates"
    return ""
