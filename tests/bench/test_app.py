"""The wiring to Textual: keys, paste and clicks arrive; what is drawn is what the page says; entries come back."""

import threading
from collections.abc import Callable

import pytest

from runner.bench.app import BenchApp, Later
from runner.bench.desk import Pace
from runner.bench.engine import BenchRun
from runner.bench.page import page
from runner.bench.picture import svg_of
from runner.bench.rows import texts
from runner.bench.theme import UNICODE, Look
from runner.bench.writer import Outcome, Recorder
from runner.job import actions as a
from runner.log.errors import Held
from runner.view import View
from tests.bench.hands import Immediate
from tests.bench.samples import NOW, Entry, SampleRun, sample

QUICK = Pace(0.0, 0.0, 0.0)


def immediate(run: BenchRun, told: Callable[[Outcome], None]) -> Recorder:
    return Immediate(run.record, told)


def app_on(*views: View, recorder: Callable[..., Recorder] = immediate) -> tuple[BenchApp, SampleRun]:
    run = SampleRun(list(views))
    return BenchApp(run, Look(UNICODE), pace=QUICK, recorder=recorder), run


def grid(app: BenchApp) -> list[str]:
    """What is on the screen, as text, from what Textual would send to a terminal."""
    width, height = app.size
    strips = app.screen._compositor.render_strips()
    assert len(strips) == height
    assert all(strip.cell_length == width for strip in strips)
    return [strip.text.rstrip() for strip in strips]


@pytest.mark.parametrize("size", [(80, 24), (160, 50)])
async def test_the_screen_is_the_page(size: tuple[int, int]) -> None:
    app, _ = app_on(sample("tighten"))
    async with app.run_test(size=size) as pilot:
        await pilot.pause()
        assert grid(app) == texts(page(app.desk.scene, *size))


async def test_keys_become_an_action_and_the_next_question_is_drawn() -> None:
    app, run = app_on(sample("tighten"), sample("look", seq=42))
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        await pilot.press("5", "0", "comma", "5", "enter")
        await pilot.pause()
        assert run.done == [
            a.Tighten(
                who="Ada Lind",
                stamp=NOW,
                seen=41,
                item="pinch bolt@left",
                stage=1,
                member=1,
                method="measured",
                raw="50,5",
            )
        ]
        assert "How does the car behave" in "\n".join(grid(app))


async def test_an_entry_made_durable_on_the_writers_thread_comes_back_to_the_screen() -> None:
    names: list[str] = []

    class Watched(SampleRun):
        def record(self, entry: Entry) -> None:
            names.append(threading.current_thread().name)

    run = Watched([sample("act"), sample("look", seq=42)])
    app = BenchApp(run, Look(UNICODE), pace=QUICK)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        await pilot.press("enter")
        app.recorder.close()
        await pilot.pause()
        assert names == ["log writer"]
        assert "How does the car behave" in "\n".join(grid(app))


async def test_a_run_opened_behind_its_first_frame_takes_no_key_before_it_is_there() -> None:
    run = SampleRun([sample("act")])
    frames: list[list[str]] = []

    def open_run() -> SampleRun:
        frames.append(grid(app))
        return run

    app = BenchApp(
        Later("Front lower arm", "3", True, open_run), Look(UNICODE), pace=QUICK, recorder=immediate
    )
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        assert frames[0][0].startswith(" Front lower arm · rev 3")
        assert "Opening" in frames[0][1]
        await pilot.press("enter")
        assert run.done == [a.Do(who="Ada Lind", stamp=NOW, seen=41, act=1)]


async def test_a_run_that_cannot_be_opened_is_told_after_the_terminal_is_whole() -> None:
    def held() -> SampleRun:
        raise Held("corner.jsonl", 7)

    app = BenchApp(Later("Front lower arm", "3", False, held), Look(UNICODE), recorder=immediate)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
    assert isinstance(app.fault, Held)
    app.close()


async def test_resizing_keeps_what_is_typed() -> None:
    app, _ = app_on(sample("reading"))
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        await pilot.press("1", "full_stop", "7")
        for size in ((160, 50), (60, 20), (80, 24)):
            await pilot.resize_terminal(*size)
            await pilot.pause()
            assert "1.7" in "\n".join(grid(app))


async def test_no_key_of_the_toolkit_is_left() -> None:
    """Neither the palette nor quitting at a stroke nor moving a focus."""
    app, run = app_on(sample("act"))
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        await pilot.press("ctrl+p")
        assert len(app.screen_stack) == 1
        await pilot.press("ctrl+q")
        await pilot.pause()
        assert "Leave the bench" in "\n".join(grid(app))
        assert app.is_running
        assert run.tried == []


async def test_a_click_picks_but_never_confirms() -> None:
    app, run = app_on(sample("look"))
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        row = next(at for at, line in enumerate(grid(app)) if "2  it rocks" in line)
        await pilot.click(offset=(12, row))
        await pilot.pause()
        assert "▶ 2  it rocks" in "\n".join(grid(app))
        assert run.tried == []
        key_row = grid(app)[-1]
        await pilot.click(offset=(key_row.index("F2"), 23))
        await pilot.pause()
        assert " Note " in grid(app)[2]


async def test_leaving_ends_the_app_with_the_code() -> None:
    app, _ = app_on(sample("sealed"))
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        await pilot.press("enter")
        await pilot.pause()
        await pilot.press("enter")
        await pilot.pause()
    assert app.return_value == 0


async def test_an_error_in_the_program_is_kept_for_the_crash_report() -> None:
    app, run = app_on(sample("act"))

    def broken(_: object) -> View:
        raise ZeroDivisionError("on purpose")

    async def tick_when_broken() -> None:
        async with app.run_test(size=(80, 24)) as pilot:
            await pilot.pause()
            run.picture = broken  # type: ignore[method-assign]
            app._tick()

    with pytest.raises(ZeroDivisionError):
        await tick_when_broken()
    assert app.desk.left is None


async def test_a_picture_of_the_screen_asks_nothing_of_the_network() -> None:
    svg = await svg_of(SampleRun([sample("tighten")]), 80, 24)
    assert svg.startswith("<svg")
    assert "http" not in svg.replace("http://www.w3.org/", "")
    assert "@font-face" not in svg
    assert svg == await svg_of(SampleRun([sample("tighten")]), 80, 24)
