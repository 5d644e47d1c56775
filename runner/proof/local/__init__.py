"""The rules of the proof that need no way through the procedure: what is wrong at one step as it stands."""

from runner.procedure.finding import Finding
from runner.procedure.linked import Procedure
from runner.proof.local.bands import band_never
from runner.proof.local.found import Found
from runner.proof.local.joints import joints_sane
from runner.proof.local.people import one_answer, second_person
from runner.proof.local.tools import tool_ranges
from runner.proof.local.waiting import latest_too_early, waits_for_put_off
from runner.proof.local.way_back import way_back_broken

_RULES = (
    waits_for_put_off,
    latest_too_early,
    band_never,
    tool_ranges,
    one_answer,
    second_person,
    way_back_broken,
    joints_sane,
)


def local_findings(procedure: Procedure) -> list[Finding]:
    """Everything these rules find in a linked procedure, in the order of the text; the same step once."""
    found = Found()
    for rule in _RULES:
        rule(procedure, found)
    return found.in_order()
