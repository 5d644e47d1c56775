"""`verify` and `review`: what logs say, and whether they are whole. Both only read, and need no lock."""

import argparse
import sys
from pathlib import Path

from runner.cli.exits import Exit, worst
from runner.cli.folders import settings_of, shown
from runner.log.errors import Broken, LogError
from runner.log.names import SHOP_NAME, find_logs
from runner.log.record import Report, State
from runner.log.scan import scan_file
from runner.log.shop import missing_runs, read_shop
from runner.safe_text import safe
from runner.settings import Settings

_CODES: dict[State, Exit] = {
    "complete": Exit.OK,
    "open": Exit.UNFINISHED,
    "torn": Exit.TORN,
    "broken": Exit.PROBLEM,
    "not a log": Exit.PROBLEM,
}
NOT_PROMISED = (
    "Not promised without a receipt code on paper: that nothing was cut off the end of an open log, or that "
    "a whole log was not written anew. Compare the code above with the one on the job sheet."
)


def verify(parsed: argparse.Namespace) -> int:
    """Print the verdict on each log and return the worst."""
    codes = [_verify_one(Path(name)) for name in parsed.files]
    print(NOT_PROMISED)
    return worst(codes)


def _verify_one(path: Path) -> Exit:
    if path.name == SHOP_NAME:
        return _verify_shop(path)
    report = _scanned(path)
    if report is None:
        return Exit.PROBLEM
    print(f"{safe(str(path))}: {safe(report.summary())}")
    for line in verify_lines(report):
        print(f"    {safe(line)}")
    return _CODES[report.state]


def verify_lines(report: Report) -> list[str]:
    """Return what stands under a verdict: receipt code, sync, scars."""
    from runner.log.line import receipt  # noqa: PLC0415 - keeps this module's imports to what both commands need

    if report.header is None:
        return []
    lines = [f"receipt code {receipt(report.head)} after entry {report.count - 1}"]
    sync = report.header.get("sync")
    if isinstance(sync, str):
        lines.append(f"made durable by {sync}")
    for scar in report.scars:
        lines.append(
            f"scar: entry {scar.n} accounts for {scar.size} bytes that a crash left at byte {scar.byte}"
        )
    return lines


def _verify_shop(path: Path) -> Exit:
    """Judge the shop's list of runs: its own chain, and whether every listed run still has its log."""
    try:
        listed = read_shop(path.parent)
        missing = missing_runs(listed, find_logs(path.parent))
    except Broken as error:
        print(f"{safe(str(path))}: BROKEN: {safe(str(error))}")
        return Exit.PROBLEM
    except (LogError, OSError) as error:
        print(f"{safe(str(path))}: {safe(_why(error))}", file=sys.stderr)
        return Exit.PROBLEM
    runs = f"{len(listed)} {'run' if len(listed) == 1 else 'runs'}"
    print(f"{safe(str(path))}: list of runs, {runs}, {len(missing)} not borne out by a log beside it.")
    for each in missing:
        when = each.listed.started_utc[:16].replace("T", " ")
        print(f"    MISSING: {safe(each.listed.procedure)}, started {when} UTC: {safe(each.why)}")
    return Exit.PROBLEM if missing else Exit.OK


def review(parsed: argparse.Namespace) -> int:
    """Print what a log says, exceptions first."""
    return print_review(Path(parsed.log), settings_of(parsed))


def print_review(path: Path, settings: Settings) -> int:
    """Print what the log at `path` says."""
    from runner.review.facts import facts_of  # noqa: PLC0415 - verify needs none of this
    from runner.review.terminal import review_lines  # noqa: PLC0415 - as above

    report = _scanned(path)
    if report is None:
        return Exit.PROBLEM
    if report.header is None:
        print(f"{safe(str(path))}: {safe(report.summary())}", file=sys.stderr)
        return Exit.PROBLEM
    for line in review_lines(facts_of(report)):
        print(shown(line, settings))
    return Exit.PROBLEM if report.state == "broken" else Exit.OK


def _scanned(path: Path) -> Report | None:
    """Return the verdict on a file; None, with a message, where it cannot be read."""
    try:
        return scan_file(path)
    except (LogError, OSError) as error:
        print(f"{safe(str(path))}: {safe(_why(error))}", file=sys.stderr)
        return None


def _why(error: Exception) -> str:
    return str(error.strerror or error) if isinstance(error, OSError) else str(error)
