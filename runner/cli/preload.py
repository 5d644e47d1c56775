"""`preload`: what preload a torque gives a bolt, as an interval, and what share of its strength that is."""

import argparse
from typing import Any

from runner.cli.counter import print_document, refused, source_text, sources_json, working_json
from runner.cli.exits import Exit
from runner.cli.preload_asked import Case
from runner.cli.preload_turn import Turn, elastic_ends, load_words, turn_document, turn_of
from runner.frozen import Frozen
from runner.joint import assembly
from runner.joint.between import Between, shown
from runner.joint.friction import ASSUMED, ASSUMPTION, STATED, TIGHTENING_FACTOR, friction_text, least_preload
from runner.joint.preload import nut_factor, split, torque_by_factor, worked, worked_by_factor
from runner.joint.prevailing import drag_for, judge_drag
from runner.joint.sanity import Judgement, judge_torque, sane_torques, share_text
from runner.joint.sourced import FROM_MEMORY, Source, Working, merged
from runner.joint.strength import proof_load, tensile_load, yield_load
from runner.safe_text import safe


def preload(parsed: argparse.Namespace) -> int:
    """Print the preload with formula, inputs, shares of proof and yield load, and sources; USAGE for bad words."""
    try:
        case = Case.read(parsed)
        answer = _answer(case)
    except ValueError as error:  # of threads, strengths, frictions and quantities: each says what is expected
        return refused("preload", error, Exit.USAGE)
    if parsed.json:
        print_document(_document(case, answer))
    else:
        print("\n".join(safe(line) for line in _lines(case, answer)))
    return Exit.OK


class _Answer(Frozen):
    """What was found: preload N, its working and that of the most at assembly; no judgement by a nut factor.

    `least` N is what a tightening factor leaves of the most at assembly.
    """

    preload: Between
    least: Between | None
    turn: Turn
    workings: tuple[Working, ...]
    judgement: Judgement | None
    remarks: tuple[str, ...]
    sources: tuple[Source, ...]


def _answer(case: Case) -> _Answer:
    least = None
    if case.factor is not None:
        found, working = worked_by_factor(
            case.thread, case.newton_metres, case.factor, case.factor_sources, prevailing=case.prevailing,
            scatter=case.scatter,
        )  # fmt: skip
        workings: tuple[Working, ...] = (working,)
        judgement = None
    else:
        stated = case.friction is not None
        friction = case.friction or ASSUMED
        found, working = worked(
            case.thread, case.newton_metres, friction, case.face, form=case.form, prevailing=case.prevailing,
            friction_source=STATED if stated else ASSUMPTION,
        )  # fmt: skip
        most, _, at_most = assembly.worked(case.thread, case.strength, friction, case.face)
        workings = (working, at_most)
        if case.tightening_factor is not None:
            least = least_preload(most, case.tightening_factor)
        judgement = judge_torque(
            case.thread, case.strength, case.newton_metres, case.friction,
            prevailing_nm=case.prevailing, written=case.torque, bearing=case.face,
        )  # fmt: skip
    drag = drag_for(case.thread, case.strength.name) if case.prevailing else None
    turn = turn_of(case, found)
    workings = tuple(
        _told_of(each, case) if found.high > yield_load(case.thread, case.strength) and not at else each
        for at, each in enumerate((*workings, *turn.workings))
    )
    sources = merged(
        *(each.sources for each in workings), case.strength.sources, drag.sources if drag else (),
        [TIGHTENING_FACTOR] if least else (),
    )  # fmt: skip
    return _Answer(found, least, turn, workings, judgement, _remarks(case, found, judgement, turn), sources)


def _told_of(working: Working, case: Case) -> Working:
    """A working whose number is that of a bolt which stays elastic, as this one does not."""
    load = shown(yield_load(case.thread, case.strength) / 1000, "kN")
    elastic = working.result.partition(", if the bolt")[0]
    return working.but(
        result=f"{elastic} of a bolt that never yields; this one yields at {load}, so it is no preload"
    )


def _remarks(case: Case, found: Between, judgement: Judgement | None, turn: Turn) -> tuple[str, ...]:
    said = []
    if judgement is not None and judgement.grade is not None:
        words = judgement.words.removesuffix(".") + _by(case)
        said.append(f"{judgement.grade.capitalize()}: {words}. {judgement.slip}".rstrip())
    if judgement is None and found.high > proof_load(case.thread, case.strength):
        said.append("Warning: at the lowest nut factor the preload passes the proof load.")
    said += turn.remarks
    if case.prevailing:
        said.append(judge_drag(case.thread, case.prevailing, case.strength.name))
    return tuple(each for each in said if each)


def _lines(case: Case, answer: _Answer) -> list[str]:
    proof, yields = proof_load(case.thread, case.strength), yield_load(case.thread, case.strength)
    found = answer.preload
    never = ", if the bolt never yielded" if found.high > yields else ""
    rows = [
        ("Preload", load_words(found, yields, "no preload is told from a torque")),
        ("Of the proof load", f"{share_text(found / proof)} of {shown(proof / 1000, 'kN')}{never}"),
        ("Of the yield load", f"{share_text(found / yields)} of {shown(yields / 1000, 'kN')}{never}"),
    ]
    if case.factor is not None:
        rows.append(("Nut factor", friction_text(case.factor)))
        rows.append(("Scatter about it", _scatter(case)))
        at_proof = torque_by_factor(Between.exactly(proof), case.factor, case.thread.d) + case.prevailing
        rows.append(("At the proof load", shown(at_proof, "N·m")))
    else:
        assumed = "" if case.friction is not None else ", assumed: state it with --friction"
        rows.append(("Friction", f"{friction_text(case.friction or ASSUMED)}{assumed}"))
        rows.append(("Sane torques", shown(_sane(case), "N·m") + _by(case)))
        factor = nut_factor(case.thread, case.friction or ASSUMED, case.face, form=case.form)
        rows.append(("Nut factor so", friction_text(Between(round(factor.low, 3), round(factor.high, 3)))))
        rows.append(("Where it goes", _shares(case)))
    if answer.least is not None:
        rows.append(("Least at assembly", f"{shown(answer.least / 1000, 'kN')}, the most over αA"))
    rows.append(("Breaks from", shown(tensile_load(case.thread, case.strength) / 1000, "kN")))
    rows.append(("Thread", _geometry(case)))
    rows += answer.turn.rows
    lines = [f"{case.thread.designation} {case.strength.name} at {case.torque.text()}", ""]
    lines += [f"{name:<19}{value}" for name, value in rows]
    lines += answer.remarks
    for working in answer.workings:
        wide = max(len(name) for name, _ in working.inputs)
        lines += ["", working.title, f"  {working.formula}"]
        lines += [f"  {name:<{wide}}  {value}" for name, value in working.inputs]
        lines.append(f"  {working.result}")
    lines += ["", *(f"Source: {source_text(source)}" for source in answer.sources)]
    if any(source.from_memory for source in answer.sources):
        lines.append(f"This answer rests on a value {FROM_MEMORY}.")
    return lines


def _scatter(case: Case) -> str:
    if case.scatter is None:
        return "none added: two limits state the spread"
    return f"±{100 * case.scatter.share:.3g} %, {case.scatter.method}"


def _by(case: Case) -> str:
    """Which form is judged by, where it is not the one asked for."""
    return "" if case.form == "exact" else f", by the exact form and not by {case.form}"


def _shares(case: Case) -> str:
    """Where a torque goes at the middle of the friction, by the linear form."""
    friction = (case.friction or ASSUMED).mid
    stretching, thread, head = (f"{100 * share:.0f} %" for share in split(case.thread, friction, case.face))
    at = friction_text(friction)
    return f"{stretching} stretches, {thread} rubs in the thread, {head} under the head (friction {at})"


def _geometry(case: Case) -> str:
    of = case.thread
    return (
        f"d2 {of.pitch_diameter:.3f}, root {of.root_diameter:.3f}, nut's minor diameter {of.minor_diameter:.3f} mm; "
        f"{of.stress_area:.4g} mm², {of.stress_area_formula}"
    )


def _sane(case: Case) -> Between:
    return sane_torques(
        case.thread, case.strength, case.friction, prevailing_nm=case.prevailing, bearing=case.face
    )


def _document(case: Case, answer: _Answer) -> dict[str, Any]:
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
        "preload_newtons": elastic_ends(answer.preload, yields),
        "yields": "yes"
        if answer.preload.low > yields
        else "perhaps"
        if answer.preload.high > yields
        else "no",
        "proof_load_newtons": proof,
        "yield_load_newtons": yields,
        "share_of_proof": _ends(answer.preload / proof),
        "share_of_yield": _ends(answer.preload / yields),
        "scatter": None
        if case.scatter is None
        else {"method": case.scatter.method, "share": case.scatter.share},
        "least_at_assembly_newtons": None if answer.least is None else _ends(answer.least),
        "tensile_load_newtons": tensile_load(case.thread, case.strength),
        **turn_document(case, answer.turn),
        "judged_by_form": "exact" if by_friction else None,
        "sane_torques_newton_metres": _ends(_sane(case)) if by_friction else None,
        "grade": judgement.grade if judgement else None,
        "slip": judgement.slip if judgement else "",
        "remarks": list(answer.remarks),
        "workings": [working_json(working) for working in answer.workings],
        "sources": sources_json(answer.sources),
        "from_memory": FROM_MEMORY if any(s.from_memory for s in answer.sources) else None,
    }


def _ends(of: Between) -> dict[str, float]:
    return {"low": of.low, "high": of.high}
