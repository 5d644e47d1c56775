"""Ready sheets of small procedures, invented, on a day of their own and with tools of an invented shop."""

from runner.joint.wrench import Certificate, Wrench
from runner.ready.facts import Sheet, TighteningLine, Use
from runner.ready.gathering import gather
from runner.toolbox.model import Toolbox
from tests.procedure.procedure_text import linked

DAY = "2026-11-26"
METRIC = Wrench(
    name="CW",
    serial="42",
    kind="click",
    low="20",
    high="130",
    unit="N·m",
    graduation="1",
    certificate=Certificate(uncertainty="1.2"),
)
POUNDS = Wrench(name="LB", kind="click", low="10", high="110", unit="lbf·ft", graduation="1")
DIAL = Wrench(name="DW", kind="dial", low="5", high="200", unit="N·m")
LATE = Wrench(name="OLD", kind="click", low="20", high="130", unit="N·m", due_on="2026-11-25")
COARSE = Wrench(name="CO", kind="click", low="10", high="110", unit="lbf·ft", graduation="10")


def sheet(
    body: str,
    *wrenches: Wrench,
    torque_unit: str = "",
    proved: bool = True,
    errors: int = 0,
    **used: str,
) -> Sheet:
    """The sheet of a procedure whose head is left out."""
    box = Toolbox(wrenches=wrenches)
    return gather(linked(body, **used), box, DAY, proved=proved, errors=errors, torque_unit=torque_unit)


def tightening(made: Sheet, item: str) -> TighteningLine:
    """The line of one fastener."""
    return next(each for each in made.tightenings if each.item == item)


def told(uses: tuple[Use, ...]) -> list[tuple[str, tuple[str, ...], str]]:
    """Step, places and when, of each use."""
    return [(use.step, use.places, use.when) for use in uses]
