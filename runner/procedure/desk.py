"""The desk at which a page is read: every value asked for in one way, every error kept with its place.

A method that meets something wrong keeps a finding and gives a harmless stand-in ("", 0, an empty list), so
that reading goes on and finds the rest. What was read is handed over only where no error was found, so a
stand-in never leaves the reader. A Refused node has had its finding: it gives the stand-in and no message.
"""

import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import TypeVar

from runner.procedure.finding import Finding, Findings, Mark, nearest
from runner.procedure.page import Page
from runner.procedure.source import Name
from runner.procedure.tree import Blank, Node, Refused, Row, Table, Text

RESERVED = frozenset({"any order", "authority", "briefing", "rehearsed"})
"""Keys that format 1 keeps for later: refused now, so that giving them a meaning later breaks nothing."""

_MOST_WORDS_SHOWN = 9
_IDENTIFIER = re.compile(r"[a-z0-9][a-z0-9-]*")
_WHOLE = re.compile(r"[0-9]{1,9}")

T = TypeVar("T")
D = TypeVar("D")
How = Callable[[Node, str], T]
"""Reads a node; the second argument names it in messages."""


class Desk:
    """Reads values from the nodes of one page and keeps the findings of the file."""

    def __init__(self, page: Page, found: Iterable[Finding] = ()) -> None:
        self.page = page
        self._findings = Findings(page.name, page.lines)
        self._findings.take_over(found)

    def findings(self) -> list[Finding]:
        """Give what was found so far, in the order of the file."""
        return self._findings.in_order()

    def count(self) -> int:
        """Give how many findings there are so far, to tell whether reading something added any."""
        return self._findings.count()

    def errors(self) -> bool:
        """Tell whether any error was found."""
        return self._findings.errors()

    def error(
        self, at: Node | Name | Mark, rule: str, message: str, *, expected: str = "", near: str | None = None
    ) -> None:
        """Keep an error at a node, a name or a place."""
        mark = at if isinstance(at, Mark) else at.mark
        length = at.length if isinstance(at, Text) else len(at.text) if isinstance(at, Name) else 1
        self._findings.add(mark, rule, message, length=length, expected=expected, near=near)

    def _unlike(self, node: Node, what: str, wanted: str) -> None:
        """Say that a node is not what it must be."""
        match node:
            case Refused():
                return
            case Blank():
                self.error(node, "blank", f"{what} has no value", expected=wanted)
            case Text(value=value, plain=True) if value.startswith("-") and not wanted.startswith("text"):
                message = f"{what} must be {wanted}, not text; a list entry needs a blank after its dash"
                self.error(node, "shape", message, expected="- entry")
            case _:
                found = {Text: "text", Table: "keys and values", Row: "a list"}[type(node)]
                self.error(node, "shape", f"{what} must be {wanted}, not {found}")

    def text(self, node: Node, what: str) -> str:
        """Give text on one line, blanks folded; never empty but as a stand-in."""
        if not isinstance(node, Text):
            self._unlike(node, what, "text")
            return ""
        if not node.folded:
            self.error(node, "blank", f"{what} is empty", expected="text")
        return node.folded

    def drawing(self, node: Node, what: str) -> str:
        """Give text whose lines and blanks mean something, as written in a `|` block."""
        self.text(node, what)
        return node.value.rstrip() if isinstance(node, Text) else ""

    def name(self, node: Node, what: str) -> Name:
        """Give text that names something, with its place."""
        return Name(mark=node.mark, text=self.text(node, what))

    def identifier(self, node: Node, what: str) -> Name:
        """Give a name of lower-case letters, digits and hyphens (steps, procedures, readings)."""
        name = self.name(node, what)
        if name.text and not _IDENTIFIER.fullmatch(name.text):
            suggestion = re.sub(r"[^a-z0-9]+", "-", name.text.lower()).strip("-")
            expected = "lower-case letters, digits and hyphens" + (
                f", as in {suggestion}" if suggestion else ""
            )
            self.error(node, "identifier", f'"{name.text}" cannot be {what}', expected=expected)
        return name

    def choice(self, node: Node, what: str, allowed: Sequence[str]) -> str:
        """Give one of the allowed words; the first of them is the stand-in."""
        word = self.text(node, what)
        if word in allowed:
            return word
        if word:
            self.unknown(node, f'{what} cannot be "{word}"', allowed)
        return allowed[0]

    def unknown(self, node: Node | Name, message: str, known: Iterable[str], rule: str = "word") -> None:
        """Say that a word is not among the known ones, and which is nearest."""
        if self._findings.full():  # comparing words is the dearest thing here, and nobody would read it
            return
        words = list(known)
        word = node.folded if isinstance(node, Text) else node.text if isinstance(node, Name) else ""
        expected = ", ".join(words) if len(words) <= _MOST_WORDS_SHOWN else ""
        self.error(node, rule, message, expected=expected, near=nearest(word, words))

    def whole(self, node: Node, what: str, least: int, most: int) -> int:
        """Give a whole number from `least` to `most`; `least` is the stand-in."""
        text = self.text(node, what)
        if not text:
            return least
        if _WHOLE.fullmatch(text) and least <= int(text) <= most:
            return int(text)
        expected = f"a whole number from {least} to {most}"
        self.error(node, "number", f'{what} cannot be "{text}"', expected=expected)
        return least

    def true(self, node: Node, what: str) -> bool:
        """Give whether the one word `true` is written; a mark that is not set is left out, never false."""
        return self.choice(node, what, ("true",)) == "true"

    def row(self, node: Node, what: str, least: int = 1) -> tuple[Node, ...]:
        """Give the entries of a list; a single text or mapping stands for a list of one."""
        if isinstance(node, Row):
            if len(node.items) < least:
                self.error(node, "empty-list", f"{what} is an empty list", expected="at least one entry")
            return node.items
        if isinstance(node, Blank):
            self._unlike(node, what, "a list")
            return ()
        return () if isinstance(node, Refused) else (node,)

    def texts(self, node: Node, what: str) -> tuple[str, ...]:
        """Give a list of texts, each on one line, at least one."""
        return tuple(self.text(item, f"an entry of {what}") for item in self.row(node, what))

    def names(self, node: Node, what: str, least: int = 1) -> tuple[Name, ...]:
        """Give a list of names, none of them twice."""
        names: dict[str, Name] = {}
        for item in self.row(node, what, least):
            name = self.name(item, f"an entry of {what}")
            if name.text in names:
                self.error(item, "twice", f'"{name.text}" stands twice in {what}', expected="each once")
            elif name.text:
                names[name.text] = name
        return tuple(names.values())

    def none_or(self, node: Node, what: str, how: How[tuple[T, ...]]) -> tuple[T, ...]:
        """Give a list, empty where the word `none` is written; an empty list is refused: "none" is said."""
        if isinstance(node, Text) and node.folded == "none":
            return ()
        if isinstance(node, Row) and not node.items:
            self.error(node, "empty-list", f"{what} is an empty list", expected="the word none, or a list")
            return ()
        return how(node, what)

    def table(self, node: Node, what: str, least: int = 1) -> Table:
        """Give a mapping; an empty one is the stand-in."""
        if isinstance(node, Table):
            if len(node.entries) < least:
                self.error(node, "empty-table", f"{what} is empty", expected="at least one key and value")
            return node
        self._unlike(node, what, "keys and values")
        return Table(node.mark, ())

    def pairs(self, node: Node, what: str, how: How[T]) -> tuple[tuple[Name, T], ...]:
        """Give the entries of a mapping whose keys are names, each value read by `how`."""
        return tuple(
            (Name(mark=key.mark, text=key.folded), how(value, f'"{key.folded}" of {what}'))
            for key, value in self.table(node, what).entries
        )

    def fields(self, node: Node, what: str, known: Iterable[str], needed: Iterable[str] = ()) -> "Fields":
        """Give a mapping whose keys are known words; unknown, reserved and missing keys are found."""
        known = tuple(known)
        whole = isinstance(node, Table)
        table = self.table(node, what, least=0)
        meant = set()
        for key, _ in table.entries:
            if key.folded in RESERVED:
                self.error(key, "reserved-key", f'"{key.folded}" is not supported yet')
            elif key.folded not in known:
                meant.add(None if self._findings.full() else nearest(key.folded, known))
                self.unknown(key, f'"{key.folded}" is no key of {what}', known, "unknown-key")
        fields = Fields(self, table)
        for key_needed in needed if whole else ():
            # A key that was only spelled wrong is not missing too.
            if key_needed not in fields and key_needed not in meant:
                self.error(table, "missing-key", f'{what} needs "{key_needed}"', expected=f"{key_needed}: …")
        return fields


class Fields:
    """The entries of one mapping with known keys, read key by key."""

    def __init__(self, desk: Desk, table: Table) -> None:
        self._desk = desk
        self._nodes = {key.folded: value for key, value in table.entries}
        self._keys = {key.folded: key for key, _ in table.entries}
        self.mark = table.mark

    def __contains__(self, key: str) -> bool:
        return key in self._nodes

    def __iter__(self) -> Iterator[str]:
        return iter(self._nodes)

    def key(self, key: str) -> Text:
        """Give the key itself, to point at it. Raises KeyError where it is not written."""
        return self._keys[key]

    def node(self, key: str) -> Node:
        """Give the value under `key`, Refused (silent) where it is missing."""
        return self._nodes.get(key, Refused(self.mark))

    def must(self, key: str, how: How[T]) -> T:
        """Read a needed key; where it is missing (found already) `how` gives its stand-in."""
        return how(self.node(key), f'"{key}"')

    def may(self, key: str, how: How[T], default: D) -> T | D:
        """Read a key that may be left out."""
        return how(self._nodes[key], f'"{key}"') if key in self._nodes else default

    def only_one(self, keys: Sequence[str], what: str, *, needed: bool = False) -> str | None:
        """Give which one of the keys is written; find a second one, and (where needed) that there is none."""
        written = [key for key in self._nodes if key in keys]
        for extra in written[1:]:
            message = f'{what} has "{written[0]}" and "{extra}"; only one of them can be meant'
            self._desk.error(self.key(extra), "one-of", message, expected=f"one of {', '.join(keys)}")
        if not written and needed:
            alternatives = ", ".join(f'"{key}"' for key in keys)
            self._desk.error(self.mark, "missing-key", f"{what} needs one of {alternatives}")
        return written[0] if written else None

    def not_with(self, keys: Iterable[str], because: str) -> None:
        """Find keys that cannot stand here; `because` follows the key in the message."""
        for key in keys:
            if key in self._nodes:
                self._desk.error(self.key(key), "not-here", f'"{key}" {because}')
