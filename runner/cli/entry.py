"""`witnessmark`: parse the command line, call one function, answer with one exit code."""

import argparse
import importlib
import sys
from collections.abc import Callable, Sequence
from pathlib import Path

from runner.cli.exits import Exit
from runner.cli.parser import COMMANDS, parse


def main(argv: Sequence[str] | None = None) -> int:
    """Run the program and return its exit code; only the SystemExit of help and usage leaves it."""
    arguments = list(sys.argv[1:] if argv is None else argv)
    _speak_any_text()
    parsed = parse(arguments)
    try:
        code = _command(parsed.command)(parsed)
        sys.stdout.flush()
        return int(code)
    except KeyboardInterrupt:
        print(
            "\nInterrupted. Every entry shown as recorded is in its log; `witnessmark resume` goes on.",
            file=sys.stderr,
        )
        return Exit.INTERRUPTED
    except BrokenPipeError:
        from runner.cli.crash import silence_output  # noqa: PLC0415 - needed after a failure only

        silence_output()
        return Exit.PIPE_CLOSED
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
        print(safe(str(error)), file=sys.stderr)
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


def _speak_any_text() -> None:
    """Let output carry any text: what the terminal's encoding has no letter for is written as an escape."""
    for stream in (sys.stdout, sys.stderr):
        reconfigure = getattr(stream, "reconfigure", None)
        if reconfigure is not None:
            reconfigure(errors="backslashreplace")
