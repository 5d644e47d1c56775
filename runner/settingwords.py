"""How the number to set came about, how well the wrench in hand is known, and what that means for the band.

Also what the order of a group rests on. Lines of (label, words), for whoever shows them: the bench under `?`, line mode
by `:why`.
"""

from collections.abc import Iterable
from decimal import ROUND_CEILING, ROUND_FLOOR, Context, Decimal
from typing import cast

from runner.joint.conformity import NO_CERTIFICATE, RULES, Rule, acceptance, expanded_at, guard
from runner.joint.pattern import Order, sources
from runner.joint.setting import SettingError
from runner.joint.sourced import FROM_MEMORY, Source, Working
from runner.quantities import QuantityError, parse_band, show
from runner.quantities.band import Band
from runner.toolwords import wrench_of
from runner.view import View, WrenchLine

_DIGITS = 4
_UP, _DOWN = Context(prec=5, rounding=ROUND_CEILING), Context(prec=5, rounding=ROUND_FLOOR)
Lines = list[tuple[str, str]]


def setting_lines(view: View) -> Lines:
    """Formula, inputs, result and sources of the setting; then the uncertainty of the wrench and what it means."""
    working = view.demand.working
    lines = working_lines(working) if working is not None else []
    wrench = wrench_of(view)
    if wrench is not None and view.demand.band:
        lines += _known_by(view, wrench)
    return lines


def order_lines(view: View) -> Lines:
    """What the order of tightening of a group rests on; nothing where no order is asked or it needs no source."""
    order, numbers = view.demand.order, view.demand.sequence
    found = sources(cast("Order", order), len(numbers)) if order else ()
    if not found:
        return []
    lines: Lines = [("Order of tightening", ""), ("Order", f"{order}: {' '.join(map(str, numbers))}")]
    return [*lines, *_source_lines(found), ("", "")]


def _source_lines(found: Iterable[Source]) -> Lines:
    return [
        ("Source" if not at else "", f"{source.text()}{f' - {source.note}' if source.note else ''}")
        for at, source in enumerate(found)
    ]


def working_lines(working: Working) -> Lines:
    """A working, line by line; what rests on memory says so."""
    lines = [(working.title, ""), ("Formula", working.formula)]
    lines += [
        ("With" if not at else "", f"{name}: {value}") for at, (name, value) in enumerate(working.inputs)
    ]
    lines += [("Result", working.result)]
    lines += _source_lines(working.sources)
    if working.from_memory:
        lines += [("", FROM_MEMORY)]
    return [*lines, ("", "")]


def _known_by(view: View, held: WrenchLine) -> Lines:
    certificate, band = held.wrench.certificate, _band(view.demand.band)
    lines: Lines = [("Reading and band", "")]
    if certificate is None:
        return [*lines, ("Certificate", f"none: {NO_CERTIFICATE}"), ("", "")]
    number = f", certificate {certificate.number}" if certificate.number else ""
    amount = (
        f"{certificate.uncertainty} %"
        if certificate.unit == "%"
        else f"{certificate.uncertainty} {certificate.unit}"
    )
    lines += [("Uncertainty", f"{amount} at k = {certificate.coverage}{number}")]
    lines += _acceptance(held, band) if band is not None else []
    close = [words for _, words in view.recorded if "too close" in words]
    lines += [("Too close" if not at else "", words) for at, words in enumerate(close)]
    return [*lines, ("", "")]


def _band(words: str) -> Band | None:
    """The band that stands beside the field; None where it is in words that are no band."""
    try:
        return parse_band(words.partition(" = ")[0])
    except QuantityError:
        return None


def _acceptance(held: WrenchLine, band: Band) -> Lines:
    """What is surely in: the reading that is just as far inside each limit as its own uncertainty."""
    if held.extension and held.wrench.certificate is not None and held.wrench.certificate.unit != "%":
        return [
            ("", "With the extension it is carried over to the fastener, and worked out for each reading.")
        ]
    try:
        at_low, at_high = (
            _expanded(held, band.low, band.unit, -1, "U"), _expanded(held, band.high, band.unit, +1, "U"),
        )  # fmt: skip
        one_sided = _surely_in(held, band, "1.65 u")
    except (SettingError, QuantityError) as error:
        return [("", str(error))]
    low, high = _surely_in(held, band, "U")
    near = " and ".join(
        f"{show(amount, band.unit, _DIGITS)} near {show(limit, band.unit)}"
        for amount, limit in ((at_low, band.low), (at_high, band.high))
        if amount is not None and limit is not None
    )
    lines: Lines = [("U here", near), ("Surely in", _between(low, high, band.unit))]
    lines += [("", "A reading nearer to a limit is too close to tell with this wrench; it shuts no gate.")]
    lines += [("Source" if not at else "", source.text()) for at, source in enumerate(RULES["U"])]
    lines += [
        ("By 1.65 u", f"{_between(*one_sided, band.unit)} would surely be in, which is not what judges here")
    ]
    return [
        *lines,
        *(("Source" if not at else "", source.text()) for at, source in enumerate(RULES["1.65 u"])),
    ]


def _surely_in(held: WrenchLine, band: Band, rule: Rule) -> tuple[Decimal | None, Decimal | None]:
    """The acceptance limits of a band by one rule for the guard band."""
    at_low, at_high = (
        _expanded(held, limit, band.unit, sign, rule) for limit, sign in ((band.low, -1), (band.high, +1))
    )
    return (
        acceptance(band.low, None, at_low, rule).low,
        acceptance(None, band.high, at_high, rule).high,
    )


def _expanded(held: WrenchLine, limit: Decimal | None, unit: str, sign: int, rule: Rule) -> Decimal | None:
    """U of the reading that stands a guard band inside a limit: where that is a share p of it, limit / (1 ± p)."""
    if limit is None:
        return None
    at_limit = expanded_at(held.wrench, limit, unit)
    certificate = held.wrench.certificate
    if at_limit is None or certificate is None or certificate.unit != "%" or limit == 0:
        return at_limit
    return expanded_at(held.wrench, limit / (1 + sign * guard(at_limit, rule) / limit), unit)


def _between(low: Decimal | None, high: Decimal | None, unit: str) -> str:
    """The limits, rounded inwards."""
    if low is not None and high is not None and low > high:
        return "nothing: the band is narrower than the uncertainty on both sides"
    least = None if low is None else show(_UP.plus(low), unit)
    most = None if high is None else show(_DOWN.plus(high), unit)
    if least and most:
        return f"{least} to {most}"
    return f"{least} and more" if least else f"up to {most}"
