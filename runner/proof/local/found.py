"""What a rule finds at a step: once for the step as it is written, however many places it is done at."""

from collections.abc import Iterable

from runner.procedure.finding import Finding, Grade, Mark
from runner.procedure.linked import Node
from runner.proof.rules import RULES


class Found:
    """The findings of some rules, each with the place, the grade and the mend of its rule."""

    def __init__(self) -> None:
        self._kept: dict[tuple[Mark, str, str], Finding] = {}

    def add(self, node: Node, rule: str, message: str, mend: str = "", grade: Grade | None = None) -> None:
        """Keep one finding at a step; `mend` and `grade` where they are not those of the rule.


        A step inside a repeat is many nodes at one mark: the same words there are kept once, with the first node.
        """
        mark = node.mark
        key = (mark, rule, message)
        if key in self._kept:
            return
        self._kept[key] = Finding(
            mark.file,
            mark.line,
            mark.column,
            grade or RULES[rule].grade,
            rule,
            message,
            length=len(node.step) if node.joint is None else 1,
            mend=mend or RULES[rule].mend,
            node=node.id,
        )

    def in_order(self) -> list[Finding]:
        """Every finding, by file, line and column; where several share a place, in the order they were found."""
        return sorted(self._kept.values(), key=lambda one: (one.file, one.line, one.column))


def quoted(names: Iterable[str], joined: str = "or") -> str:
    """Names in quotation marks, for a sentence: `"a", "b" or "c"`."""
    words = [f'"{name}"' for name in names]
    return f" {joined} ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else words)
