"""What the proof answers stands in the dialog before an act is recorded, and what is lost stays in sight after it."""

from dataclasses import replace
from pathlib import Path

import pytest
from textual.pilot import Pilot

from runner.bench.app import BenchApp
from runner.bench.desk import Pace
from runner.bench.page import LEAST_HEIGHT, LEAST_WIDTH
from runner.bench.theme import ASCII, UNICODE, Look
from runner.proof.prove import prove
from runner.run import Run
from runner.view import ProofLine
from tests.bench.hands import Hands, answer
from tests.bench.samples import SampleRun, sample
from tests.bench.test_app import grid, immediate
from tests.doubles import SetOutside
from tests.procedure.procedure_text import linked
from tests.proof.test_live import CAR

UNTIL = 'It may still be put off, and is done before "Plug the lead in".'
CAP = "NO WAY LEFT: cap is still off at the end: nobody puts it back"


@pytest.fixture
def run(tmp_path: Path) -> Run:
    procedure = linked(CAR)
    return Run.begin(procedure, SetOutside(), tmp_path, gates=prove(procedure).gates)


def hands_at(run: Run, step: str) -> Hands:
    hands = Hands(run)
    while run.job.node is None or run.job.node.id != step or run.job.progress.begun:
        answer(hands, values={"gap": "1.5"})
    return hands


def test_the_put_off_dialog_opens_with_whether_and_until_where(run: Run) -> None:
    hands = hands_at(run, "unplug")
    entries = run.job.seq
    hands.press("f3")
    assert UNTIL in hands.screen()
    assert "Reason" in hands.screen()
    assert run.job.seq == entries, "asking records nothing"
    hands.press("escape")
    assert UNTIL not in hands.screen()
    hands.press("f3")
    hands.enter("2")
    hands.press("y")
    assert dict(run.job.until)["unplug"] == 'before "Plug the lead in"'
    assert 'Unplug the lead. · before "Plug the lead in"' in hands.screen()
    assert "comes right after" not in hands.screen(), "what was just put off is no cue"


def test_a_deviation_shows_what_is_lost_while_the_rest_is_typed_and_the_line_stays(run: Run) -> None:
    hands = hands_at(run, "cap-on")
    hands.press("f4")
    assert CAP not in hands.screen(), "nothing is asked before the kind is known"
    hands.enter("1")
    assert CAP in hands.screen()
    hands.enter("1")
    assert CAP in hands.screen()
    hands.enter("Chief")
    screen = hands.screen()
    assert screen.index(CAP) < screen.index("Press Y to record this deviation")
    hands.press("enter")
    assert run.job.lost == (), "Enter confirms nothing here"
    hands.press("y")
    for size in ((80, 24), (160, 50), (100, 32), (60, 20)):
        assert "✗ NO WAY LEFT: cap is still off" in hands.screen(*size), size
    hands.press("f6")
    assert "NO WAY LEFT" in hands.screen()


def test_where_nothing_is_lost_no_key_more_is_asked(run: Run) -> None:
    """The answer stands beneath the title; the keys are those of a deviation without a proof."""
    hands = hands_at(run, "measure")
    answer(hands)
    hands.press("f4")
    hands.enter("3")
    hands.enter("1")
    assert "Everything that is open can still be closed." in hands.screen()
    hands.enter("Chief")
    hands.press("y")
    assert [point.kind for point in run.job.deviations] == ["not done"]
    assert run.job.lost == ()


def test_a_put_off_with_no_way_left_says_so_before_and_is_refused(tmp_path: Path) -> None:
    text = CAR.replace(
        "  - {step: down,", "  - {step: level, do: Level it., needs: {cap: on}}\n  - {step: down,"
    )
    procedure = linked(text)
    run = Run.begin(procedure, SetOutside(), tmp_path, gates=prove(procedure).gates)
    hands = hands_at(run, "cap-on")
    hands.press("f4")
    hands.enter("1")
    hands.enter("1")
    hands.enter("Chief")
    hands.press("y")
    while run.view.demand.kind != "blocked":
        answer(hands, values={"gap": "1.5"})
    hands.press("f3")
    assert 'NO WAY LEFT: "level" needs cap on' in hands.screen()
    hands.enter("1")
    hands.press("y")
    assert "Refused: no way left" in hands.screen()
    assert "level" not in run.job.owed


def test_reopen_not_applicable_and_correct_are_answered_once_enough_is_said(run: Run) -> None:
    hands = hands_at(run, "wedge-out")
    hands.press("f7")
    hands.enter("2")
    hands.enter("2" if "cap" in hands.screen() else "1")
    assert "still be closed" not in hands.screen()
    hands.enter("1")
    assert "Owed, to be done" in hands.screen()
    hands.press("escape", "escape", "escape")
    hands.press("f7")
    hands.enter("6")
    hands.enter("1")
    assert "still be closed" not in hands.screen()
    hands.enter("3")
    assert 'Owed, to be done before "Bring it to ride height"' in hands.screen()


def test_a_long_answer_leaves_room_for_the_options_and_says_what_it_leaves_out() -> None:
    run = SampleRun(
        [sample("act")], answer=tuple(ProofLine("lost", f"NO WAY LEFT: {n} " + "x" * 90) for n in range(9))
    )
    hands = Hands(run)
    hands.press("f3")
    screen = hands.screen()
    assert "more, F1" in screen
    assert "NO WAY LEFT: 0" in screen
    assert " 1  " in screen
    hands.press("f1")
    assert "NO WAY LEFT: 3" in hands.screen()


def test_many_lost_lines_are_counted_in_the_one_row_of_a_small_screen() -> None:
    view = sample("act", lost=("a lid is still off", "a lead is still off", "a plug is still out"))
    hands = Hands(SampleRun([view]), signs=ASCII)
    small = hands.screen(LEAST_WIDTH, LEAST_HEIGHT)
    assert "X NO WAY LEFT: a lid is still off" in small
    assert "+2, F6" in small
    assert "a plug is still out" in hands.screen(160, 50)
    assert "NO WAY LEFT" not in Hands(SampleRun([replace(view, lost=())])).screen()


def test_the_last_chance_stands_before_what_it_is_due_before() -> None:
    line = replace(
        sample("act").owed[0], trigger="", before="Drive it.", last_chance='"Let it down"', ready=True
    )
    hands = Hands(SampleRun([sample("act", owed=(line,))]))
    assert 'last chance before "Let it down"; before Drive it.' in hands.screen(160, 50)


@pytest.mark.parametrize("size", [(80, 24), (160, 50)])
async def test_on_a_real_screen_the_answer_comes_with_the_dialog(run: Run, size: tuple[int, int]) -> None:
    hands_at(run, "unplug")
    app = BenchApp(run, Look(UNICODE), pace=Pace(0, 0, 0), recorder=immediate)
    async with app.run_test(size=size) as pilot:
        await _press(pilot, "f3")
        assert UNTIL in "\n".join(grid(app))
        await _press(pilot, "1", "enter", "y")
        assert 'before "Plug the lead in"' in "\n".join(grid(app))
    assert "unplug" in dict(run.job.until)


async def _press(pilot: Pilot[None], *keys: str) -> None:
    await pilot.pause()
    for key in keys:
        await pilot.press(key)
        await pilot.pause()


def test_what_stands_for_a_reason_while_asking_is_never_recorded(run: Run) -> None:
    hands = hands_at(run, "unplug")
    hands.press("f3")
    hands.enter("6")
    hands.enter("the clip is stiff")
    hands.press("y")
    assert run.job.owed["unplug"].why == "the clip is stiff"
