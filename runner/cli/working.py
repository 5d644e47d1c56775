"""`run`, `resume`, `rehearse`, `demo` and the start screen: a run begun or taken up, at the bench or by lines."""

import argparse
import sys
from pathlib import Path

from runner.cli.checking import print_findings
from runner.cli.exits import Exit
from runner.cli.folders import settings_of, shown
from runner.cli.naming import procedure_path, shipped_names
from runner.log.names import look_at
from runner.outside import Files, Outside
from runner.places import user_places
from runner.plain.start_menu import run_words
from runner.procedure.link import load_procedure
from runner.procedure.linked import Procedure
from runner.run import Run
from runner.safe_text import safe
from runner.settings import Settings
from runner.start import DEMO, find_procedures, find_runs, find_start, shipped


def run(parsed: argparse.Namespace) -> int:
    """Carry out a procedure on a work piece."""
    return _begin(settings_of(parsed), procedure_path(parsed.procedure), rehearsal=False, plain=parsed.plain)


def rehearse(parsed: argparse.Namespace) -> int:
    """Carry out a procedure without a work piece."""
    return _begin(settings_of(parsed), procedure_path(parsed.procedure), rehearsal=True, plain=parsed.plain)


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
    from runner.plain.console import standard_console  # noqa: PLC0415 - not needed where a run is named
    from runner.plain.start_menu import choose  # noqa: PLC0415 - as above

    settings = settings_of(parsed)
    found = find_start((settings.logs, user_places().own_logs), Path.cwd())
    choice = choose(found, standard_console(ascii_only=settings.ascii))
    if choice is None:
        return Exit.OK
    if choice.deed == "review":
        from runner.cli.reading import print_review  # noqa: PLC0415 - as above

        return print_review(choice.path, settings)
    if choice.deed == "resume":
        return _go_on(choice.path, settings, plain=False)
    return _begin(settings, choice.path, rehearsal=choice.deed == "rehearse")


def _begin(
    settings: Settings, path: Path, *, rehearsal: bool, plain: bool = False, logs: Path | None = None
) -> int:
    """Load a procedure and begin a run of it. Its file must have no errors."""
    procedure, findings = load_procedure(path)
    if procedure is None:
        print_findings(path, findings, to_errors=True)
        if not path.exists():
            print(f"Shipped procedures: {', '.join(shipped_names())}", file=sys.stderr)
        return Exit.PROBLEM
    begun = Run.begin(
        procedure,
        Outside(),
        logs or settings.logs,
        rehearsal=rehearsal,
        bench=settings.bench,
        torque_unit=settings.torque_unit,
    )
    return _carry_on(begun, settings, plain=plain)


def _go_on(path: Path, settings: Settings, *, plain: bool) -> int:
    resumed = Run.resume(path, Outside(), current=_file_now(path), torque_unit=settings.torque_unit)
    return _carry_on(resumed, settings, plain=plain)


def _file_now(log: Path) -> Procedure | None:
    """Return the procedure's file as it is today, where one of its name is at hand: only to tell what changed."""
    found = look_at(log, Files())
    header = found.header if found is not None else None
    recorded = header.get("procedure") if header is not None else None
    if not isinstance(recorded, dict):
        return None
    for each in find_procedures(Path.cwd()):
        if [each.path.name] == [file[0] for file in recorded.get("files", ())][:1]:
            procedure, _ = load_procedure(each.path)
            if procedure is not None and procedure.procedure == recorded.get("procedure"):
                return procedure
    return None


def _carry_on(run: Run, settings: Settings, *, plain: bool) -> int:
    """Hand a run to the bench or to line mode; the log is closed whatever happens."""
    try:
        if plain:
            return _by_lines(run, settings)
        if not (sys.stdin.isatty() and sys.stderr.isatty()):
            return _problem(
                "The full screen needs a terminal. With --plain the same run works through pipes."
            )
        from runner.cli.screens import open_bench  # noqa: PLC0415 - textual loads only for the screen

        code = open_bench(run, settings)
        _say_what_stays(run, settings)
        return code
    finally:
        run.close()


def _say_what_stays(run: Run, settings: Settings) -> None:
    """Print after the full screen is gone how the run stands: its receipt code, what is open, how to go on."""
    lines = list(run.summary())
    if run.job.outcome == "abandoned":
        lines += ["", "For the tag on the work:", *run.make_safe_tag()]
    elif run.path is not None and not run.sealed:
        lines.append(f"Go on with: witnessmark resume {run.path}")
    for line in lines:
        print(shown(safe(line), settings))


def _by_lines(run: Run, settings: Settings) -> int:
    from runner.plain.console import standard_console  # noqa: PLC0415 - not needed at the bench
    from runner.plain.session import Ending, Session  # noqa: PLC0415 - as above

    console = standard_console(ascii_only=settings.ascii)
    ending = Session(run, console, performer=settings.performer).play()
    return {Ending.SEALED: Exit.OK, Ending.LEFT: Exit.UNFINISHED, Ending.NOT_RECORDED: Exit.NOT_RECORDED}[
        ending
    ]


def _problem(text: str) -> int:
    print(text, file=sys.stderr)
    return Exit.PROBLEM
