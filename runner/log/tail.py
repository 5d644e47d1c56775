"""Telling a crash from damage: what the first line and the last bytes of a file look like."""

import re
from typing import Final

from runner.log import line

_FIRST: Final = b'{"data":{'
_NUMBER = re.compile(rb'"n":([0-9]{1,16}),"utc":"[0-9TZ:.-]{24}","~":"[0-9a-f]{64}"\}\n')
_NUMBER_REACH = 160
_SECTOR = 512
"""Drives write sectors of at least this size whole or not at all."""


def looks_like_first(raw: bytes) -> bool:
    """Whether `raw` is, or was before some damage, the beginning of a log."""
    if not raw:
        return False
    end = raw[-74:].find(b',"~":"')
    return (
        raw.startswith(_FIRST)
        or _FIRST.startswith(raw)
        or (raw.startswith(b"{") and end >= 0)
        or end in (0, 1)
    )


def stated_version(raw: bytes) -> int:
    """The log version that a first line states (today's for an incomplete one); BadLine where it has none."""
    if not raw.endswith(b"\n"):
        return line.VERSION
    value = line.decode(raw)
    data = value.get("data") if isinstance(value, dict) else None
    version = data.get("log") if isinstance(data, dict) else None
    if type(version) is not int or not 0 < version < 1_000_000:
        raise line.BadLine("it states no log version")
    return version


def out_of_place(raw: bytes, n: int) -> str | None:
    """Why a line with a foreign chain value is wrong, where its own number tells."""
    match = _NUMBER.search(raw, max(0, len(raw) - _NUMBER_REACH))
    if match is None or int(match[1]) == n:
        return None
    return f"it says entry {int(match[1])} where entry {n} belongs"


def is_torn(leftover: bytes, byte: int) -> bool:
    """Whether a crash may have left these bytes, which begin at `byte` of the file and reach to its end.

    A crash leaves at most one entry: its beginning (perhaps with content that never arrived), or all of it
    with some sector still empty. A crash while that was being healed leaves a cut mark behind it, and
    perhaps the beginning of the scar.
    """
    at = byte
    for piece in leftover.split(line.CUT):
        if len(piece) > line.LINE_LIMIT or not _is_torn_piece(piece, at):
            return False
        at += len(piece) + len(line.CUT)
    return True


def _is_torn_piece(piece: bytes, byte: int) -> bool:
    end = piece.find(b"\n")
    if end < 0:
        return True
    return end == len(piece) - 1 and _has_empty_sector(piece, byte)


def _has_empty_sector(piece: bytes, byte: int) -> bool:
    """Whether the part of `piece` in some sector of the file is all NUL."""
    start = 0
    while start < len(piece):
        stop = start + _SECTOR - (byte + start) % _SECTOR
        if not piece[start:stop].strip(b"\0"):
            return True
        start = stop
    return False
