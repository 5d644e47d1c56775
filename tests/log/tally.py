"""What a fault test ran, counted by itself: printed with its seed, and failing below what it promises."""

import os
from collections import Counter
from dataclasses import dataclass, field

SHARE = float(os.environ.get("WITNESSMARK_DEEP_SHARE", "1"))
"""While a deep test is being written: the share of its count to run, and to hold it to."""


@dataclass
class Tally:
    """Counts of one test. `seed` is what its random draws began with."""

    name: str
    least: int
    seed: int = 0
    seen: Counter[str] = field(default_factory=Counter)
    also: Counter[str] = field(default_factory=Counter)
    """What was met on the way; told, and not part of the total."""

    def add(self, sort: str, count: int = 1) -> None:
        """Count one more of a sort."""
        self.seen[sort] += count

    @property
    def total(self) -> int:
        """Everything counted."""
        return self.seen.total()

    def close(self) -> None:
        """Print the counts; AssertionError below the least that was promised."""
        sorts = ", ".join(f"{count:,} {sort}" for sort, count in sorted(self.seen.items()))
        also = "".join(f"; {count:,} {sort}" for sort, count in sorted(self.also.items()))
        print(f"\n{self.name}: {self.total:,} (at least {self.least:,}; seed {self.seed}): {sorts}{also}")
        assert self.total >= self.least, f"{self.name}: {self.total} of at least {self.least}"
