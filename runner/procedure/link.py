"""The linker's front: a procedure file made into the linked form that the engine runs."""

import gc
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from runner.procedure.finding import Finding
from runner.procedure.link_files import Files
from runner.procedure.link_whole import link
from runner.procedure.linked import Procedure

__all__ = ["link", "load_procedure"]


@contextmanager
def _collector_at_rest() -> Iterator[None]:
    """Keep Python's collector of cycles from running: hardly anything made here is thrown away before the end.

    It would walk all that was read again and again while it grows, which was half of the time for a long file.
    """
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()


@_collector_at_rest()
def load_procedure(path: Path) -> tuple[Procedure | None, list[Finding]]:
    """Read a procedure with the files it uses and link it; None where any of them has an error.

    All findings of all files come back, the main file's first; each names its file relative to the folder of
    the main file. A used file outside that folder (also by a symbolic link) is refused.
    """
    files = Files(path)
    main, findings = files.read(path, path.name)
    if main is None:
        return None, findings
    procedure, linking = link(main, files.used, lines=files.lines)
    found = _in_order([*findings, *linking, *files.findings], path.name)
    if procedure is None or any(finding.grade == "error" for finding in found):
        return None, found
    return procedure.model_copy(update={"files": tuple(files.hashes.items())}), found


def _in_order(findings: list[Finding], main: str) -> list[Finding]:
    """The main file's findings, then the others'; each once, for a file may be used several times."""

    def place(finding: Finding) -> tuple[bool, str, int, int]:
        return finding.file != main, finding.file, finding.line, finding.column

    return sorted(dict.fromkeys(findings), key=place)
