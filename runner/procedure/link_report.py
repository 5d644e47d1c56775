"""What the linker finds, over all files of a procedure."""

from collections.abc import Iterable, Mapping

from runner.procedure.finding import Finding, Findings, Grade, Mark, nearest
from runner.procedure.source import Name

MOST_NODES = 20_000
"""Most linked steps of one procedure, repeats and sub-procedures unfolded."""
MOST_ITEMS = 20_000
"""Most items of one procedure, one for each place."""
MOST_TOUCHES = 200_000
"""Most acts, needs, references and declarations: a few names can stand for very many places."""


class TooLarge(Exception):  # noqa: N818 - it ends the linking, it is not reported as an error of ours
    """Linking stopped at a limit; the finding is already in the report."""


class Report:
    """Findings by file, each with the line it is about where the lines are known."""

    def __init__(self, lines: Mapping[str, tuple[str, ...]] | None = None) -> None:
        self._lines = lines or {}
        self._files: dict[str, Findings] = {}
        self._spent: dict[str, int] = {}

    def error(
        self,
        mark: Mark,
        rule: str,
        message: str,
        *,
        length: int = 1,
        expected: str = "",
        near: str | None = None,
    ) -> None:
        """Keep one error at `mark`; the same rule at the same place is kept once."""
        self._of(mark.file).add(mark, rule, message, length=length, expected=expected, near=near)

    def remark(
        self,
        mark: Mark,
        grade: Grade,
        rule: str,
        message: str,
        *,
        length: int = 1,
        mend: str = "",
        expected: str = "",
        near: str | None = None,
    ) -> None:
        """Keep something that is no error: the procedure links all the same."""
        self._of(mark.file).add(
            mark, rule, message, length=length, expected=expected, near=near, grade=grade, mend=mend
        )

    def _of(self, file: str) -> Findings:
        findings = self._files.get(file)
        if findings is None:
            findings = self._files[file] = Findings(file, self._lines.get(file, ()))
        return findings

    def at(self, name: Name, rule: str, message: str, *, expected: str = "", near: str | None = None) -> None:
        """Keep one error at a name, underlined whole."""
        self.error(name.mark, rule, message, length=len(name.text), expected=expected, near=near)

    def unknown(self, name: Name, rule: str, what: str, known: Iterable[str]) -> None:
        """Keep the error that `name` is no `what`, with the known ones and the nearest of them."""
        if self._of(name.mark.file).full():  # whoever has a thousand errors to read needs no nearest word
            return
        words = list(dict.fromkeys(known))
        shown = ", ".join(words[:12]) + (", …" if len(words) > 12 else "")
        expected = shown if words else f"none is declared: there is no {what} to name"
        self.at(name, rule, f'"{name.text}" is no {what}', expected=expected, near=nearest(name.text, words))

    def add_node(self, mark: Mark) -> None:
        """Count one linked step."""
        self._spend("linked steps", 1, MOST_NODES, mark)

    def add_items(self, number: int, mark: Mark) -> None:
        """Count items, one for each place."""
        self._spend("items", number, MOST_ITEMS, mark)

    def touch(self, number: int, mark: Mark) -> None:
        """Count acts, needs, references and declarations, which grow beyond what is written as nodes do."""
        self._spend("acts, needs and names", number, MOST_TOUCHES, mark)

    def _spend(self, what: str, number: int, most: int, mark: Mark) -> None:
        """Count what a procedure unfolds into; beyond `most` report it and raise TooLarge."""
        self._spent[what] = self._spent.get(what, 0) + number
        if self._spent[what] > most:
            message = f"this unfolds into more than {most:,} {what}; split the job"
            self.error(mark, "too-large", message)
            raise TooLarge

    def errors(self) -> bool:
        """Tell whether any error was kept."""
        return any(findings.errors() for findings in self._files.values())

    def findings(self) -> list[Finding]:
        """Give all findings, file by file in the order they were met, each file in its own order."""
        return [finding for findings in self._files.values() for finding in findings.in_order()]
