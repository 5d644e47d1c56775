"""Prevailing torque: what a self-locking nut takes before anything is tightened.

Final torque = friction drag torque + desired torque (AC 43.13-1B 7-40). A reused nut that has lost its drag no longer
locks; one that drags more than its first assembly may is the wrong nut or damaged.
"""

from decimal import Decimal

from runner.frozen import Frozen
from runner.joint.imperial import POUND_FORCE_INCH
from runner.joint.sourced import Source
from runner.joint.threads import Thread
from runner.quantities.number import EXACT, tidy

RULE = Source("FAA AC 43.13-1B 7-40", "text")
AC_TABLE = Source("FAA AC 43.13-1B Table 7-2", "text", note="least drag of reused self-locking nuts")
ISO_2320 = Source("ISO 2320", "memory", "2008", note="fifth removal; the edition of 2015 measures otherwise")

# Least drag of a reused nut, lbf·in.
_REUSED = {
    "7/16-20 UNF": 8, "1/2-20 UNF": 10, "9/16-18 UNF": 13, "5/8-18 UNF": 18, "3/4-16 UNF": 27, "7/8-14 UNF": 40,
    "1-14 UNS": 55, "1 1/8-12 UNF": 73, "1 1/4-12 UNF": 94,
    "7/16-14 UNC": 8, "1/2-13 UNC": 10, "9/16-12 UNC": 14, "5/8-11 UNC": 20, "3/4-10 UNC": 27, "7/8-9 UNC": 40,
    "1-8 UNC": 51, "1 1/8-8 UN": 68, "1 1/4-8 UN": 88,
}  # fmt: skip

# By diameter, N·m: most at first assembly and least at fifth removal, nuts of class 5, 6, 8; then of class 10, 12.
_ISO = {
    5.0: ((1.6, 0.2), (2.1, 0.24)), 6.0: ((3, 0.3), (4, 0.4)), 8.0: ((6, 0.6), (8, 0.8)),
    10.0: ((10.5, 1), (14, 1.4)), 12.0: ((15.5, 1.6), (21, 2.1)), 16.0: ((32, 3), (42, 4.2)),
    20.0: ((54, 5.3), (72, 7)), 24.0: ((80, 8), (106, 10.5)),
}  # fmt: skip
_STRONGER = {"8.8": False, "10.9": True, "12.9": True}


class Drag(Frozen):
    """What a self-locking nut may drag, N·m: at least when reused; at most when new, None where no row says."""

    least: float
    most: float | None
    sources: tuple[Source, ...]


def with_drag(torque: Decimal, drag: Decimal) -> Decimal:
    """Final torque = drag + desired torque, exactly, in one unit. Raises ValueError for a negative drag."""
    if not drag >= 0:
        raise ValueError(f"a prevailing torque of {drag}; expected: 0 or more")
    return tidy(EXACT.add(torque, drag))


def drag_for(thread: Thread, bolt_class: str = "10.9") -> Drag | None:
    """The drag of a self-locking nut for a thread, the nut matched to the bolt's class; None where no row is known."""
    if thread.system == "unified":
        reused = _REUSED.get(thread.designation)
        return None if reused is None else Drag(reused * POUND_FORCE_INCH, None, (RULE, AC_TABLE))
    row = _ISO.get(thread.d) if thread.coarse and bolt_class in _STRONGER else None
    if row is None:
        return None
    most, least = row[1] if _STRONGER[bolt_class] else row[0]
    return Drag(least, most, (ISO_2320,))


def judge_drag(thread: Thread, drag: float, bolt_class: str = "10.9") -> str:
    """What is to be said of a nut that drags so many N·m, or nothing; nothing too where no row is known."""
    row = drag_for(thread, bolt_class)
    if row is None:
        return ""
    if drag < row.least:
        return (
            f"A self-locking nut for {thread.designation} that drags {drag:.3g} N·m no longer locks: "
            f"at least {row.least:.3g} N·m, or a new nut."
        )
    if row.most is not None and drag > row.most:
        return (
            f"A new self-locking nut for {thread.designation} drags at most {row.most:.3g} N·m; "
            f"{drag:.3g} N·m says a wrong or damaged nut."
        )
    return ""
