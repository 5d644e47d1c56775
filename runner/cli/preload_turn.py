"""What `preload` says of an angle after the torque, of an outer load, and of the turn of the nut."""

from typing import Any, Literal

from runner.cli.preload_asked import Case
from runner.frozen import Frozen
from runner.joint.between import Between, shown
from runner.joint.friction import scatter
from runner.joint.sourced import Working
from runner.joint.strength import proof_load, yield_load
from runner.joint.stretch import (
    ADVANCE,
    RIGID,
    Turned,
    TurnOfNut,
    advance,
    angle_for,
    bolt_load,
    bolt_stiffness,
    joint_stiffness,
    passes,
    turn_of_nut,
    turned_over_grip,
)

Opens = Literal["no", "perhaps", "yes"]


class Turn(Frozen):
    """What was found, each None where it was not asked: `stretch` mm, `turned` over the grip, the rule from snug.

    `elastic` is the angle in degrees that surely stays under the proof load; `service` the load of the bolt in N while
    the outer load pulls, `opens` whether the joint does then.
    """

    stretch: float | None = None
    turned: Turned | None = None
    elastic: float | None = None
    service: Between | None = None
    opens: Opens | None = None
    of_nut: TurnOfNut | None = None
    rows: tuple[tuple[str, str], ...] = ()
    remarks: tuple[str, ...] = ()
    workings: tuple[Working, ...] = ()


def turn_of(case: Case, before: Between) -> Turn:
    """What the angle, the outer load and the bolt's length ask for, after a preload in N. Raises ValueError."""
    found = Turn()
    if case.degrees is not None:
        found = _by_angle(found, case, before, case.degrees)
    if case.pull is not None and case.grip is not None:
        found = _pulled(found, case, before, case.pull, case.grip)
    if case.bolt_length is not None:
        found = _of_nut(found, case, case.bolt_length)
    return found


def _by_angle(found: Turn, case: Case, before: Between, degrees: float) -> Turn:
    stretch = advance(case.thread.pitch, degrees)
    rows = [("Stretch by angle", f"{stretch:.4g} mm at {degrees:g}°, of bolt and parts together")]
    if case.grip is None:
        working = Working(
            "Stretch by the angle",
            "δ = P · θ/360",
            (("P", f"{case.thread.pitch:.6g} mm"), ("θ", f"{degrees:g}°")),
            f"δ = {stretch:.4g} mm; with --grip the preload that it adds",
            (ADVANCE, *case.thread.sources),
        )
        return found.but(stretch=stretch, rows=(*found.rows, *rows), workings=(*found.workings, working))
    made = turned_over_grip(case.thread, case.strength, before, degrees, case.grip)
    stiffest = joint_stiffness(bolt_stiffness(case.thread, case.grip, 0), RIGID)
    left = proof_load(case.thread, case.strength) - before.high
    elastic = max(angle_for(left, case.thread.pitch, stiffest), 0.0)
    if made.gain is not None and made.preload is not None:
        rows.append(("The angle adds", shown(made.gain / 1000, "kN")))
        rows.append(("After the angle", shown(made.preload / 1000, "kN")))
    rows.append(("Surely elastic to", f"{elastic:.3g}°"))
    remark = f"{'Warning: ' if made.declare_single_use else ''}{made.words}"
    return found.but(
        stretch=stretch,
        turned=made,
        elastic=elastic,
        rows=(*found.rows, *rows),
        remarks=(*found.remarks, remark),
        workings=(*found.workings, made.working),
    )


def _pulled(found: Turn, case: Case, before: Between, pull: float, grip: float) -> Turn:
    """The bolt's load under an outer load: from rigid parts, which leave it nothing, to parts as stiff as the bolt.

    After an angle it starts from the preload that the angle leaves; where none can be told, none is told here either.
    """
    at = f"at {shown(pull / 1000, 'kN')} on the joint:"
    if found.turned is not None:
        if found.turned.preload is None:
            row = ("In service", f"{at} not told, as no preload is told from the angle")
            return found.but(rows=(*found.rows, row))
        before = found.turned.preload
    bolt = bolt_stiffness(case.thread, grip, 0)
    service = Between(bolt_load(before.low, pull, bolt, RIGID), bolt_load(before.high, pull, bolt, bolt))
    opens: Opens = "yes" if pull / 2 > before.high else "perhaps" if pull > before.low else "no"
    proof, yields = proof_load(case.thread, case.strength), yield_load(case.thread, case.strength)
    told = load_words(service, yields)
    working = Working(
        "Bolt under an outer load",
        "F bolt = F + C · P, C = kb/(kb + kc), while the joint is shut; P once it is open",
        (
            ("F", shown(before / 1000, "kN")),
            ("P", shown(pull / 1000, "kN")),
            ("C", "0 (rigid parts) to 0.5 (parts as stiff as the bolt)"),
        ),
        f"F bolt = {told}",
        (ADVANCE,),
    )
    past = passes(service, proof, yields)
    warnings = []
    if past != "no":
        limit, load = ("yield load", yields) if past.startswith("yield") else ("proof load", proof)
        may = "may bring" if past.endswith("perhaps") else "brings"
        warnings.append(f"Warning: the pull {may} the bolt past its {limit}, {shown(load / 1000, 'kN')}.")
    if opens != "no":
        may = "may open" if opens == "perhaps" else "opens"
        warnings.append(f"Warning: the pull {may} the joint; from then on the bolt bears all of it.")
    return found.but(
        service=service,
        opens=opens,
        rows=(*found.rows, ("In service", f"{at} {told}{' on the bolt' if service.high <= yields else ''}")),
        remarks=(*found.remarks, *warnings),
        workings=(*found.workings, working),
    )


def load_words(load: Between, yields: float, none: str = "no load is told") -> str:
    """A load of the bolt as far as it is elastic, and that `none` is told past that: no formula holds there."""
    limit = f"past the yield load, {shown(yields / 1000, 'kN')}, where {none}"
    if load.low > yields:
        return limit
    return shown(load / 1000, "kN") if load.high <= yields else f"{shown(load.low / 1000, 'kN')} to {limit}"


def _of_nut(found: Turn, case: Case, length: float) -> Turn:
    rule, spread = turn_of_nut(length, case.thread.d), scatter("turn of nut")
    working = rule.working(length, case.thread.d)
    inputs = (*working.inputs, ("scatter of the preload", f"±{100 * spread.share:.3g} %"))
    working = working.but(inputs=inputs, sources=(*working.sources, spread.source))
    row = ("Turn of the nut", working.result)
    return found.but(of_nut=rule, rows=(*found.rows, row), workings=(*found.workings, working))


def turn_document(case: Case, turn: Turn) -> dict[str, Any]:
    """The same as data; null what was not asked, and gain and preload where no elastic preload is true."""
    made, rule = turn.turned, turn.of_nut
    return {
        "angle": None
        if turn.stretch is None
        else {
            "degrees": case.degrees,
            "stretch_mm": turn.stretch,
            "grip_mm": case.grip,
            "gain_newtons": _ends(made.gain) if made else None,
            "preload_newtons": _ends(made.preload) if made else None,
            "passes": made.passes if made else None,
            "declare_single_use": made.declare_single_use if made else None,
            "surely_elastic_degrees": turn.elastic,
        },
        "service_newtons": elastic_ends(turn.service, yield_load(case.thread, case.strength)),
        "joint_opens": turn.opens,
        "turn_of_nut": None
        if rule is None
        else {"degrees": rule.degrees, "tolerance_degrees": rule.tolerance},
    }


def elastic_ends(of: Between | None, yields: float) -> dict[str, float | None] | None:
    """The ends of a load, each null past the yield load, where none is told; null where nothing was asked."""
    if of is None:
        return None
    ends = {"low": of.low, "high": of.high}
    return {name: end if end <= yields else None for name, end in ends.items()}


def _ends(of: Between | None) -> dict[str, float] | None:
    return None if of is None else {"low": of.low, "high": of.high}
