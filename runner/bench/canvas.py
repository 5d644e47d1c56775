"""Rows on a terminal through Textual: one widget, one screen, no bindings but ours, every way out in order."""

import asyncio
import contextlib
import os
import signal
import threading
from collections.abc import Callable
from typing import ClassVar

from rich.segment import Segment
from textual import events
from textual.app import App, ComposeResult
from textual.binding import BindingType
from textual.geometry import Region
from textual.message import Message
from textual.screen import Screen
from textual.strip import Strip
from textual.widget import Widget

from runner.bench.rows import Row
from runner.bench.theme import Look

Draw = Callable[[int, int], list[Row]]
_HARD_EXIT_S = 3.0
"""How long an app without its terminal may take to end in order."""


class Canvas(Widget):
    """Rows on the screen; `draw` gives them for a size, and only those that changed are repainted."""

    DEFAULT_CSS = "Canvas { width: 100%; height: 100%; }"

    class Drawn(Message):
        """Everything drawn so far is on its way to the terminal."""

    def __init__(self, draw: Draw, look: Look) -> None:
        super().__init__()
        self._draw = draw
        self._inks = look.inks
        self._rows: list[Row] = []

    def on_resize(self) -> None:
        """Another size: draw for it."""
        self._rows = []
        self.redraw()

    def redraw(self) -> None:
        """Draw anew and repaint what differs."""
        width, height = self.size
        if not width or not height:
            return
        before, self._rows = self._rows, self._draw(width, height)
        if len(before) != len(self._rows):
            self.refresh()
        else:
            pairs = enumerate(zip(before, self._rows, strict=True))
            changed = [Region(0, y, width, 1) for y, (old, new) in pairs if old != new]
            if changed:
                self.refresh(*changed)
        self.call_after_refresh(self.post_message, self.Drawn())

    def render_lines(self, crop: Region) -> list[Strip]:
        """The rows in their inks, and nothing added: no filter, no style of the toolkit."""
        strips = [self._strip(y) for y in crop.line_range]
        if crop.column_span == (0, self.size.width):
            return strips
        return [strip.crop(crop.x, crop.right) for strip in strips]

    def _strip(self, y: int) -> Strip:
        if y >= len(self._rows):
            return Strip.blank(self.size.width, self._inks["plain"])
        return Strip([Segment(part.text, self._inks[part.ink]) for part in self._rows[y]])

    def hit(self, x: int, y: int) -> str:
        """What a click at a cell stands for; empty for nothing."""
        for part in self._rows[y] if y < len(self._rows) else ():
            x -= Segment(part.text).cell_length
            if x < 0:
                return part.hit
        return ""


class OneScreen(Screen[None], inherit_bindings=False):
    """The only screen there is."""

    def __init__(self, canvas: Canvas) -> None:
        super().__init__()
        self.canvas = canvas

    def compose(self) -> ComposeResult:
        """The canvas alone."""
        yield self.canvas


class BareApp(App[int], inherit_bindings=False):
    """An app of rows: keys, pastes and clicks come to four methods, and nothing else of the toolkit is switched on."""

    TITLE = "Witnessmark"
    ENABLE_COMMAND_PALETTE = False
    BINDINGS: ClassVar[list[BindingType]] = []
    AUTO_FOCUS = ""

    def __init__(self, look: Look, draw: Draw) -> None:
        # Without colour the canvas draws no colour; this keeps the toolkit from painting its own ground behind it.
        super().__init__(ansi_color=True if look.dress == "none" else None)
        self.look = look
        self.canvas = Canvas(draw, look)
        self.fault: Exception | None = None

    def get_default_screen(self) -> OneScreen:
        """The canvas on a screen."""
        return OneScreen(self.canvas)

    def press(self, event: events.Key) -> None:
        """A key came."""

    def pasted(self, text: str) -> None:
        """Text was pasted."""

    def clicked(self, hit: str, at: float) -> None:
        """The mouse clicked on something that stands for `hit`."""

    def on_key(self, event: events.Key) -> None:
        """Every key goes to `press` and nowhere else."""
        event.stop()
        event.prevent_default()
        self.press(event)

    def on_paste(self, event: events.Paste) -> None:
        """A bracketed paste is text, whatever it contains."""
        event.stop()
        self.pasted(event.text)

    def on_click(self, event: events.Click) -> None:
        """A click stands for what is drawn there."""
        hit = self.canvas.hit(event.screen_x, event.screen_y)
        if hit:
            self.clicked(hit, event.time)

    def redraw(self) -> None:
        """Draw anew, if the screen is up."""
        if self.canvas.is_mounted:
            self.canvas.redraw()

    def leave(self, code: int) -> None:
        """End the app; the terminal is restored and `run` gives `code`."""
        self.exit(code, return_code=code)

    def leave_dead_terminal(self, code: int) -> None:
        """End although there is no terminal to restore: in order if that works, by force soon after if it hangs."""
        timer = threading.Timer(_HARD_EXIT_S, os._exit, (code,))
        timer.daemon = True
        timer.start()
        self.leave(code)

    def on_load(self) -> None:
        """End in order on a signal that would otherwise leave the terminal in disorder."""
        loop = asyncio.get_running_loop()
        for number in (signal.SIGTERM, signal.SIGHUP, signal.SIGQUIT):
            with contextlib.suppress(NotImplementedError, RuntimeError, ValueError):
                loop.add_signal_handler(number, self.leave, 128 + number)

    def _handle_exception(self, error: Exception) -> None:
        """Keep an error for `runner.bench` to raise once the terminal is whole; the toolkit would print all locals."""
        if self.fault is None:
            self.fault = self._exception = error
            self._exception_event.set()
        self._return_code = 1
        self._close_messages_no_wait()
