"""A procedure or toolbox file read as YAML into a tree of texts with their places."""

from dataclasses import dataclass
from pathlib import Path

from runner.procedure.composing import compose
from runner.procedure.finding import Finding, Findings
from runner.procedure.opening import read_text
from runner.procedure.tree import Node


@dataclass(frozen=True)
class Page:
    """A whole file: the name it is shown by, its source lines, and the tree."""

    name: str
    lines: tuple[str, ...]
    root: Node


def read_page(
    source: Path | bytes, name: str | None = None, holds: str = "procedure"
) -> tuple[Page | None, list[Finding]]:
    """Read a YAML file (or the bytes of one) into a Page; None where it cannot be read at all.

    Everything wrong is returned as findings and nothing is raised. `name` is what messages call the file
    (by default its path), `holds` what it is meant to be.
    """
    shown = name if name is not None else (holds if isinstance(source, bytes) else str(source))
    findings = Findings(shown, holds=holds)
    text = read_text(source, shown, findings)
    if text is None:
        return None, findings.in_order()
    root = compose(text, findings)
    if root is None:
        return None, findings.in_order()
    return Page(shown, findings.lines, root), findings.in_order()
