"""What `check --json` prints: one document, everything that is known of every procedure named.

All text is as the files have it. The document is pure ASCII (other letters as JSON escapes), so no terminal or
encoding can change it.
"""

import json
from collections.abc import Sequence
from typing import Any

from runner import __version__
from runner.cli.proving import NOT_COVERED, Checked
from runner.procedure.finding import Finding, Station
from runner.proof.rules import RULES

VERSION = 1
"""Raised when a name in the document changes its meaning; new names may come at any time."""

LONGEST_EXCERPT = 2_000
"""A longer source line is left out: a file of one line would come back once for each of a thousand findings."""


def json_text(all_checked: Sequence[Checked], *, strict: bool) -> str:
    """The document as text."""
    document = {
        "version": VERSION,
        "program": __version__,
        "strict": strict,
        "procedures": [_procedure(each) for each in all_checked],
        "not_covered": list(NOT_COVERED),
    }
    return json.dumps(document, indent=2)


def _procedure(of: Checked) -> dict[str, Any]:
    linked, verdict = of.procedure, of.verdict
    return {
        "file": str(of.path),
        "procedure": linked.procedure if linked else None,
        "revision": linked.revision if linked else None,
        "linked": linked is not None,
        "proved": of.proved,
        "steps": of.steps,
        "items": verdict.items if verdict else 0,
        "states": verdict.states if verdict else 0,
        "findings": [_finding(finding, of) for finding in of.findings],
    }


def _finding(finding: Finding, of: Checked) -> dict[str, Any]:
    rule = RULES.get(finding.rule)
    return {
        "file": of.reached(finding.file),
        "line": finding.line,
        "column": finding.column,
        "length": finding.length,
        "grade": finding.grade,
        "rule": finding.rule,
        "number": rule.number if rule else None,
        "message": finding.message,
        "excerpt": finding.excerpt if len(finding.excerpt) <= LONGEST_EXCERPT else "",
        "expected": finding.expected,
        "near": finding.near,
        "node": finding.node,
        "mend": finding.mend,
        "path": [_station(station, of) for station in finding.path],
    }


def _station(station: Station, of: Checked) -> dict[str, Any]:
    return {
        "file": of.reached(station.mark.file),
        "line": station.mark.line,
        "column": station.mark.column,
        "step": station.step,
        "place": station.place,
        "node": station.node,
        "does": station.does,
        "move": station.move,
    }
