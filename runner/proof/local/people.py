"""Questions with one answer only (P19), and second persons whom nobody has called (P21)."""

from runner.procedure.linked import Procedure
from runner.proof.local.found import Found


def one_answer(procedure: Procedure, found: Found) -> None:
    """Questions and look-fors that leave nothing to say."""
    for node in procedure.nodes:
        if (node.ask or node.look_for) and len(node.answers) == 1:
            message = f'this asks, and "{node.answers[0].label}" is all that can be answered'
            found.add(node, "one-answer", message)


def second_person(procedure: Procedure, found: Found) -> None:
    """Hold points and second readings for which `people` has nobody but the performer."""
    people = dict(procedure.people)
    alone = sum(people.values()) < 2
    for node in procedure.nodes:
        if node.hold is not None and (alone or people.get(node.hold.role, 0) == 0):
            role = node.hold.role
            message = f"a {role} releases this hold point, and `people` has no {role} besides the performer"
            found.add(node, "second-person", message, f"write `{role}: 1` under `people`")
        for reading in node.readings:
            if reading.blind_second and alone:
                message = (
                    f'somebody else reads "{reading.name}" a second time, and `people` has one person only'
                )
                found.add(node, "second-person", message)
