"""`export`: a log as plain JSON Lines, and the list of its scars. Reads only; never writes over a file."""

import argparse
import json
import sys
from collections.abc import Iterator
from dataclasses import dataclass
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
    left = "nothing was exported."
    try:
        judged = _judged(path)
        report = judged.report
        if report.header is None or (report.state == "broken" and not parsed.until_fault):
            nothing = " Nothing was exported." if report.state == "torn" else ""
            _say(f"{path}: {report.summary()}{nothing}")
            if report.header is not None:
                _say(f"Nothing was exported. The {report.count} entries before the fault: --until-fault")
            return judged.code
        if parsed.scars:
            sys.stdout.write(_scars(path, judged).decode("ascii"))
        elif parsed.to == "-":
            left = "the output is incomplete, and holds its beginning at most."
            for piece in _entries(path, report):
                sys.stdout.write(piece.decode("ascii"))
        else:
            _write(path, judged, Path(parsed.to))
        sys.stdout.flush()  # before anything is said of it: what is lost is told by the program's one answer to that
    except FileExistsError as error:
        _say(f"{error.filename} is there already; nothing is written over, and nothing was exported.")
        return Exit.PROBLEM
    except BrokenPipeError:  # whoever read went away: the program has one answer to that
        raise
    except OSError as error:
        _say(f"{error.filename or path}: {error.strerror or error}; {left}")
        return Exit.PROBLEM
    except LogError as error:
        _say(f"{path}: {str(error).removesuffix('.')}; {left}")
        return Exit.PROBLEM
    _say_what_it_is(path, judged, parsed)
    return judged.code


@dataclass(frozen=True, slots=True)
class _Judged:
    """The verdict on a file, and whether that is the shop's list of runs, which is in order without a seal."""

    report: Report
    is_list: bool

    @property
    def code(self) -> Exit:
        """What `verify` gives for it; of a list it judges the logs as well, which are not exported here."""
        return Exit.OK if self.is_list and self.report.state == "open" else CODES[self.report.state]


def _judged(path: Path) -> _Judged:
    """Judge a file as what it is; a list of runs may have another name, as a copy has."""
    if path.name == SHOP_NAME:
        return _Judged(_scanned(path, shop.FIRST), is_list=True)
    report = _scanned(path, record.RUN)
    if report.header is None:
        as_list = _scanned(path, shop.FIRST)
        if as_list.header is not None:
            return _Judged(as_list, is_list=True)
    return _Judged(report, is_list=False)


def _scanned(path: Path, first: str) -> Report:
    with reading(path, Files()) as source:
        scanner = Scanner(source, first)
        for _ in scanner:
            pass
        return scanner.report


def _entries(path: Path, report: Report) -> Iterator[bytes]:
    with reading(path, Files()) as source:
        yield from json_lines(source, report)


def _scars(path: Path, judged: _Judged) -> bytes:
    with reading(path, Files()) as source:
        listed = scar_list(source, judged.report, path.name, is_list=judged.is_list)
        return json.dumps(listed, indent=2).encode("ascii") + b"\n"


def _write(path: Path, judged: _Judged, to: Path) -> None:
    scars = to.with_name(f"{to.name}.scars.json")
    write_new(NewFile(scars, (_scars(path, judged),)), NewFile(to, _entries(path, judged.report)))


def _say_what_it_is(path: Path, judged: _Judged, parsed: argparse.Namespace) -> None:
    """Say beside the export, never in it, what it is of."""
    report = judged.report
    if judged.code != Exit.OK:
        _say(f"{path}: {report.summary()}")
    if report.state == "broken":
        _say(f"Exported are the {report.count} entries before the fault, and nothing behind it.")
    if parsed.to != "-":
        _say(f"{parsed.to}: {report.count} entries; {parsed.to}.scars.json: {len(report.scars)} scars")
    elif report.scars and not parsed.scars:
        _say(f"The log has {len(report.scars)} scars, which are no entries: --scars lists them.")


def _say(text: str) -> None:
    print(safe(text), file=sys.stderr)
