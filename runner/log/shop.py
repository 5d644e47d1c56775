"""The shop's list of runs: one chained file beside the logs, with an entry per start and per seal.

A log's own chain cannot tell that a whole log was taken away; this list can. Several processes append: each
takes the lock, reads the file from the medium, appends one entry and gives the lock free.
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
from runner.log.record import Report
from runner.log.scan import scan_file
from runner.log.takeup import closing_on_error, lock, reread
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


def read_shop(folder: Path, files: Files | None = None) -> tuple[Listed, ...]:
    """The runs that the folder's list knows, in the order of their starts; none where there is no list.

    Raises Broken for a changed list, Refused for what is no list, OSError where it cannot be read.
    """
    try:
        report = scan_file(folder / SHOP_NAME, files, FIRST)
    except FileNotFoundError:
        return ()
    if report.state == "broken":
        raise Broken(SHOP_NAME, report)
    if report.state == "not a log":
        raise Refused(f"{SHOP_NAME} is not a list of runs: {report.summary()}")
    return _listed(report)


def missing_runs(listed: tuple[Listed, ...], found: tuple[Found, ...]) -> tuple[Missing, ...]:
    """Listed runs whose log is gone from the folder, or is no longer the one that was sealed."""
    by_run = {str(one.header.get("run")): one for one in found if one.header is not None}
    missing = []
    for each in listed:
        log = by_run.get(each.run)
        if log is None:
            missing.append(Missing(each, "its log is not in the folder"))
        elif each.sealed_head is not None and log.last_head != each.sealed_head:
            missing.append(Missing(each, "its log does not end in the seal that was listed"))
    return tuple(missing)


def _listed(report: Report) -> tuple[Listed, ...]:
    seals = {
        str(entry.data.get("run")): str(entry.data.get("head"))
        for entry in report.records
        if entry.kind == _SEALED
    }
    return tuple(
        Listed(run, str(entry.data.get("procedure")), entry.stamp.iso(), seals.get(run))
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
        lock(files, fd, path, wait=True)
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
