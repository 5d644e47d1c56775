"""A YAML file (a procedure, a toolbox) opened safely and decoded; each way this can fail has its own message.

Nothing here can block (FIFOs and devices are never opened) or read without limit.
"""

import itertools
import os
import stat
from pathlib import Path

from runner.procedure.characters import FORBIDDEN, character_name
from runner.procedure.finding import Findings, Mark

LARGEST = 1024 * 1024
"""Largest file, in bytes."""

_MOST_CHARACTERS = 100
"""Forbidden characters reported in one file: more of them say nothing new."""

_BOMS = ((b"\xff\xfe", "UTF-16"), (b"\xfe\xff", "UTF-16"), (b"\x00\x00\xfe\xff", "UTF-32"))
_UTF8_BOM = b"\xef\xbb\xbf"


def read_text(source: Path | bytes, name: str, findings: Findings) -> str | None:
    """Give the text of a file (or of the bytes of one); None where it cannot be read, with the reason found.

    A UTF-8 byte order mark at the start is dropped; line ends may be LF or CRLF.
    """
    data = source if isinstance(source, bytes) else _bytes_of(source, name, findings)
    if data is None:
        return None
    text = _decoded(data, name, findings)
    if text is None:
        return None
    findings.lines = tuple(line.removesuffix("\r") for line in text.split("\n"))
    return text if _characters_allowed(text, name, findings) else None


def _bytes_of(path: Path, name: str, findings: Findings) -> bytes | None:
    start = Mark(name, 1, 1)
    try:
        kind = path.stat().st_mode
        if stat.S_ISDIR(kind):
            findings.add(start, "file-directory", f"this is a directory, not a {findings.holds} file")
            return None
        if not stat.S_ISREG(kind):
            findings.add(
                start, "file-kind", f"this is {_kind(kind)}, not a {findings.holds} file; it was not opened"
            )
            return None
        return _read(path, start, findings)
    except FileNotFoundError:
        findings.add(start, "file-missing", "there is no such file")
    except PermissionError:
        findings.add(start, "file-permission", "no permission to read this file")
    except NotADirectoryError:
        findings.add(start, "file-missing", "there is no such file: a part of its path is not a directory")
    except ValueError:
        findings.add(start, "file-missing", "there is no such file: a path cannot hold a NUL character")
    except OSError as error:
        reason = (error.strerror or "unknown reason").lower()
        findings.add(start, "file-unreadable", f"this file cannot be read: {reason}")
    return None


def _read(path: Path, start: Mark, findings: Findings) -> bytes | None:
    # The file may be swapped for a FIFO after the look at it: O_NONBLOCK keeps even that from waiting.
    flags = (
        os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_CLOEXEC", 0) | getattr(os, "O_BINARY", 0)
    )
    with os.fdopen(os.open(path, flags), "rb") as file:
        kind = os.fstat(file.fileno()).st_mode
        if not stat.S_ISREG(kind):
            findings.add(
                start, "file-kind", f"this is {_kind(kind)}, not a {findings.holds} file; it was not read"
            )
            return None
        data = file.read(LARGEST + 1)
    if len(data) > LARGEST:
        findings.add(
            start, "file-size", f"this file is larger than 1 MiB, the most a {findings.holds} may have"
        )
        return None
    return data


def _kind(mode: int) -> str:
    if stat.S_ISFIFO(mode):
        return "a FIFO"
    if stat.S_ISSOCK(mode):
        return "a socket"
    return "a device"


def _decoded(data: bytes, name: str, findings: Findings) -> str | None:
    if len(data) > LARGEST:
        findings.add(
            Mark(name, 1, 1), "file-size", f"this is larger than 1 MiB, the most a {findings.holds} may have"
        )
        return None
    for bom, encoding in _BOMS:
        if data.startswith(bom):
            message = f"this file is {encoding}; save it as UTF-8"
            findings.add(Mark(name, 1, 1), "encoding", message)
            return None
    dropped = len(_UTF8_BOM) if data.startswith(_UTF8_BOM) else 0
    data = data[dropped:]
    if b"\x00" in data:
        at = data.index(b"\x00")
        message = f"this is a binary file (byte {dropped + at + 1} is zero), not a {findings.holds}"
        findings.add(_byte_mark(data, at, name), "file-binary", message)
        return None
    try:
        return data.decode("utf-8")
    except UnicodeDecodeError as error:
        at = error.start
        message = f"byte {dropped + at + 1} (0x{data[at]:02x}) is not UTF-8; save the file as UTF-8"
        findings.add(_byte_mark(data, at, name), "encoding", message)
        return None


def _byte_mark(data: bytes, at: int, name: str) -> Mark:
    begin = data.rfind(b"\n", 0, at) + 1
    return Mark(name, data.count(b"\n", 0, at) + 1, len(data[begin:at].decode("utf-8", "replace")) + 1)


def _characters_allowed(text: str, name: str, findings: Findings) -> bool:
    line, begin, allowed = 1, 0, True
    for match in itertools.islice(FORBIDDEN.finditer(text), _MOST_CHARACTERS):
        allowed = False
        at = match.start()
        line += text.count("\n", begin, at)
        begin = text.rfind("\n", 0, at) + 1
        message = f"{character_name(match.group())} is not allowed in a {findings.holds}"
        findings.add(Mark(name, line, at - begin + 1), "control-character", message, expected="plain text")
    return allowed
