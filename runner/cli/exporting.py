"""`export`: a log as plain JSON Lines, and the list of its scars. Reads only; never writes over a file."""

import argparse
import json
import sys
from collections.abc import Iterator
from pathlib import Path

from runner.cli.exits import Exit
from runner.cli.verifying import CODES
from runner.log import record, shop
from runner.log.errors import LogError
from runner.log.export import json_lines, scar_list
from runner.log.names import SHOP_NAME
from runner.log.new_files import NewFile, write_new
from runner.log.record import Report
from runner.log.scan import Scanner
from runner.log.source import reading
from runner.outside import Files
from runner.safe_text import safe


def export(parsed: argparse.Namespace) -> int:
    """Export a log and return the code that `verify` gives for it."""
    path = Path(parsed.log)
    try:
        report = _judged(path)
        if report.header is None or (report.state == "broken" and not parsed.until_fault):
            _say(f"{path}: {report.summary()}")
            if report.header is not None:
                _say(f"Nothing was exported. The {report.count} entries before the fault: --until-fault")
            return Exit.PROBLEM
        if parsed.scars:
            sys.stdout.write(_scars(path, report).decode("ascii"))
        elif parsed.to == "-":
            for piece in _entries(path, report):
                sys.stdout.write(piece.decode("ascii"))
        else:
            _write(path, report, Path(parsed.to))
    except FileExistsError as error:
        _say(f"{error.filename} is there already; nothing is written over, and nothing was exported.")
        return Exit.PROBLEM
    except BrokenPipeError:  # whoever read went away: the program has one answer to that
        raise
    except OSError as error:
        _say(f"{error.filename or path}: {error.strerror or error}; nothing was exported.")
        return Exit.PROBLEM
    except LogError as error:
        _say(f"{path}: {error}")
        return Exit.PROBLEM
    _say_what_it_is(path, report, parsed)
    return CODES[report.state]


def _judged(path: Path) -> Report:
    with reading(path, Files()) as source:
        scanner = Scanner(source, shop.FIRST if path.name == SHOP_NAME else record.RUN)
        for _ in scanner:
            pass
        return scanner.report


def _entries(path: Path, report: Report) -> Iterator[bytes]:
    with reading(path, Files()) as source:
        yield from json_lines(source, report)


def _scars(path: Path, report: Report) -> bytes:
    with reading(path, Files()) as source:
        return json.dumps(scar_list(source, report, path.name), indent=2).encode("ascii") + b"\n"


def _write(path: Path, report: Report, to: Path) -> None:
    scars = to.with_name(f"{to.name}.scars.json")
    write_new(NewFile(scars, (_scars(path, report),)), NewFile(to, _entries(path, report)))


def _say_what_it_is(path: Path, report: Report, parsed: argparse.Namespace) -> None:
    """Say beside the export, never in it, what it is of."""
    whole = report.state == "complete"
    if not whole:
        _say(f"{path}: {report.summary()}")
    if report.state == "broken":
        _say(f"Exported are the {report.count} entries before the fault, and nothing behind it.")
    if parsed.to != "-":
        _say(f"{parsed.to}: {report.count} entries; {parsed.to}.scars.json: {len(report.scars)} scars")
    elif report.scars and not parsed.scars:
        _say(f"The log has {len(report.scars)} scars, which are no entries: --scars lists them.")


def _say(text: str) -> None:
    print(safe(text), file=sys.stderr)
