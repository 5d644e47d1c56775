"""The files of a procedure: the main one and those it uses, all beside it or in folders below."""

import hashlib
from dataclasses import dataclass, field
from pathlib import Path

from runner.procedure.finding import Finding, Mark
from runner.procedure.link_report import Report
from runner.procedure.opening import LARGEST
from runner.procedure.reader import read_procedure
from runner.procedure.source import Source


@dataclass
class Files:
    """The files of one procedure, each read once: their hashes and lines by name, and what was found in them.

    A name is the path relative to the folder of the main file.
    """

    main: Path
    hashes: dict[str, str] = field(default_factory=dict)
    lines: dict[str, tuple[str, ...]] = field(default_factory=dict)
    findings: list[Finding] = field(default_factory=list)
    _sources: dict[str, Source | None] = field(default_factory=dict)

    def read(self, path: Path, name: str) -> tuple[Source | None, list[Finding]]:
        """Read one file, its hash taken from the very bytes that were read."""
        data = _content(path)
        if data is None:
            return read_procedure(path, name)
        self.hashes[name] = hashlib.sha256(data).hexdigest()
        self.lines[name] = tuple(data.decode("utf-8-sig", "replace").replace("\r\n", "\n").split("\n"))
        return read_procedure(data, name)

    def used(self, path: str, mark: Mark) -> Source | None:
        """Give the file that `path` means in the file of `mark`; what is wrong is kept in `findings`."""
        root = self.main.parent
        target = root / Path(mark.file).parent / path
        try:
            inside = target.resolve().is_relative_to(root.resolve())
            there = target.resolve().relative_to(root.resolve()).as_posix() if inside else ""
        except (OSError, RuntimeError, ValueError):
            there = ""
        if not there:
            message = f'"{path}" leads out of the folder of {self.main.name}'
            self._refuse(mark, path, message, "a file beside it or in a folder below")
            return None
        if not _is_file(target):
            self._refuse(mark, path, f'there is no file "{path}" to use', "a procedure file")
            return None
        if there not in self._sources:
            self._sources[there], found = self.read(target, there)
            self.findings += found
        return self._sources[there]

    def _refuse(self, mark: Mark, path: str, message: str, expected: str) -> None:
        report = Report(self.lines)
        report.error(mark, "use", message, length=len(path), expected=expected)
        self.findings += report.findings()


def _is_file(path: Path) -> bool:
    try:
        return path.is_file()
    except OSError:  # a name too long for the file system names no file
        return False


def _content(path: Path) -> bytes | None:
    """The bytes of a plain file of the allowed size; None where the reader must say what is wrong."""
    try:
        if not path.is_file():
            return None
        with path.open("rb") as file:
            data = file.read(LARGEST + 1)
        return data if len(data) <= LARGEST else None
    except (OSError, ValueError):
        return None
