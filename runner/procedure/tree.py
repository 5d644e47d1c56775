"""The tree of a procedure file: texts with their places, before any of them means something.

    Node = Text | Blank | Table | Row | Refused

Every scalar is text exactly as written; nothing is ever taken for a number, a date or a yes.
"""

from dataclasses import dataclass, field

from runner.procedure.finding import Mark


@dataclass(frozen=True, slots=True)
class Text:
    """A scalar; `end_line` and `end_column` are just after its last character, `plain` is written without quotes.

    `folded` is the text on one line, with runs of blanks made one; it is asked for many times.
    """

    value: str
    mark: Mark
    end_line: int
    end_column: int
    plain: bool
    folded: str = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "folded", " ".join(self.value.split()))

    @property
    def length(self) -> int:
        """Characters of source it takes on its first line (1 where it runs over several)."""
        return max(1, self.end_column - self.mark.column) if self.end_line == self.mark.line else 1


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
