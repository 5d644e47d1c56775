"""Screw threads of 60°: reading their designations, and their geometry.

With H = √3/2 · P (ISO 68-1, ISO 724), all in mm:
    pitch diameter   d2 = d − 3√3/8 · P
    minor diameter   D1 = d − 5√3/8 · P                          (of the nut)
    root diameter    d3 = d − 17√3/24 · P  metric;   dr = d − 3√3/4 · p  unified, as Shigley has it
    stress area      As = π/4 · (d − 0.938194 P)²  metric;   At = π/4 · (d − 0.974279 p)²  unified
The two stress areas differ by 1.3 % on M8 and both are published for metric bolts: each thread takes the one of
its own standard (ISO 898-1; ASME B1.1), and `stress_area_formula` names it.
"""

import math
import re
from fractions import Fraction
from typing import Literal

from runner.frozen import Frozen
from runner.joint.imperial import INCH
from runner.joint.sourced import Source
from runner.quantities.errors import NotTakenError
from runner.quantities.number import parse_number, plain_blanks

System = Literal["metric", "unified"]

ISO_724 = Source("ISO 68-1 and ISO 724 geometry, ISO 898-1 stress area", "worked out")
ISO_261 = Source("ISO 261 and ISO 262, coarse pitches", "text")
ASME_B1_1 = Source(
    "ASME B1.1 geometry and stress area", "worked out", note="agrees with Shigley 9th ed. Table 8-2"
)

_ROOT_3 = math.sqrt(3)
_METRIC_AREA = (3 * _ROOT_3 / 8 + 17 * _ROOT_3 / 24) / 2
_UNIFIED_AREA = 9 * _ROOT_3 / 16

COARSE = {
    3: 0.5, 3.5: 0.6, 4: 0.7, 5: 0.8, 6: 1, 7: 1, 8: 1.25, 10: 1.5, 12: 1.75,
    14: 2, 16: 2, 18: 2.5, 20: 2.5, 22: 2.5, 24: 3,
}  # fmt: skip
"""Coarse pitch by diameter, mm (ISO 261/262)."""

_PITCHES = (0.35, 0.5, 0.6, 0.7, 0.75, 0.8, 1, 1.25, 1.5, 1.75, 2, 2.5, 3)
"""Pitches of ISO 261 up to M24: what is written between two of them is a slip."""

_SERIES: dict[str, dict[int, str]] = {
    "#5": {44: "UNF"},
    "#8": {32: "UNC", 36: "UNF"},
    "#10": {24: "UNC", 32: "UNF"},
    "1/4": {20: "UNC", 28: "UNF"},
    "5/16": {18: "UNC", 24: "UNF"},
    "3/8": {16: "UNC", 24: "UNF"},
    "7/16": {14: "UNC", 20: "UNF"},
    "1/2": {13: "UNC", 20: "UNF"},
    "9/16": {12: "UNC", 18: "UNF"},
    "5/8": {11: "UNC", 18: "UNF"},
    "3/4": {10: "UNC", 16: "UNF"},
    "7/8": {9: "UNC", 14: "UNF"},
    "1": {8: "UNC", 12: "UNF", 14: "UNS"},
    "1 1/8": {8: "UN", 12: "UNF"},
    "1 1/4": {8: "UN", 12: "UNF"},
}
"""Threads per inch by size, with the series. Others need their series written."""

_METRIC = re.compile(
    r"[Mm] ?(?P<d>\d{1,3}(?:[.,]\d+)?)(?: ?[xX×*-] ?(?P<pitch>\d{1,2}(?:[.,]\d+)?))?(?: ?mm)?", re.ASCII
)
_UNIFIED = re.compile(
    r"(?P<number>#|[Nn]o\.? ?)?(?P<size>\d{1,2}|(?:\d[ -])?\d{1,2}/\d{1,2})(?:[\"″]| ?in)?"
    r"(?: ?[-x×] ?(?P<count>\d{1,2}))?(?: ?-? ?(?P<series>[A-Za-z]{2,4}))?",
    re.ASCII,
)
_FRACTIONS = {
    "¼": "1/4", "½": "1/2", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8",
}  # fmt: skip
_FRACTION = re.compile(rf"(?P<whole>\d)? ?(?P<part>[{''.join(_FRACTIONS)}])", re.ASCII)
_EXPECTED = "a thread such as M10x1.5, M10, 1/2-20 UNF, 5/16-18 or #10-32"
_MOST_CHARACTERS = 40
_LEAST_COUNT_OF_NUMBERED = 24
_LARGEST_MM = 150.0
_LARGEST_INCHES = 4


class ThreadError(NotTakenError):
    """Text that names no thread known here."""

    def __init__(self, found: str, because: str, expected: str = _EXPECTED, near: str | None = None) -> None:
        super().__init__(found, because, expected, near)


class Thread(Frozen):
    """One thread: normalised designation, system, major diameter `d` and pitch in mm, whether it is known as coarse."""

    designation: str
    system: System
    d: float
    pitch: float
    coarse: bool
    sources: tuple[Source, ...]

    @property
    def pitch_diameter(self) -> float:
        """d2 in mm."""
        return self.d - 3 * _ROOT_3 / 8 * self.pitch

    @property
    def minor_diameter(self) -> float:
        """D1 in mm: the minor diameter of the nut thread."""
        return self.d - 5 * _ROOT_3 / 8 * self.pitch

    @property
    def root_diameter(self) -> float:
        """d3 (metric) or dr (unified) in mm: the minor diameter of the bolt thread."""
        factor = 17 * _ROOT_3 / 24 if self.system == "metric" else 3 * _ROOT_3 / 4
        return self.d - factor * self.pitch

    @property
    def stress_area(self) -> float:
        """As or At in mm², by the formula of the thread's own standard."""
        factor = _METRIC_AREA if self.system == "metric" else _UNIFIED_AREA
        return math.pi / 4 * (self.d - factor * self.pitch) ** 2

    @property
    def stress_area_formula(self) -> str:
        """Which formula gave the stress area."""
        if self.system == "metric":
            return "As = π/4 · (d − 0.9382 P)² (ISO 898-1)"
        return "At = π/4 · (d − 0.9743 p)² (ASME B1.1)"


def parse_thread(text: str) -> Thread:
    """Return the thread that `text` designates.

    Metric: `M10x1.5`, `M12×1.25`, `M8-1.25`, and `M10` alone for a coarse pitch. Unified: `1/2-20 UNF`, `5/16-18`,
    `1 1/8-12`, `½-20`, `#10-32`, `10-32`; a count that is not listed for its size needs its series written. Tolerance
    classes and left-hand marks are refused, not overlooked. Raises ThreadError.
    """
    plain = plain_blanks(_FRACTION.sub(_written_out, text[: _MOST_CHARACTERS + 1]))
    if len(text) > _MOST_CHARACTERS:
        raise ThreadError(text, "is too long")
    if metric := _METRIC.fullmatch(plain):
        return _metric(text, metric["d"], metric["pitch"])
    if unified := _UNIFIED.fullmatch(plain):
        return _unified(text, unified)
    raise ThreadError(text, "is no thread known here", near=_nearest(plain))


def _written_out(match: re.Match[str]) -> str:
    """A fraction that is one character, in two numbers: `½` is 1/2, `1½` is 1 1/2."""
    return f"{match['whole'] or ''}{' ' if match['whole'] else ''}{_FRACTIONS[match['part']]}"


def _metric(text: str, diameter: str, written: str | None) -> Thread:
    d = float(parse_number(diameter))
    coarse = COARSE.get(d)
    if not 1 <= d <= _LARGEST_MM:
        raise ThreadError(text, "is out of all proportion")  # no thread is near that
    if written is None:
        if coarse is None:
            raise ThreadError(
                text, "has no coarse pitch known here", f"its pitch written too, as in {_metric_name(d)}x1",
                _nearest(plain_blanks(text)),
            )  # fmt: skip
        return Thread(_metric_name(d, coarse), "metric", d, float(coarse), True, (ISO_724, ISO_261))
    pitch = float(parse_number(written))
    if coarse is not None and (pitch > coarse or pitch not in _PITCHES):
        close = min((each for each in _PITCHES if each <= coarse), key=lambda each: abs(each - pitch))
        raise ThreadError(
            text, f"has no pitch of {_metric_name(d)}", "a pitch of ISO 261", _metric_name(d, close)
        )
    if not 0.2 <= pitch <= d / 3:
        raise ThreadError(text, "has a pitch out of all proportion")
    return Thread(_metric_name(d, pitch), "metric", d, pitch, pitch == coarse, (ISO_724,))


def _metric_name(d: float, pitch: float | None = None) -> str:
    number = f"M{d:g}"
    return number if pitch is None else f"{number}x{pitch:g}"


def _unified(text: str, match: re.Match[str]) -> Thread:
    count = int(match["count"]) if match["count"] else None
    written = (match["series"] or "").upper()
    numbered = bool(match["number"]) or (
        match["size"].isdecimal() and count is not None and count >= _LEAST_COUNT_OF_NUMBERED
    )
    if numbered and not match["size"].isdecimal():
        raise ThreadError(text, "has a number and a fraction")
    size, d = _size(text, match["size"], numbered=numbered)
    known = _SERIES.get(size, {})
    if count is None:
        near = next((f"{size}-{n} {name}" for n, name in known.items() if written in ("", name)), None)
        raise ThreadError(text, "says no threads per inch", near=near)
    series = known.get(count, "")
    other = next((f"{size}-{n} {name}" for n, name in known.items() if name == written), None)
    if written and (series not in ("", written) or (not series and other)):
        raise ThreadError(text, f"is not {written}", near=f"{size}-{count} {series}" if series else other)
    if not written and not series:
        close = min(known, key=lambda n: abs(n - count), default=None)
        raise ThreadError(
            text,
            "has no series known here",
            "the series too, as in 1 3/8-12 UNF",
            f"{size}-{close} {known[close]}" if close else None,
        )
    if written not in ("", "UNC", "UNF", "UNEF", "UN", "UNS"):
        raise ThreadError(text, "has no series known here", "UNC, UNF, UNEF, UN or UNS")
    pitch = INCH / count if count else 0.0
    if not 0 < pitch <= d / 3:
        raise ThreadError(text, "has threads per inch out of all proportion")
    name = series or written
    return Thread(f"{size}-{count} {name}", "unified", d, pitch, name == "UNC", (ASME_B1_1,))


def _size(text: str, size: str, *, numbered: bool) -> tuple[str, float]:
    """The size as it is normalised and its diameter in mm; a numbered one is 0.060 + 0.013 · number inches."""
    if numbered:
        number = int(size)
        if number > 12:
            raise ThreadError(text, "has no such number", "#0 to #12")
        return f"#{number}", (60 + 13 * number) * INCH / 1000
    parts = [part.split("/") for part in re.split(r"[ -]", size)]
    if any(len(part) == 2 and int(part[1]) == 0 for part in parts):
        raise ThreadError(text, "divides by zero")
    inches = sum((Fraction("/".join(part)) for part in parts), Fraction(0))
    if not 0 < inches <= _LARGEST_INCHES:
        raise ThreadError(text, "is out of all proportion", near=_nearest(text))
    whole, rest = divmod(inches, 1)
    name = " ".join(str(part) for part in (whole, rest) if part)
    return name, float(inches * Fraction("25.4"))


def _nearest(text: str) -> str | None:
    """The designation most like what was written, among the listed ones, or None."""
    import difflib  # noqa: PLC0415 - only a refusal needs it

    known = [_metric_name(d, pitch) for d, pitch in COARSE.items()]
    known += [f"{size}-{count} {name}" for size, counts in _SERIES.items() for count, name in counts.items()]
    return next(iter(difflib.get_close_matches(text[:_MOST_CHARACTERS], known, n=1, cutoff=0.5)), None)


def in_words(thread: Thread) -> tuple[tuple[str, str], ...]:
    """The geometry as inputs of a working: symbol and value."""
    return (
        ("d", f"{thread.d:.6g} mm"),
        ("P", f"{thread.pitch:.6g} mm"),
        ("d2", f"{thread.pitch_diameter:.3f} mm"),
    )
