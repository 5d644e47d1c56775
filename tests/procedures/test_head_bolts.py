"""The shipped cylinder head: two rows in rounds and by angle, bolt by bolt, and the ways that lead off its plan."""

from itertools import groupby
from pathlib import Path

import pytest

from runner.cli.proving import checked
from runner.job import actions as a
from runner.job.asking import demand
from runner.job.demand import Demand
from runner.joint.pattern import sequence
from tests.procedures.hand import Hand, loaded

PATH = Path(__file__).parents[2] / "procedures" / "head-bolts.yaml"


class Watching(Hand):
    """A hand that keeps what it is asked to tighten."""

    def __init__(self, *args, **fields) -> None:
        super().__init__(*args, **fields)
        self.tightened: list[Demand] = []

    def _tighten(self, wanted: Demand) -> None:
        self.tightened.append(wanted)
        super()._tighten(wanted)


@pytest.fixture(scope="module")
def done(tmp_path_factory) -> Watching:
    hand = Watching(PATH, tmp_path_factory.mktemp("logs"), readings={"warp": "0.03"})
    hand.work()
    return hand


def test_it_is_proved_without_a_finding():
    of = checked(PATH)
    assert of.proved
    assert [finding.text() for finding in of.findings] == []


def test_every_bolt_has_its_turn_in_every_round_from_the_middle_outwards(done):
    rounds = [
        [wanted.member for wanted in same]
        for _, same in groupby(done.tightened, key=lambda wanted: wanted.stage)
    ]
    assert rounds == [list(sequence("from the middle", 10, rows=(5, 5)))] * 5
    assert done.job.outcome == "finished"


def test_the_rounds_rise_to_the_torque_and_the_angles_follow_it(done):
    asked = [same[0] for same in (done.tightened[at::50] for at in range(0, 50, 10))]
    assert [wanted.big for wanted in asked] == ["12 N·m", "24 N·m", "40 N·m", "90°", "90°"]
    assert [wanted.band for wanted in asked][:3] == [
        "11.52 to 12.48 N·m", "23.04 to 24.96 N·m", "38.4 to 41.6 N·m",
    ]  # fmt: skip
    assert [wanted.methods for wanted in asked] == [("measured", "click")] * 3 + [("by mark",)] * 2
    assert asked[0].prompt == "Tighten head bolts, number 3 of 10, round 1 of 5 at 30 %"
    assert asked[2].prompt == "Tighten head bolts, number 3 of 10, round 3 of 5"
    assert all(wanted.rows == (5, 5) and not wanted.circle for wanted in done.tightened)
    assert all("assembled oiled" in wanted.about for wanted in done.tightened)


def test_the_very_bolt_stands_where_the_work_was_left(tmp_path):
    hand = Watching(PATH, tmp_path, readings={"warp": "0.03"})
    while len(hand.tightened) < 13:
        hand.once()
    wanted = demand(hand.job, hand.run.stamp())
    order = sequence("from the middle", 10, rows=(5, 5))
    assert (wanted.stage, wanted.member, wanted.members_done) == (2, order[3], order[:3])


def test_holes_that_are_not_empty_are_emptied_and_looked_into_again(tmp_path):
    hand = Hand(
        PATH,
        tmp_path,
        readings={"warp": "0.03"},
        answers={"holes": [("look", a.Look, {"label": "oil or water"})]},
    ).work()
    at = hand.steps.index("holes")
    assert hand.steps[at : at + 3] == ["holes", "empty", "holes"]
    assert hand.job.outcome == "finished"


def test_a_warm_block_waits_and_a_warped_head_stops(tmp_path):
    hand = Hand(
        PATH,
        tmp_path,
        readings={"warp": "0.08"},
        answers={"cold": [("question", a.Answer, {"label": "warmer"})]},
    )
    while hand.job.phase != "stopped":
        hand.once()
    assert hand.steps[:3] == ["cold", "cool", "cold"]
    assert hand.steps[-1] == "faces"


def test_it_says_what_the_ready_sheet_adds_up():
    procedure = loaded(PATH)
    minutes = {node.id: node.takes // 60_000 for node in procedure.nodes if node.takes}
    assert minutes == {
        "bolts-out": 10, "head-off": 5, "faces": 20, "holes": 5, "empty": 5, "head-on": 10, "bolts-in": 5,
        "rounds": 10, "first-angle": 8, "second-angle": 8, "stripes": 3,
    }  # fmt: skip
