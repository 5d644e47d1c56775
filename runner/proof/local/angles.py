"""Angles that take a fastener past its proof load while nothing says that it is used once (P30)."""

from decimal import Decimal
from typing import TYPE_CHECKING

from runner.procedure.finding import Grade
from runner.proof.local.fasteners import Fastener, joint_named
from runner.proof.local.found import Found
from runner.proof.local.torques import judged, memory_words, passes_proof
from runner.quantities import QuantityError, convert

if TYPE_CHECKING:  # see fasteners.py
    from runner.joint.sanity import Judgement


def angle_past_yield(fastener: Fastener, found: Found) -> None:
    """A turn after which the bolt has stretched for good, where it is not declared `new: every time`.

    Reckoned elastically. The least: threaded all along its grip, with parts as stiff as the bolt. The most: a full
    shank, with parts that give nothing. Past the proof load at the least it is a warning, only at the most advice.
    """
    item = fastener.item
    if item.grip is None or item.new_every_time or not (angles := fastener.given("angle")):
        return
    first = angles[0][0]
    torques = [asked for number, _, asked in fastener.given("torque") if number < first]
    try:
        degrees = sum((convert(asked.value, asked.unit, "°") for _, _, asked in angles), Decimal(0))
    except QuantityError:
        return  # a value out of all proportion lies in no tool's range, which P18 says
    before = torques[-1] if torques else None
    judgement = None if before is None else judged(item, before)
    if before is not None and (judgement is None or passes_proof(judgement)):
        return  # nothing is known of it, or of a torque that is too much already enough is said
    if passing := _passing(item.thread, item.strength, item.grip, degrees, judgement):
        grade, words = passing
        gets = f"{before.text()} and then " if before else ""
        message = f'"{item.name}" gets {gets}{degrees.normalize():f}°, {words}'
        found.add(fastener.steps[first], "angle-past-yield", message, grade=grade)


def _passing(
    thread: str | None, strength: str | None, grip: str, degrees: Decimal, torqued: "Judgement | None"
) -> tuple[Grade, str] | None:
    """How grave it is that the turn passes the proof load, and the rest of the sentence; None where it does not."""
    joint = joint_named(thread, strength)
    if joint is None:
        return None
    from runner.joint.between import Between, shown  # noqa: PLC0415 - see fasteners.py
    from runner.joint.friction import ASSUMED, friction_text  # noqa: PLC0415 - see fasteners.py
    from runner.joint.strength import proof_load, yield_load  # noqa: PLC0415 - see fasteners.py
    from runner.joint.stretch import turned_over_grip  # noqa: PLC0415 - see fasteners.py

    size, bolt = joint
    length = float(Decimal(grip))
    before = torqued.preload if torqued and torqued.preload else Between(0.0, 0.0)
    turn = turned_over_grip(size, bolt, before, float(degrees), length)
    if turn.passes == "no":
        return None
    proof, yields = proof_load(size, bolt), yield_load(size, bolt)
    sure = turn.linear.low > proof
    reached = turn.linear.low if sure else turn.linear.high
    limit, load = ("yield load", yields) if reached > yields else ("proof load", proof)
    assumed = [f"friction {friction_text(ASSUMED)}"] if torqued and torqued.assumed_friction else []
    assumed.append("clamped parts at least as stiff as the bolt" if sure else "rigid clamped parts")
    sources = (*turn.working.sources, *(torqued.sources if torqued else ()))
    words = (
        f"which {'takes' if sure else 'may take'} {size.designation} {bolt.name} over a grip of {length:g} mm past "
        f"its {limit} {shown(load / 1000, 'kN')} (assumed: {' and '.join(assumed)}), and nothing says that it is "
        f"used once{memory_words(from_memory=any(source.from_memory for source in sources))}"
    )
    return "warning" if sure else "advice", words
