"""What there is to begin with: procedures to carry out, unfinished runs to resume, finished logs to review.

Read cheaply, so that a start screen opens at once: the first lines of a procedure, the first line and the end
of a log. Nothing here says that a procedure is right (`check` does) or a log whole (`verify` does).
"""

import importlib.resources
import re
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from runner.log.names import Found, find_logs, look_at
from runner.outside import Files

DEMO = "lower-arm"
"""The shipped procedure that `demo` rehearses."""
_HEAD_BYTES = 16_384
_MOST_FILES = 1000
_FIELD = re.compile(r"^(procedure|title|revision): *(.*?) *(?: #.*)?$", re.MULTILINE)


@dataclass(frozen=True, slots=True)
class FoundProcedure:
    """A procedure file; `title` and `revision` as its first lines say, unchecked."""

    path: Path
    name: str
    title: str
    revision: str
    shipped: bool


@dataclass(frozen=True, slots=True)
class FoundRun:
    """A log, by its first and last line. `sealed` is what the end claims, unverified."""

    path: Path
    title: str
    procedure: str
    revision: str
    last: str
    """When the last entry was made, UTC to the minute; empty where a torn end hides it."""
    rehearsal: bool
    sealed: bool


@dataclass(frozen=True, slots=True)
class Start:
    """Everything a start screen offers; runs are newest first."""

    procedures: tuple[FoundProcedure, ...]
    unfinished: tuple[FoundRun, ...]
    finished: tuple[FoundRun, ...]


Deed = Literal["run", "rehearse", "resume", "review"]


@dataclass(frozen=True, slots=True)
class Choice:
    """What was picked on the start screen."""

    deed: Deed
    path: Path


@dataclass(frozen=True, slots=True)
class Heading:
    """What the first frame says of a run before it is loaded."""

    title: str
    revision: str
    rehearsal: bool


def procedure_head(path: Path) -> FoundProcedure | None:
    """Return what the first lines of a procedure say, or None where they are not those of one."""
    return _procedure(path, is_shipped=False)


def run_head(path: Path) -> FoundRun | None:
    """Return what the first line of a log says, or None where it is none."""
    try:
        log = look_at(path, Files())
    except OSError:  # opening the run tells why
        return None
    return _run(log) if log is not None else None


def shipped_folder() -> Path | None:
    """Return the folder of the shipped procedures: of the installed package, or of the checkout."""
    package = Path(str(importlib.resources.files("runner")))
    for folder in (package / "shipped", package.parent / "procedures"):
        if folder.is_dir():
            return folder
    return None


def shipped(name: str) -> Path | None:
    """Return the file of a shipped procedure by its name (`wheel-change`), or None."""
    folder = shipped_folder()
    if folder is None or re.fullmatch(r"[a-z0-9][a-z0-9-]*", name) is None:
        return None
    path = folder / f"{name}.yaml"
    return path if path.is_file() else None


def find_start(logs: Iterable[Path], current: Path) -> Start:
    """Return what the log folders, the current folder (and its `procedures`) and the package hold."""
    runs = find_runs(logs)
    return Start(
        find_procedures(current),
        tuple(run for run in runs if not run.sealed),
        tuple(run for run in runs if run.sealed),
    )


def find_procedures(current: Path) -> tuple[FoundProcedure, ...]:
    """Return the procedures in the current folder, in its `procedures`, and those shipped; each file once."""
    package = shipped_folder()
    folders = [(current, False), (current / "procedures", False)]
    if package is not None:
        folders.append((package, True))
    found: dict[Path, FoundProcedure] = {}
    for folder, is_shipped in folders:
        for path in _files(folder, ".yaml"):
            procedure = _procedure(path, is_shipped)
            if procedure is not None:
                found.setdefault(path.resolve(), procedure)
    return tuple(found.values())


def find_runs(folders: Iterable[Path]) -> tuple[FoundRun, ...]:
    """Return the runs whose logs lie in the folders, newest first; each file once."""
    found: dict[Path, FoundRun] = {}
    for folder in folders:
        for log in _logs(folder):
            run = _run(log)
            if run is not None:
                found.setdefault(log.path.resolve(), run)
    return tuple(sorted(found.values(), key=lambda run: (run.last, run.path.name), reverse=True))


def _logs(folder: Path) -> tuple[Found, ...]:
    try:
        return find_logs(folder)
    except OSError:  # a folder that is not there or not ours holds nothing for us
        return ()


def _files(folder: Path, ending: str) -> list[Path]:
    """Return the regular files of a folder with this ending, by name; none where it cannot be read."""
    try:
        names = sorted(path for path in folder.iterdir() if path.suffix == ending)
        return [path for path in names if path.is_file()][-_MOST_FILES:]
    except OSError:  # a folder that is not there or not ours holds nothing for us
        return []


def _procedure(path: Path, is_shipped: bool) -> FoundProcedure | None:
    """Return what the first lines say; None where they are not those of a procedure."""
    try:
        if not path.is_file():  # a FIFO would be waited for
            return None
        with path.open("rb") as file:
            text = file.read(_HEAD_BYTES).decode("utf-8", errors="replace").replace("\r\n", "\n")
    except OSError:  # what cannot be read cannot be offered; naming it to `run` tells why
        return None
    fields = {key: value.strip("\"'") for key, value in _FIELD.findall(text)}
    if "procedure" not in fields:
        return None
    return FoundProcedure(
        path, path.stem, fields.get("title", ""), fields.get("revision", ""), shipped=is_shipped
    )


def _run(log: Found) -> FoundRun | None:
    """Return what the first line of a log says; None where it is no log of a run."""
    header = log.header
    procedure = header.get("procedure") if header is not None else None
    if not isinstance(header, dict) or not isinstance(procedure, dict):
        return None
    return FoundRun(
        log.path,
        str(procedure.get("title", "")),
        str(procedure.get("procedure", "")),
        str(procedure.get("revision", "")),
        str(log.last_utc or "")[:16].replace("T", " "),
        rehearsal=header.get("rehearsal") is True,
        sealed=log.looks == "sealed",
    )
