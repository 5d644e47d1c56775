"""The start screen: unfinished runs to resume, procedures to carry out, finished logs to review. It decides nothing."""

import sys
import time
from typing import NamedTuple

from textual import events

from runner.bench.canvas import BareApp, Canvas
from runner.bench.literal import ascii_letters
from runner.bench.opening import look_of, show
from runner.bench.panes.picking import window
from runner.bench.rows import EMPTY, Row, Span, beside, block, clip, fit, row, span
from runner.bench.terminal import unfit
from runner.bench.theme import Dress, Look, Signs
from runner.start import Choice, Deed, FoundProcedure, FoundRun, Start


class Line(NamedTuple):
    """One line of the three lists; a heading has no beginning."""

    words: str
    note: str
    beginning: Choice | None


def lines_of(start: Start) -> tuple[Line, ...]:
    """The three lists one below the other, each under its heading; what is unfinished comes first."""
    lines = [
        Line("Unfinished runs, to resume", "", None),
        *(_run(each, "resume") for each in start.unfinished),
    ]
    lines += [Line("Procedures, to carry out", "", None), *(_procedure(each) for each in start.procedures)]
    lines += [Line("Finished logs, to review", "", None), *(_run(each, "review") for each in start.finished)]
    return tuple(lines)


def _run(found: FoundRun, deed: Deed) -> Line:
    kind = "rehearsal, " if found.rehearsal else ""
    note = f"{kind}rev {found.revision}, last entry {found.last or 'unreadable'} UTC"
    return Line(found.title or found.procedure, note, Choice(deed, found.path))


def _procedure(found: FoundProcedure) -> Line:
    shipped = ", comes with the program" if found.shipped else ""
    return Line(found.title or found.name, f"rev {found.revision or '?'}{shipped}", Choice("run", found.path))


def start_rows(lines: tuple[Line, ...], picked: int, width: int, height: int, signs: Signs) -> list[Row]:
    """The start screen as rows; `picked` counts the lines that are no headings."""
    with ascii_letters(signs.ascii_only):
        inner = width - 5
        body, at = _body(lines, picked, inner, signs)
        room = max(height - 5, 1)
        first, last = window(len(body), at, room)
        chosen = _chosen(lines, picked)
        place = (
            row(span(str(chosen.path), "dim"))
            if chosen
            else row(span("Nothing to begin with was found.", "strong"))
        )
        foot = [EMPTY, fit(place, inner, signs.more), _keys(chosen)]
        rows = [row(span("Witnessmark", "title")), EMPTY, *block(body[first:last], room), *foot]
        paint: list[Row] = [(span(signs.final, "paint"),)] * len(rows)
        return [fit(line, width, signs.more) for line in block(beside(paint, rows, 3, 2), height)]


def _body(lines: tuple[Line, ...], picked: int, width: int, signs: Signs) -> tuple[list[Row], int]:
    """All rows of the lists, and which of them is the picked one."""
    rows: list[Row] = []
    at = number = 0
    for index, line in enumerate(lines):
        if line.beginning is None:
            empty = index + 1 == len(lines) or lines[index + 1].beginning is None
            rows += [EMPTY] * bool(rows) + [row(span(f"{line.words}{': none' if empty else ''}", "dim"))]
            continue
        here = number == picked
        at = len(rows) if here else at
        lead = span(f"{signs.prompt if here else ' '} {number + 1:>2}  ", "picked" if here else "key")
        words = clip(
            row(lead, span(line.words, "picked" if here else "plain"), span(f"  {line.note}", "dim")), width
        )
        rows.append(tuple(Span(part.text, part.ink, f"pick {number}") for part in words))
        number += 1
    return rows, at


def _chosen(lines: tuple[Line, ...], picked: int) -> Choice | None:
    offered = [line.beginning for line in lines if line.beginning is not None]
    return offered[picked] if picked < len(offered) else None


def _keys(chosen: Choice | None) -> Row:
    deeds = {"run": "carry it out", "resume": "resume it", "review": "review it", "rehearse": "rehearse it"}
    parts = [span("Up Down", "key"), span(" or number  ")]
    if chosen is not None:
        parts += [span("Enter", "key", "enter"), span(f" {deeds[chosen.deed]}  ")]
        parts += [span("R", "key", "r"), span(" rehearse it  ")] if chosen.deed == "run" else []
    return row(*parts, span("Esc", "key", "escape"), span(" leave"))


class StartApp(BareApp):
    """The start screen on a terminal; `beginning` is what was picked, or None."""

    def __init__(self, start: Start, look: Look) -> None:
        super().__init__(look, self._draw)
        self.lines = lines_of(start)
        self.count = sum(line.beginning is not None for line in self.lines)
        self.picked = 0
        self.digits = ""
        self.beginning: Choice | None = None
        self._drawn_at: float | None = None

    def _draw(self, width: int, height: int) -> list[Row]:
        return start_rows(self.lines, self.picked, width, height, self.look.signs)

    def on_canvas_drawn(self, _: Canvas.Drawn) -> None:
        """From now on Enter means what is on the screen."""
        if self._drawn_at is None:
            self._drawn_at = time.monotonic()

    def press(self, event: events.Key) -> None:
        """A key."""
        self._take(event.key, event.character or "", event.time)

    def clicked(self, hit: str, at: float) -> None:
        """A click picks, or presses the key it stands for."""
        if hit.startswith("pick "):
            self.picked = int(hit.removeprefix("pick "))
            self.redraw()
        else:
            self._take(hit, hit, at)

    def _take(self, key: str, char: str, at: float) -> None:
        steps = {"down": 1, "up": -1, "pagedown": 8, "pageup": -8, "home": -10_000, "end": 10_000}
        if key in {"escape", "q", "f10", "ctrl+c", "ctrl+q"}:
            self.leave(0)
        elif key in {"enter", "r"} and self._drawn_at is not None and at >= self._drawn_at:
            self._begin(rehearse=key == "r")
        elif key in steps:
            self.picked, self.digits = self._within(self.picked + steps[key]), ""
        elif char.isascii() and char.isdigit():
            longer = self.digits + char
            self.digits = longer if int(longer) <= self.count else char
            self.picked = self._within(int(self.digits) - 1)
        self.redraw()

    def _within(self, number: int) -> int:
        return min(max(number, 0), max(self.count - 1, 0))

    def _begin(self, *, rehearse: bool) -> None:
        chosen = _chosen(self.lines, self.picked)
        if chosen is None or (rehearse and chosen.deed != "run"):
            return
        self.beginning = Choice("rehearse", chosen.path) if rehearse else chosen
        self.leave(0)


def run_start(
    start: Start, *, ascii_only: bool = False, dress: Dress | None = None, mouse: bool = True
) -> Choice | None:
    """Show the start screen until something is picked; None where the person leaves or no full screen can be shown."""
    reason = unfit()
    if reason:
        sys.stderr.write(f"{reason}\n")
        return None
    app = StartApp(start, look_of(ascii_only, dress))
    show(app, mouse=mouse)
    return app.beginning
