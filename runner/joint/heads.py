"""What a head or nut bears on: the diameter at which its friction acts.

    mean diameter               Db = (dW + dh) / 2                        (ISO 16047, VDI 2230)
    at uniform pressure         Dw = 2/3 · (dW³ − dh³) / (dW² − dh²)      (JIS B 1083)
dW is the outer diameter of the bearing face, dh the hole. Where neither is known Shigley's collar is taken, 1.25 d,
and said to be assumed.
"""

from runner.frozen import Frozen
from runner.joint.sourced import Source
from runner.joint.threads import Thread

ISO_4014 = Source("ISO 4014, least washer face of hexagon heads", "memory")
ISO_273 = Source("ISO 273, medium clearance holes", "memory")
COLLAR = Source(
    "Shigley 9th ed. eq. 8-26, collar of 1.25 d", "text", note="an assumption where no head is known"
)
GIVEN = Source("the bearing face as given", "worked out")

_COLLAR = 1.25
_HEXAGON: dict[float, tuple[float, float]] = {
    6: (8.88, 6.6), 8: (11.63, 9), 10: (14.63, 11), 12: (16.63, 13.5), 14: (19.64, 15.5),
    16: (22.49, 17.5), 18: (25.34, 20), 20: (28.19, 22), 22: (31.71, 24), 24: (33.61, 26),
}  # fmt: skip
"""dW and hole by thread diameter, mm."""


class Bearing(Frozen):
    """A bearing face, mm. `mean` is where friction acts; `outer` and `hole` are None where only that is known."""

    mean: float
    outer: float | None
    hole: float | None
    assumed: bool
    sources: tuple[Source, ...]

    @property
    def uniform_pressure(self) -> float:
        """The diameter at uniform pressure, mm. Raises ValueError where outer and hole diameter are not known."""
        if self.outer is None or self.hole is None:
            raise ValueError("a bearing face known by its mean only; expected: outer diameter and hole")
        return 2 / 3 * (self.outer**3 - self.hole**3) / (self.outer**2 - self.hole**2)

    def words(self) -> str:
        """How the mean came about."""
        if self.assumed:
            return f"{self.mean:.4g} mm, assumed: 1.25 d"
        if self.outer is None or self.hole is None:
            return f"{self.mean:.5g} mm"
        return f"{self.mean:.5g} mm, the mean of {self.outer:.4g} and {self.hole:.4g} mm"


def hexagon(thread: Thread) -> Bearing | None:
    """The face of a standard hexagon head of a metric size in a medium hole; None where no row is known."""
    row = _HEXAGON.get(thread.d) if thread.system == "metric" else None
    return None if row is None else Bearing(sum(row) / 2, row[0], row[1], False, (ISO_4014, ISO_273))


def bearing_for(thread: Thread) -> Bearing:
    """The standard hexagon's face where the size is known, else Shigley's collar of 1.25 d, marked as assumed."""
    return hexagon(thread) or Bearing(_COLLAR * thread.d, None, None, True, (COLLAR,))


def bearing(outer: float, hole: float) -> Bearing:
    """A face of given outer diameter and hole, mm. Raises ValueError where the hole is not the smaller one."""
    if not 0 < hole < outer:
        raise ValueError(
            f"a face of {outer:g} mm with a hole of {hole:g} mm; expected: the hole smaller than the face"
        )
    return Bearing((outer + hole) / 2, outer, hole, False, (GIVEN,))


def bearing_of(mean: float) -> Bearing:
    """A face of which only the mean diameter is known, mm. Raises ValueError where it is not positive."""
    if not mean > 0:
        raise ValueError(f"a mean bearing diameter of {mean:g} mm; expected: more than 0")
    return Bearing(mean, None, None, False, (GIVEN,))
