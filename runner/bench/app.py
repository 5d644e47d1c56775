"""The terminal side of the bench: Textual draws the rows and brings the keys; nothing else of it is used.

The screen is one widget that repaints the rows that changed. Dialogs are drawn in its body, so no layer of widgets
exists that could take a key meant for another one.
"""

import gc
import time
from collections.abc import Callable
from typing import NamedTuple

from textual import events
from textual.message import Message

from runner.bench.canvas import BareApp, Canvas
from runner.bench.desk import Desk, Key, Pace
from runner.bench.engine import BenchRun
from runner.bench.page import last_scroll, page
from runner.bench.panes.heading import opening_rows
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


class Later(NamedTuple):
    """A run that is opened once its first frame stands, so that nobody looks at a dark screen while it loads.

    `title` and `revision` are what the file's first lines say; `open` gives the run, or raises what prevents it.
    """

    title: str
    revision: str
    rehearsal: bool
    open: Callable[[], BenchRun]


class BenchApp(BareApp):
    """One run on a full screen. `desk` is there once the run is."""

    desk: Desk
    recorder: Recorder

    def __init__(
        self,
        run: BenchRun | Later,
        look: Look,
        *,
        performer: str = "",
        pace: Pace | None = None,
        recorder: MakeRecorder = _thread_writer,
    ) -> None:
        super().__init__(look, self._draw)
        self._make_recorder = recorder
        self._performer = performer
        self._pace = pace
        self._later = run if isinstance(run, Later) else None
        self._opening = False
        self._untold: Outcome | None = None
        """What the writer said that has not come to the desk yet; it has one entry at a time."""
        if not isinstance(run, Later):
            self._take(run)

    def _take(self, run: BenchRun) -> None:
        self.recorder = self._make_recorder(run, self._tell)
        self.desk = Desk(run, self.recorder, self.look, performer=self._performer, pace=self._pace)

    def _open(self) -> None:
        """Open the run now that its first frame stands; what prevents it is raised when the terminal is whole again."""
        assert self._later is not None
        try:
            self._take(self._later.open())
        except Exception as error:
            self.fault = error
            self.leave(1)
            return
        self._later = None
        # Nothing made while starting is garbage: it is never looked at again, and no key waits for that.
        gc.freeze()
        gc.enable()
        self.redraw()

    def close(self) -> None:
        """Let the writer finish what it has, and the desk know of it although the screen is gone."""
        if self._later is None:
            self.recorder.close()
            if self._untold is not None:
                self.desk.told(self._untold)

    def _tell(self, outcome: Outcome) -> None:
        """On the writer's thread: posting a message is the one thing of the app that may be done from there."""
        self._untold = outcome
        self.post_message(Told(outcome))

    def _draw(self, width: int, height: int) -> list[Row]:
        if self._later is not None:
            title, revision, rehearsal, _ = self._later
            return opening_rows(title, revision, rehearsal, width, height, self.look)
        desk = self.desk
        desk.hold_scroll(last_scroll(desk.scene, width, height))
        return page(desk.scene, width, height)

    def on_mount(self) -> None:
        """Start looking at the clock."""
        self.set_interval(TICK, self._tick)

    def on_canvas_drawn(self, _: Canvas.Drawn) -> None:
        """What was asked is on the screen now; keys from here on may answer it."""
        if self._later is None:
            self.desk.painted(self.desk.shown, time.monotonic())
        elif not self._opening:
            self._opening = True
            self.call_later(self._open)

    def on_told(self, message: Told) -> None:
        """The writer has an outcome."""
        self._untold = None
        self.desk.told(message.outcome)
        self._after()

    def press(self, event: events.Key) -> None:
        """A key; before the run is open there is nothing that a key could mean."""
        if self._later is not None:
            return
        self.desk.key(Key(event.key, event.character if event.is_printable else None, event.time))
        self._after()

    def pasted(self, text: str) -> None:
        """Pasted text."""
        if self._later is not None:
            return
        self.desk.paste(text)
        self._after()

    def clicked(self, hit: str, at: float) -> None:
        """A mouse click on something that stands for a key or an option."""
        if self._later is not None:
            return
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
        if self._later is not None:
            return
        if not self.is_headless and hung_up():
            self.leave_dead_terminal(self.desk.exit_code)
            return
        self.desk.tick()
        self._after()
