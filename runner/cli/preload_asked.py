"""What `preload` was asked: thread, class, torque, friction or nut factor, the face, and what more of an angle."""

import argparse

from runner.cli.counter import joined
from runner.frozen import Frozen
from runner.joint.between import Between
from runner.joint.friction import Scatter, parse_friction, published_nut_factor, scatter_of, stated_scatter
from runner.joint.heads import Bearing, bearing, bearing_for, bearing_of, hexagon
from runner.joint.preload import FORMS, Form
from runner.joint.sourced import Source
from runner.joint.strength import Strength, strength_for
from runner.joint.threads import Thread, parse_thread
from runner.procedure.finding import nearest
from runner.quantities import Kind, Quantity, QuantityError, convert, parse_number, parse_quantity
from runner.quantities.errors import quoted


class Case(Frozen):
    """What was asked. One of `friction` and `factor` is None; both where nothing was stated.

    `scatter` goes with a nut factor, None where its own interval is the spread. `tightening_factor` is αA, `degrees` an
    angle after the torque, `grip` the clamped length in mm, `pull` an outer load in N, `bolt_length` in mm is for the
    turn of the nut; each None where it was not asked.
    """

    thread: Thread
    strength: Strength
    torque: Quantity
    newton_metres: float
    prevailing: float
    friction: Between | None
    factor: Between | None
    factor_sources: tuple[Source, ...]
    scatter: Scatter | None
    tightening_factor: float | None
    face: Bearing
    form: Form
    degrees: float | None
    grip: float | None
    pull: float | None
    bolt_length: float | None

    @classmethod
    def read(cls, parsed: argparse.Namespace) -> "Case":
        """The case that the words of the command line state. Raises ValueError, each with what is expected."""
        thread = parse_thread(parsed.thread)
        torque = parse_quantity(joined(parsed.torque) or "", "torque")
        if not torque.value > 0:
            raise QuantityError(torque.text(), "tightens nothing", "a torque above 0")
        factor, sources, spread = _factor(parsed)
        return cls(
            thread,
            strength_for(parsed.strength, thread),
            torque,
            float(convert(torque.value, torque.unit, "N·m")),
            _in(joined(parsed.prevailing), "torque", "N·m") or 0.0,
            parse_friction(parsed.friction) if parsed.friction is not None else None,
            factor,
            sources,
            spread,
            _tightening_factor(parsed.tightening_factor),
            _face(parsed, thread),
            _form(parsed.form),
            *_turn(parsed),
        )


def _form(text: str) -> Form:
    for form in FORMS:
        if form == text.strip().casefold():
            return form
    plain = "".join(text.split()).casefold()
    begun = [form for form in FORMS if len(plain) > 2 and form.replace(" ", "").startswith(plain[:3])]
    near = nearest(text, FORMS) or (begun[0] if begun else None)
    hint = f" (did you mean {near}?)" if near else ""
    raise ValueError(f"{quoted(text)} is no form of the formula; expected {', '.join(FORMS)}{hint}")


def _factor(parsed: argparse.Namespace) -> tuple[Between | None, tuple[Source, ...], Scatter | None]:
    """The nut factor, its sources, and how far a preload scatters about the one that it gives."""
    stated = _tightening_factor(parsed.tightening_factor)
    if parsed.condition is not None:
        row = published_nut_factor(parsed.condition)
        return row.factor, row.sources, stated_scatter(stated) if stated else scatter_of(parsed.condition)
    if parsed.nut_factor is None:
        return None, (), None
    try:
        factor = parse_friction(parsed.nut_factor)
    except QuantityError as error:
        because = error.because.replace("coefficient of friction", "nut factor")
        raise QuantityError(error.found, because, "a nut factor such as 0.20 or 0.18..0.22") from None
    # Who states two limits states the spread; one number has that of the method.
    spread = stated_scatter(stated) if stated else scatter_of(None) if factor.low == factor.high else None
    return factor, (Source("nut factor as stated", "worked out"),), spread


def _tightening_factor(text: str | None) -> float | None:
    if text is None:
        return None
    found = parse_number(text)
    if not 1 <= found <= 10:
        raise QuantityError(text, "is no tightening factor", "αA = FMmax/FMmin from 1 on, such as 1.6")
    return float(found)


def _turn(parsed: argparse.Namespace) -> tuple[float | None, float | None, float | None, float | None]:
    """Angle, grip, outer load and length of the bolt."""
    degrees = _in(joined(parsed.angle), "angle", "°")
    grip = _in(joined(parsed.grip), "length", "mm")
    pull = _in(joined(parsed.pull), "force", "N")
    if grip is not None and degrees is None and pull is None:
        raise ValueError("--grip says nothing alone; expected: with it an --angle or a --pull")
    if grip is None and pull is not None:
        raise ValueError("--pull is shared by bolt and parts as they are stiff; expected: with it the --grip")
    if grip is not None and not grip > 0:
        raise ValueError("a grip of 0 mm; expected: a length above 0")
    return degrees, grip, pull, _in(joined(parsed.turn_of_nut), "length", "mm")


def _face(parsed: argparse.Namespace, thread: Thread) -> Bearing:
    """The bearing face that the options describe, or the standard one."""
    mean = _in(joined(parsed.bearing), "length", "mm")
    head, hole = (_in(joined(words), "length", "mm") for words in (parsed.head, parsed.hole))
    if mean is not None:
        if head is not None or hole is not None:
            raise ValueError(
                "--bearing is the mean of head and hole; expected: it alone, or --head and --hole"
            )
        return bearing_of(mean)
    if head is None and hole is None:
        return bearing_for(thread)
    standard = hexagon(thread)
    head = head if head is not None else standard.outer if standard else None
    hole = hole if hole is not None else standard.hole if standard else None
    if head is None or hole is None:
        raise ValueError(
            f"no standard head of {thread.designation} is known here; expected: both --head and --hole"
        )
    return bearing(head, hole)


def _in(text: str | None, kind: Kind, unit: str) -> float | None:
    if text is None:
        return None
    read = parse_quantity(text, kind)
    if read.value < 0:
        raise QuantityError(text, "is below 0", f"a {kind} of 0 or more")
    return float(convert(read.value, read.unit, unit))
