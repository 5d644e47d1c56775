"""The procedures that ship with the program link without a finding; the wheel change is what it says."""

from pathlib import Path

import pytest

from runner.procedure.link import load_procedure

SHIPPED = Path(__file__).parents[2] / "procedures"


@pytest.mark.parametrize("path", sorted(SHIPPED.rglob("*.yaml")), ids=lambda path: path.name)
def test_it_links(path):
    procedure, found = load_procedure(path)
    assert not found, "\n".join(finding.text() for finding in found)
    assert procedure.files[0][0] == path.name


def test_the_wheel_change_tightens_in_two_rounds_the_second_on_the_ground():
    procedure, _ = load_procedure(SHIPPED / "wheel-change.yaml")
    first, second = procedure.item_by_key["wheel bolts@rear left"].stages
    assert (first.text, second.text) == ("60 N·m, 57.6 to 62.4 N·m", "120 N·m, 115.2 to 124.8 N·m")
    assert first.sequence == second.sequence == (1, 3, 5, 2, 4)
    assert [(test.name, test.values) for test in second.only_when] == [("support", ("on wheels",))]
    assert not first.only_when
    act = procedure.by_id["second-round@rear left"].acts[0]
    assert (act.verb, act.stages, act.tool) == ("tightens", None, "torque wrench")
    assert [due.text for due in procedure.follow_up] == ["50 km"]
    assert [condition for condition, _ in procedure.make_safe] == ["raised", "always"]
