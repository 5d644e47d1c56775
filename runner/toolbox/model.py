"""What is known of the shop's measuring tools after reading."""

from decimal import Decimal
from pathlib import Path

from runner.frozen import Frozen
from runner.joint.wrench import Wrench
from runner.procedure.finding import Finding
from runner.quantities import show
from runner.quantities.quantity import show_number


class Toolbox(Frozen):
    """The tools that can be picked, in the order written, and what is wrong in the files.

    A tool whose entry has an error is not among `wrenches`: it must not be used as if it were known. `paths` are the
    files read; none where there is no toolbox.
    """

    paths: tuple[Path, ...] = ()
    wrenches: tuple[Wrench, ...] = ()
    problems: tuple[Finding, ...] = ()

    @property
    def path(self) -> Path | None:
        """The file read first, the one that wins."""
        return self.paths[0] if self.paths else None

    @property
    def errors(self) -> tuple[Finding, ...]:
        """What must be mended; the rest are warnings."""
        return tuple(each for each in self.problems if each.grade == "error")

    def named(self, name: str) -> Wrench | None:
        """The tool of this name, blanks folded and case free; None where there is none."""
        wanted = folded(name)
        return next((each for each in self.wrenches if folded(each.name) == wanted), None)

    def overdue(self, day: str) -> tuple[Wrench, ...]:
        """The tools whose calibration is overdue on a day (ISO 8601 text)."""
        return tuple(each for each in self.wrenches if each.overdue(day))


def folded(name: str) -> str:
    """A name as names are compared."""
    return " ".join(name.split()).casefold()


def range_text(wrench: Wrench) -> str:
    """The marked range as it is shown: `20 to 130 N·m`, `60 N·m`."""
    low, high = Decimal(wrench.low), Decimal(wrench.high)
    return show(high, wrench.unit) if low == high else f"{show_number(low)} to {show(high, wrench.unit)}"
