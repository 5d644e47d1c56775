"""A log's line read straight into events, where it is of the form in which this program writes them.

Most lines of a long log are. Reading them by way of plain dictionaries takes several times as long. A line is of that
form where writing what was read gives its very bytes again. Whatever is unusual in one (an older event, a number that
no log holds, a key that stands twice, an escaped letter) is left to `runner.log.line.read`, which says exactly what
is wrong, and to `runner.job.record`.
"""

from functools import cache
from typing import TypedDict

from msgspec import MsgspecError
from msgspec.json import Decoder, Encoder

from runner.job.record import Events, foreign_in, foreign_out
from runner.log import line

_BEGIN = b'{"data":{"events":[{"'


class _Data(TypedDict):
    events: Events
    who: str


class _Typed(line.Said, frozen=True):
    data: _Data


@cache
def _reader() -> Decoder[_Typed]:
    """Made when a log is first read, for making it costs more than starting."""
    return Decoder(_Typed, dec_hook=foreign_in)


_WRITER = Encoder(order="sorted", enc_hook=foreign_out)


def read(raw: bytes) -> line.Said:
    """What a line says, as `runner.log.line.read` gives it; its events may be a tuple of typed ones.

    Raises BadLine.
    """
    if raw.startswith(_BEGIN):
        try:
            said = _reader().decode(raw)
            if _WRITER.encode(said) == raw[:-1] and raw.endswith(b"\n"):
                return said
        except (MsgspecError, UnicodeError, RecursionError):  # told exactly by the other way, right below
            pass
    return line.read(raw)
