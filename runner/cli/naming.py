"""Which file a PROCEDURE argument means: a path, or the name of a shipped procedure."""

import re
from pathlib import Path

from runner.start import shipped, shipped_folder


def procedure_path(argument: str) -> Path:
    """Return the file meant; a path that leads to nothing is returned as it is, for the reader to say so."""
    path = Path(argument)
    if re.fullmatch(r"[a-z0-9][a-z0-9-]{0,99}", argument) and not path.exists():
        return shipped(argument) or path
    return path


def shipped_names() -> tuple[str, ...]:
    """Return the names of the shipped procedures."""
    folder = shipped_folder()
    return tuple(sorted(path.stem for path in folder.glob("*.yaml"))) if folder else ()
