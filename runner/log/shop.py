"""The shop's list of runs: one chained file beside the logs, with an entry per start and per seal.

A log's own chain cannot tell that a whole log was taken away; this list can. Several processes append: each
takes the lock, reads the file from the medium, appends one entry and gives the lock free. Whoever cannot have the
lock within a short time goes without: a run must not wait for a list.
"""

import os
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from runner.log import line, place
from runner.log.chainfile import ChainFile
from runner.log.errors import Broken, NotRecorded, Refused
from runner.log.names import SHOP_NAME, Found
from runner.log.record import Report, Tail
from runner.log.scan import Scanner, scan_file
from runner.log.source import reading
from runner.log.takeup import closing_on_error, lock_in_turn, reread
from runner.outside import Files, Outside

FIRST: Final = "shop"
"""The kind of the list's first entry."""
_STARTED: Final = "started"
_SEALED: Final = "sealed"


@dataclass(frozen=True, slots=True)
class Listed:
    """A run as the shop's list knows it."""

    run: str
    procedure: str
    started_utc: str
    sealed_head: str | None
    """The chain value after its seal, in hexadecimal; none while the list knows of no seal."""
    started_head: str | None = None
    """The chain value after its first entry; none where the list does not say it."""


@dataclass(frozen=True, slots=True)
class ShopList:
    """A list of runs as it was read."""

    runs: tuple[Listed, ...]
    """In the order of their starts."""
    tail: Tail | None
    """What a crash may have left at its end, where it is torn: one start or seal may be missing from it."""


@dataclass(frozen=True, slots=True)
class Missing:
    """A run of the list that the logs do not bear out."""

    listed: Listed
    why: str


def note_start(folder: Path, run: str, procedure: str, head: bytes, outside: Outside) -> None:
    """List a run that was just started; `head` is the chain value after its first entry.

    Raises Refused, Broken, NotRecorded as the log does; the run itself is not touched by any of them.
    """
    _note(folder, _STARTED, {"head": head.hex(), "procedure": procedure, "run": run}, outside)


def note_seal(folder: Path, run: str, n: int, head: bytes, outside: Outside) -> None:
    """List a run's seal, which is its entry number `n`. Errors as for `note_start`."""
    _note(folder, _SEALED, {"head": head.hex(), "n": n, "run": run}, outside)


def is_list(path: Path, files: Files | None = None) -> bool:
    """Whether a file begins as a list of runs does; not so what cannot be read, as opening it will tell."""
    try:
        with reading(path, files or Files()) as source:
            return next(iter(Scanner(source, FIRST)), None) is not None
    except (OSError, Refused):
        return False


def read_list(path: Path, files: Files | None = None) -> ShopList:
    """The list of runs that was named.

    Raises Broken for a changed list, Refused for what is no list, OSError where it cannot be read or is not there.
    """
    report = scan_file(path, files, FIRST)
    if report.state == "broken":
        raise Broken(path.name, report)
    if report.state == "not a log":
        raise Refused(f"{path.name} is not a list of runs: {report.summary()}")
    return ShopList(_listed(report), report.tail)


def read_shop(folder: Path, files: Files | None = None) -> tuple[Listed, ...]:
    """The runs that the folder's list knows; none where there is no list, as where no run ever was.

    Raises as `read_list` otherwise.
    """
    try:
        return read_list(folder / SHOP_NAME, files).runs
    except FileNotFoundError:
        return ()


def missing_runs(
    listed: tuple[Listed, ...], found: tuple[Found, ...], files: Files | None = None
) -> tuple[Missing, ...]:
    """Listed runs that no log bears out, of those that were found beside the list.

    Every log that states to be of a listed run is read whole and verified: what its ends say, anybody can write.
    """
    files = files or Files()
    by_run: dict[str, list[Path]] = {}
    for one in found:
        if one.header is not None:
            by_run.setdefault(str(one.header.get("run")), []).append(one.path)
    missing = []
    for each in listed:
        whys: list[str] = []
        for path in by_run.get(each.run, ()):
            why = _why_not(each, path, files)
            if why is None:
                break
            whys.append(why)
        else:
            missing.append(Missing(each, "; ".join(whys) or "its log is not in the folder"))
    return tuple(missing)


def _why_not(listed: Listed, path: Path, files: Files) -> str | None:
    """Why a log does not bear a listed run out; none where it does."""
    try:
        with reading(path, files) as source:
            scanner, first = Scanner(source), None
            for entry in scanner:
                first = first or entry
    except OSError as error:
        return f"{path.name} cannot be read ({error.strerror})"
    except Refused as error:
        return str(error).removesuffix(".")
    report = scanner.report
    if report.fault is not None:
        name = "broken" if report.state == "broken" else "no log"
        return f"{path.name} is {name} at line {report.fault.line}: {report.fault.why}"
    if listed.sealed_head is not None:
        whole = report.state == "complete" and report.head.hex() == listed.sealed_head
        return None if whole else f"{path.name} does not end in the seal that was listed"
    started = first.head.hex() if first is not None else None
    if started is None or listed.started_head not in (None, started):
        return f"{path.name} does not begin as the run that was listed"
    return None


def _listed(report: Report) -> tuple[Listed, ...]:
    seals = {
        str(entry.data.get("run")): str(entry.data.get("head"))
        for entry in report.records
        if entry.kind == _SEALED
    }
    return tuple(
        Listed(
            run, str(entry.data.get("procedure")), entry.stamp.iso(), seals.get(run), entry.data.get("head")
        )
        for entry in report.records
        if entry.kind == _STARTED and (run := str(entry.data.get("run")))
    )


def _note(folder: Path, kind: str, data: Mapping[str, Any], outside: Outside) -> None:
    files, path, stamp = outside.files, folder / SHOP_NAME, outside.now()
    try:
        place.ready_folder(folder, files)
        fd, _ = place.open_old(path, files, os.O_CREAT)
    except OSError as error:
        raise Refused(f"{SHOP_NAME} cannot be opened for writing ({error.strerror}).") from error
    chain = ChainFile(files, path, fd, line.root())
    with closing_on_error(chain):
        lock_in_turn(outside, fd, path)
        if _is_empty(files, fd):
            _begin(chain, outside)
        else:
            reread(chain, fd, files, FIRST)
        chain.put(kind, data, stamp)
        chain.sync()
    chain.close()


def _is_empty(files: Files, fd: int) -> bool:
    try:
        return files.fstat(fd).st_size == 0
    except OSError as error:
        raise Refused(f"{SHOP_NAME} cannot be read ({error.strerror}).") from error


def _begin(chain: ChainFile, outside: Outside) -> None:
    stamp = outside.now()
    own = {"boot": stamp.boot, "log": line.VERSION, "offset_min": stamp.offset_min, "shop": outside.new_id()}
    chain.put(FIRST, own, stamp)
    chain.sync()
    try:
        outside.files.fsync_dir(chain.path.parent)
    except OSError as error:
        raise NotRecorded(f"the folder could not be synced ({error.strerror})", may_retry=False) from error
