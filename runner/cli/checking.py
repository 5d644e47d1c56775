"""`check`: read procedures, prove them over every path, and print every finding with its place."""

import argparse
import sys
from collections import Counter

from runner.cli.exits import Exit
from runner.cli.findings_text import finding_lines, not_covered_lines, summary, verdict_line
from runner.cli.naming import procedure_path
from runner.cli.proving import Checked, checked


def check(parsed: argparse.Namespace) -> int:
    """Print what is found in all procedures named; PROBLEM for an error, with `--strict` also for a warning."""
    if parsed.explain is not None:
        from runner.cli.explaining import explain  # noqa: PLC0415 - checking needs no pages

        return _usage("--explain takes no PROCEDURE") if parsed.procedures else explain(parsed.explain)
    if not parsed.procedures:
        return _usage("name a PROCEDURE, or a rule with --explain")
    found = [checked(procedure_path(name)) for name in parsed.procedures]
    counted = Counter(finding.grade for each in found for finding in each.findings)
    failed = bool(counted["error"] or (parsed.strict and counted["warning"]))
    if parsed.json:
        from runner.cli.findings_json import json_text  # noqa: PLC0415 - one form of output at a time

        print(json_text(found, strict=parsed.strict))
    elif parsed.sarif:
        from runner.cli.findings_sarif import sarif_text  # noqa: PLC0415 - as above

        print(sarif_text(found, failed=failed))
    else:
        _print_all(found, parsed)
        print(summary(len(found), Counter(counted), strict=parsed.strict))
    return Exit.PROBLEM if failed else Exit.OK


def _usage(text: str) -> Exit:
    print(f"witnessmark check: {text}\nSee: witnessmark check --help", file=sys.stderr)
    return Exit.USAGE


def _print_all(found: list[Checked], parsed: argparse.Namespace) -> None:
    for each in found:
        print_findings(each, whole_paths=parsed.whole_paths)
    for each in found:
        print(verdict_line(each))
    if parsed.verbose:
        print("\n".join(not_covered_lines()))


def print_findings(of: Checked, *, whole_paths: bool = False, to_errors: bool = False) -> None:
    """Print each finding of one procedure as `check` does."""
    for finding in of.findings:
        for line in finding_lines(finding, of, whole_paths=whole_paths):
            print(line, file=sys.stderr if to_errors else sys.stdout)
