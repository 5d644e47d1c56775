"""The versions that `--version` prints, without loading what they belong to.

A test holds each against the module that owns it.
"""

from runner import __version__

FORMAT = 1
"""Of procedure files (runner.procedure)."""
LOG = 1
"""Of log files (runner.log.line)."""
LINKED = 1
"""Of the linked procedure inside a log (runner.procedure.linked)."""


def version_text() -> str:
    """Return the program's version and those of the forms it reads and writes."""
    return f"witnessmark {__version__} (procedure format {FORMAT}, log version {LOG}, linked form {LINKED})"
