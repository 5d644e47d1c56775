"""Whether the tightening of each fastener makes sense for its thread, class, surface and grip (P27 to P30)."""

from runner.procedure.linked import Procedure
from runner.proof.local.angles import angle_past_yield
from runner.proof.local.fasteners import fasteners
from runner.proof.local.found import Found
from runner.proof.local.surfaces import surface_as_given
from runner.proof.local.torques import torques_sane


def joints_sane(procedure: Procedure, found: Found) -> None:
    """Each fastener once, at the first step that gives what is wrong with it."""
    for fastener in fasteners(procedure):
        torques_sane(fastener, found)
        surface_as_given(fastener, found)
        angle_past_yield(fastener, found)
