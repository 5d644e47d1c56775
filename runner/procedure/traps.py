"""Two traps of YAML that survive any loader: ` #` that cuts text short, and a decimal comma inside braces."""

import re

from runner.procedure.finding import Findings, Mark
from runner.procedure.tree import Blank, Node, Refused, Text

_CUT = re.compile(r" #(?=\S)")
_LONGEST_LINE = 2_000
"""Longer lines are not searched for a cut: each open quote in one is followed to its end, which takes the square."""
_QUOTED = re.compile(r'"(?:[^"\\]|\\.)*"|' + r"'(?:[^']|'')*'")


def comment_cut(line: int, column: int, findings: Findings) -> bool:
    """Find `text #3`: one blank between the text that ends before this place and the `#`, none after it."""
    if not _CUT.match(findings.lines[line - 1], column - 1):
        return False
    _add_cut(Mark(findings.file, line, column + 1), findings)
    return True


def cut_in_line(number: int, findings: Findings) -> bool:
    """Find the same in a line that YAML could not read (quoted parts are passed over)."""
    whole = findings.lines[number - 1]
    if len(whole) > _LONGEST_LINE:
        return False
    line = _QUOTED.sub(lambda match: "_" * len(match.group()), whole)
    match = re.search(r"(?<=\S) #(?=\S)", line)
    if match is None:
        return False
    _add_cut(Mark(findings.file, number, match.start() + 2), findings)
    return True


def _add_cut(mark: Mark, findings: Findings) -> None:
    rest = len(findings.lines[mark.line - 1]) - mark.column + 1
    message = "text after a blank and # is dropped as a comment"
    expected = "the whole text in quotes; or, for a comment, a blank after the #"
    findings.add(mark, "comment-cut", message, length=rest, expected=expected)


def without_decimal_commas(nodes: list[Node], is_table: bool, findings: Findings) -> list[Node]:
    """Give the nodes of a `[…]` or `{…}`; what a decimal comma tore apart is Refused and has its finding.

    In a mapping the nodes are keys and values in turn; the torn-off part is a key, and goes with its value.
    """
    kept: list[Node] = []
    step = 2 if is_table else 1
    last: Text | None = None
    for at in range(0, len(nodes), step):
        group = nodes[at : at + step]
        first = group[0]
        hangs = (
            is_table and isinstance(group[1], Blank) and _starts_with_digit(first) and _ends_with_digit(last)
        )
        if _torn(last, first, findings) or hangs:
            _add_comma(last, first, findings)
            kept[-1] = Refused(kept[-1].mark)
        else:
            kept += group
        last = next((node for node in reversed(group) if isinstance(node, Text)), None)
    return kept


def _starts_with_digit(node: Node) -> bool:
    return isinstance(node, Text) and node.plain and node.value[:1].isdigit()


def _ends_with_digit(node: Text | None) -> bool:
    return node is not None and node.plain and node.value[-1:].isdigit()


def _torn(before: Text | None, after: Node, findings: Findings) -> bool:
    """Tell whether `before` and `after` were one number, as `2` and `5 mm` in `2,5 mm`."""
    if before is None or not _ends_with_digit(before) or not _starts_with_digit(after):
        return False
    if before.end_line != after.mark.line:
        return False
    between = findings.lines[after.mark.line - 1][before.end_column - 1 : after.mark.column - 1]
    return between == ","


def _add_comma(before: Text | None, after: Node, findings: Findings) -> None:
    mark = before.mark if before is not None and before.mark.line == after.mark.line else after.mark
    length = after.mark.column + after.length - mark.column if isinstance(after, Text) else 1
    message = "a comma inside braces or brackets parts two values, so this number is torn apart"
    expected = "a point as decimal mark, or the value in quotes; between two values, a blank after the comma"
    findings.add(mark, "decimal-comma", message, length=length, expected=expected)
