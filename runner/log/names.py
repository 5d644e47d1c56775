"""Names of log files, and which logs a folder holds, told cheaply from first and last line.

What `find_logs` says is for a list on the screen; only a scan of the whole file is a verdict.
"""

import stat
import unicodedata
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final, Literal

from runner.log import line, record
from runner.log.errors import Refused
from runner.log.source import reading
from runner.outside import Files
from runner.stamp import Stamp

SUFFIX: Final = ".jsonl"
SHOP_NAME: Final = "shop.jsonl"
"""The shop's list of runs, beside the logs."""
_PLAIN = frozenset("abcdefghijklmnopqrstuvwxyz0123456789")
_REACH = line.LINE_LIMIT + 1

Looks = Literal["sealed", "open", "torn", "not started", "not a log"]
"""How a file looks from its ends; "torn" is whatever does not end in a readable entry."""


@dataclass(frozen=True, slots=True)
class Found:
    """A file named like a log."""

    path: Path
    looks: Looks
    header: dict[str, Any] | None
    """The data of its first entry, where that can be read."""
    last_utc: str | None
    """When its last entry was made, where that can be read."""
    last_head: str | None
    """The chain value that its last entry states, in hexadecimal."""


def log_name(stamp: Stamp, procedure: str, run: str) -> str:
    """`YYYYMMDD-HHMM-<procedure>-<first 6 of the run's identity>.jsonl`, in local time and plain letters."""
    return f"{stamp.local():%Y%m%d-%H%M}-{_plain(procedure)}-{_plain(run)[:6]}{SUFFIX}"


def find_logs(folder: Path, files: Files | None = None) -> tuple[Found, ...]:
    """Every regular file named `*.jsonl` in the folder, the shop's list apart; links and others are left out.

    A missing folder holds none; OSError where the folder cannot be listed.
    """
    files = files or Files()
    try:
        names = files.listdir(folder)
    except FileNotFoundError:
        return ()
    found = []
    for name in names:
        if name.endswith(SUFFIX) and name != SHOP_NAME and not name.startswith("."):
            one = look_at(folder / name, files)
            if one is not None:
                found.append(one)
    return tuple(found)


def look_at(path: Path, files: Files) -> Found | None:
    """How one file looks; none for what is gone, no regular file, or may not be read."""
    try:
        info = files.stat(path)
        if not stat.S_ISREG(info.st_mode):
            return None
        with reading(path, files) as data:
            first = data.readline(line.HEADER_LIMIT + 1)
            start = max(info.st_size - _REACH, 0)
            data.seek(start)
            end = data.read(_REACH)
    except (OSError, Refused):
        return None
    header = _value(first) if first.endswith(b"\n") else None
    if header is None or header.get("kind") != record.RUN:
        looks: Looks = "not started" if first.startswith(b'{"data":{') else "not a log"
        return Found(path, looks, None, None, None)
    last = header if len(first) == info.st_size else _value(end[end.rfind(b"\n", 0, -1) + 1 :])
    if last is None:
        return Found(path, "torn", header["data"], None, None)
    looks = "sealed" if last["kind"] == record.SEAL else "open"
    return Found(path, looks, header["data"], last["utc"], last["~"])


def _value(raw: bytes) -> dict[str, Any] | None:
    """The fields of a whole line, where it has those of an entry."""
    if not raw.endswith(b"\n"):
        return None
    try:
        value = line.decode(raw)
    except line.BadLine:
        return None
    if not isinstance(value, dict) or not isinstance(value.get("data"), dict):
        return None
    if not all(isinstance(value.get(key), str) for key in ("kind", "utc", "~")):
        return None
    return value


def _plain(text: str) -> str:
    """Lower-case ASCII letters, digits and single hyphens, never empty, at most 60."""
    folded = unicodedata.normalize("NFKD", text).lower()
    kept = "".join(
        letter if letter in _PLAIN else "-" for letter in folded if not unicodedata.combining(letter)
    )
    return "-".join(part for part in kept.split("-") if part)[:60].strip("-") or "run"
