"""Findings: what is wrong in a procedure file, and where; collected, never only the first.

A finding is a value with a place, not an exception, so that one reading of a file reports everything.
"""

import difflib
import itertools
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Literal

from runner.procedure.excerpt import underlined
from runner.safe_text import safe

Grade = Literal["error", "warning", "advice"]

MOST_FINDINGS = 1000
"""After so many findings in one file the rest are only announced: nobody reads further at one sitting."""

_SHORTEST_BEGINNING = 4
"""So many letters of a word are enough to tell which known word they begin."""

_MOST_COMPARED = 500
"""Of more known words only those with the same first letter are compared, and no more than these."""

_LONGEST_GUESS = 60
"""Words longer than this are not compared with known words (the comparison grows with the square)."""


@dataclass(frozen=True, slots=True)
class Mark:
    """A place in a file: line and column count from 1, the column in characters as an editor shows it."""

    file: str
    line: int
    column: int


@dataclass(frozen=True, slots=True)
class Station:
    """One stop of the path that shows a finding, in the order of the work.

    `mark`, `step`, `place` and `node` say which step; `does` is what happens there, in words. `move` is the same
    for a program: `answer LABEL`, `late`, `refused`, `take up NODE`, `pass by NODE`, `listed`, `start NAME=VALUE`,
    `go on`, or nothing.
    """

    mark: Mark
    step: str
    place: str
    node: str
    does: str
    move: str = ""


@dataclass(frozen=True)
class Finding:
    """One thing found in a file.

    `rule` is a short lower-case word with dashes that names the kind of finding; `excerpt` is the source
    line, of which `length` characters from `column` on are meant; `expected` says what would be right, and
    `near` is the nearest known word. `path` is the shortest way through the procedure that shows it, where the
    proof found it; `mend` is what would mend it; `node` is the linked step and `subject` the item, condition or
    part that it is about.
    """

    file: str
    line: int
    column: int
    grade: Grade
    rule: str
    message: str
    excerpt: str = ""
    expected: str = ""
    near: str | None = None
    length: int = 1
    path: tuple[Station, ...] = ()
    mend: str = ""
    node: str = ""
    subject: str = ""

    def headline(self) -> str:
        """Give the first line, `FILE:LINE:COL: grade: message`, with nothing in it that a terminal obeys."""
        return f"{safe(self.file)}:{self.line}:{self.column}: {self.grade}: {safe(self.message)}"

    def text(self) -> str:
        """Give the finding as plain text: headline, source line with carets, expected, nearest word."""
        lines = [self.headline()]
        if self.excerpt:
            lines += [f"    {part}" for part in underlined(self.excerpt, self.column, self.length)]
        if self.expected:
            lines.append(f"    expected: {safe(self.expected)}")
        if self.near is not None:
            lines.append(f"    nearest word: {safe(self.near)}")
        return "\n".join(lines)


def nearest(word: str, known: Iterable[str]) -> str | None:
    """Give the known word most like `word`, or None when none is alike enough to be meant."""
    if len(word) > _LONGEST_GUESS:
        return None
    folded = word.casefold()
    by_folded = {candidate.casefold(): candidate for candidate in known}
    if len(by_folded) > _MOST_COMPARED:
        alike_so_far = (each for each in by_folded.items() if each[0][:1] == folded[:1])
        by_folded = dict(itertools.islice(alike_so_far, _MOST_COMPARED))
    alike = difflib.get_close_matches(folded, by_folded, n=1, cutoff=0.6)
    if not alike and len(folded) >= _SHORTEST_BEGINNING:
        alike = [candidate for candidate in by_folded if candidate.startswith(folded)][:1]
    return by_folded[alike[0]] if alike else None


@dataclass
class Findings:
    """The findings of one file while it is read; the same thing at the same place is kept once.

    `holds` is what the file is, for messages about the file as a whole: a procedure, a toolbox.
    """

    file: str
    lines: tuple[str, ...] = ()
    holds: str = "procedure"
    _kept: dict[tuple[int, int, str], Finding] = field(default_factory=dict)

    def add(
        self,
        mark: Mark,
        rule: str,
        message: str,
        *,
        length: int = 1,
        expected: str = "",
        near: str | None = None,
        grade: Grade = "error",
        mend: str = "",
    ) -> None:
        """Keep one finding at `mark`; after MOST_FINDINGS only say that there are more."""
        place = (mark.line, mark.column, rule)
        if place in self._kept or len(self._kept) > MOST_FINDINGS:
            return
        if len(self._kept) == MOST_FINDINGS:
            rule, message = "more-findings", "more findings than can be shown follow"
            expected, near, mend = "", None, ""
            place, grade = (mark.line, mark.column, rule), "error"
        excerpt = self.lines[mark.line - 1] if mark.line <= len(self.lines) else ""
        self._kept[place] = Finding(
            self.file,
            mark.line,
            mark.column,
            grade,
            rule,
            message,
            excerpt,
            expected,
            near,
            length,
            mend=mend,
        )

    def take_over(self, found: Iterable[Finding]) -> None:
        """Keep findings that were made before."""
        for finding in found:
            self._kept.setdefault((finding.line, finding.column, finding.rule), finding)

    def count(self) -> int:
        """Give how many are kept."""
        return len(self._kept)

    def full(self) -> bool:
        """Tell whether nothing more is kept: what is found from here on is found in vain."""
        return len(self._kept) > MOST_FINDINGS

    def errors(self) -> bool:
        """Tell whether anything kept is an error."""
        return any(finding.grade == "error" for finding in self._kept.values())

    def in_order(self) -> list[Finding]:
        """Give the findings in the order of the file."""
        return sorted(self._kept.values(), key=lambda finding: (finding.line, finding.column))
