"""`review`: what a log says. It only reads, and needs no lock."""

import argparse
import shlex
import sys
from pathlib import Path

from runner.cli.exits import Exit
from runner.cli.folders import settings_of, shown
from runner.log.errors import LogError
from runner.log.record import Report
from runner.log.scan import scan_file
from runner.log.shop import is_list
from runner.safe_text import safe
from runner.settings import Settings


def review(parsed: argparse.Namespace) -> int:
    """Print what a log says, exceptions first."""
    return print_review(Path(parsed.log), settings_of(parsed))


def print_review(path: Path, settings: Settings) -> int:
    """Print what the log at `path` says."""
    from runner.review.facts import facts_of  # noqa: PLC0415 - only what is printed needs it
    from runner.review.terminal import review_lines  # noqa: PLC0415 - as above

    report = _scanned(path)
    if report is None:
        return Exit.PROBLEM
    if report.header is None:
        print(list_of_runs(path) or f"{safe(str(path))}: {safe(report.summary())}", file=sys.stderr)
        return Exit.PROBLEM
    for line in review_lines(facts_of(report)):
        print(shown(line, settings))
    return Exit.PROBLEM if report.state == "broken" else Exit.OK


def list_of_runs(path: Path) -> str:
    """Return what to say of the shop's list of runs where the log of a run was meant; empty for any other file."""
    if not is_list(path):
        return ""
    judge = f"witnessmark verify {shlex.quote(str(path))}"
    return safe(f"{path} is the shop's list of runs, not the log of a run; judge it with: {judge}")


def _scanned(path: Path) -> Report | None:
    """Return the verdict on a file; None, with a message, where it cannot be read."""
    try:
        return scan_file(path)
    except (LogError, OSError) as error:
        print(f"{safe(str(path))}: {safe(_why(error))}", file=sys.stderr)
        return None


def _why(error: Exception) -> str:
    return str(error.strerror or error) if isinstance(error, OSError) else str(error)
