"""What the proof's exploration of every way answers for the sheet; nothing where the ways are too many for it."""

from collections.abc import Iterable
from dataclasses import replace

from runner.procedure.linked import Node, Procedure
from runner.proof.control import Place, TooManyStates
from runner.proof.deciding import LARGEST_EXACT, budget_of
from runner.proof.parts import Endless, shortages
from runner.proof.units import TooEntangled, units_of
from runner.proof.variables import variables_of
from runner.proof.world import World, explored, main_line

MOST_COUNTED = 2_000
"""States of an exploration in which parts are counted: in a larger one it takes longer than a sheet is worth."""


def explored_whole(procedure: Procedure) -> World | None:
    """Every way of a procedure, ways back counted; None where those are beyond the budget of the proof."""
    variables = variables_of(procedure)
    # The proof counts no ways back of so long a procedure either: the budget would be spent for nothing.
    long = len(procedure.nodes) > LARGEST_EXACT and any(kind == "loop" for kind, _ in variables)
    if not procedure.nodes or long:
        return None
    try:
        units = units_of(procedure, main_line(procedure))
        return explored(procedure, units, variables, budget_of(procedure))
    except (TooManyStates, TooEntangled):
        return None


def most_used(world: World | None) -> dict[str, int]:
    """By single-use part, the most that a run can use up; empty where that is not decided."""
    if world is None or len(world.control.nodes) > MOST_COUNTED:
        return {}
    # The question is asked of a parts list that has none, so that it is answered for every part.
    bare = tuple(part.model_copy(update={"quantity": 0}) for part in world.procedure.parts)
    asked = replace(world, procedure=world.procedure.model_copy(update={"parts": bare}))
    try:
        return {name: found.most for name, found in shortages(asked, lambda limits: None).items()}
    except Endless:
        return {}


def unavoidable(world: World | None, nodes: Iterable[Node]) -> bool:
    """Whether every way to the end comes to one of these steps; False where that is not decided."""
    if world is None:
        return False
    control, names = world.control, {node.id for node in nodes}
    waiting = [state for state, _ in control.starts]
    seen = set(waiting)
    while waiting:
        state = waiting.pop()
        node = control.nodes[state]
        if node is not None and node.id in names and control.places[state] in (Place.STAND, Place.ARRIVE):
            continue
        if control.places[state] is Place.FINISH:
            return False
        ahead = {edge.target for edge in control.edges[state]} - seen
        seen |= ahead
        waiting += ahead
    return True
