"""The demonstration job, carried out in many ways to a sealed log: whatever is found, nothing dead-ends."""

from pathlib import Path
from typing import Any

import pytest

from runner.job import actions as a
from runner.log.scan import scan_file
from runner.procedure.linked import Procedure
from runner.replaying import replay
from tests.procedures.hand import CHECKER, FOREMAN, Hand, loaded, names

PROCEDURES = Path(__file__).parents[2] / "procedures"
DEMO = PROCEDURES / "lower-arm.yaml"


@pytest.fixture(scope="module")
def demo() -> Procedure:
    return loaded(DEMO)


def look(label: str) -> tuple[Any, ...]:
    return ("look", a.Look, {"label": label})


def undone(kind: str) -> tuple[Any, ...]:
    return (kind, a.Deviate, {"kind": "not done", "reason": "Left out.", "authority": FOREMAN})


REFUSED = ("hold", a.Release, {"who": CHECKER, "released": False, "said": "No paint on the left."})


def stops(hand: Hand) -> int:
    return hand.kinds.count("stop")


def test_the_straight_job_is_finished_and_replays_from_its_log(tmp_path: Path):
    hand = Hand(DEMO, tmp_path, choices={"headlamps": "self-levelling"}).work()
    assert hand.job.outcome == "finished"
    assert hand.run.path is not None
    report = scan_file(hand.run.path)
    assert report.state == "complete", report.summary()
    assert replay(report) == hand.job


def test_it_is_a_job_of_common_length(tmp_path: Path):
    """About forty steps and some 170 answers: at six seconds each, a quarter of an hour at the keyboard."""
    hand = Hand(DEMO, tmp_path).work()
    assert 40 <= len(set(hand.steps)) <= 55
    assert 120 <= len(hand.kinds) <= 200


def test_every_item_ends_closed(tmp_path: Path):
    hand = Hand(DEMO, tmp_path).work()
    for key in hand.job.ledger:
        assert hand.job.state_of(key) in hand.job.table_of(key).finals, key


def test_put_off_work_is_done_at_its_moment(tmp_path: Path):
    done = names(Hand(DEMO, tmp_path).work().steps)
    assert done.index("heights") < done.index("bush-angle@left") < done.index("bush-angle@right")
    assert done.index("bush-angle@right") < done.index("shield-back@right") < done.index("arms-ready")
    assert done.index("jacks-away") < done.index("brace-set") < done.index("wheel-on@left")
    assert done.index("wheel-on@right") < done.index("lamp-out") < done.index("wheel-tight@left")


def test_cues_that_are_passed_by_come_back_when_they_are_due(tmp_path: Path):
    hand = Hand(DEMO, tmp_path, passes_by=True).work()
    assert "bush-angle@left" in hand.passed
    done = names(hand.steps)
    assert done.index("frame-check") < done.index("bush-angle@left") < done.index("jacks-away")
    assert hand.job.outcome == "finished"


@pytest.mark.parametrize(("headlamps", "met"), [("plain", set()), ("self-levelling", {"rod-off", "rod-on"})])
def test_the_level_rod_is_met_on_one_side_of_some_cars(tmp_path: Path, headlamps: str, met: set[str]):
    done = names(Hand(DEMO, tmp_path, choices={"headlamps": headlamps}).work().steps)
    assert {step for step in done if step.startswith("rod-")} == {f"{step}@left" for step in met}


def test_a_torn_boot_brings_the_ball_joint_on_that_side_only(tmp_path: Path):
    torn = {"arm-out@right": [look("torn, or grease outside")], "joint-seat": [look("proud at some point")]}
    hand = Hand(DEMO, tmp_path, answers=torn).work()
    done = names(hand.steps)
    joint = [step for step in done if step.startswith(("joint-", "press-"))]
    assert joint == [
        f"{step}@right" for step in ("joint-out", "joint-in", "joint-seat", "press-on", "joint-seat")
    ]
    assert hand.job.outcome == "finished"


@pytest.mark.parametrize(
    ("play", "met"),
    [("0,6", set()), ("0.61", {"bush-tell"}), ("1.2", {"bush-tell"}), ("1,21", {"bush-out", "bush-in"})],
)
def test_the_play_of_the_bush_sorts_itself(tmp_path: Path, play: str, met: set[str]):
    done = names(Hand(DEMO, tmp_path, readings={"play": play}).work().steps)
    assert {
        step.partition("@")[0] for step in done if step.startswith(("bush-tell", "bush-out", "bush-in"))
    } == met


@pytest.mark.parametrize(
    ("step", "label", "often"),
    [("push-test", "it rocks or a stand walks", 2), ("stud-in@left", "the stud covers part of the hole", 3)],
)
def test_a_way_back_is_taken_so_often_and_then_stops(tmp_path: Path, step: str, label: str, often: int):
    within = Hand(DEMO, tmp_path / "1", answers={step: [look(label)] * often}, on_word=True).work()
    assert (stops(within), within.job.outcome) == (0, "finished")
    beyond = Hand(DEMO, tmp_path / "2", answers={step: [look(label)] * (often + 1)}, on_word=True).work()
    assert (stops(beyond), beyond.job.outcome) == (1, "finished with open points")


def test_a_refused_hold_point_is_put_right_and_asked_again(tmp_path: Path):
    hand = Hand(DEMO, tmp_path, answers={"arms-ready": [REFUSED] * 3}).work()
    assert names(hand.steps).count("put-right") == 3
    assert hand.job.outcome == "finished"


def test_a_hold_point_refused_once_more_stops_the_work(tmp_path: Path):
    hand = Hand(DEMO, tmp_path, answers={"arms-ready": [REFUSED] * 4}, on_word=True).work()
    assert (stops(hand), hand.job.outcome) == (1, "finished with open points")


def test_locker_that_began_to_set_brings_the_brace_down_again(tmp_path: Path):
    hand = Hand(DEMO, tmp_path).work_to("brace-tight")
    hand.once()
    hand.outside.pass_time(10 * 60_000)
    hand.act(hand.make(a.LetTimePass))
    hand.work()
    done = names(hand.steps)
    assert done.count("brace-on") == 2
    assert done.index("brace-again") < done.index("brace-set")
    assert hand.job.outcome == "finished"


def test_wet_locker_is_looked_at_again_later(tmp_path: Path):
    again = ("stop", a.Look, {"label": "gone hard"})
    hand = Hand(DEMO, tmp_path, answers={"brace-set": [look("still wet"), again]}).work()
    assert hand.job.outcome == "finished"


def test_bush_bolts_left_half_tight_overnight_hold_the_work(tmp_path: Path):
    hand = Hand(DEMO, tmp_path).work_to("lead-on@left")
    hand.outside.pass_time(12 * 60 * 60_000)
    hand.act(hand.make(a.LetTimePass))
    assert hand.run.view.demand.kind == "due"
    hand.act(hand.make(a.Deviate, kind="late", reason="The rain stopped us.", subject="bush-angle@left"))
    assert hand.work().job.outcome == "finished with open points"


@pytest.mark.parametrize(
    ("step", "found"),
    [
        ("crack", "raised"),
        ("wheels-off", "on wheels"),
        ("wedge-in@left", "at ride height"),
        ("frame-check", "raised"),
        ("arms-ready", "on wheels"),
        ("under-back", "at ride height"),
        ("lower", "on wheels"),
        ("road-ready", "raised"),
        ("road-ready", "at ride height"),
    ],
)
def test_a_car_that_somebody_moved_is_brought_back(tmp_path: Path, step: str, found: str):
    hand = Hand(DEMO, tmp_path).work_to(step)
    hand.act(hand.make(a.FoundCondition, name="support", value=found))
    assert hand.work().job.outcome == "finished"


@pytest.mark.parametrize(
    ("step", "kind"),
    [
        ("ready", "act"),
        ("crack", "act"),
        ("wheels-off", "act"),
        ("arm-out@left", "act"),
        ("bore@right", "reading"),
        ("bore@right", "second reading"),
        ("arm-in@left", "new part"),
        ("wedge-out@left", "act"),
        ("pinch-tight@right", "tighten"),
        ("bush-torque@left", "tighten"),
        ("bush-angle@right", "tighten"),
        ("lead-on@left", "act"),
        ("shield-back@right", "act"),
        ("brace-on", "act"),
        ("brace-tight", "tighten"),
        ("heights", "reading"),
        ("wheel-tight@left", "tighten"),
    ],
)
def test_what_is_left_undone_stays_an_open_point_and_shuts_no_way(tmp_path: Path, step: str, kind: str):
    hand = Hand(DEMO, tmp_path, answers={step: [undone(kind)]}, on_word=True).work()
    assert hand.job.outcome == "finished with open points"
    assert hand.job.deviations[0].node.rpartition("/")[2].startswith(step)


def test_the_work_can_be_abandoned_in_the_middle(tmp_path: Path):
    hand = Hand(DEMO, tmp_path).work_to("arm-in@left")
    hand.act(hand.make(a.Seal, outcome="abandoned", reason="The arm is bent."))
    lines = [option.label for option in hand.run.view.demand.options]
    assert lines == [
        "Leave it on the stands, handbrake on",
        "Put both wheels under the sills",
        "Hang a tag on the steering wheel: do not move",
    ]
    for number in range(3):
        hand.act(hand.make(a.MakeSafe, line=number))
    hand.act(hand.make(a.Seal, outcome="abandoned"))
    assert hand.run.sealed


def test_it_says_that_it_is_invented(demo: Procedure):
    assert "invented" in demo.fits
    assert any("vehicle maker" in source for source in demo.sources)


def test_it_shows_every_construct_of_its_trade(demo: Procedure):
    nodes = demo.nodes
    windows = {node.put_off.until.kind for node in nodes if node.put_off}
    assert windows == {"condition", "done", "time", "at"}
    assert {notice.level for node in nodes for notice in (*node.notices, *demo.standing)} == {
        "danger",
        "warning",
        "caution",
        "notice",
    }
    assert any(node.in_time and node.in_time.late.to != "stop" for node in nodes)
    assert any(node.hold and node.hold.refused.to != "stop" for node in nodes)
    assert any(reading.formula for node in nodes for reading in node.readings)
    assert any(reading.blind_second and reading.critical for node in nodes for reading in node.readings)
    assert any(node.wait for node in nodes)
    assert {value for value, _ in demo.conditions[0].getting_there} == set(demo.conditions[0].values)
