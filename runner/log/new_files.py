"""Files that are written whole or not at all, and never over another: exports and keys.

Each is written and synced under a passing name, and gets its own name by a hard link, which fails where the
name is taken. A killed program leaves a file `.new-….part` at most, never half a file under a name that counts.
"""

import errno
import os
import secrets
from collections.abc import Iterable
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from runner.outside import Files


@dataclass(frozen=True, slots=True)
class NewFile:
    """A file to be written: its content in pieces, and who may use it (the owner alone where none is said)."""

    path: Path
    content: Iterable[bytes]
    mode: int = 0o600


def write_new(*wanted: NewFile) -> None:
    """Write all of the files or none; the last one named is there only where the others are.

    Raises FileExistsError, with the name as `filename`, where one is there already; OSError as the system says;
    whatever reading the content raises. Nothing stays behind after any of them.
    """
    for each in wanted:
        if os.path.lexists(each.path):  # said before the work, and held by the link after it
            raise FileExistsError(errno.EEXIST, "it exists already", str(each.path))
    passing: list[Path] = []
    named: list[Path] = []
    try:
        for each in wanted:
            passing.append(each.path.with_name(f".new-{secrets.token_hex(8)}.part"))
            _write(passing[-1], each)
        for part, each in zip(passing, wanted, strict=True):
            _name(part, each.path)
            named.append(each.path)
    except BaseException:
        for path in named:
            path.unlink()
        raise
    finally:
        for path in passing:
            with suppress(FileNotFoundError):  # it was never made
                path.unlink()
    for folder in {each.path.parent for each in wanted}:
        Files().fsync_dir(folder)


def _write(part: Path, each: NewFile) -> None:
    flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_BINARY", 0)
    with os.fdopen(os.open(part, flags, each.mode), "wb") as file:
        for piece in each.content:
            file.write(piece)
        file.flush()
        os.fsync(file.fileno())


def _name(part: Path, path: Path) -> None:
    try:
        os.link(part, path)
    except FileExistsError as error:
        raise FileExistsError(error.errno, "it exists already", str(path)) from error
