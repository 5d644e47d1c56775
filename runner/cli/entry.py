"""`witnessmark`: parse the command line, call one function, answer with one exit code."""

import argparse
import importlib
import sys
from collections.abc import Callable, Sequence
from pathlib import Path

from runner.cli.exits import Exit
from runner.cli.output import OutputLost, watched
from runner.cli.parser import COMMANDS, parse

_TOLD_FIRST = frozenset({Exit.NOT_RECORDED, Exit.CRASHED, Exit.INTERRUPTED})
"""Codes of what is worse than a lost output."""


def main(argv: Sequence[str] | None = None) -> int:
    """Run the program and return its exit code; only the SystemExit of help and usage leaves it."""
    arguments = list(sys.argv[1:] if argv is None else argv)
    output, errors = sys.stdout, sys.stderr
    sys.stdout, sys.stderr = watched(output), watched(errors, needed=False)
    try:
        return _written_to_the_end(arguments)
    finally:
        sys.stdout, sys.stderr = output, errors


def _written_to_the_end(arguments: list[str]) -> int:
    """Return the exit code once all output is written: what the interpreter writes at its end fails unheard."""
    code: int = Exit.PROBLEM
    try:
        try:
            code = _carried_out(arguments)
        finally:  # help and usage leave by SystemExit, and have printed too
            sys.stdout.flush()
            sys.stderr.flush()
    except BrokenPipeError:
        return Exit.PIPE_CLOSED
    except OutputLost as error:
        _complain(error)
        return code if code in _TOLD_FIRST else Exit.PROBLEM
    return code


def _carried_out(arguments: list[str]) -> int:
    """Carry out a command line and return its exit code."""
    parsed = parse(arguments)
    try:
        return int(_command(parsed.command)(parsed))
    except (BrokenPipeError, OutputLost):  # no output is left to tell anything else on
        raise
    except KeyboardInterrupt:
        print(
            "\nInterrupted. Every entry shown as recorded is in its log; `witnessmark resume` goes on.",
            file=sys.stderr,
        )
        return Exit.INTERRUPTED
    except Exception as error:
        return _last_resort(error, parsed.command)


def _command(name: str) -> Callable[[argparse.Namespace], int]:
    """Return the function of a command; its module is imported only now."""
    if not name:
        return _attribute("working", "start")
    module = next(command.module for command in COMMANDS if command.name == name)
    return _attribute(module, name)


def _attribute(module: str, name: str) -> Callable[[argparse.Namespace], int]:
    function: Callable[[argparse.Namespace], int] = getattr(
        importlib.import_module(f"runner.cli.{module}"), name
    )
    return function


def _last_resort(error: Exception, command: str) -> int:
    """Answer the foreseen failures in a sentence, everything else with a crash report."""
    from runner.cli.crash import report_crash  # noqa: PLC0415 - needed after a failure only
    from runner.log.errors import LogError, NotRecorded  # noqa: PLC0415 - as above
    from runner.safe_text import safe  # noqa: PLC0415 - as above
    from runner.settings import SettingsError  # noqa: PLC0415 - as above

    if isinstance(error, SettingsError):
        for problem in error.problems:
            print(safe(problem), file=sys.stderr)
        return Exit.USAGE
    if isinstance(error, LogError):
        _complain(error)
        return Exit.NOT_RECORDED if isinstance(error, NotRecorded) else Exit.PROBLEM
    print(report_crash(error, command, _crash_folder()), file=sys.stderr)
    return Exit.CRASHED


def _crash_folder() -> Path | None:
    """Return where crash reports go, or None where even that cannot be told."""
    try:
        from runner.places import user_places  # noqa: PLC0415 - needed after a failure only

        return user_places().crashes
    except Exception:  # the report is then printed: the first error must be told, not this one
        return None


def _complain(error: Exception) -> None:
    """Say an error in its own words, then its notes."""
    from runner.safe_text import safe  # noqa: PLC0415 - needed after a failure only

    try:
        for text in (str(error), *getattr(error, "__notes__", ())):
            print(safe(text), file=sys.stderr)
    except (BrokenPipeError, OutputLost):  # the errors go where the output goes, and are lost with it
        return
