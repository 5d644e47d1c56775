"""What the commands of the counter share: how a working is printed and put into JSON, and how a refusal is."""

import json
import sys
from collections.abc import Iterable
from typing import Any

from runner import __version__
from runner.cli.exits import Exit
from runner.joint.sourced import FROM_MEMORY, Source, Working
from runner.safe_text import safe

VERSION = 1
"""Raised when a name in one of the documents changes its meaning; new names may come at any time."""


def working_lines(working: Working) -> list[str]:
    """Formula, inputs, result and sources, one thing a line, safe; FROM_MEMORY where any value rests on it."""
    wide = max((len(name) for name, _ in working.inputs), default=0)
    lines = [f"  {working.formula}"]
    lines += [f"  {name:<{wide}}  {value}" for name, value in working.inputs]
    lines.append(f"  {working.result}")
    lines += [f"Source: {source_text(source)}" for source in working.sources]
    if working.from_memory:
        lines.append(f"This answer rests on a value {FROM_MEMORY}.")
    return [safe(line) for line in lines]


def source_text(source: Source) -> str:
    """A source in one line, with its note."""
    return f"{source.text()}: {source.note}" if source.note else source.text()


def working_json(working: Working) -> dict[str, Any]:
    """The same as data; `from_memory` is FROM_MEMORY's words where any value rests on it, else null."""
    return {
        "title": working.title,
        "formula": working.formula,
        "inputs": [{"name": name, "value": value} for name, value in working.inputs],
        "result": working.result,
        "sources": sources_json(working.sources),
        "from_memory": FROM_MEMORY if working.from_memory else None,
    }


def sources_json(sources: Iterable[Source]) -> list[dict[str, str]]:
    """Sources as data."""
    return [{"name": s.name, "edition": s.edition, "seen": s.seen, "note": s.note} for s in sources]


def print_document(document: dict[str, Any]) -> None:
    """Print one JSON document in pure ASCII, so that no terminal or encoding can change it."""
    print(json.dumps({"version": VERSION, "program": __version__, **document}, indent=2))


def refused(command: str, error: object, code: Exit) -> Exit:
    """Say on the error output why a command gives no answer; the code is returned."""
    print(f"witnessmark {command}: {safe(str(error))}", file=sys.stderr)
    if code is Exit.USAGE:
        print(f"See: witnessmark {command} --help", file=sys.stderr)
    return code


def joined(words: list[str] | None) -> str | None:
    """Several words of the command line as the one text they are (`60` and `N·m`); None where none were given."""
    return " ".join(words) if words else None
