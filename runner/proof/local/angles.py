"""Angles that take a fastener past its proof load while nothing says that it is used once (P30)."""

from decimal import Decimal

from runner.proof.local.fasteners import Fastener, joint_named
from runner.proof.local.found import Found
from runner.proof.local.torques import judged, memory_words, passes_proof
from runner.quantities import QuantityError, convert


def angle_past_yield(fastener: Fastener, found: Found) -> None:
    """A turn after which the bolt has stretched for good, where it is not declared `new: every time`.

    Reckoned elastically. The least: threaded all along its grip, with parts as stiff as the bolt. The most: a full
    shank, with parts that give nothing. Past the proof load at the least it is a warning, only at the most advice.
    """
    item = fastener.item
    joint = joint_named(item.thread, item.strength)
    angles = fastener.given("angle")
    if joint is None or item.grip is None or item.new_every_time or not angles:
        return
    from runner.joint.between import Between, shown  # noqa: PLC0415 - see fasteners.py
    from runner.joint.friction import ASSUMED, friction_text  # noqa: PLC0415 - see fasteners.py
    from runner.joint.strength import proof_load, yield_load  # noqa: PLC0415 - see fasteners.py
    from runner.joint.stretch import RIGID, bolt_stiffness, turned  # noqa: PLC0415 - see fasteners.py

    thread, strength = joint
    number = angles[0][0]
    torques = [asked for at, _, asked in fastener.given("torque") if at < number]
    before, words, memory, taken = Between.exactly(0), "", False, []
    if torques:
        judgement = judged(item, torques[-1])
        if judgement is None or judgement.preload is None or passes_proof(judgement):
            return  # of a torque that is too much already enough is said
        before, memory = judgement.preload, judgement.from_memory
        words = f"{torques[-1].text()} and then "
        if judgement.assumed_friction:
            taken = [f"friction {friction_text(ASSUMED)}"]
    try:
        degrees = sum((convert(asked.value, asked.unit, "°") for _, _, asked in angles), Decimal(0))
    except QuantityError:
        return  # a value out of all proportion lies in no tool's range, which P18 says
    grip = float(Decimal(item.grip))
    threaded, shank = bolt_stiffness(thread, 0, grip), bolt_stiffness(thread, grip, 0)
    least = turned(thread, strength, before, float(degrees), threaded, threaded)
    most = turned(thread, strength, before, float(degrees), shank, RIGID)
    reached = Between(least.linear.low, most.linear.high)
    proof = proof_load(thread, strength)
    if not reached.high > proof:
        return
    sure = reached.low > proof
    yields = yield_load(thread, strength)
    taken.append("clamped parts at least as stiff as the bolt" if sure else "rigid clamped parts")
    limit, load = (
        ("yield load", yields) if (reached.low if sure else reached.high) > yields else ("proof load", proof)
    )
    message = (
        f'"{item.name}" gets {words}{degrees.normalize():f}°, which {"takes" if sure else "may take"} '
        f"{thread.designation} {strength.name} over a grip of {grip:g} mm past its {limit} "
        f"{shown(load / 1000, 'kN')} (assumed: {' and '.join(taken)}), and nothing says that it is used once"
        f"{memory_words(from_memory=memory or least.working.from_memory)}"
    )
    found.add(fastener.steps[number], "angle-past-yield", message, grade="warning" if sure else "advice")
