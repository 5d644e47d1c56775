"""Torque to preload and back, in every published form, for numbers and for intervals.

All forms are T = F · ℓ, with a lever ℓ that depends on thread, friction and bearing face (μ in the thread, μb under
the head; d2 pitch diameter, P pitch, Db mean bearing diameter; 60° flanks):
    exact        ℓ = d2/2 · tan(φ + ρ′) + μb Db/2,   tan φ = P/(π d2),   tan ρ′ = μ / cos 30°
    iso 16047    ℓ = ½ (P + 1.154 π μ d2) / (π − 1.154 μ P/d2) + μb Db/2
    linear       ℓ = P/(2π) + 0.57735 μ d2 + μb Db/2
    vdi 2230     ℓ = 0.16 P + 0.58 d2 μ + μb Db/2
    shigley      ℓ = K d,   K = dm/(2d) · (tan λ + μ sec 30°) / (1 − μ tan λ sec 30°) + 0.625 μb
    jis b 1083   ℓ = ½ (P/π + μ d2 sec α′ + μb Dw)
where dm is the mean of major and root diameter, α′ the flank angle in the normal plane, Dw the diameter at uniform
pressure; and the short form T = K F d with a nut factor. Torque N·m, preload N, lengths mm. ISO 16047 with 2/√3 for
its rounded 1.154 is the exact form. 0.577, 0.58 and 0.583 in print are one term, half of sec 30°, rounded differently.
"""

import math
from typing import Literal, get_args

from runner.joint.between import Between, N, shown
from runner.joint.friction import Scatter, friction_text, scattered
from runner.joint.heads import Bearing
from runner.joint.sourced import Source, Working, merged
from runner.joint.threads import Thread, in_words

Form = Literal["exact", "iso 16047", "linear", "vdi 2230", "shigley", "jis b 1083"]
FORMS: tuple[Form, ...] = get_args(Form)

SECANT = 2 / math.sqrt(3)
"""sec 30°."""

_ISO_SECANT = 1.154
_COLLAR = 0.625

FORMULAS: dict[Form, str] = {
    "exact": "T = F · [d2/2 · tan(φ + ρ′) + μ · Db/2], tan φ = P/(π · d2), tan ρ′ = μ/cos 30°",
    "iso 16047": "T = F · [½ · (P + 1.154 · π · μ · d2)/(π − 1.154 · μ · P/d2) + μ · Db/2]",
    "linear": "T = F · [P/(2π) + 0.57735 · μ · d2 + μ · Db/2]",
    "vdi 2230": "T = F · [0.16 · P + 0.58 · d2 · μ + μ · Db/2]",
    "shigley": "T = K · F · d, K = dm/(2d) · (tan λ + μ · sec α)/(1 − μ · tan λ · sec α) + 0.625 · μ",
    "jis b 1083": "T = F/2 · [P/π + μ · d2 · sec α′ + μ · Dw]",
}
SOURCES: dict[Form, Source] = {
    "exact": Source("mechanics of the power screw, 60° thread", "worked out"),
    "iso 16047": Source("ISO 16047 clause 9", "memory", note="the exact form, with 2/√3 rounded to 1.154"),
    "linear": Source("the exact form without its second-order terms", "worked out"),
    "vdi 2230": Source("VDI 2230-1", "memory", "2015", note="reproduces a printed table of VDI 2230:2001"),
    "shigley": Source("Shigley 9th ed. eq. 8-26", "text"),
    "jis b 1083": Source("JIS B 1083", "text", note="on a page that reproduces its formulas"),
}
SCATTER_FORM = Source(
    "J. Fail. Anal. Prev. 2019, s11668-019-00693-z", "text", note="Fmin, Fmax = (1 ∓ Γ) · Fp"
)
SHORT_FORM = Source("Shigley 9th ed. eq. 8-27", "text")
NO_UNIVERSAL_FACTOR = "there is no universal lubrication factor: state K or a friction"


def lever(
    thread: Thread, friction: N, bearing: Bearing, *, form: Form = "exact", under_head: N | None = None
) -> N:
    """Torque per preload, mm. `friction` is that of the thread, and of the head too where `under_head` is None.

    Raises ValueError for a friction not above 0, or for JIS B 1083 where the bearing face is known by its mean only.
    """
    head = friction if under_head is None else under_head
    for each in (friction, head):
        if not (each.low if isinstance(each, Between) else each) > 0:
            raise ValueError(f"a friction of {each}; expected: more than 0 ({NO_UNIVERSAL_FACTOR})")
    if form == "exact":
        return thread_lever(thread.pitch, thread.pitch_diameter, friction) + head * (bearing.mean / 2)
    if form == "iso 16047":
        return _iso_16047(thread, friction) + head * (bearing.mean / 2)
    if form == "linear":
        rubbing = friction * (SECANT / 2 * thread.pitch_diameter)
        return thread.pitch / (2 * math.pi) + rubbing + head * (bearing.mean / 2)
    if form == "vdi 2230":
        return vdi_lever(thread, friction, head, bearing)
    if form == "shigley":
        mean = (thread.d + thread.root_diameter) / 2
        return thread_lever(thread.pitch, mean, friction) + head * (_COLLAR * thread.d)
    if form == "jis b 1083":
        rubbing = friction * (thread.pitch_diameter * flank_secant(thread))
        return (thread.pitch / math.pi + rubbing + head * bearing.uniform_pressure) / 2
    raise ValueError(f"no form {form!r}; expected: {', '.join(FORMS)}")


def thread_lever(pitch: float, diameter: float, friction: N) -> N:
    """The thread's share of the lever, mm: d/2 · tan(φ + ρ′), by the sum of tangents, so that it works on intervals.

    Both halves of the quotient move the same way with friction, so an interval result is as narrow as can be.
    """
    lead = pitch / (math.pi * diameter)
    rubbing = friction * SECANT
    return (lead + rubbing) / (1 - rubbing * lead) * (diameter / 2)


def _iso_16047(thread: Thread, friction: N) -> N:
    d2, pitch = thread.pitch_diameter, thread.pitch
    above = pitch + friction * (_ISO_SECANT * math.pi * d2)
    below = math.pi - friction * (_ISO_SECANT * pitch / d2)
    return above / below / 2


def vdi_lever(thread: Thread, friction: N, under_head: N, bearing: Bearing) -> N:
    """VDI 2230: 0.16 P + 0.58 d2 μG + DKm/2 · μK, mm."""
    own = friction * (0.58 * thread.pitch_diameter)
    return 0.16 * thread.pitch + own + under_head * (bearing.mean / 2)


def flank_secant(thread: Thread) -> float:
    """sec α′ of the flank in the normal plane: tan α′ = tan 30° · cos φ (M8 coarse: 1.15426, against 1.15470)."""
    lead = thread.pitch / (math.pi * thread.pitch_diameter)
    return math.sqrt(1 + 1 / 3 / (1 + lead**2))


def torque_for(
    preload: N, thread: Thread, friction: N, bearing: Bearing, *, form: Form = "exact", under_head: N | None = None
) -> N:  # fmt: skip
    """The torque in N·m that gives a preload in N. Raises ValueError as `lever` does."""
    return preload * lever(thread, friction, bearing, form=form, under_head=under_head) / 1000


def preload_for(
    torque: N, thread: Thread, friction: N, bearing: Bearing, *, form: Form = "exact", under_head: N | None = None
) -> N:  # fmt: skip
    """The preload in N that a torque in N·m gives: that which tightens, prevailing torque already taken off.

    Raises ValueError as `lever` does.
    """
    return torque * 1000 / lever(thread, friction, bearing, form=form, under_head=under_head)


def nut_factor(
    thread: Thread, friction: N, bearing: Bearing, *, form: Form = "exact", under_head: N | None = None
) -> N:
    """K = T / (F d) of a form. Raises ValueError as `lever` does."""
    return lever(thread, friction, bearing, form=form, under_head=under_head) / thread.d


def torque_by_factor(preload: N, factor: N, d: float) -> N:
    """T = K F d: N·m from N, a nut factor and mm. Raises ValueError where K or d is not above 0."""
    _need_factor(factor, d)
    return preload * factor * d / 1000


def preload_by_factor(torque: N, factor: N, d: float) -> N:
    """F = T / (K d): N from N·m, a nut factor and mm. Raises ValueError where K or d is not above 0."""
    _need_factor(factor, d)
    return torque * 1000 / (factor * d)


def _need_factor(factor: Between | float, d: float) -> None:
    least = factor.low if isinstance(factor, Between) else factor
    if not least > 0 or not d > 0:
        raise ValueError(
            f"a nut factor of {factor} at {d:g} mm; expected: both above 0 ({NO_UNIVERSAL_FACTOR})"
        )


def split(thread: Thread, friction: float, bearing: Bearing) -> tuple[float, float, float]:
    """Where a torque goes, by the linear form: shares that stretch the bolt, rub in the thread, rub under the head.

    The three sum to 1. Raises ValueError as `lever` does.
    """
    whole = lever(thread, friction, bearing, form="linear")
    stretching = thread.pitch / (2 * math.pi) / whole
    under_head = friction * bearing.mean / 2 / whole
    return stretching, 1 - stretching - under_head, under_head


def worked(
    thread: Thread,
    torque: float,
    friction: Between,
    bearing: Bearing,
    *,
    form: Form = "exact",
    prevailing: float = 0.0,
    friction_source: Source,
) -> tuple[Between, Working]:
    """The preload of a torque with its working; prevailing torque is taken off first (AC 43.13-1B 7-40).

    Raises ValueError where nothing is left of the torque, or as `lever` does.
    """
    found = preload_for(
        Between.exactly(_tightening(torque, prevailing)), thread, friction, bearing, form=form
    )
    inputs = (
        ("T", _torque_text(torque, prevailing)),
        ("μ", friction_text(friction)),
        *in_words(thread),
        *_face(thread, bearing, form),
    )
    sources = merged([SOURCES[form], friction_source], thread.sources, _face_sources(bearing, form))
    return found, Working(
        "Preload",
        FORMULAS[form],
        inputs,
        f"F = {shown(found / 1000, 'kN')}, if the bolt stays elastic",
        sources,
    )


def worked_by_factor(
    thread: Thread,
    torque: float,
    factor: Between,
    factor_sources: tuple[Source, ...],
    *,
    prevailing: float = 0.0,
    scatter: Scatter | None = None,
) -> tuple[Between, Working]:
    """As `worked`, by the short form with a nut factor, and how far preloads scatter about what it gives.

    Raises ValueError as `worked`.
    """
    found = preload_by_factor(Between.exactly(_tightening(torque, prevailing)), factor, thread.d)
    inputs = [
        ("T", _torque_text(torque, prevailing)),
        ("K", friction_text(factor)),
        ("d", f"{thread.d:.6g} mm"),
    ]
    formula, sources = "T = K · F · d", merged([SHORT_FORM], factor_sources, thread.sources)
    if scatter is not None:
        inputs += [
            ("F by K alone", shown(found / 1000, "kN")),
            ("Γ", f"±{100 * scatter.share:.3g} %, {scatter.method}"),
        ]
        found = scattered(found, scatter.share)
        formula += "; F scatters from (1 − Γ) · F to (1 + Γ) · F"
        sources = merged(sources, [SCATTER_FORM, scatter.source])
    return found, Working(
        "Preload",
        formula,
        tuple(inputs),
        f"F = {shown(found / 1000, 'kN')}, if the bolt stays elastic",
        sources,
    )


def _tightening(torque: float, prevailing: float) -> float:
    if not torque > prevailing >= 0:
        raise ValueError(
            f"a torque of {torque:g} N·m with a prevailing torque of {prevailing:g} N·m leaves nothing to tighten; "
            "expected: the torque above the prevailing torque"
        )
    return torque - prevailing


def _torque_text(torque: float, prevailing: float) -> str:
    return f"{torque:.6g} N·m" + (f" less {prevailing:.6g} N·m prevailing" if prevailing else "")


def _face(thread: Thread, bearing: Bearing, form: Form) -> tuple[tuple[str, str], ...]:
    if form == "shigley":
        return (("collar", f"{2 * _COLLAR * thread.d:.4g} mm (1.25 d)"),)
    if form == "jis b 1083":
        return (("Dw", f"{bearing.uniform_pressure:.5g} mm at uniform pressure"),)
    return (("Db", bearing.words()),)


def _face_sources(bearing: Bearing, form: Form) -> tuple[Source, ...]:
    return () if form == "shigley" else bearing.sources
