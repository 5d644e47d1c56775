"""Opening the full screen on a run, and what is left when it closes."""

import logging
import sys

from runner.bench.app import BenchApp, Later
from runner.bench.canvas import BareApp
from runner.bench.desk import EXIT_NOT_RECORDED, EXIT_SEALED, EXIT_UNSEALED, Pace
from runner.bench.engine import BenchRun
from runner.bench.terminal import unfit
from runner.bench.theme import ASCII, UNICODE, Dress, Look, choose_dress

EXIT_PROBLEM = 1


def run_bench(
    run: BenchRun | Later,
    *,
    ascii_only: bool = False,
    dress: Dress | None = None,
    performer: str = "",
    mouse: bool = True,
    pace: Pace | None = None,
) -> int:
    """Show the bench until the person leaves it; everything shown as recorded is in the log by then.

    With a `Later` the first frame stands before the run is loaded.
    `performer` is a name to offer, never taken without being confirmed. Gives 0 for a sealed run, 3 for one to
    resume, 5 where an entry could not be recorded, 1 where this terminal cannot show a full screen, and 128 plus the
    number of a signal that ended it. An error of the program itself is raised once the terminal is whole again.
    """
    reason = unfit()
    if reason:
        sys.stderr.write(f"{reason}\n")
        return EXIT_PROBLEM
    app = BenchApp(run, look_of(ascii_only, dress), performer=performer, pace=pace)
    try:
        code = show(app, mouse=mouse)
    finally:
        app.close()
    return leaving_code(code, app)


def leaving_code(code: int, app: BenchApp) -> int:
    """The code to end with once the writer is done: the screen may have gone while an entry was on its way."""
    return app.desk.exit_code if code in (EXIT_SEALED, EXIT_UNSEALED, EXIT_NOT_RECORDED) else code


def look_of(ascii_only: bool, dress: Dress | None) -> Look:
    """How to draw here."""
    return Look(ASCII if ascii_only else UNICODE, dress or choose_dress())


def show(app: BareApp, *, mouse: bool) -> int:
    """Run the app; its own errors are raised here, once the terminal is whole."""
    # A warning printed on stderr would be drawn into the screen.
    logging.captureWarnings(True)
    try:
        code = app.run(mouse=mouse)
    finally:
        logging.captureWarnings(False)
    if app.fault is not None:
        raise app.fault
    return EXIT_PROBLEM if code is None else code
