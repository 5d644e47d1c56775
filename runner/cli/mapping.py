"""`map`: the state graph of a procedure for people, in the terminal, as a picture or as Mermaid text."""

import argparse
import shutil
import sys
from dataclasses import replace

from runner.cli.checking import print_findings
from runner.cli.exits import Exit
from runner.cli.folders import settings_of
from runner.cli.naming import procedure_path
from runner.cli.page_file import write_page
from runner.cli.proving import Checked, checked
from runner.map.lines import Map, map_of
from runner.procedure.finding import Finding


def map(parsed: argparse.Namespace) -> int:  # noqa: A001 - a command's function has the name of the command
    """Draw one procedure; PROBLEM where it does not link, or the picture cannot be written."""
    found = checked(procedure_path(parsed.procedure))
    if found.procedure is None:
        print_findings(found, to_errors=True)
        return Exit.PROBLEM
    shown = [finding for finding in found.findings if finding.path]
    if parsed.finding is not None and not 1 <= parsed.finding <= len(shown):
        print(f"witnessmark map: {_how_many(len(shown))}", file=sys.stderr)
        return Exit.USAGE
    if parsed.finding is not None:
        chosen: Finding | None = shown[parsed.finding - 1]
    else:
        chosen = next((finding for finding in shown if finding.grade == "error"), None)
    drawn = map_of(found.procedure, _reached(chosen, found), _which(chosen, shown))
    if parsed.svg is not None:
        return _svg(drawn, parsed.svg)
    if parsed.mermaid:
        from runner.map.mermaid import mermaid  # noqa: PLC0415 - one form of output at a time

        print(mermaid(drawn), end="")
        return Exit.OK
    from runner.map.terminal import terminal_lines  # noqa: PLC0415 - as above

    width = shutil.get_terminal_size((80, 24)).columns
    for line in terminal_lines(drawn, width, ascii_only=settings_of(parsed).ascii):
        print(line)
    return Exit.OK


def _how_many(shown: int) -> str:
    if not shown:
        return "no finding of this procedure has a path to be marked"
    return f"--finding takes a number from 1 to {shown}: so many findings have a path"


def _reached(finding: Finding | None, found: Checked) -> Finding | None:
    return None if finding is None else replace(finding, file=found.reached(finding.file))


def _which(finding: Finding | None, shown: list[Finding]) -> str:
    """Which finding is marked, in words."""
    if finding is None:
        return ""
    number = shown.index(finding) + 1
    return f"Marked: finding {number} of {len(shown)}, {finding.grade} {finding.rule}: {finding.message}"


def _svg(drawn: Map, target: str) -> int:
    """Write the picture to a file, or to standard output for `-`."""
    from runner.map.drawing import svg  # noqa: PLC0415 - one form of output at a time

    return write_page(
        "map", target, (".svg",), lambda: svg(drawn), "landscape A4, to be printed at its own size"
    )
