"""How strong a bolt is: proof, yield and tensile strength of its class or grade, and the loads of a thread.

ISO 898-1 classes: the minima, which lie above what the digits say for 10.9 and 12.9 (10.9 is 1040 MPa and 940 MPa,
not 1000 and 900). Class 8.8 has two rows, and exactly 16 mm belongs to the lower one, as the printed proof load of
M16 proves (91.0 kN = 157 mm² · 580 MPa). SAE J429 grades have their rows by size too.
"""

import re

from runner.frozen import Frozen
from runner.joint.imperial import INCH, KSI
from runner.joint.sourced import Source
from runner.joint.threads import System, Thread
from runner.quantities.errors import NotTakenError
from runner.quantities.number import plain_blanks

ISO_898_1_88 = Source(
    "ISO 898-1 Table 3", "memory", note="class 8.8; corroborated by printed proof loads of M16 and M18"
)
ISO_898_1 = Source("ISO 898-1", "text", note="classes 10.9 and 12.9, in reference charts")
SAE_J429 = Source("SAE J429", "text", note="in Shigley and Mischke 5th ed. p. 341")

_SPLIT_88 = 16.0
_METRIC_ROWS = (3.0, 24.0)  # sizes whose proof loads were seen; nothing is said of others
_KSI_ROWS: dict[str, tuple[tuple[float, float, tuple[float, float, float]], ...]] = {
    "2": ((0.25, 0.75, (55, 57, 74)),),
    "5": ((0.25, 1.0, (85, 92, 120)), (1.0, 1.5, (74, 81, 105))),
    "8": ((0.25, 1.5, (120, 130, 150)),),
}
_CLASS = re.compile(r"(?:class |cl\. ?|property class )?(?P<name>\d{1,2}[.,]\d)", re.ASCII | re.IGNORECASE)
_GRADE = re.compile(
    r"(?:sae )?(?:j429 )?(?:grade|gr\.?|g) ?(?P<name>\d{1,2}(?:\.\d)?)", re.ASCII | re.IGNORECASE
)
_EXPECTED = "8.8, 10.9, 12.9, or SAE gr. 2, gr. 5, gr. 8"
_MOST_CHARACTERS = 40
_ROUNDING = 1e-9


class StrengthError(NotTakenError):
    """Text or a size that no row here covers."""

    def __init__(self, found: str, because: str, expected: str = _EXPECTED, near: str | None = None) -> None:
        super().__init__(found, because, expected, near)


class Strength(Frozen):
    """Minimum strengths in MPa: proof strength, yield (Rp0.2 or ReL), tensile; `system` is whose threads it is for."""

    name: str
    system: System
    proof: float
    yield_: float
    tensile: float
    sources: tuple[Source, ...]


def strength(text: str, d_mm: float) -> Strength:
    """Return the strength that a class or grade has at a diameter in mm.

    Accepted: `8.8`, `10.9`, `12.9`, also with `class` before it or a decimal comma; `gr. 5`, `grade 8`, `SAE grade 2`.
    Raises StrengthError for anything else, and for a size that no row covers: metric below M3 and above M24
    (beyond what was seen), grades outside their inches.
    """
    plain = plain_blanks(text)
    if len(plain) > _MOST_CHARACTERS:
        raise StrengthError(text, "is too long")
    if match := _CLASS.fullmatch(plain):
        return _metric(text, match["name"].replace(",", "."), d_mm)
    if match := _GRADE.fullmatch(plain):
        return _graded(text, match["name"], d_mm / INCH)
    raise StrengthError(text, "is no class or grade known here", near=_nearest(plain))


def strength_for(text: str, thread: Thread) -> Strength:
    """As `strength`, for a thread; a metric class on an inch thread or a grade on a metric one is refused."""
    found = strength(text, thread.d)
    if found.system != thread.system:
        kind = "a metric class" if found.system == "metric" else "a grade of inch bolts"
        raise StrengthError(
            text,
            f"is {kind}, and {thread.designation} is {thread.system}",
            "8.8, 10.9 or 12.9" if thread.system == "metric" else "gr. 2, gr. 5 or gr. 8",
        )
    return found


def proof_load(thread: Thread, strength: Strength) -> float:
    """The load in N that the bolt bears without lasting stretch: As · Sp.

    Printed proof loads of ISO 898-1 are not a clean rounding of this: they differ by up to 0.7 %.
    """
    return thread.stress_area * strength.proof


def yield_load(thread: Thread, strength: Strength) -> float:
    """The load in N at which the bolt yields in pure tension: As · Rp0.2."""
    return thread.stress_area * strength.yield_


def tensile_load(thread: Thread, strength: Strength) -> float:
    """The least load in N at which the bolt breaks in pure tension: As · Rm."""
    return thread.stress_area * strength.tensile


def _metric(text: str, name: str, d: float) -> Strength:
    low, high = _METRIC_ROWS
    if name not in ("8.8", "10.9", "12.9"):
        raise StrengthError(text, "is no class known here", near=_nearest(name))
    if not low <= d <= high:
        raise StrengthError(text, f"has no row here for {d:g} mm", f"M{low:g} to M{high:g}")
    if name == "8.8":
        rows = (580.0, 640.0, 800.0) if d <= _SPLIT_88 else (600.0, 660.0, 830.0)
        return Strength(name, "metric", *rows, (ISO_898_1_88,))
    rows = (830.0, 940.0, 1040.0) if name == "10.9" else (970.0, 1100.0, 1220.0)
    return Strength(name, "metric", *rows, (ISO_898_1,))


def _graded(text: str, name: str, inches: float) -> Strength:
    rows = _KSI_ROWS.get(name)
    if rows is None:
        raise StrengthError(text, "is no grade known here", near=_nearest(f"gr. {name}"))
    for low, high, strengths in rows:
        if low - _ROUNDING <= inches <= high + _ROUNDING:
            proof, yields, breaks = (value * KSI for value in strengths)
            return Strength(f"gr. {name}", "unified", proof, yields, breaks, (SAE_J429,))
    raise StrengthError(text, f"has no row here for {inches:.4g} in", f"{rows[0][0]:g} to {rows[-1][1]:g} in")


def _nearest(text: str) -> str | None:
    import difflib  # noqa: PLC0415 - only a refusal needs it

    known = ("8.8", "10.9", "12.9", "gr. 2", "gr. 5", "gr. 8")
    return next(iter(difflib.get_close_matches(text, known, n=1, cutoff=0.5)), None)
