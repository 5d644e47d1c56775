"""The terminal side of the bench: Textual draws the rows and brings the keys; nothing else of it is used.

The screen is one widget that repaints the rows that changed. Dialogs are drawn in its body, so no layer of widgets
exists that could take a key meant for another one.
"""

import time
from collections.abc import Callable

from textual import events
from textual.message import Message

from runner.bench.canvas import BareApp, Canvas
from runner.bench.desk import BenchRun, Desk, Key, Pace
from runner.bench.page import last_scroll, page
from runner.bench.rows import Row
from runner.bench.terminal import hung_up
from runner.bench.theme import Look
from runner.bench.writer import Outcome, Recorder, Writer

TICK = 1.0
"""Seconds between looks at the clock: windows opening, waits ending, a terminal gone."""


class Told(Message):
    """The writer's thread says what became of an entry."""

    def __init__(self, outcome: Outcome) -> None:
        super().__init__()
        self.outcome = outcome


MakeRecorder = Callable[[BenchRun, Callable[[Outcome], None]], Recorder]


def _thread_writer(run: BenchRun, told: Callable[[Outcome], None]) -> Recorder:
    return Writer(run.record, told)


class BenchApp(BareApp):
    """One run on a full screen."""

    def __init__(
        self,
        run: BenchRun,
        look: Look,
        *,
        performer: str = "",
        pace: Pace | None = None,
        recorder: MakeRecorder = _thread_writer,
    ) -> None:
        super().__init__(look, self._draw)
        self.recorder = recorder(run, self._tell)
        self.desk = Desk(run, self.recorder, look, performer=performer, pace=pace)

    def _tell(self, outcome: Outcome) -> None:
        """On the writer's thread: posting a message is the one thing of the app that may be done from there."""
        self.post_message(Told(outcome))

    def _draw(self, width: int, height: int) -> list[Row]:
        desk = self.desk
        desk.hold_scroll(last_scroll(desk.scene, width, height))
        return page(desk.scene, width, height)

    def on_mount(self) -> None:
        """Start looking at the clock."""
        self.set_interval(TICK, self._tick)

    def on_canvas_drawn(self, _: Canvas.Drawn) -> None:
        """What was asked is on the screen now; keys from here on may answer it."""
        self.desk.painted(self.desk.shown, time.monotonic())

    def on_told(self, message: Told) -> None:
        """The writer has an outcome."""
        self.desk.told(message.outcome)
        self._after()

    def press(self, event: events.Key) -> None:
        """A key."""
        self.desk.key(Key(event.key, event.character if event.is_printable else None, event.time))
        self._after()

    def pasted(self, text: str) -> None:
        """Pasted text."""
        self.desk.paste(text)
        self._after()

    def clicked(self, hit: str, at: float) -> None:
        """A mouse click on something that stands for a key or an option."""
        if hit.startswith("pick "):
            self.desk.choose(int(hit.removeprefix("pick ")))
        else:
            self.desk.key(Key(hit, None, at))
        self._after()

    def _after(self) -> None:
        desk = self.desk
        if desk.ring:
            desk.ring = False
            self.bell()
        if desk.left is not None:
            self.leave(desk.left)
        self.redraw()

    def _tick(self) -> None:
        if not self.is_headless and hung_up():
            self.leave_dead_terminal(self.desk.exit_code)
            return
        self.desk.tick()
        self._after()
