"""Friction and nut factors: as stated, as assumed, as published, and how far preload scatters about them.

There is no universal lubrication factor: sources take 10 %, 20 %, 25 %, 30 % and 50 % off a dry torque for the same
word. So arithmetic here asks for a friction or a nut factor; only the proof and the counter assume one, and say so.
"""

import re

from runner.frozen import Frozen
from runner.joint.between import Between, N
from runner.joint.sourced import Source
from runner.quantities import QuantityError, parse_number
from runner.quantities.errors import quoted

ASSUMED = Between(0.10, 0.16)
"""Friction in thread and under the head where the author states none; always named as assumed."""

ASSUMPTION = Source(
    "friction where none is stated", "assumed", note="0.10 to 0.16 in thread and under the head"
)
STATED = Source("friction as stated", "worked out")

_EXPECTED = "a friction above 0 and below 1, such as 0.10..0.16, 0.10 to 0.16 or 0.12"

_BETWEEN = re.compile(r"\.\.|(?<=\s)to(?=\s)|(?<=[\d\s])[–-]", re.ASCII)
"""What stands between two limits: a dash before the first one is its sign, and one after a letter an exponent's."""

_MOST_CHARACTERS = 40

_SHIGLEY = Source("Shigley 9th ed. Table 8-15", "text")
_IFI = Source("IFI Fastener Standards 5th ed.", "text", note="as quoted in a machine manual")
_NUT_FACTORS: dict[str, tuple[tuple[float, ...], tuple[Source, ...]]] = {
    "nonplated": ((0.30, 0.20), (_SHIGLEY, _IFI)),
    "zinc-plated": ((0.20, 0.15), (_SHIGLEY, _IFI)),
    "cadmium-plated": ((0.16, 0.15), (_SHIGLEY, _IFI)),
    "lubricated": ((0.18,), (_SHIGLEY,)),
    "anti-seize": ((0.12,), (_SHIGLEY,)),
    "low-friction nuts": ((0.09,), (_SHIGLEY,)),
}
CONDITIONS = tuple(_NUT_FACTORS)
"""Conditions of a thread that have a published nut factor."""


class NutFactor(Frozen):
    """The nut factors published for a condition, as an interval that holds them all."""

    condition: str
    factor: Between
    sources: tuple[Source, ...]


def parse_friction(text: str) -> Between:
    """The interval that `text` states: `0.10..0.16`, `0.10 to 0.16`, `0.10–0.16`, `0.12`. Raises QuantityError."""
    between = _BETWEEN.search(text)
    first, second = (text[: between.start()], text[between.end() :]) if between else (text, text)
    if between and not (first.strip() and second.strip()):
        raise QuantityError(text, "has one limit only", _EXPECTED)
    try:
        low, high = float(parse_number(first)), float(parse_number(second))
    except QuantityError as error:
        raise QuantityError(text, error.because, _EXPECTED) from None
    if not 0 < low < 1 or not 0 < high < 1:
        raise QuantityError(text, "is no coefficient of friction", _EXPECTED)
    if low > high:
        raise QuantityError(text, "has the higher value first", _EXPECTED)
    return Between(low, high)


def friction_text(friction: Between | float) -> str:
    """A friction as the trade writes it, with two decimals at least: `0.10 to 0.16`, `0.125`."""
    if isinstance(friction, Between):
        low, high = friction_text(friction.low), friction_text(friction.high)
        return low if low == high else f"{low} to {high}"
    plain, exact = f"{friction:.2f}", f"{friction:.6g}"
    return plain if float(plain) == float(exact) else exact


def published_nut_factor(condition: str) -> NutFactor:
    """What is published for a condition; where sources disagree the interval holds both (nonplated: 0.20 to 0.30).

    Raises ValueError for a condition without a published factor: none is ever guessed.
    """
    row = _NUT_FACTORS.get(condition)
    if row is None:
        import difflib  # noqa: PLC0415 - only a refusal needs it

        # A near word only where it is surely a slip: "oiled" must never be taken for "nonplated".
        near = difflib.get_close_matches(condition[:_MOST_CHARACTERS].casefold(), CONDITIONS, n=1, cutoff=0.8)
        hint = f" (did you mean {near[0]}?)" if near else ""
        raise ValueError(
            f"no nut factor is published for {quoted(condition)}; expected: {', '.join(CONDITIONS)}{hint}"
        )
    factors, sources = row
    return NutFactor(condition, Between(min(factors), max(factors)), sources)


class Scatter(Frozen):
    """How far preload scatters about its mean with a method, as a share of it: 0.35 is ±35 %."""

    method: str
    share: float
    source: Source


_NASA = Source("NASA criteria for preloaded bolts", "text", note="as quoted on a page on measuring preload")
_HANDBOOK = Source("Machinery's Handbook", "text", note="as quoted on a page on measuring preload")
_SCATTER = (
    Scatter("torque wrench", 0.25, _HANDBOOK),
    Scatter("torque, unlubricated", 0.35, _NASA),
    Scatter("torque, cadmium-plated", 0.30, _NASA),
    Scatter("torque, lubricated", 0.25, _NASA),
    Scatter("turn of nut", 0.15, _HANDBOOK),
)
_BY_CONDITION = {
    "nonplated": "torque, unlubricated", "zinc-plated": "torque, unlubricated",
    "cadmium-plated": "torque, cadmium-plated", "lubricated": "torque, lubricated",
}  # fmt: skip
TIGHTENING_FACTOR = Source(
    "tightening factor αA as stated", "worked out", note="αA = FMmax/FMmin (VDI 2230-1)"
)


def scatter(method: str) -> Scatter:
    """The published scatter of a method. Raises ValueError where none is known here."""
    found = next((row for row in _SCATTER if row.method == method), None)
    if found is None:
        raise ValueError(
            f"no scatter is known for {method!r}; expected: {', '.join(row.method for row in _SCATTER)}"
        )
    return found


def scatter_of(condition: str | None) -> Scatter:
    """The scatter of a torque wrench on a thread in this condition; that of any where none is published for it."""
    return scatter(_BY_CONDITION.get(condition or "", "torque wrench"))


def stated_scatter(tightening_factor: float) -> Scatter:
    """The scatter that a tightening factor αA stands for. Raises ValueError for αA below 1."""
    return Scatter(f"αA {tightening_factor:g}", half_width(tightening_factor), TIGHTENING_FACTOR)


def scattered(preload: Between | float, share: float) -> Between:
    """The preload to be reckoned with: (1 − Γ) F to (1 + Γ) F. Raises ValueError unless 0 <= Γ < 1."""
    if not 0 <= share < 1:
        raise ValueError(f"a scatter of {share:g}; expected: a share from 0 to below 1")
    return preload * (1 + Between(-share, share))


def least_preload(most: N, tightening_factor: float) -> N:
    """VDI 2230: FMmin = FMmax / αA. Raises ValueError for αA below 1."""
    if tightening_factor < 1:
        raise ValueError(f"a tightening factor of {tightening_factor:g}; expected: 1 or more")
    return most / tightening_factor


def half_width(tightening_factor: float) -> float:
    """αA as a scatter about the mean: (αA − 1) / (αA + 1). Raises ValueError for αA below 1."""
    least = least_preload(1.0, tightening_factor)
    return (1 - least) / (1 + least)
