"""The standard streams while a command runs: any text goes through, and a failure is told once and as what it is."""

import errno
import io
import os
from typing import TYPE_CHECKING, TextIO

if TYPE_CHECKING:
    from _typeshed import ReadableBuffer


class OutputLost(Exception):  # noqa: N818 - what the person is told, as the names of the log's errors are
    """What was printed cannot be written, for good; the message says why. Its notes are told after it.

    It is no OSError: what a command says of a file that it cannot read or write must not be said of its output.
    """


def watched(stream: TextIO | None, *, needed: bool = True) -> TextIO:
    """Return a standard stream so that it carries any text, and its failures can be told from those of files.

    What its encoding has no letter for is written as an escape. Where the stream is closed what is printed is lost,
    and that is an error if it is `needed`; left to itself the interpreter would print errors on the output then.
    """
    buffer = getattr(stream, "buffer", None)
    raw = getattr(buffer, "raw", buffer)  # there is no buffer between where Python itself has none (-u)
    if isinstance(stream, io.TextIOWrapper) and isinstance(raw, io.FileIO):
        stream.flush()
        watched = _Watched(raw, named="output" if needed else "error output")
        encoding, at_once = stream.encoding, stream.line_buffering or stream.write_through
    elif stream is None:
        watched, encoding, at_once = _Watched(None, named="output", dropping=not needed), "utf-8", False
    else:  # a stream that somebody else put there, as tests do
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")
        return stream
    return io.TextIOWrapper(io.BufferedWriter(watched), encoding, "backslashreplace", line_buffering=at_once)


class _Watched(io.RawIOBase):
    """The bytes of a standard stream. After its first failure it takes everything and keeps nothing.

    So the failure is raised once, and no later flush can raise another one over what is told of the first.
    """

    def __init__(self, raw: io.FileIO | None, *, named: str, dropping: bool = False) -> None:
        self._raw = raw
        self._named = named
        self._dropping = dropping

    def writable(self) -> bool:
        """It is for writing only."""
        return True

    def isatty(self) -> bool:
        """Whether a terminal is behind it."""
        return self._raw is not None and self._raw.isatty()

    def fileno(self) -> int:
        """The number of the file behind it; OSError where there is none."""
        return super().fileno() if self._raw is None else self._raw.fileno()

    def write(self, data: "ReadableBuffer", /) -> int:
        """Write what fits at once. Raises BrokenPipeError, OutputLost."""
        size = memoryview(data).nbytes
        if self._dropping:
            return size
        try:
            if self._raw is None:
                raise OSError(errno.EBADF, os.strerror(errno.EBADF))
            written = self._raw.write(data)
            if written is None:  # somebody made it a stream that does not wait
                raise OSError(errno.EAGAIN, os.strerror(errno.EAGAIN))
            return written
        except BrokenPipeError:
            self._dropping = True
            raise
        except OSError as error:
            self._dropping = True
            why = f"the {self._named} could not be written: {error.strerror or error}"
            raise OutputLost(
                f"witnessmark: {why}; it is incomplete, and holds its beginning at most"
            ) from error
