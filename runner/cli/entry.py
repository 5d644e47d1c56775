"""`witnessmark`: parse the command line, call one function, answer with one exit code."""

import argparse
import errno
import importlib
import io
import os
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, TextIO

from runner.cli.exits import Exit
from runner.cli.parser import COMMANDS, parse

if TYPE_CHECKING:
    from _typeshed import ReadableBuffer


class OutputLost(Exception):  # noqa: N818 - what the person is told, as the names of the log's errors are
    """What was printed cannot be written, for good; the message says why. Its notes are told after it.

    It is no OSError: what a command says of a file that it cannot read or write must not be said of its output.
    """


_TOLD_FIRST = frozenset({Exit.NOT_RECORDED, Exit.CRASHED, Exit.INTERRUPTED})
"""Codes of what is worse than a lost output."""


def main(argv: Sequence[str] | None = None) -> int:
    """Run the program and return its exit code; only the SystemExit of help and usage leaves it."""
    arguments = list(sys.argv[1:] if argv is None else argv)
    output, errors = sys.stdout, sys.stderr
    sys.stdout, sys.stderr = _watched(output), _watched(errors, needed=False)
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


def _watched(stream: TextIO | None, *, needed: bool = True) -> TextIO:
    """Return a standard stream so that it carries any text, and its failures can be told from those of files.

    What its encoding has no letter for is written as an escape. Where the stream is closed what is printed is lost,
    and that is an error if it is `needed`; left to itself the interpreter would print errors on the output then.
    """
    buffer = getattr(stream, "buffer", None)
    raw = getattr(buffer, "raw", buffer)  # there is no buffer between where Python itself has none (-u)
    if isinstance(stream, io.TextIOWrapper) and isinstance(raw, io.FileIO):
        stream.flush()
        watched = _Watched(raw, named="output" if needed else "error output")
        encoding, at_once = stream.encoding, stream.line_buffering or stream.write_through
    elif stream is None:
        watched, encoding, at_once = _Watched(None, named="output", dropping=not needed), "utf-8", False
    else:  # a stream that somebody else put there, as tests do
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")
        return stream
    return io.TextIOWrapper(io.BufferedWriter(watched), encoding, "backslashreplace", line_buffering=at_once)


class _Watched(io.RawIOBase):
    """The bytes of a standard stream. After its first failure it takes everything and keeps nothing.

    So the failure is raised once, and no later flush can raise another one over what is told of the first.
    """

    def __init__(self, raw: io.FileIO | None, *, named: str, dropping: bool = False) -> None:
        self._raw = raw
        self._named = named
        self._dropping = dropping

    def writable(self) -> bool:
        """It is for writing only."""
        return True

    def isatty(self) -> bool:
        """Whether a terminal is behind it."""
        return self._raw is not None and self._raw.isatty()

    def fileno(self) -> int:
        """The number of the file behind it; OSError where there is none."""
        return super().fileno() if self._raw is None else self._raw.fileno()

    def write(self, data: "ReadableBuffer", /) -> int:
        """Write what fits at once. Raises BrokenPipeError, OutputLost."""
        size = memoryview(data).nbytes
        if self._dropping:
            return size
        try:
            if self._raw is None:
                raise OSError(errno.EBADF, os.strerror(errno.EBADF))
            written = self._raw.write(data)
            if written is None:  # somebody made it a stream that does not wait
                raise OSError(errno.EAGAIN, os.strerror(errno.EAGAIN))
            return written
        except BrokenPipeError:
            self._dropping = True
            raise
        except OSError as error:
            self._dropping = True
            why = f"the {self._named} could not be written: {error.strerror or error}"
            raise OutputLost(
                f"witnessmark: {why}; it is incomplete, and holds its beginning at most"
            ) from error
