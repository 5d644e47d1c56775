"""`check`: read procedures and print every finding with its place."""

import argparse
import sys
from collections import Counter
from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path

from runner.cli.exits import Exit
from runner.cli.naming import procedure_path
from runner.procedure.finding import Finding
from runner.procedure.link import load_procedure


def check(parsed: argparse.Namespace) -> int:
    """Print the findings of all procedures named and a summary line; PROBLEM where one has an error."""
    counted: Counter[str] = Counter()
    for name in parsed.procedures:
        path = procedure_path(name)
        _, findings = load_procedure(path)
        print_findings(path, findings)
        counted.update(finding.grade for finding in findings)
    print(summary(len(parsed.procedures), counted))
    return Exit.PROBLEM if counted["error"] else Exit.OK


def print_findings(path: Path, findings: Iterable[Finding], *, to_errors: bool = False) -> None:
    """Print each finding with its excerpt; its file as it is reached from the current folder."""
    for finding in findings:
        here = replace(finding, file=str(path.parent / finding.file))
        print(here.text(), file=sys.stderr if to_errors else sys.stdout)


def summary(files: int, counted: Counter[str]) -> str:
    """Return the last line of `check`."""
    parts = [_many(files, "procedure"), _many(counted["error"], "error")]
    parts += [_many(counted[grade], grade) for grade in ("warning", "advice") if counted[grade]]
    return ", ".join(parts)


def _many(number: int, word: str) -> str:
    plural = word if number == 1 or word == "advice" else f"{word}s"
    return f"{number or 'no'} {plural}"
