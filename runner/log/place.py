"""Where a log may be kept: what folder and file must be like before anything is written there.

These rules bind writing. Reading takes any regular file that may be read.
"""

import os
import stat
import sys
from contextlib import suppress
from pathlib import Path
from typing import Final

from runner.log.errors import Refused
from runner.outside import Files

ROOM_WANTED: Final = 64 << 20
"""Bytes that should be free where logs are kept; a long run takes a few MiB."""
_WRITE = os.O_RDWR | os.O_APPEND | getattr(os, "O_NOFOLLOW", 0)


def open_new(path: Path, files: Files) -> int:
    """Create the file for appending; Refused if the name is taken, OSError as the system says."""
    try:
        return _above_standard(files.open(path, _WRITE | os.O_CREAT | os.O_EXCL, 0o600), files)
    except FileExistsError as error:
        raise Refused(f"{path.name} exists already.") from error


def open_old(path: Path, files: Files, more: int = 0) -> tuple[int, tuple[str, ...]]:
    """Open a file for appending, with remarks about it; `more` may be O_CREAT for one that need not be there.

    Raises Refused for a symbolic link, a second name, what is no regular file, and a file that anybody may
    write; OSError as the system says.
    """
    if not more & os.O_CREAT or os.path.lexists(path):
        require_regular(path, files.stat(path))
    fd = _above_standard(files.open(path, _WRITE | more | getattr(os, "O_NONBLOCK", 0)), files)
    try:
        return fd, require_regular(path, files.fstat(fd))
    except (Refused, OSError):
        files.close(fd)
        raise


def require_regular(path: Path, found: os.stat_result) -> tuple[str, ...]:
    """Remarks about a file that a log may go on in; Refused about any other."""
    if stat.S_ISLNK(found.st_mode):
        raise Refused(f"{path.name} is a symbolic link; a log is never followed through one.")
    if not stat.S_ISREG(found.st_mode):
        raise Refused(f"{path.name} is not a regular file.")
    if found.st_nlink != 1:
        raise Refused(f"{path.name} has a second name (a hard link).")
    if sys.platform != "win32" and found.st_mode & stat.S_IWOTH:
        raise Refused(f"{path.name} may be written by anybody.")
    return _remarks(path, found)


def ready_folder(folder: Path, files: Files) -> tuple[str, ...]:
    """Make the folder if it is missing, durably; give remarks about it.

    Raises Refused where no log may be kept, OSError as the system says.
    """
    missing = []
    at = folder
    while not os.path.lexists(at) and at != at.parent:
        missing.append(at)
        at = at.parent
    for each in reversed(missing):
        with suppress(FileExistsError):  # another process was quicker
            files.mkdir(each)
        files.fsync_dir(each.parent)
    return folder_remarks(folder, files)


def folder_remarks(folder: Path, files: Files) -> tuple[str, ...]:
    """Remarks about an existing folder; Refused where no log may be kept, OSError as the system says."""
    found = files.stat(folder, follow=True)
    if not stat.S_ISDIR(found.st_mode):
        raise Refused(f"{folder.name} is not a folder.")
    if sys.platform != "win32" and found.st_mode & stat.S_IWOTH and not found.st_mode & stat.S_ISVTX:
        raise Refused(f"The folder {folder.name} may be written by anybody; keep logs elsewhere.")
    return (*_remarks(folder, found), *room_remarks(folder, files))


def room_remarks(folder: Path, files: Files) -> tuple[str, ...]:
    """A remark where the disk of a folder (or of the one it is to be made in) is nearly full.

    A full disk loses nothing, and stops the work in the middle of a step all the same: it is better known before.
    """
    at = folder
    while not os.path.lexists(at) and at != at.parent:
        at = at.parent
    try:
        free = files.free(at)
    except OSError:
        return ()  # a remark is no reason to keep no log: what cannot be written will be refused as such
    if free >= ROOM_WANTED:
        return ()
    return (f"Only {free >> 20} MiB are free for logs: a full disk stops the work in the middle of a step.",)


def _remarks(path: Path, found: os.stat_result) -> tuple[str, ...]:
    remarks: list[str] = []
    if sys.platform != "win32":
        if found.st_uid != os.geteuid():
            remarks.append(f"{path.name} belongs to another login.")
        if found.st_mode & stat.S_IWGRP:
            remarks.append(f"{path.name} may be written by others of its group.")
    return tuple(remarks)


def _above_standard(fd: int, files: Files) -> int:
    """A log must never be where stray output goes: numbers 0 to 2 are input, output and errors."""
    if fd <= 2:
        files.close(fd)
        raise Refused("The program was started without its standard streams; a log cannot be opened.")
    return fd
