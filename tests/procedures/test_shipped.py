"""Every shipped procedure, the parts too, can be carried out alone to a sealed log."""

from pathlib import Path

import pytest

from tests.procedures.hand import Hand, loaded

SHIPPED = Path(__file__).parents[2] / "procedures"
AGREED = {"ball-joint.yaml": ["arm"]}
"""What a part leaves open by its contract: alone, somebody must say so at the end."""


@pytest.mark.parametrize("path", sorted(SHIPPED.rglob("*.yaml")), ids=lambda path: path.name)
def test_it_is_carried_out_to_its_seal(path: Path, tmp_path: Path):
    hand = Hand(path, tmp_path, on_word=True).work()
    assert hand.left_open == AGREED.get(path.name, [])
    assert hand.job.outcome == ("finished with open points" if hand.left_open else "finished")


@pytest.mark.parametrize("path", sorted(SHIPPED.rglob("*.yaml")), ids=lambda path: path.name)
def test_it_says_that_it_is_invented(path: Path):
    procedure = loaded(path)
    assert any("Invented" in source and "maker" in source for source in procedure.sources)
