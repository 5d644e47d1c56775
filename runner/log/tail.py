"""Telling a crash from damage: what the first line and the last bytes of a file look like."""

import io
import re
from typing import Final

from runner.log import line

_FIRST: Final = b'{"data":{'
_NUMBER = re.compile(rb'"n":([0-9]{1,16}),"utc":"[0-9TZ:.-]{24}","~":"[0-9a-f]{64}"\}\n')
_NUMBER_REACH = 160
_MARKS: Final = line.CUT + b"\0"
"""What healing that crashed may have put behind a torn entry."""
_SECTOR: Final = 512
"""Drives write sectors of at least this size whole or not at all."""
_LONGEST: Final = line.LINE_LIMIT + _SECTOR
"""Of a piece: a torn entry, whose content may not have arrived, and such marks."""


def looks_like_first(raw: bytes) -> bool:
    """Whether `raw` is, or was before some damage, the beginning of a log."""
    if not raw:
        return False
    end = raw[-74:].find(b',"~":"')
    return (
        raw.startswith(_FIRST)
        or _FIRST.startswith(raw)
        or (len(raw) > 2 and _FIRST.startswith(raw.removesuffix(b"\n")))  # a brace alone begins any JSON
        or (raw.startswith(b"{") and end >= 0)
        or end in (0, 1)
    )


def stated_version(value: object) -> int:
    """The log version that a first line states (today's for an incomplete one, None); BadLine where it has none."""
    if value is None:
        return line.VERSION
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

    A crash leaves at most one write: its beginning (perhaps with content that never arrived), or all of it with
    some sector still empty. Healing that crashed too leaves a cut mark behind that, or part of one, and only behind
    a whole cut mark the same of a scar. All of it must leave room for the cut mark that the next healing puts there.
    """
    if len(leftover) + len(line.CUT) > line.SCAR_LIMIT:
        return False
    at = byte
    healing = False
    for piece in io.BytesIO(leftover):
        if healing and not _begins_as_cut(piece):
            return False
        if len(piece.rstrip(_MARKS)) > line.LINE_LIMIT or len(piece) > _LONGEST or not _may_end(piece, at):
            return False
        at += len(piece)
        healing = not piece.endswith(line.CUT)
    return True


def _may_end(piece: bytes, byte: int) -> bool:
    """Whether `piece` is torn, or its line feed is that of a cut mark or of a write that lacks a sector."""
    return (
        not piece.endswith(b"\n")
        or piece.endswith(line.CUT)
        or _has_empty_sector(piece, byte)
        or _ends_in_half_a_cut(piece, byte)
    )


def _begins_as_cut(piece: bytes) -> bool:
    return all(here in (0, there) for here, there in zip(piece, line.CUT, strict=False))


def _ends_in_half_a_cut(piece: bytes, byte: int) -> bool:
    """Whether the cut mark that ends `piece` lacks its beginning, up to the edge of a sector."""
    rest = -(byte + len(piece)) % _SECTOR
    size = _SECTOR - rest  # of the piece in its last sector
    lost = len(line.CUT) - size
    return lost > 0 and piece.endswith(bytes(lost) + line.CUT[lost:])


def _has_empty_sector(piece: bytes, byte: int) -> bool:
    """Whether the part of `piece` in some sector of the file is all NUL."""
    start = 0
    while start < len(piece):
        stop = start + _SECTOR - (byte + start) % _SECTOR
        if not piece[start:stop].strip(b"\0"):
            return True
        start = stop
    return False
