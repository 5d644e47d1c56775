"""The record of a tool, as it comes from a toolbox or a log: its numbers are numbers."""

import pytest
from pydantic import ValidationError

from runner.joint.wrench import Certificate, Extension, Wrench


@pytest.mark.parametrize("text", ["", "abc", "1,5", "NaN", "Infinity", "1e", "½"])
def test_what_is_no_finite_number_makes_no_record(text):
    with pytest.raises(ValidationError, match="is no number"):
        Extension(length=text)
    with pytest.raises(ValidationError, match="is no number"):
        Extension(length="50", angle=text)
    with pytest.raises(ValidationError, match="is no number"):
        Certificate(uncertainty=text)
    with pytest.raises(ValidationError, match="is no number"):
        Wrench(name="W", kind="click", low="1", high=text, unit="N·m")


def test_a_tool_is_overdue_from_the_day_after_it_was_due():
    wrench = Wrench(name="W", kind="click", low="1", high="2", unit="N·m", due_on="2026-11-26")
    assert not wrench.overdue("2026-11-26")
    assert wrench.overdue("2026-11-27")
    assert not wrench.model_copy(update={"due_on": ""}).overdue("2999-01-01")
