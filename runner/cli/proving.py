"""One procedure read, linked and proved: what `check` prints and what `run` asks before it begins."""

import re
from collections.abc import Iterable, Iterator
from dataclasses import replace
from pathlib import Path

from runner.frozen import Frozen
from runner.procedure.finding import Finding, Mark
from runner.procedure.link import load_procedure
from runner.procedure.linked import Procedure
from runner.proof.prove import prove
from runner.proof.verdict import Verdict

_WORD = re.compile(r"\w[\w-]*")
"""What is underlined where the proof knows only where something begins: the name there."""

NOT_COVERED = (
    "how long work, waiting and curing really take: every time may pass in time or too late",
    "tools shared between steps that are put off",
    "measured values: every band of a reading is tried, no value is",
    "whether what is confirmed was really done",
    "deviations, corrections, reopened work and whatever else leaves the plan, until they are made",
)
"""What the proof does not cover, in the words of `check --verbose`."""


class Checked(Frozen):
    """What is known of one procedure file. `procedure` is None where it has errors of form, and so no verdict."""

    path: Path
    procedure: Procedure | None
    verdict: Verdict | None
    findings: tuple[Finding, ...]
    """In the order of the text, the main file's first; their files are named relative to the folder of `path`."""

    @property
    def proved(self) -> bool:
        """Whether every path was proved."""
        return self.verdict is not None and self.verdict.proved

    @property
    def steps(self) -> int:
        """How many steps a person may meet, each at each place; 0 where nothing could be linked."""
        return sum(node.joint is None for node in self.procedure.nodes) if self.procedure else 0

    def reached(self, file: str) -> str:
        """A file of a finding as it is reached from the current folder."""
        return str(self.path.parent / file)


def checked(path: Path) -> Checked:
    """Read, link and, where that has no error, prove the procedure in a file."""
    procedure, found = load_procedure(path)
    if procedure is None:
        return Checked(path, None, None, tuple(found))
    verdict = prove(procedure)
    findings = [*found, *_with_lines(verdict.findings, path.parent)]
    findings.sort(key=lambda each: (each.file != path.name, each.file, each.line, each.column))
    return Checked(path, procedure, verdict, tuple(findings))


def _with_lines(findings: Iterable[Finding], folder: Path) -> Iterator[Finding]:
    """The findings of the proof with the source line that each is about: the linked form keeps places only."""
    texts: dict[str, list[str]] = {}
    for finding in findings:
        if finding.file not in texts:
            texts[finding.file] = _lines_of(folder / finding.file)
        lines = texts[finding.file]
        if finding.excerpt or not 0 < finding.line <= len(lines):
            yield finding
            continue
        line = lines[finding.line - 1]
        word = _WORD.match(line, finding.column - 1)
        length = max(finding.length, len(word.group()) if word else 1)
        yield replace(finding, excerpt=line, length=length)


def _lines_of(path: Path) -> list[str]:
    """The lines of a file that was read a moment ago; none where it is gone since."""
    try:
        text = path.read_bytes().decode("utf-8-sig", "replace")
    except OSError:  # the finding stands without its line
        return []
    return text.replace("\r\n", "\n").split("\n")


def place_of(mark: Mark | Finding, of: Checked) -> str:
    """A place as `FILE:LINE:COLUMN`, reached from the current folder."""
    return f"{of.reached(mark.file)}:{mark.line}:{mark.column}"
