"""Values as typed at the bench: parsed strictly, held against their band, slips named."""

from decimal import Decimal

from runner.frozen import Frozen
from runner.job.refusal import Refusal
from runner.procedure.characters import FORBIDDEN, character_name
from runner.procedure.linked import Interval
from runner.quantities import QuantityError, mark_slip, parse_entry, show, slip, unit_slip
from runner.quantities.errors import quoted

LONGEST_TEXT = 500
"""Characters a person may type in one go; more is refused, not cut."""


class Value(Frozen):
    """A parsed value in the unit asked for, as decimal text.

    `wrench_value` in `wrench_unit` is what the wrench was set to or showed, where that is another number;
    `correction` says what stood between it and the fastener.
    """

    raw: str
    value: str
    unit: str
    wrench_value: str = ""
    wrench_unit: str = ""
    correction: str = ""

    @property
    def number(self) -> Decimal:
        """The value as a number."""
        return Decimal(self.value)


def parse(raw: str, unit: str) -> Value | Refusal:
    """Read typed text as a value in `unit`, or refuse it with what was expected."""
    try:
        entry = parse_entry(raw, unit)
    except QuantityError as error:
        near = f"; nearest known: {error.near}" if error.near else ""
        wanted = error.expected or f"a number in {unit}"
        return Refusal(f"{quoted(error.found)} {error.because}", f"type {wanted}{near}")
    return Value(raw.strip(), format(entry.value, "f"), unit)


def outside(
    value: Value, band: Interval | None, previous: Decimal | None = None, aimed: Decimal | None = None
) -> Refusal | None:
    """Refuse a value outside its band, naming the likely slip; None when it stands.

    A slip is made in the number that is read: where that is another one than the value, `aimed` is what was to be
    read, and `previous` (what was read on the fastener before) is in its unit as well.
    """
    if band is None or band.holds(value.number):
        return None
    likely = None
    if value.wrench_value and aimed is not None:
        likely = _likely(value.raw, Decimal(value.wrench_value), value.wrench_unit, aimed, previous)
    elif band.target:
        likely = _likely(value.raw, value.number, value.unit, Decimal(band.target), previous)
    elif band.low is not None and band.high is not None:
        likely = mark_slip(value.number, value.unit, Decimal(band.low), Decimal(band.high))
    what = f": {likely}" if likely else ""
    return Refusal(
        f"{_as_typed(value)} is outside {band.text}{what}",
        "measure again, or deviate with a reason (out of band)",
    )


def _likely(raw: str, number: Decimal, unit: str, target: Decimal, previous: Decimal | None) -> str | None:
    """The likely slip behind a number: in itself, or in the unit that was typed beside it."""
    found = slip(number, unit, target, previous)
    if found or not raw:  # nothing is typed of a wrench that clicked
        return found.partition(" is ")[2] if found else None
    typed = parse_entry(raw, unit)
    return unit_slip(typed.typed_value, typed.typed_unit, target, unit)


_TYPED_DIGITS = 6
"""Nobody types more digits than these; a conversion gives more."""


def _as_typed(value: Value) -> str:
    """The value in the unit asked for; as it was typed, and about what that is, where it was converted."""
    if value.wrench_value:
        read = f"{show(Decimal(value.wrench_value), value.wrench_unit, digits=_TYPED_DIGITS)} on the wrench"
        with_it = f" with a {value.correction}" if value.correction else ""
        return f"{read}{with_it} (about {show(value.number, value.unit, digits=4)})"
    if len(value.number.normalize().as_tuple().digits) <= _TYPED_DIGITS:
        return f"{value.value} {value.unit}"
    return f"{value.raw} (about {show(value.number, value.unit, digits=4)})"


def not_text(text: str) -> Refusal | None:
    """Refuse text with a character that is none to read: a control, half a letter, one that turns the reading order.

    A log is read with any program, and what stands in it must not steer the screen it is read on.
    """
    found = FORBIDDEN.search(text)
    if found is None:
        return None
    return Refusal(f"{character_name(found.group())} is no letter or sign", "type it without that character")


def too_long(text: str) -> Refusal | None:
    """Refuse text that is longer than anybody means to type."""
    if len(text) <= LONGEST_TEXT:
        return None
    return Refusal(f"the text has {len(text)} characters", f"type at most {LONGEST_TEXT}")
