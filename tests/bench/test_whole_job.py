"""The demonstration job from the first name typed to the sealed log: real engine, real log, keys alone."""

import contextlib
import errno
import os
from pathlib import Path

import pytest

from runner.log.scan import scan_file
from runner.outside import Files
from runner.procedure.link import load_procedure
from runner.procedure.linked import Procedure
from runner.run import Run
from tests.bench.hands import Hands, answer
from tests.doubles import SetOutside

DEMO = Path(__file__).parents[2] / "procedures" / "lower-arm.yaml"
VALUES = {
    "lock-number": "L-7",
    "play": "0,1",
    "hole": "18,02",
    "locker-batch": "B-221",
    "joint-number": "T-1060",
    "height-left": "383",
    "height-right": "381",
}
GOOD = {
    "gone hard",
    "straight and quiet",
    "like a rock",
    "whole and dry",
    "the groove lies clear across the hole",
}


@pytest.fixture(scope="module")
def procedure() -> Procedure:
    procedure, findings = load_procedure(DEMO)
    assert procedure is not None, findings
    return procedure


def carry_on(hands: Hands, outside: SetOutside, steps: int = 500) -> None:
    """Answer what is asked until the run is sealed or so many answers are given."""
    for _ in range(steps):
        demand = hands.desk.view.demand
        if demand.kind == "sealed":
            return
        if demand.until_ms and hands.desk.scene.form is None:
            outside.pass_time(demand.until_ms + 1000)
            hands.desk.tick()
            continue
        good = next((option.label for option in demand.options if option.label in GOOD), None)
        before = hands.desk.view.seq
        answer(hands, {demand.prompt: good} if good else {}, VALUES)
        assert hands.desk.view.seq > before, hands.screen()
        assert hands.desk.message.kind != "refused", hands.screen()


def test_the_demonstration_can_be_finished_by_keys_alone(procedure: Procedure, tmp_path: Path) -> None:
    outside = SetOutside()
    run = Run.begin(procedure, outside, tmp_path, rehearsal=True)
    hands = Hands(run)
    carry_on(hands, outside)
    screen = hands.screen()
    assert "FINISHED" in screen
    assert run.receipt in screen
    assert "Follow up: Wheel alignment" in screen
    assert run.path is not None
    run.close()
    assert scan_file(run.path).state == "complete"


@pytest.mark.parametrize("answers", [3, 40, 75, 112])
def test_after_a_crash_the_run_comes_back_for_comparison(
    procedure: Procedure, tmp_path: Path, answers: int
) -> None:
    """What the screen showed as recorded is there again, and is held against the work before anything goes on."""
    outside = SetOutside()
    run = Run.begin(procedure, outside, tmp_path)
    hands = Hands(run)
    carry_on(hands, outside, answers)
    shown = hands.desk.view
    run.close()
    outside.reboot()
    assert run.path is not None
    again = Run.resume(run.path, outside)
    hands = Hands(again)
    assert hands.desk.view.demand.kind == "resume"
    assert "Back at the bench" in hands.screen()
    assert hands.desk.view.items == shown.items
    assert hands.desk.view.trail == shown.trail
    carry_on(hands, outside)
    assert hands.desk.view.outcome == "finished"
    again.close()


def test_a_value_outside_its_band_is_refused_with_what_lifts_it(procedure: Procedure, tmp_path: Path) -> None:
    outside = SetOutside()
    run = Run.begin(procedure, outside, tmp_path)
    hands = Hands(run)
    while hands.desk.view.demand.subject != "hole":
        carry_on(hands, outside, 1)
    hands.enter("19")
    assert "Refused: " in hands.screen()
    hands.press("ctrl+u")
    hands.enter("18,03")
    assert hands.desk.view.demand.kind == "second reading"
    assert "18.03" not in hands.screen(200, 50), "the first value stays hidden"
    assert "18,03" not in hands.screen(200, 50)
    run.close()


class NearlyFull(Files):
    """A disk with 40 MiB left."""

    def free(self, folder: Path) -> int:
        return 40 << 20


def test_a_disk_that_is_nearly_full_is_told_before_the_work_and_again_when_it_is_taken_up(
    procedure: Procedure, tmp_path: Path
) -> None:
    full, plenty = SetOutside(files=NearlyFull()), SetOutside()
    told = "Only 40 MiB are free for logs"
    run = Run.begin(procedure, full, tmp_path / "logs" / "not yet there", rehearsal=True)
    hands = Hands(run)
    assert told in hands.screen()
    assert told not in Hands(Run.begin(procedure, plenty, tmp_path, rehearsal=True)).screen()
    answer(hands)
    assert told in hands.screen(), "the file is there now; the work has not begun"
    run.close()
    path = run.path
    assert path is not None
    with contextlib.closing(Run.resume(path, full)) as again:
        assert told in Hands(again).screen()


class Untold(Files):
    """A disk that does not say what is free."""

    def free(self, folder: Path) -> int:
        raise OSError(errno.ENOSYS, os.strerror(errno.ENOSYS))


def test_a_disk_that_does_not_tell_its_room_keeps_logs_all_the_same(
    procedure: Procedure, tmp_path: Path
) -> None:
    run = Run.begin(procedure, SetOutside(files=Untold()), tmp_path, rehearsal=True)
    hands = Hands(run)
    answer(hands)
    assert run.path is not None
    assert "are free" not in hands.screen()
    run.close()
