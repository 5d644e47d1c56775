"""The answer of a procedure with errors: it is not opened. Light, for it is caught where nothing is loaded yet."""

from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from runner.procedure.finding import Finding


class NotOpened(Exception):  # noqa: N818  it is an answer, printed as findings
    """The procedure has errors; no run of it can be begun."""

    def __init__(self, path: Path, findings: "Iterable[Finding]") -> None:
        super().__init__(str(path))
        self.path = path
        self.findings = tuple(findings)
