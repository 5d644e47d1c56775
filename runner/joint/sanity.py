"""Whether a torque makes sense for its fastener: the proof load as the measure, the likely slip named.

The preload is an interval because friction is one. Past the proof load even where friction is highest, the torque is
an error; in the middle of the interval, a warning; only where friction is lowest, advice. Under 20 % of the proof
load even where friction is lowest, a warning. What is sane says nothing.
"""

from decimal import Decimal
from typing import Literal

from runner.frozen import Frozen
from runner.joint.between import Between, shown
from runner.joint.friction import ASSUMED, ASSUMPTION, STATED, friction_text
from runner.joint.heads import Bearing, bearing_for
from runner.joint.preload import preload_for, torque_for, worked
from runner.joint.sourced import Source, Working, merged
from runner.joint.strength import Strength, proof_load, yield_load
from runner.joint.threads import Thread
from runner.quantities import Quantity, QuantityError, convert, show

Grade = Literal["error", "warning", "advice"]
_RANK: dict[Grade | None, int] = {None: 0, "advice": 1, "warning": 2, "error": 3}

LOW_SHARE = 0.20
"""Share of the proof load under which a torque is hardly meant."""

_SLIPS = ("N·m", "lbf·ft", "lbf·in", "kgf·m")
_MOST_SLIPS = 2


class Judgement(Frozen):
    """What is to be said of a torque: nothing where `grade` is None, else `words`, one sentence with the numbers.

    `preload` N and `share_of_proof` as intervals, both None where no strength is known; `slip` is a question, or
    empty where no other reading of the number would be sane. `assumed_friction`, `assumed_bearing`: nothing was
    stated or known, and the words say so.
    """

    grade: Grade | None
    words: str
    preload: Between | None
    share_of_proof: Between | None
    assumed_friction: bool
    assumed_bearing: bool
    slip: str
    working: Working | None
    sources: tuple[Source, ...]

    @property
    def from_memory(self) -> bool:
        """Whether the judgement rests on a value from memory."""
        return any(source.from_memory for source in self.sources)


def judge_torque(
    thread: Thread,
    strength: Strength | None,
    torque_nm: float,
    friction: Between | None,
    *,
    prevailing_nm: float = 0.0,
    written: Quantity | None = None,
    typed: Quantity | None = None,
    bearing: Bearing | None = None,
    more_follows: bool = False,
) -> Judgement:
    """Judge a torque in N·m on a fastener; `friction` None means none is stated (0.10 to 0.16 is then assumed).

    written: the torque in its unit, for the words. typed: the number that the author wrote, for the slip, where the
    prevailing torque was added to it. bearing: the face, where it is not that of
    a standard hexagon. more_follows: an angle or another round comes after it, so being low is no fault. Without a
    strength nothing is judged. Raises ValueError for a torque that is not above 0 or a negative prevailing torque.
    """
    if not torque_nm > 0 or prevailing_nm < 0:
        raise ValueError(
            f"a torque of {torque_nm:g} N·m with {prevailing_nm:g} N·m prevailing; expected: a torque above 0"
        )
    face = bearing or bearing_for(thread)
    assumed = friction is None
    if strength is None:
        words = f"Not judged: the strength of {thread.designation} is not known here."
        return Judgement(None, words, None, None, assumed, face.assumed, "", None, ())
    asked = written or Quantity(Decimal(repr(float(torque_nm))), "N·m", "torque")
    case = _Case(thread, strength, ASSUMED if friction is None else friction, face, prevailing_nm)
    loads = case.preload(torque_nm)
    grade, words = case.grade(asked.text(), torque_nm, more_follows=more_follows)
    if grade is not None:
        words += _assumptions(case, assumed=assumed)
    slip = case.slip(typed or asked, grade, prevailing_nm if typed else 0.0) if grade is not None else ""
    working = _working(case, torque_nm, assumed=assumed)
    sources = merged(working.sources if working else face.sources, strength.sources)
    return Judgement(
        grade,
        words + ("." if words else ""),
        loads,
        case.share(loads),
        assumed,
        face.assumed,
        slip,
        working,
        sources,
    )


class _Case(Frozen):
    """One fastener under one friction."""

    thread: Thread
    strength: Strength
    friction: Between
    face: Bearing
    prevailing: float

    @property
    def proof(self) -> float:
        return proof_load(self.thread, self.strength)

    def preload(self, torque: float) -> Between:
        """The preload; none where the prevailing torque takes all."""
        left = max(torque - self.prevailing, 0.0)
        return preload_for(Between.exactly(left), self.thread, self.friction, self.face)

    def share(self, loads: Between) -> Between:
        return loads / self.proof

    def at_middle(self, torque: float) -> float:
        left = max(torque - self.prevailing, 0.0)
        return preload_for(left, self.thread, self.friction.mid, self.face)

    def grade(self, said: str, torque: float, *, more_follows: bool) -> tuple[Grade | None, str]:
        """The grade and its sentence, not yet ended."""
        loads, middle = self.preload(torque), self.at_middle(torque)
        name = f"{self.thread.designation} {self.strength.name}"
        if loads.low > self.proof:
            at = f"even at friction {friction_text(self.friction.high)}"
            return "error", f"{said} on {name}: {at} {self._against(loads.low)}"
        if middle > self.proof:
            at = f"at friction {friction_text(self.friction.mid)}, the middle of {friction_text(self.friction)},"
            return "warning", f"{said} on {name}: {at} {self._against(middle)}"
        if loads.high > self.proof:
            at = f"at friction {friction_text(self.friction.low)}, the lowest,"
            return "advice", f"{said} on {name}: {at} {self._against(loads.high)}"
        if torque <= self.prevailing:
            return "warning", f"{said} on {name}: the prevailing torque leaves nothing of it to tighten with"
        if self.share(loads).high < LOW_SHARE and not more_follows:
            at = f"even at friction {friction_text(self.friction.low)}"
            return "warning", f"{said} on {name}: {at} {self._against(loads.high)}"
        return None, ""

    def _against(self, load: float) -> str:
        """A load in N against the proof load. Past yield it is no preload: a bolt that never yields would have it."""
        part = round(100 * load / self.proof)
        yields = load > yield_load(self.thread, self.strength)
        whose = "a bolt that never yields would have" if yields else "the preload would be"
        return (
            f"{whose} {shown(load / 1000, 'kN')}, {part} % of the proof load {shown(self.proof / 1000, 'kN')}"
        )

    def slip(self, asked: Quantity, grade: Grade, added: float) -> str:
        """The other readings of the number that would be sane, as a question; at most two, the likeliest first.

        `added` N·m come on top of each.

        Sane is one without a word against it, or at most advice where the torque itself is worse.
        """
        others = [Quantity(asked.value, unit, "torque") for unit in _SLIPS if unit != asked.unit]
        others += [Quantity(asked.value * by, asked.unit, "torque") for by in (Decimal("0.1"), Decimal(10))]
        ranked = [(self._rank(other, added), other.text()) for other in others]
        sane = [text for rank in (0, 1) for found, text in ranked if found == rank and rank < _RANK[grade]]
        return f"{asked.text()} where {' or '.join(sane[:_MOST_SLIPS])} was meant?" if sane else ""

    def _rank(self, other: Quantity, added: float) -> int:
        try:
            torque = float(convert(other.value, other.unit, "N·m")) + added
        except QuantityError:
            return _RANK["error"]  # a number out of all proportion is no likelier in another unit
        return _RANK[self.grade("", torque, more_follows=False)[0]]


def _assumptions(case: _Case, *, assumed: bool) -> str:
    said = []
    if assumed:
        said.append(f"friction {friction_text(case.friction)} is assumed")
    if case.face.assumed:
        said.append("so is the head's bearing diameter" if said else "the head's bearing diameter is assumed")
        said.append(f"{shown(case.face.mean, 'mm')}, 1.25 d")
    if case.prevailing:
        said.append(f"{case.prevailing:g} N·m of it is prevailing torque")
    return f" ({', '.join(said)})" if said else ""


def _working(case: _Case, torque: float, *, assumed: bool) -> Working | None:
    if torque <= case.prevailing:
        return None
    source = ASSUMPTION if assumed else STATED
    return worked(
        case.thread, torque, case.friction, case.face, prevailing=case.prevailing, friction_source=source
    )[1]


def sane_torques(
    thread: Thread,
    strength: Strength,
    friction: Between | None,
    *,
    prevailing_nm: float = 0.0,
    bearing: Bearing | None = None,
) -> Between:
    """The torques in N·m of which `judge_torque` says nothing, as an interval.

    From 20 % of the proof load at the lowest friction to the proof load at the lowest friction: the same lever at both
    ends, since that friction bounds both rules.
    """
    face = bearing or bearing_for(thread)
    lowest = (friction or ASSUMED).low
    proof = proof_load(thread, strength)
    low, high = (
        torque_for(load, thread, lowest, face) + prevailing_nm for load in (LOW_SHARE * proof, proof)
    )
    return Between(low, high)


def share_text(share: Between) -> str:
    """A share in per cent as people read it: `57 to 83 %`."""
    low, high = round(100 * share.low), round(100 * share.high)
    return show(Decimal(high), "%") if low == high else f"{low} to {show(Decimal(high), '%')}"
