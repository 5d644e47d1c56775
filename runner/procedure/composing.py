"""YAML events made into a tree, without recursion; what procedures do not use is refused by position.

The events of PyYAML's safe loader (the C one where present) are read one by one, so that nesting and size are
limited before anything grows. No YAML type is ever applied: every scalar stays text.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Protocol

import yaml

from runner.procedure.characters import FORBIDDEN, character_name
from runner.procedure.finding import Findings, Mark
from runner.procedure.syntax import DEEPEST, TOO_DEEP, explain
from runner.procedure.traps import comment_cut, without_decimal_commas
from runner.procedure.tree import Blank, Node, Refused, Row, Table, Text

MOST_NODES = 250_000
"""Most values (texts, lists, mappings) in one file."""

LOADER = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
"""The loader whose events are read; both give the same tree."""

_INDENTED_BY_TAB = re.compile(r"^ *\t[ \t]*(?=[^\s])")


class _Place(Protocol):
    """A mark of either loader, counted from 0."""

    @property
    def line(self) -> int: ...

    @property
    def column(self) -> int: ...


@dataclass
class _Open:
    """A list or mapping whose end has not come yet."""

    mark: Mark
    is_table: bool
    flow: bool
    refused: bool
    nodes: list[Node] = field(default_factory=list)
    """Items, or keys and values in turn."""


class _ReadingEndsError(Exception):
    """Reading must end here; the finding is kept already."""


def compose(text: str, findings: Findings) -> Node | None:
    """Give the tree of the one document in `text`, or None where reading had to end; the reasons are kept."""
    if _tabs(findings):
        return None
    composer = _Composer(findings)
    last: _Place | None = None
    try:
        for event in yaml.parse(text, Loader=LOADER):
            composer.take(event)
            last = event.start_mark
    except _ReadingEndsError:
        return None
    except yaml.MarkedYAMLError as error:
        explain(error, findings)
        return None
    except (yaml.YAMLError, ValueError, OverflowError):
        # What is left of PyYAML's errors has no place of its own; the Python loader also lets chr() raise.
        mark = composer.mark(last) if last is not None else Mark(findings.file, 1, 1)
        findings.add(mark, "syntax", "the text after this place cannot be read as YAML")
        return None
    if composer.root is None or isinstance(composer.root, Blank):
        findings.add(
            Mark(findings.file, 1, 1), "file-empty", f"this file is empty: there is no {findings.holds} in it"
        )
        return None
    return composer.root


def _tabs(findings: Findings) -> bool:
    found = [
        (number, match)
        for number, line in enumerate(findings.lines, start=1)
        if (match := _INDENTED_BY_TAB.match(line))
    ]
    if not found:
        return False
    number, match = found[0]
    column = match.group().index("\t") + 1
    more = f" (and {len(found) - 1} more lines)" if len(found) > 1 else ""
    message = f"a tab in the indentation{more}; indent with blanks only"
    findings.add(Mark(findings.file, number, column), "tab", message, expected="blanks")
    return True


class _Composer:
    """Builds the tree from events, keeping a stack of what is open."""

    def __init__(self, findings: Findings) -> None:
        self.findings = findings
        self.root: Node | None = None
        self._open: list[_Open] = []
        self._nodes = 0
        self._documents = 0
        self._lines = len(findings.lines)

    def mark(self, place: _Place | None) -> Mark:
        """Give PyYAML's place (counted from 0) as ours."""
        return Mark(self.findings.file, *self._counted(place))

    def _counted(self, place: _Place | None) -> tuple[int, int]:
        """Line and column of PyYAML's place, counted from 1 and inside the file."""
        if place is None:
            raise ValueError("PyYAML gives every event of a file its place")
        line = place.line
        if line >= self._lines:
            lines = self.findings.lines
            return len(lines), len(lines[-1]) + 1
        return line + 1, place.column + 1

    def take(self, event: yaml.Event) -> None:
        """Take the next event; raise _ReadingEndsError where reading must end."""
        if self.findings.full():
            raise _ReadingEndsError
        match event:
            case yaml.ScalarEvent():
                self._add(self._scalar(event))
            case yaml.AliasEvent():
                self._refuse(
                    event,
                    "alias",
                    f"aliases (text that begins with *) are not used in a {self.findings.holds}",
                )
                self._add(Refused(self.mark(event.start_mark)))
            case yaml.MappingStartEvent() | yaml.SequenceStartEvent():
                self._start(event)
            case yaml.MappingEndEvent() | yaml.SequenceEndEvent():
                self._end()
            case yaml.DocumentStartEvent():
                self._document(event)

    def _document(self, event: yaml.DocumentStartEvent) -> None:
        mark = self.mark(event.start_mark)
        self._documents += 1
        if self._documents > 1:
            message = f"a second document begins here; one file holds one {self.findings.holds}"
            self.findings.add(mark, "two-procedures", message, length=3)
            raise _ReadingEndsError
        if event.explicit and self.findings.lines[mark.line - 1].startswith("%"):
            self.findings.add(mark, "directive", "YAML directives (lines that begin with %) are not used")

    def _refuse(self, event: yaml.NodeEvent, rule: str, message: str) -> None:
        self.findings.add(
            self.mark(event.start_mark), rule, message, expected="the text itself, or text in quotes"
        )

    def _marked(self, event: yaml.ScalarEvent | yaml.CollectionStartEvent) -> bool:
        """Refuse an anchor or a tag; tell whether there was one."""
        if event.anchor is not None:
            self._refuse(
                event, "anchor", f"anchors (text that begins with &) are not used in a {self.findings.holds}"
            )
        if event.tag is not None:
            self._refuse(
                event, "tag", f"tags (text that begins with !) are not used in a {self.findings.holds}"
            )
        return event.anchor is not None or event.tag is not None

    def _scalar(self, event: yaml.ScalarEvent) -> Node:
        mark = self.mark(event.start_mark)
        value, plain = event.value, not event.style
        if self._marked(event):
            return Refused(mark)
        line, column = self._counted(event.end_mark)
        if plain and comment_cut(line, column, self.findings):
            return Refused(mark)
        if plain and not value:
            return Blank(mark)
        node = Text(value, mark, line, column, plain)
        # Controls are nowhere in the file (see `opening`): only the escapes of double quotes can bring one in.
        if (event.style == '"' or "\t" in value) and self._hidden_character(node):
            return Refused(mark)
        return node

    def _hidden_character(self, node: Text) -> bool:
        """Refuse control characters that came in through escapes, and tabs inside text."""
        match = FORBIDDEN.search(node.value)
        character = match.group() if match else ("\t" if "\t" in node.value else None)
        if character is None:
            return False
        named = "a tab" if character == "\t" else character_name(character)
        message = f"{named} is not allowed inside text"
        self.findings.add(node.mark, "control-character", message, length=node.length, expected="plain text")
        return True

    def _start(self, event: yaml.CollectionStartEvent) -> None:
        mark = self.mark(event.start_mark)
        if len(self._open) == DEEPEST:
            self.findings.add(mark, "nesting", TOO_DEEP)
            raise _ReadingEndsError
        is_table = isinstance(event, yaml.MappingStartEvent)
        self._open.append(_Open(mark, is_table, bool(event.flow_style), self._marked(event)))

    def _end(self) -> None:
        done = self._open.pop()
        if done.refused:
            self._add(Refused(done.mark))
            return
        nodes = without_decimal_commas(done.nodes, done.is_table, self.findings) if done.flow else done.nodes
        if done.is_table:
            self._add(Table(done.mark, tuple(self._entries(iter(nodes)))))
        else:
            self._add(Row(done.mark, tuple(nodes)))

    def _entries(self, nodes: Iterator[Node]) -> Iterator[tuple[Text, Node]]:
        first: dict[str, Mark] = {}
        for key, value in zip(nodes, nodes, strict=True):
            if not isinstance(key, Text) or not key.folded:
                self._bad_key(key)
            elif key.value == "<<" and key.plain:
                self.findings.add(
                    key.mark,
                    "merge-key",
                    f"merge keys (<<) are not used in a {self.findings.holds}",
                    length=2,
                )
            elif key.folded in first:
                again = first[key.folded]
                message = f'"{key.folded}" stands here twice; it was first written on line {again.line}'
                message += f", column {again.column}"
                self.findings.add(
                    key.mark, "duplicate-key", message, length=key.length, expected="each key once"
                )
            elif isinstance(value, Blank) and key.plain and ":" in key.value:
                at = Mark(key.mark.file, key.mark.line, key.mark.column + key.value.index(":"))
                message = "no blank after this colon, so there is no key and value"
                self.findings.add(at, "colon", message, expected="key: value")
            else:
                first[key.folded] = key.mark
                yield key, value

    def _bad_key(self, key: Node) -> None:
        if isinstance(key, Refused):
            return
        what = {Blank: "nothing", Text: "an empty text", Table: "a mapping", Row: "a list"}[type(key)]
        self.findings.add(
            key.mark, "key", f"{what} stands where a key must be", expected="a word before the colon"
        )

    def _add(self, node: Node) -> None:
        self._nodes += 1
        if self._nodes > MOST_NODES:
            self.findings.add(node.mark, "node-count", f"this file has more than {MOST_NODES:,} values")
            raise _ReadingEndsError
        if self._open:
            self._open[-1].nodes.append(node)
        else:
            self.root = node
