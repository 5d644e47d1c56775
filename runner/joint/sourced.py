"""Where a number comes from, and how an answer was worked out from it.

Every constant and table row of `joint` has a Source; every answer a person sees has a Working, so that `?`, the
counter commands and `--json` show the same formula, inputs, result and sources, and say what rests on memory.
"""

from collections.abc import Iterable
from typing import Literal

from runner.frozen import Frozen

FROM_MEMORY = "from memory, check the standard"
"""Said beside every answer that rests on a value nobody has compared with its standard."""

Seen = Literal["text", "secondary", "memory", "worked out", "assumed"]


class Source(Frozen):
    """A published source. `seen`: the text itself, a transcription that cites it, from memory, worked out here, or
    assumed here because nothing is known.

    `edition` where editions differ; `note` says what a reader must know to use the row.
    """

    name: str
    seen: Seen
    edition: str = ""
    note: str = ""

    @property
    def from_memory(self) -> bool:
        """Whether nobody has compared it with the text it names."""
        return self.seen == "memory"

    def text(self) -> str:
        """The source as it is shown: name, edition, and FROM_MEMORY where that is so."""
        words = f"{self.name}:{self.edition}" if self.edition else self.name
        if self.from_memory:
            return f"{words} ({FROM_MEMORY})"
        if self.seen == "assumed":
            return f"{words} (assumed here)"
        return f"{words} (as transcribed elsewhere)" if self.seen == "secondary" else words


class Working(Frozen):
    """How one answer came about: `formula` in symbols, `inputs` as (symbol or name, value in words), `result`."""

    title: str
    formula: str
    inputs: tuple[tuple[str, str], ...]
    result: str
    sources: tuple[Source, ...]

    @property
    def from_memory(self) -> bool:
        """Whether any value behind the answer rests on memory."""
        return any(source.from_memory for source in self.sources)


def merged(*groups: Iterable[Source]) -> tuple[Source, ...]:
    """The sources of several workings, each once, in the order met."""
    return tuple(dict.fromkeys(source for group in groups for source in group))
