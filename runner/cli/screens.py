"""The full screens: the only module of the commands that leads to textual."""

import os
from collections.abc import Callable
from typing import TYPE_CHECKING

from runner.bench.app import Later
from runner.bench.opening import run_bench
from runner.bench.theme import Dress, choose_dress
from runner.settings import Settings
from runner.start import Choice, Heading, Start

if TYPE_CHECKING:
    from runner.run import Run


def open_bench(opened: "Callable[[], Run]", heading: Heading, settings: Settings) -> int:
    """Show the bench on a run, opened after its first frame, until it is left; gives the exit code."""
    return run_bench(
        Later(heading.title, heading.revision, heading.rehearsal, opened),
        ascii_only=settings.ascii,
        dress=_dress(settings),
        performer=settings.performer,
    )


def _dress(settings: Settings) -> Dress:
    """Return the colours to draw in; a `color` of the settings has already weighed NO_COLOR."""
    if not settings.color:
        return "none"
    return choose_dress({name: value for name, value in os.environ.items() if name != "NO_COLOR"})


def open_start(found: Start, settings: Settings) -> Choice | None:
    """Show the start screen; gives what was picked."""
    from runner.bench.beginning import run_start  # noqa: PLC0415 - not needed where a run is named

    return run_start(found, ascii_only=settings.ascii, dress=_dress(settings))
