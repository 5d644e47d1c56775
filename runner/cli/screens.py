"""The full screens: the only module of the commands that leads to textual."""

import os

from runner.bench.opening import run_bench
from runner.bench.theme import Dress, choose_dress
from runner.run import Run
from runner.settings import Settings


def open_bench(run: Run, settings: Settings) -> int:
    """Show the bench on a run until it is left; gives the exit code."""
    return run_bench(
        run,
        ascii_only=settings.ascii,
        dress=_dress(settings),
        performer=settings.performer,
    )


def _dress(settings: Settings) -> Dress:
    """Return the colours to draw in; a `color` of the settings has already weighed NO_COLOR."""
    if not settings.color:
        return "none"
    return choose_dress({name: value for name, value in os.environ.items() if name != "NO_COLOR"})
