"""The tree of a procedure file: texts with their places, before any of them means something.

    Node = Text | Blank | Table | Row | Refused

Every scalar is text exactly as written; nothing is ever taken for a number, a date or a yes.
"""

from dataclasses import dataclass

from runner.procedure.finding import Mark


@dataclass(frozen=True, slots=True)
class Text:
    """A scalar; `end_mark` is the place after its last character, `plain` means written without quotes."""

    value: str
    mark: Mark
    end_mark: Mark
    plain: bool

    @property
    def folded(self) -> str:
        """The text on one line, with runs of blanks made one."""
        return " ".join(self.value.split())

    @property
    def length(self) -> int:
        """Characters of source it takes on its first line (1 where it runs over several)."""
        same_line = self.end_mark.line == self.mark.line
        return max(1, self.end_mark.column - self.mark.column) if same_line else 1


@dataclass(frozen=True, slots=True)
class Blank:
    """A place where a value could stand and nothing is written."""

    mark: Mark


@dataclass(frozen=True, slots=True)
class Refused:
    """A value that has had its finding already (an alias, a tag, …); whoever meets it says nothing more."""

    mark: Mark


@dataclass(frozen=True, slots=True)
class Table:
    """A mapping, its entries in the order written; no two keys are equal once blanks are folded."""

    mark: Mark
    entries: tuple[tuple[Text, "Node"], ...]

    def get(self, key: str) -> "Node | None":
        """Give the value under `key` (compared with blanks folded), or None."""
        return next((value for name, value in self.entries if name.folded == key), None)


@dataclass(frozen=True, slots=True)
class Row:
    """A list."""

    mark: Mark
    items: tuple["Node", ...]


Node = Text | Blank | Table | Row | Refused
