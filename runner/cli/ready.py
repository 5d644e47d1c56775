"""`ready`: the sheet of what to lay out before a procedure is begun, for the terminal, for paper, or as data."""

import argparse
import shutil
import sys

from runner.cli.checking import print_findings
from runner.cli.counter import print_document
from runner.cli.exits import Exit
from runner.cli.folders import settings_of
from runner.cli.naming import procedure_path
from runner.cli.page_file import write_page
from runner.cli.proving import checked
from runner.cli.setting import today, toolbox_of
from runner.ready.facts import Sheet
from runner.ready.gathering import gather


def ready(parsed: argparse.Namespace) -> int:
    """Print the sheet; PROBLEM where the procedure does not link or is not proved, or the toolbox has an error."""
    settings, box = settings_of(parsed), toolbox_of(parsed)
    found = checked(procedure_path(parsed.procedure))
    if found.procedure is None:
        print_findings(found, to_errors=True)
        return Exit.PROBLEM
    sheet = gather(
        found.procedure,
        box,
        today(),
        proved=found.proved,
        errors=sum(finding.grade == "error" for finding in found.findings),
        torque_unit=settings.torque_unit,
    )
    for problem in box.problems:
        print(problem.text(), file=sys.stderr)
    code = Exit.OK if found.proved and not box.errors else Exit.PROBLEM
    if parsed.html is not None:
        return _html(sheet, parsed.html) or code
    if parsed.json:
        from runner.ready.document import document  # noqa: PLC0415 - one form of output at a time

        print_document(document(sheet))
        return code
    from runner.ready.terminal import terminal_lines  # noqa: PLC0415 - as above

    width = shutil.get_terminal_size((80, 24)).columns
    for line in terminal_lines(sheet, width, ascii_only=settings.ascii):
        print(line)
    return code


def _html(sheet: Sheet, target: str) -> Exit:
    """Write the page to a file, or to standard output for `-`."""
    from runner.ready.page import page  # noqa: PLC0415 - one form of output at a time

    use = "for paper, or to be printed to PDF by any browser"
    return write_page("ready", target, (".html", ".htm"), lambda: page(sheet), use)
