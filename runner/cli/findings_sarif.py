"""What `check --sarif` prints: SARIF 2.1.0 (OASIS, errata 01) for code hosts. Sections named are of that standard.

The document is pure ASCII, and every place is in characters (3.14, `columnKind`), as in our
own findings.
"""

import hashlib
import json
import re
from collections import Counter
from collections.abc import Sequence
from pathlib import Path
from typing import Any
from urllib.parse import quote

from runner import __version__
from runner.cli.findings_json import LONGEST_EXCERPT
from runner.cli.findings_text import station_words
from runner.cli.format_rules import SECTIONS, format_rule_grade, format_rule_text
from runner.cli.proving import NOT_COVERED, Checked
from runner.procedure.finding import Finding, Mark
from runner.proof.rules import RULES
from runner.proof.rules.pages import PAGES, page_text

SCHEMA = "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json"
BASE = "%SRCROOT%"
"""Stands for the folder that `check` was called in, which is not told: it may hold a name (3.14)."""
FINGERPRINT = "witnessmark/v1"
_LEVEL = {"error": "error", "warning": "warning", "advice": "note"}


def sarif_text(all_checked: Sequence[Checked], *, failed: bool) -> str:
    """The document as text; `failed` where the exit code says that something is wrong."""
    words = {finding.rule for each in all_checked for finding in each.findings} - set(RULES)
    rules = [*_rules_of_the_proof(), *(_rule_of_the_format(word) for word in sorted(words))]
    index = {rule["id"]: place for place, rule in enumerate(rules)}
    seen: Counter[str] = Counter()
    run = {
        "tool": {"driver": {"name": "witnessmark", "semanticVersion": __version__, "rules": rules}},
        "invocations": [{"executionSuccessful": True, "exitCode": int(failed)}],
        "columnKind": "unicodeCodePoints",
        "originalUriBaseIds": {BASE: {"description": {"text": "The folder that check was called in."}}},
        "results": [_result(finding, each, index, seen) for each in all_checked for finding in each.findings],
        "properties": {
            "procedures": [
                {"file": str(each.path), "proved": each.proved, "steps": each.steps} for each in all_checked
            ],
            "notCovered": list(NOT_COVERED),
        },
    }
    return json.dumps({"$schema": SCHEMA, "version": "2.1.0", "runs": [run]}, indent=2)


def _rules_of_the_proof() -> list[dict[str, Any]]:
    return [
        {
            "id": rule.name,
            "shortDescription": {"text": rule.says},
            "fullDescription": {"text": PAGES[rule.name].why},
            "help": {"text": page_text(rule)},
            "defaultConfiguration": {"level": _LEVEL[rule.grade]},
            "properties": {"number": rule.number, "tags": ["proof"]},
        }
        for rule in RULES.values()
    ]


def _rule_of_the_format(word: str) -> dict[str, Any]:
    text = format_rule_text(word) if word in SECTIONS else f"{word} is a rule of the format."
    return {
        "id": word,
        "shortDescription": {"text": f"A rule of the format: {word}."},
        "help": {"text": text},
        "defaultConfiguration": {"level": _LEVEL[format_rule_grade(word)]},
        "properties": {"tags": ["format"]},
    }


def _result(finding: Finding, of: Checked, index: dict[str, int], seen: Counter[str]) -> dict[str, Any]:
    says = [finding.message[:1].upper() + finding.message[1:]]
    says += [f"Expected: {finding.expected}"] if finding.expected else []
    says += [f"What mends it: {finding.mend}"] if finding.mend else []
    result: dict[str, Any] = {
        "ruleId": finding.rule,
        "ruleIndex": index[finding.rule],
        "level": _LEVEL[finding.grade],
        "message": {
            "text": " ".join(part if part.endswith("?") else f"{part.rstrip('.')}." for part in says)
        },
        "locations": [_location(finding, of, finding.length)],
        "partialFingerprints": {FINGERPRINT: _fingerprint(finding, of, seen)},
    }
    if finding.path:
        stops = [
            {
                "location": _location(station.mark, of, len(station.step), station_words(station)),
                "executionOrder": order,
            }
            for order, station in enumerate(finding.path, start=1)
        ]
        result["codeFlows"] = [{"threadFlows": [{"locations": stops}]}]
    return result


def _location(mark: Mark | Finding, of: Checked, length: int, words: str = "") -> dict[str, Any]:
    """A place (3.28, 3.29); `endColumn` is the first column after it (3.30)."""
    region = {"startLine": mark.line, "startColumn": mark.column, "endColumn": mark.column + max(length, 1)}
    place: dict[str, Any] = {
        "physicalLocation": {"artifactLocation": _artifact(Path(of.reached(mark.file))), "region": region}
    }
    return {**place, "message": {"text": words}} if words else place


def _artifact(path: Path) -> dict[str, str]:
    """A file below the current folder relative to it, any other by its whole address (3.4)."""
    whole = path.absolute()
    here = Path.cwd()
    if whole.is_relative_to(here) and ".." not in whole.parts:
        return {"uri": quote(whole.relative_to(here).as_posix()), "uriBaseId": BASE}
    return {"uri": whole.resolve().as_uri()}


def _fingerprint(finding: Finding, of: Checked, seen: Counter[str]) -> str:
    """The same for the same finding after its lines moved (3.27): it is made of words, never of places.

    Alike findings in one procedure are told apart by their order.
    """
    name = of.procedure.procedure if of.procedure else of.path.name
    message = re.sub(r"\bline \d+", "line", finding.message)
    line = finding.excerpt[:LONGEST_EXCERPT].strip()
    said = "\0".join((name, finding.file, finding.rule, finding.node, message, line))
    key = hashlib.sha256(said.encode("utf-8", "surrogatepass")).hexdigest()[:32]
    seen[key] += 1
    return f"{key}:{seen[key]}"
