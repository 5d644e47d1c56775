"""Why no run of a procedure is begun. Light, for it is caught where nothing is loaded yet."""

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from runner.cli.proving import Checked


class NotOpened(Exception):  # noqa: N818  it is an answer, printed as findings
    """The procedure cannot be linked, or is not proved and no reason was given to run it unproved."""

    def __init__(self, checked: "Checked") -> None:
        super().__init__(str(checked.path))
        self.checked = checked


class Needless(NotOpened):
    """The procedure is proved, and a reason was given to run it unproved."""
