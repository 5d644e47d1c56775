"""How a value as entered is read aloud: on the wrench and at the fastener, with its band, and what it leaves open."""

import re
from decimal import Decimal, InvalidOperation

from runner.job.aiming import extension_words
from runner.job.events import Held
from runner.job.words import few_digits, number_words
from runner.joint.wrench import Extension, Wrench
from runner.quantities import QuantityError, show
from runner.quantities.quantity import show_number

TOO_CLOSE = "too close to tell with this wrench"
"""Said of a reading that its uncertainty leaves neither in nor out."""

_AN = re.compile(r"8|1[18]( |[.,])")
"""How the number of a length begins that is read with a vowel: eight, eleven, eighteen."""


def held_words(held: Held) -> str:
    """Return a value as it was taken: value, unit, band, method and tool; and what its uncertainty leaves open."""
    if held.method == "snug":
        return "snug"
    if (
        held.method == "by feel" and not held.value
    ):  # no number is known; one that was said stands in the deviation
        return f"by feel with {held.tool}" if held.tool else "by feel"
    number = number_words(held.value, held.raw)
    value = f"{number} {held.unit}".strip() or held.raw
    if held.raw and not held.wrench_value and held.value and number != held.value:
        value += f" (typed {held.raw})"
    if held.wrench_value:
        value = f"{_on_the_wrench(held)}: {value}"
    elif held.method == "click":
        value = f"click at {value}"
    words = {"by mark": f"{value} by mark", "by feel": f"{value} by feel"}
    parts = [words.get(held.method, value)]
    band = band_words(held.low, held.high, held.unit)
    told = held.method not in ("click", "by mark") or held.conformity in ("out", "too close")
    if band and told:
        parts.append(f"(band {band})")
    if held.tool:
        parts.append(f"with {held.tool}")
    return " ".join(parts) + _conformity(held)


def _on_the_wrench(held: Held) -> str:
    """What the wrench was set to or showed, and what stood between it and the fastener."""
    number = number_words(held.wrench_value, held.raw)
    verb, by = ("set", " by click") if held.method == "click" else ("read", "")
    between = f" with {_article(held.correction)}" if held.correction else ""
    return f"{verb} {number} {held.wrench_unit}{by}{between}"


def _article(words: str) -> str:
    return f"{'an' if _AN.match(words) else 'a'} {words}"


def _conformity(held: Held) -> str:
    """What a reading leaves open, or surely is, with its uncertainty; nothing where it is in, or nothing is known."""
    if held.conformity not in ("out", "too close"):
        return ""
    words = "surely out of its band" if held.conformity == "out" else TOO_CLOSE
    return f"; {words} (U = {few_digits(held.expanded)} {held.unit}, k = 2)"


def wrench_words(wrench: Wrench) -> str:
    """What is known of a tool of the toolbox: how it tells, its range, its calibration."""
    try:
        reach = f"{show_number(Decimal(wrench.low))} to {show(Decimal(wrench.high), wrench.unit)}"
    except (InvalidOperation, QuantityError):
        reach = f"{wrench.low} to {wrench.high} {wrench.unit}"
    due = f"calibration due {wrench.due_on}" if wrench.due_on else ""
    return ", ".join(part for part in (wrench.kind, reach, due) if part)


def band_words(low: str | None, high: str | None, unit: str) -> str:
    """Return limits in words; nothing where there are none."""
    if low is not None and high is not None:
        return f"{low} to {high} {unit}".strip()
    if low is not None:
        return f"at least {low} {unit}".strip()
    return f"at most {high} {unit}".strip() if high is not None else ""


def extension_fitted(extension: Extension | None) -> str:
    """What stands between a wrench and the fastener from here on."""
    return f"with {_article(extension_words(extension))}" if extension else "without extension"


def was_words(was: str) -> str:
    """The value that a correction replaces, as it is logged: a number and its unit."""
    number, blank, unit = was.partition(" ")
    return f"{number_words(number)}{blank}{unit}"
