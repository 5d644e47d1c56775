"""Tightening by angle: what a turn stretches, what preload it adds, and where that leaves the elastic range.

    advance    δ = P θ/360           (stretch of the bolt and squeeze of the joint together)
    gain       ΔF = δ kb kc/(kb + kc)     elastic, and after seating only
    bolt       1/kb = (shank/Ad + thread/As) / E
The linear gain is true only below the proof load. Past it the bolt stretches for good and the preload follows no
straight line, so no number is given there; the step belongs to a bolt that is used once.
"""

import math
from typing import Literal

from runner.frozen import Frozen
from runner.joint.between import Between, N, shown
from runner.joint.sourced import Source, Working, merged
from runner.joint.strength import Strength, proof_load, yield_load
from runner.joint.threads import Thread

ADVANCE = Source("thread advance and two springs in series", "worked out")
MODULUS = Source("E = 205 GPa of a steel bolt", "assumed")
OVER_GRIP = Source("stiffness over the grip", "assumed", note="parts from as stiff as the bolt to rigid")
RCSC = Source("RCSC turn-of-nut table", "text", note="from snug, faces parallel")
RCSC_TOLERANCE = Source("RCSC turn-of-nut tolerance", "memory")

STEEL = 205_000.0
"""E in MPa."""

_ROUNDING = 1e-9  # so that 9 in on 3/4 in is 12 d in mm too

RIGID = math.inf
"""Stiffness of members that give nothing: the most a turn can add."""

Passes = Literal["no", "proof, perhaps", "proof", "yield, perhaps", "yield"]


def advance(pitch: float, degrees: float) -> float:
    """P θ/360 in mm. Raises ValueError for a negative angle."""
    if degrees < 0:
        raise ValueError(f"an angle of {degrees:g}°; expected: 0° or more")
    return pitch * degrees / 360


def bolt_stiffness(thread: Thread, shank: float, threaded: float, modulus: float = STEEL) -> float:
    """kb in N/mm of a grip of so many mm of full shank and of free thread. Raises ValueError where both are none."""
    if shank < 0 or threaded < 0 or not shank + threaded > 0:
        raise ValueError(f"a grip of {shank:g} mm shank and {threaded:g} mm thread; expected: a length")
    return modulus / (shank / (math.pi / 4 * thread.d**2) + threaded / thread.stress_area)


def joint_stiffness(bolt: N, members: N) -> N:
    """kb kc/(kb + kc), in the unit of both; `members` may be RIGID. Raises ZeroDivisionError at 0."""
    return 1 / (1 / bolt + 1 / members)


def angle_for(preload: float, pitch: float, stiffness: float) -> float:
    """Degrees from snug that give an elastic preload: 360 F/(k P), in units that agree (N, mm, N/mm)."""
    return 360 * preload / (stiffness * pitch)


def load_share(bolt: float, members: float) -> float:
    """C = kb/(kb + kc): the bolt's share of an outer load (Shigley eq. 8-20 and after)."""
    return bolt / (bolt + members)


def bolt_load(preload: float, outer: float, bolt: float, members: float) -> float:
    """The load of a bolt in a joint that an outer load pulls on, in one unit.

    Fi + C P while the joint stays shut, which is while that is the more; once it is open, all of P.
    """
    return max(preload + load_share(bolt, members) * outer, outer)


class Turned(Frozen):
    """A preload after an angle.

    `preload` N, and `gain` N of the turn alone, are None where the elastic model no longer holds: nothing true can be
    said of it but that it lies
    past `passes`. `linear` is what the model would have said, kept for the working alone. `words` say what to do.
    """

    advance: float
    passes: Passes
    preload: Between | None
    gain: Between | None
    words: str
    linear: Between
    working: Working

    @property
    def declare_single_use(self) -> bool:
        """Whether the bolt should be declared single-use (`new: every time`)."""
        return self.passes != "no"


def turned_over_grip(
    thread: Thread, strength: Strength, before: Between, degrees: float, grip: float
) -> Turned:
    """As `turned`, where nothing but the clamped length in mm is known.

    The least: threaded all along, with parts as stiff as the bolt. The most: a full shank, with parts that give
    nothing. Raises ValueError as `turned` and `bolt_stiffness` do.
    """
    threaded, shank = bolt_stiffness(thread, 0, grip), bolt_stiffness(thread, grip, 0)
    found = turned(thread, strength, before, degrees, Between(threaded, shank), Between(threaded, RIGID))
    inputs = (("grip", f"{grip:g} mm"), *found.working.inputs)
    return found.but(
        working=found.working.but(inputs=inputs, sources=merged(found.working.sources, [OVER_GRIP]))
    )


def turned(
    thread: Thread,
    strength: Strength,
    before: Between,
    degrees: float,
    bolt: Between | float,
    members: Between | float,
) -> Turned:
    """The preload in N after an angle from a preload `before`, with bolt and members stiff by so many N/mm.

    Several angles in a row act as their sum. Raises ValueError for a negative angle or stiffness.
    """
    own, apart = (each if isinstance(each, Between) else Between.exactly(each) for each in (bolt, members))
    if not own.low > 0 or not apart.low > 0:
        raise ValueError("a stiffness must be above 0")
    delta = advance(thread.pitch, degrees)
    gain = delta * joint_stiffness(own, apart)
    linear = before + gain
    past = passes(linear, proof_load(thread, strength), yield_load(thread, strength))
    elastic = linear if past == "no" else None
    inputs = (
        ("P", f"{thread.pitch:.6g} mm"),
        ("θ", f"{degrees:g}°"),
        ("F before", shown(before / 1000, "kN")),
        ("kb", _stiffness_text(own)),
        ("kc", _stiffness_text(apart)),
        ("δ, stretch of the bolt and squeeze of the parts", f"{delta:.4g} mm"),
        ("proof load", shown(proof_load(thread, strength) / 1000, "kN")),
        ("yield load", shown(yield_load(thread, strength) / 1000, "kN")),
    )
    words = _words(thread, strength, degrees, past, linear)
    result = f"F = {shown(elastic / 1000, 'kN')}" if elastic else words
    formula = "F = F before + P · θ/360 · kb · kc/(kb + kc), up to the proof load"
    sources = merged([ADVANCE, MODULUS], thread.sources, strength.sources)
    working = Working("Preload after the angle", formula, inputs, result, sources)
    return Turned(delta, past, elastic, gain if elastic else None, words, linear, working)


def passes(linear: Between, proof: float, yields: float) -> Passes:
    """Which limit a load passes, surely or perhaps."""
    if linear.low > yields:
        return "yield"
    if linear.high > yields:
        return "yield, perhaps"
    if linear.low > proof:
        return "proof"
    return "proof, perhaps" if linear.high > proof else "no"


def _stiffness_text(members: Between) -> str:
    if math.isinf(members.low):
        return "rigid"
    if math.isinf(members.high):
        return f"{members.low / 1000:.4g} kN/mm to rigid"
    low, high = f"{members.low / 1000:.4g}", f"{members.high / 1000:.4g}"
    return f"{low} kN/mm" if low == high else f"{low} to {high} kN/mm"


def _words(thread: Thread, strength: Strength, degrees: float, past: Passes, linear: Between) -> str:
    name = f"{thread.designation} {strength.name}"
    if past == "no":
        share = f"{100 * linear.high / proof_load(thread, strength):.0f} %"
        return f"{degrees:g}° on {name} stays elastic, at most {share} of the proof load."
    limit = "yields" if past.startswith("yield") else "passes its proof load"
    load = yield_load(thread, strength) if past.startswith("yield") else proof_load(thread, strength)
    may = "may bring" if past.endswith("perhaps") else "brings"
    return (
        f"{degrees:g}° on {name} {may} the bolt to where it {limit} ({shown(load / 1000, 'kN')}): "
        "no preload can be told from the angle there, and the bolt should be declared single-use."
    )


class TurnOfNut(Frozen):
    """A turn from snug, degrees, with what it may be off by."""

    degrees: float
    tolerance: float
    sources: tuple[Source, ...]

    def working(self, length: float, d: float) -> Working:
        """How it follows from bolt length and diameter, mm."""
        part = {120: "1/3 turn", 180: "1/2 turn", 240: "2/3 turn"}[round(self.degrees)]
        inputs = (
            ("L, length of the bolt", f"{length:.6g} mm"),
            ("d", f"{d:.6g} mm"),
            ("L/d", f"{length / d:.3g}"),
        )
        result = f"{part} from snug: {self.degrees:g}° ± {self.tolerance:g}°"
        return Working(
            "Turn of the nut", "L ≤ 4 d: 1/3 turn; to 8 d: 1/2; to 12 d: 2/3", inputs, result, self.sources
        )


def turn_of_nut(length: float, d: float) -> TurnOfNut:
    """RCSC, faces parallel: 1/3 turn up to 4 d of bolt length, 1/2 to 8 d, 2/3 to 12 d; mm or inches, both the same.

    Tolerance ±30° up to 1/2 turn, ±45° for 2/3. Raises ValueError beyond 12 d: the rule then asks for a test.
    """
    diameters = length / d - _ROUNDING if length > 0 and d > 0 else math.inf
    if diameters > 12:
        raise ValueError(
            f"a bolt of {length:g} on a diameter of {d:g}; expected: up to 12 d, beyond which the turn is tested"
        )
    degrees, tolerance = (120, 30) if diameters <= 4 else (180, 30) if diameters <= 8 else (240, 45)
    return TurnOfNut(degrees, tolerance, (RCSC, RCSC_TOLERANCE))
