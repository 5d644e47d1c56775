"""`preload`: what preload a torque gives a bolt, as an interval, and what share of its strength that is."""

import argparse
from typing import Any

from runner.cli.counter import joined, print_document, refused, working_json
from runner.cli.exits import Exit
from runner.frozen import Frozen
from runner.joint import assembly
from runner.joint.between import Between, shown
from runner.joint.friction import (
    ASSUMED,
    ASSUMPTION,
    STATED,
    friction_text,
    parse_friction,
    published_nut_factor,
)
from runner.joint.heads import Bearing, bearing, bearing_for, bearing_of, hexagon
from runner.joint.preload import FORMS, Form, worked, worked_by_factor
from runner.joint.prevailing import drag_for, judge_drag
from runner.joint.sanity import Judgement, judge_torque, sane_torques, share_text
from runner.joint.sourced import FROM_MEMORY, Source, Working, merged
from runner.joint.strength import Strength, proof_load, strength_for, yield_load
from runner.joint.threads import Thread, parse_thread
from runner.procedure.finding import nearest
from runner.quantities import Kind, Quantity, QuantityError, convert, parse_quantity
from runner.quantities.errors import quoted
from runner.safe_text import safe


def preload(parsed: argparse.Namespace) -> int:
    """Print the preload with formula, inputs, shares of proof and yield load, and sources; USAGE for bad words."""
    try:
        case = _Case.read(parsed)
        answer = _answer(case)
    except ValueError as error:  # of threads, strengths, frictions and quantities: each says what is expected
        return refused("preload", error, Exit.USAGE)
    if parsed.json:
        print_document(_document(case, answer))
    else:
        print("\n".join(safe(line) for line in _lines(case, answer)))
    return Exit.OK


class _Case(Frozen):
    """What was asked. One of `friction` and `factor` is None; both where nothing was stated."""

    thread: Thread
    strength: Strength
    torque: Quantity
    newton_metres: float
    prevailing: float
    friction: Between | None
    factor: Between | None
    factor_sources: tuple[Source, ...]
    face: Bearing
    form: Form

    @classmethod
    def read(cls, parsed: argparse.Namespace) -> "_Case":
        thread = parse_thread(parsed.thread)
        torque = parse_quantity(joined(parsed.torque) or "", "torque")
        if not torque.value > 0:
            raise QuantityError(torque.text(), "tightens nothing", "a torque above 0")
        factor, sources = _factor(parsed)
        return cls(
            thread,
            strength_for(parsed.strength, thread),
            torque,
            float(convert(torque.value, torque.unit, "N·m")),
            _in(joined(parsed.prevailing), "torque", "N·m") or 0.0,
            parse_friction(parsed.friction) if parsed.friction is not None else None,
            factor,
            sources,
            _face(parsed, thread),
            _form(parsed.form),
        )


def _form(text: str) -> Form:
    for form in FORMS:
        if form == text.strip().casefold():
            return form
    near = nearest(text, FORMS)
    hint = f" (did you mean {near}?)" if near else ""
    raise ValueError(f"{quoted(text)} is no form of the formula; expected {', '.join(FORMS)}{hint}")


def _factor(parsed: argparse.Namespace) -> tuple[Between | None, tuple[Source, ...]]:
    if parsed.condition is not None:
        row = published_nut_factor(parsed.condition)
        return row.factor, row.sources
    if parsed.nut_factor is None:
        return None, ()
    try:
        return parse_friction(parsed.nut_factor), (Source("nut factor as stated", "worked out"),)
    except QuantityError as error:
        because = error.because.replace("coefficient of friction", "nut factor")
        raise QuantityError(error.found, because, "a nut factor such as 0.20 or 0.18..0.22") from None


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


class _Answer(Frozen):
    """What was found: preload N, its working and that of the most at assembly; no judgement by a nut factor."""

    preload: Between
    workings: tuple[Working, ...]
    judgement: Judgement | None
    remarks: tuple[str, ...]
    sources: tuple[Source, ...]


def _answer(case: _Case) -> _Answer:
    if case.factor is not None:
        found, working = worked_by_factor(
            case.thread, case.newton_metres, case.factor, case.factor_sources, prevailing=case.prevailing
        )
        workings: tuple[Working, ...] = (working,)
        judgement = None
    else:
        stated = case.friction is not None
        friction = case.friction or ASSUMED
        found, working = worked(
            case.thread, case.newton_metres, friction, case.face, form=case.form, prevailing=case.prevailing,
            friction_source=STATED if stated else ASSUMPTION,
        )  # fmt: skip
        workings = (working, assembly.worked(case.thread, case.strength, friction, case.face)[2])
        judgement = judge_torque(
            case.thread, case.strength, case.newton_metres, case.friction,
            prevailing_nm=case.prevailing, written=case.torque, bearing=case.face,
        )  # fmt: skip
    drag = drag_for(case.thread, case.strength.name) if case.prevailing else None
    sources = merged(
        *(each.sources for each in workings), case.strength.sources, drag.sources if drag else ()
    )
    return _Answer(found, workings, judgement, _remarks(case, found, judgement), sources)


def _remarks(case: _Case, found: Between, judgement: Judgement | None) -> tuple[str, ...]:
    said = []
    if judgement is not None and judgement.grade is not None:
        said.append(f"{judgement.grade.capitalize()}: {judgement.words} {judgement.slip}".rstrip())
    if judgement is None and found.high > proof_load(case.thread, case.strength):
        said.append("Warning: at the lowest nut factor the preload passes the proof load.")
    if case.prevailing:
        said.append(judge_drag(case.thread, case.prevailing, case.strength.name))
    return tuple(each for each in said if each)


def _lines(case: _Case, answer: _Answer) -> list[str]:
    proof, yields = proof_load(case.thread, case.strength), yield_load(case.thread, case.strength)
    found = answer.preload
    rows = [
        ("Preload", _told(found, yields)),
        ("Of the proof load", f"{share_text(found / proof)} of {shown(proof / 1000, 'kN')}"),
        ("Of the yield load", f"{share_text(found / yields)} of {shown(yields / 1000, 'kN')}"),
    ]
    if case.factor is not None:
        rows.append(("Nut factor", friction_text(case.factor)))
    else:
        assumed = "" if case.friction is not None else ", assumed: state it with --friction"
        rows.append(("Friction", f"{friction_text(case.friction or ASSUMED)}{assumed}"))
        rows.append(("Sane torques", shown(_sane(case), "N·m")))
    lines = [f"{case.thread.designation} {case.strength.name} at {case.torque.text()}", ""]
    lines += [f"{name:<19}{value}" for name, value in rows]
    lines += answer.remarks
    for working in answer.workings:
        wide = max(len(name) for name, _ in working.inputs)
        lines += ["", working.title, f"  {working.formula}"]
        lines += [f"  {name:<{wide}}  {value}" for name, value in working.inputs]
        lines.append(f"  {working.result}")
    lines += ["", *(f"Source: {_source_text(source)}" for source in answer.sources)]
    if any(source.from_memory for source in answer.sources):
        lines.append(f"This answer rests on a value {FROM_MEMORY}.")
    return lines


def _source_text(source: Source) -> str:
    return f"{source.text()}: {source.note}" if source.note else source.text()


def _told(found: Between, yields: float) -> str:
    """The preload as far as it is elastic: a bolt that yields follows no formula of torque."""
    limit = f"past the yield load, {shown(yields / 1000, 'kN')}, where no preload is told from a torque"
    if found.low > yields:
        return limit
    return (
        shown(found / 1000, "kN") if found.high <= yields else f"{shown(found.low / 1000, 'kN')} to {limit}"
    )


def _sane(case: _Case) -> Between:
    return sane_torques(
        case.thread, case.strength, case.friction, prevailing_nm=case.prevailing, bearing=case.face
    )


def _document(case: _Case, answer: _Answer) -> dict[str, Any]:
    proof, yields = proof_load(case.thread, case.strength), yield_load(case.thread, case.strength)
    judgement = answer.judgement
    by_friction = case.factor is None
    return {
        "thread": case.thread.designation,
        "class": case.strength.name,
        "torque": {"value": str(case.torque.value), "unit": case.torque.unit},
        "torque_newton_metres": case.newton_metres,
        "prevailing_newton_metres": case.prevailing,
        "friction": _ends(case.friction or ASSUMED) if by_friction else None,
        "friction_assumed": by_friction and case.friction is None,
        "nut_factor": None if case.factor is None else _ends(case.factor),
        "bearing_assumed": by_friction and case.face.assumed,
        "preload_newtons": {  # null past the yield load: no preload is told from a torque there
            name: end if end <= yields else None for name, end in _ends(answer.preload).items()
        },
        "yields": "yes"
        if answer.preload.low > yields
        else "perhaps"
        if answer.preload.high > yields
        else "no",
        "proof_load_newtons": proof,
        "yield_load_newtons": yields,
        "share_of_proof": _ends(answer.preload / proof),
        "share_of_yield": _ends(answer.preload / yields),
        "sane_torques_newton_metres": _ends(_sane(case)) if by_friction else None,
        "grade": judgement.grade if judgement else None,
        "slip": judgement.slip if judgement else "",
        "remarks": list(answer.remarks),
        "workings": [working_json(working) for working in answer.workings],
        "sources": [
            {"name": s.name, "edition": s.edition, "seen": s.seen, "note": s.note} for s in answer.sources
        ],
        "from_memory": FROM_MEMORY if any(s.from_memory for s in answer.sources) else None,
    }


def _ends(of: Between) -> dict[str, float]:
    return {"low": of.low, "high": of.high}
