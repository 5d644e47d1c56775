"""A small invented toolbox for random runs: what fits, what is short, coarse, overdue, or no wrench at all."""

from runner.job import actions as a
from runner.job.state import Job
from runner.joint.wrench import Certificate, Extension, Wrench
from tests.job.properties.dice import Dice

TORQUE_WRENCH, GAP_GAUGE = "torque wrench", "gap gauge"

_LATER = "2027-01-31"
TOOLBOX = (
    Wrench(name="CN", serial="1", kind="click", low="5", high="205", unit="N·m", graduation="1", length="400"),
    Wrench(name="DN", serial="2", kind="dial", low="10", high="200", unit="N·m", graduation="2", length="400",
           due_on=_LATER, certificate=Certificate(uncertainty="2")),
    Wrench(name="CF", serial="3", kind="click", low="10", high="150", unit="lbf·ft", graduation="1", length="450",
           due_on=_LATER, certificate=Certificate(uncertainty="1.5", coverage="1.5")),
    Wrench(name="DF", kind="dial", low="10", high="150", unit="lbf·ft", graduation="5"),
    Wrench(name="EN", serial="5", kind="electronic", low="8", high="160", unit="N·m", length="350",
           certificate=Certificate(uncertainty="0.8", unit="N·m")),
    Wrench(name="CK", serial="6", kind="click", low="1", high="20", unit="kgf·m", graduation="0.1", length="500"),
    Wrench(name="SHORT", kind="click", low="5", high="110", unit="N·m", graduation="1", length="300",
           certificate=Certificate(uncertainty="1", unit="lbf·in")),
    Wrench(name="COARSE", kind="click", low="5", high="205", unit="N·m", graduation="10", length="500"),
    Wrench(name="ONE", kind="fixed", low="60", high="60", unit="N·m", length="400"),
)  # fmt: skip
"""The first is fit for everything that the generated procedures ask."""

OVERDUE = Wrench(
    name="LATE", serial="8", kind="dial", low="10", high="200", unit="N·m", length="400", due_on="2026-01-31"
)
TODAY = OVERDUE.model_copy(update={"name": "TODAY", "due_on": "2026-05-28"})
"""Due on the day on which the runs begin: fit until midnight, which comes in some runs."""

TINY = Wrench(name="TINY", kind="click", low="10", high="50", unit="lbf·in", graduation="1")
GAUGE = Wrench(name="GAUGE", serial="9", kind="gauge", low="0", high="10", unit="mm", graduation="0.01",
               certificate=Certificate(uncertainty="0.04", unit="mm"))  # fmt: skip
UNFIT = (OVERDUE, TINY, TODAY, GAUGE)

EXTENSIONS = (
    Extension(length="50"), Extension(length="100"), Extension(length="80", angle="45"),
    Extension(length="120", angle="90"), Extension(length="100", angle="180"), Extension(length="62.5", angle="30"),
)  # fmt: skip
TOO_LONG = Extension(length="360", angle="180")


def for_tool(tool: str, dice: Dice) -> Wrench | None:
    """One of the toolbox for a tool of the procedure, or None for one that is not in it."""
    if tool == TORQUE_WRENCH:
        return dice.pick(TOOLBOX) if dice.chance(75) else None
    return GAUGE if tool == GAP_GAUGE and dice.chance(60) else None


def swap(job: Job, dice: Dice, at: dict) -> a.Action | None:
    """Another torque wrench from here on."""
    if TORQUE_WRENCH not in job.tools:
        return None
    return a.ChangeTool(
        **at, tool=TORQUE_WRENCH, identity="", reason="mine stops there", wrench=dice.pick(TOOLBOX)
    )


def fit(job: Job, dice: Dice, at: dict) -> a.Action | None:
    """An extension put on, or the one that is there taken off."""
    if TORQUE_WRENCH not in job.wrenches:
        return None
    off = TORQUE_WRENCH in job.extensions and dice.chance(50)
    return a.FitExtension(**at, tool=TORQUE_WRENCH, extension=None if off else dice.pick(EXTENSIONS))


def unfit(job: Job, dice: Dice, at: dict, tool: str = TORQUE_WRENCH) -> a.Action:
    """A wrench that something speaks against, said so."""
    return a.Deviate(
        **at, kind="unfit tool", reason="no other one here", authority="Chief", subject=f"tool:{tool}",
        wrench=dice.pick(UNFIT),
    )  # fmt: skip


def read_on(big: str, dice: Dice) -> str:
    """A number read near the one to read to, mostly without its unit."""
    number, _, unit = big.partition(" ")
    moved = float(number) * (1 + dice.number(-36, 36) / 1000) if dice.chance(70) else float(number)
    return f"{moved:.4g}" + (f" {unit}" if dice.chance(20) else "")
