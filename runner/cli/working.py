"""`run`, `resume`, `rehearse`, `demo` and the start screen: a run begun or taken up, at the bench or by lines."""

import argparse
import gc
import os
import shlex
import sys
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING

from runner.cli.exits import Exit
from runner.cli.folders import settings_of, shown
from runner.cli.naming import procedure_path, shipped_names
from runner.cli.not_opened import Needless, NotOpened
from runner.cli.output import OutputLost
from runner.places import user_places
from runner.safe_text import safe
from runner.settings import Settings
from runner.start import (
    DEMO,
    Choice,
    Heading,
    Start,
    find_runs,
    find_start,
    procedure_head,
    run_head,
    shipped,
)

if TYPE_CHECKING:
    from runner.run import Run


def run(parsed: argparse.Namespace) -> int:
    """Carry out a procedure on a work piece."""
    return _named(parsed, rehearsal=False)


def rehearse(parsed: argparse.Namespace) -> int:
    """Carry out a procedure without a work piece."""
    return _named(parsed, rehearsal=True)


def _named(parsed: argparse.Namespace, *, rehearsal: bool) -> int:
    path = procedure_path(parsed.procedure)
    return _begin(
        settings_of(parsed), path, rehearsal=rehearsal, plain=parsed.plain, unproved=parsed.unproved or ""
    )


def demo(parsed: argparse.Namespace) -> int:
    """Rehearse the shipped demonstration; its log never goes into the current folder."""
    path = shipped(DEMO)
    if path is None:
        return _problem(
            f"The demonstration {DEMO} is not part of this installation; install witnessmark again."
        )
    return _begin(settings_of(parsed), path, rehearsal=True, plain=parsed.plain, logs=user_places().own_logs)


def resume(parsed: argparse.Namespace) -> int:
    """Go on with a run: the one named, or the only unfinished one."""
    settings = settings_of(parsed)
    if parsed.log is not None:
        return _go_on(Path(parsed.log), settings, plain=parsed.plain)
    unfinished = [run for run in find_runs((settings.logs, user_places().own_logs)) if not run.sealed]
    if len(unfinished) == 1:
        print(f"Resuming {safe(str(unfinished[0].path))}")
        return _go_on(unfinished[0].path, settings, plain=parsed.plain)
    if not unfinished:
        print(f"No unfinished run in {safe(str(settings.logs))}.")
        return Exit.PROBLEM
    from runner.plain.start_menu import run_words  # noqa: PLC0415 - needed where there are several only

    print("Several runs are unfinished; name one:")
    for each in unfinished:
        print(f"  witnessmark resume {safe(str(each.path))}\n      {safe(run_words(each))}")
    return Exit.PROBLEM


def start(parsed: argparse.Namespace) -> int:
    """Open the start screen; without a terminal print the help."""
    if not (sys.stdin.isatty() and sys.stderr.isatty()):
        from runner.cli.parser import build_parser  # noqa: PLC0415 - only where there is no terminal

        build_parser().print_help()
        return Exit.OK
    settings = settings_of(parsed)
    found = find_start((settings.logs, user_places().own_logs), Path.cwd())
    # A terminal that cannot show a screen has the same choice by lines, and the run it leads to.
    plain = os.environ.get("TERM", "") in ("", "dumb")
    choice = _choice_by_lines(found, settings) if plain else _choice_on_screen(found, settings)
    if choice is None:
        return Exit.OK
    if choice.deed == "review":
        from runner.cli.reading import print_review  # noqa: PLC0415 - as above

        return print_review(choice.path, settings)
    if choice.deed == "resume":
        return _go_on(choice.path, settings, plain=plain)
    return _begin(settings, choice.path, rehearsal=choice.deed == "rehearse", plain=plain)


def _choice_by_lines(found: Start, settings: Settings) -> Choice | None:
    from runner.plain.console import standard_console  # noqa: PLC0415 - not needed on a screen
    from runner.plain.start_menu import choose  # noqa: PLC0415 - as above

    return choose(found, standard_console(ascii_only=settings.ascii))


def _choice_on_screen(found: Start, settings: Settings) -> Choice | None:
    from runner.cli.screens import open_start  # noqa: PLC0415 - textual loads only for the screen

    return open_start(found, settings)


def _begin(
    settings: Settings,
    path: Path,
    *,
    rehearsal: bool,
    plain: bool = False,
    logs: Path | None = None,
    unproved: str = "",
) -> int:
    """Begin a run of a procedure; it must be proved, or `unproved` says why it is run all the same."""
    head = procedure_head(path)
    heading = Heading(head.title, head.revision, rehearsal) if head else Heading(path.stem, "", rehearsal)

    def opened() -> "Run":
        from runner.cli.taking_up import begin  # noqa: PLC0415 - the first frame does not wait for it

        return begin(path, settings, logs or settings.logs, rehearsal=rehearsal, unproved=unproved)

    command = "rehearse" if rehearsal else "run"
    return _carry_on(opened, heading, settings, plain=plain, command=command)


def _go_on(path: Path, settings: Settings, *, plain: bool) -> int:
    found = run_head(path)
    if found is None:
        from runner.cli.reading import list_of_runs  # noqa: PLC0415 - needed for what looks like no log only

        of = list_of_runs(path)
        if of:
            return _problem(of)
    heading = (
        Heading(found.title, found.revision, found.rehearsal) if found else Heading(path.stem, "", False)
    )

    def opened() -> "Run":
        from runner.cli.taking_up import resume as take_up  # noqa: PLC0415 - as above

        return take_up(path, settings)

    return _carry_on(opened, heading, settings, plain=plain)


def _carry_on(
    opened: "Callable[[], Run]", heading: Heading, settings: Settings, *, plain: bool, command: str = "run"
) -> int:
    """Open a run at the bench or in line mode; the log is closed whatever happens.

    `command` is what would run a procedure that is not proved.
    """
    kept: list[Run] = []

    def keep() -> "Run":
        kept.append(opened())
        return kept[0]

    try:
        if plain:
            return _by_lines(keep(), settings)
        if not (sys.stdin.isatty() and sys.stderr.isatty()):
            return _problem(
                "The full screen needs a terminal. With --plain the same run works through pipes."
            )
        gc.disable()  # until the run is open: collecting while modules load is a quarter of the start
        from runner.cli.screens import open_bench  # noqa: PLC0415 - textual loads only for the screen

        code = open_bench(keep, heading, settings)
        if kept:
            _say_what_stays(kept[0], settings)
        return code
    except NotOpened as error:
        return _not_opened(error, command)
    finally:
        for run in kept:
            run.close()


def _not_opened(error: NotOpened, command: str) -> int:
    """Print why a procedure is not carried out, and what would lift it."""
    from runner.cli.checking import print_findings  # noqa: PLC0415 - needed after errors only

    path = error.checked.path
    name = safe(shlex.quote(str(path)))
    if isinstance(error, Needless):
        print(f"{name} is proved: leave --unproved out, so that the run has its gates.", file=sys.stderr)
        return Exit.USAGE
    print_findings(error.checked, to_errors=True)
    if error.checked.procedure is not None:
        print(
            "Not proved, so it is not run. Without the proof's gates, with a reason that stays in the log: "
            f"witnessmark {command} {name} --unproved REASON",
            file=sys.stderr,
        )
    if not os.path.lexists(path):
        print(f"Shipped procedures: {', '.join(shipped_names())}", file=sys.stderr)
    return Exit.PROBLEM


def _say_what_stays(run: "Run", settings: Settings) -> None:
    """Print after the full screen is gone how the run stands: its receipt code, what is open, how to go on."""
    lines = list(run.summary())
    if run.job.outcome == "abandoned":
        lines += ["", "For the tag on the work:", *run.make_safe_tag()]
    elif run.path is not None and not run.sealed:
        lines.append(f"Go on with: witnessmark resume {run.path}")
    try:
        for line in lines:
            print(shown(safe(line), settings))
        sys.stdout.flush()
    except BrokenPipeError:
        return  # nobody reads it; all of this is in the log, and review tells it
    except OutputLost as error:
        # How the run was left counts more than these lines. The errors may be a terminal that is gone as well.
        with suppress(BrokenPipeError, OutputLost):
            print(safe(str(error)), file=sys.stderr)


def _by_lines(run: "Run", settings: Settings) -> int:
    from runner.plain.console import standard_console  # noqa: PLC0415 - not needed at the bench
    from runner.plain.session import Ending, Session  # noqa: PLC0415 - as above

    console = standard_console(ascii_only=settings.ascii)
    session = Session(run, console, performer=settings.performer)
    try:
        ending = session.play()
    except OutputLost as lost:
        worst = session.unrecorded or lost  # an entry that is not in the log, and that is perhaps not said
        if worst is not lost:
            worst.add_note(str(lost))
        worst.add_note(_how_left(run))
        raise worst from None
    return {Ending.SEALED: Exit.OK, Ending.LEFT: Exit.UNFINISHED, Ending.NOT_RECORDED: Exit.NOT_RECORDED}[
        ending
    ]


def _how_left(run: "Run") -> str:
    """Return in one sentence how a run stands that is left because nothing can be said any more."""
    if run.path is None:
        return "No run was started; nothing was written."
    if run.sealed:
        return f"The run is sealed: {run.path}"
    return f"The run is not sealed. Go on with: witnessmark resume {run.path}"


def _problem(text: str) -> int:
    print(text, file=sys.stderr)
    return Exit.PROBLEM
