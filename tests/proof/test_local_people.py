"""P19 and P21: questions with one answer, and second persons whom nobody has called."""

import pytest

from runner.proof.local import local_findings
from tests.procedure.procedure_text import linked
from tests.proof.local_text import lines, told

HOLD = """\
people: {performer: %s, checker: 1}
steps: [{step: check, do: Check it., hold point: {released by: checker, asks: Is it tight?}}]
"""
BLIND = """\
people: {performer: %d}
steps: [{step: read, do: Read it., read: {what: Bore, name: bore, unit: mm, band: 1 to 2 mm, second reading: blind}}]
"""


@pytest.mark.parametrize("asks", ["ask: Is it clean?", "do: Look., look for: Is it clean?"])
def test_a_question_with_one_answer(asks: str):
    body = f"steps: [{{step: look, {asks}, answers: {{%s}}}}]\n"
    assert lines(body % "clean: go on") == [
        '1:16 one-answer: this asks, and "clean" is all that can be answered'
    ]
    assert lines(body % "clean: go on, dirty: stop") == []
    assert told(body % "clean: go on")[0].grade == "warning"


def test_a_way_back_at_the_end_of_nested_steps_is_no_question():
    body = """\
steps:
  - step: look
    ask: Is it clean?
    answers: {clean: go on, dirty: [{step: brush, do: Brush it.}, {again: look, at most: 3, then: stop}]}
"""
    assert lines(body) == []


def test_a_blind_second_reading_needs_two_people():
    assert lines(BLIND % 1) == [
        '2:16 second-person: somebody else reads "bore" a second time, and `people` has one person only'
    ]
    assert lines(BLIND % 2) == []


def test_a_hold_point_needs_its_role():
    assert lines(HOLD % 1) == []
    procedure = linked(HOLD % 1)
    for people in ((("performer", 1),), (("performer", 2), ("checker", 0)), (("checker", 1),)):
        found = local_findings(procedure.model_copy(update={"people": people}))
        assert [(one.rule, one.grade, one.message, one.mend) for one in found] == [
            (
                "second-person",
                "warning",
                "a checker releases this hold point, and `people` has no checker besides the performer",
                "write `checker: 1` under `people`",
            )
        ]
