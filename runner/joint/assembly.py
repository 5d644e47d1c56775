"""The most that tightening may do: assembly preload and torque of VDI 2230, tension and twist together.

    FM = ν Rp0.2 As / √(1 + 3 [ k (d2/d0) (P/(π d2) + 1.155 μG) ]²),   d0 = (d2 + d3)/2,   ν = 0.9
    MA = FM · [0.16 P + 0.58 d2 μG + DKm/2 · μK]
k is 3/2 in the editions of 2003 and 2015 and 2 in that of 1986, which lies 8 % lower: the edition is always stated.
Published tables differ by edition, yield share and head size; never mix them.
"""

import math
from typing import Literal

from runner.joint.between import Between, N, hull, root, shown
from runner.joint.friction import friction_text
from runner.joint.heads import Bearing
from runner.joint.preload import vdi_lever
from runner.joint.sourced import Source, Working, merged
from runner.joint.strength import Strength
from runner.joint.threads import Thread, in_words

Edition = Literal["2003", "2015", "1986"]

YIELD_SHARE = 0.9
"""ν: share of the yield strength that assembly may use, bolt in tension and twist."""

_TWIST: dict[Edition, float] = {"2003": 1.5, "2015": 1.5, "1986": 2.0}
_FORMULA = (
    "FM = 0.9 · Rp0.2 · As/√(1 + 3 · [{twist:g} · (d2/d0) · (P/(π · d2) + 1.155 · μ)]²), "
    "MA = FM · [0.16 · P + 0.58 · d2 · μ + DKm/2 · μ]"
)


def edition_source(edition: Edition) -> Source:
    """The source of an edition of VDI 2230-1."""
    return Source("VDI 2230-1", "memory", edition, "90 % of yield, tension and twist together")


def assembly_preload(
    thread: Thread, strength: Strength, friction: N, *, edition: Edition = "2015", share: float = YIELD_SHARE
) -> N:
    """FM in N for a friction in the thread. Raises ValueError for a friction not above 0 or an unknown edition."""
    if edition not in _TWIST:
        raise ValueError(f"no edition {edition!r} of VDI 2230; expected: {', '.join(_TWIST)}")
    if not (friction.low if isinstance(friction, Between) else friction) > 0:
        raise ValueError(f"a friction of {friction}; expected: more than 0")
    d2 = thread.pitch_diameter
    core = (d2 + thread.root_diameter) / 2
    twist = (friction * 1.155 + thread.pitch / (math.pi * d2)) * (_TWIST[edition] * d2 / core)
    return share * strength.yield_ * thread.stress_area / root(1 + twist * twist * 3)


def assembly_torque(
    thread: Thread,
    strength: Strength,
    friction: N,
    bearing: Bearing,
    *,
    edition: Edition = "2015",
    share: float = YIELD_SHARE,
) -> N:
    """MA in N·m for one friction in thread and under the head. Raises ValueError as `assembly_preload`.

    With rising friction FM falls and MA rises: d ln MA/dμ = 1/(μ + α) − 1/(μ + β + …) with α < 0.2759 P/d2 and
    β = 0.2756 P/d2 on any face wider than a thousandth of d2; so an interval takes the values at its ends.
    """
    if isinstance(friction, Between):
        ends = [Between.exactly(end) for end in (friction.low, friction.high)]
        low, high = (_torque(thread, strength, end, bearing, edition, share) for end in ends)
        return hull(low, high)
    return _torque(thread, strength, friction, bearing, edition, share)


def _torque(
    thread: Thread, strength: Strength, friction: N, bearing: Bearing, edition: Edition, share: float
) -> N:
    preload = assembly_preload(thread, strength, friction, edition=edition, share=share)
    return preload * vdi_lever(thread, friction, friction, bearing) / 1000


def worked(
    thread: Thread, strength: Strength, friction: Between, bearing: Bearing, *, edition: Edition = "2015"
) -> tuple[Between, Between, Working]:
    """Assembly preload (N) and torque (N·m) with their working. Raises ValueError as `assembly_preload`."""
    preload = assembly_preload(thread, strength, friction, edition=edition)
    torque = assembly_torque(thread, strength, friction, bearing, edition=edition)
    inputs = (
        ("Rp0.2", f"{strength.yield_:.4g} MPa"),
        ("As", f"{thread.stress_area:.4g} mm²"),
        ("μ", friction_text(friction)),
        *in_words(thread),
        ("d3", f"{thread.root_diameter:.3f} mm"),
        ("DKm", bearing.words()),
    )
    result = f"FM = {shown(preload / 1000, 'kN')}, MA = {shown(torque, 'N·m')}"
    sources = merged([edition_source(edition)], strength.sources, thread.sources, bearing.sources)
    formula = _FORMULA.format(twist=_TWIST[edition])
    return preload, torque, Working("Most at assembly (90 % of yield)", formula, inputs, result, sources)
