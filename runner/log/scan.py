"""Reading a log and judging it: the chain over the raw bytes, each entry in its place, what the end tells.

A line that does not follow the chain is either the fragment of a scar, which a later entry accounts for
byte by byte; or the torn end of the file; or damage. Nothing is ever skipped: behind the first damage no
entry is read.
"""

import io
import reprlib
from collections.abc import Callable, Iterator
from dataclasses import replace
from hashlib import sha256
from pathlib import Path
from typing import Any, BinaryIO

from runner.log import line, record, tail, versions
from runner.log.record import Fault, Record, Report, Scar, State, Tail
from runner.log.source import reading
from runner.outside import Files
from runner.stamp import Stamp, wall_from_iso

_LOST_END = b"\0"
"""A whole entry whose line feed did not arrive, though the file's new length did: it stands in a sector by itself."""
_SECONDS = {f"{second:02d}.": 1000 * second for second in range(60)}
_THOUSANDTHS = {f"{milli:03d}Z": milli for milli in range(1000)}
"""The end of a time, in milliseconds: most entries share their minute with the one before."""
Say = Callable[[bytes], line.Said]
"""What a line says; BadLine for what is none."""


class Scanner:
    """Iterate over it for the entries, one at a time; `report` then holds the verdict."""

    def __init__(self, source: BinaryIO, first: str = record.RUN, say: Say | None = None) -> None:
        """`source` is read from its present place to its end; `first` is the kind of the first entry.

        `say` may read the data of a line further than JSON does; it refuses what `line.read` refuses.
        """
        self._source = source
        self._say = say or line.read
        self._first_kind = first
        self._version = line.VERSION
        self._byte = 0
        self._lines = 0
        self._n = 0
        self._head = line.root()
        self._offset_min = 0
        self._boot = ""
        self._minute = ("", 0)
        self._sealed = False
        self._why = ""
        self._header: dict[str, Any] | None = None
        self._scars: list[Scar] = []
        self._report: Report | None = None

    @property
    def report(self) -> Report:
        """The verdict; only there once the iteration has come to its end (RuntimeError before)."""
        if self._report is None:
            raise RuntimeError("the log has not been read to its end")
        return self._report

    def __iter__(self) -> Iterator[Record]:
        first = self._start(self._source.readline(line.HEADER_LIMIT + 1))
        if first is None:
            return
        yield first
        while raw := self._source.readline(line.LINE_LIMIT + 1):
            entry = self._entry(raw) or self._mend(raw)
            if entry is None:
                return
            yield entry
        self._end("complete" if self._sealed else "open")

    def _start(self, raw: bytes) -> Record | None:
        """The first entry, or none and the verdict."""
        try:
            value = line.decode(raw) if raw.endswith(b"\n") else None
            self._version = tail.stated_version(value)
            if self._version != line.VERSION:  # what raises older entries takes them as JSON has them
                self._say = line.read
            self._head = line.root(self._version)
            if not versions.known(self._version):
                line.follow(self._head, raw)
                why = f"it has log version {self._version}; this program reads up to {line.VERSION}"
                self._end("not a log", fault=Fault(1, 0, why))
                return None
            entry = self._entry(raw, line.said(value))
            if entry is not None:
                return entry
        except line.BadLine as error:
            self._why = str(error)
        if not tail.looks_like_first(raw):
            why = "it does not begin as a log" if raw else "the file is empty"
            self._end("not a log", fault=Fault(1, 0, why))
        elif raw.endswith(b"\n") or len(raw) > line.HEADER_LIMIT or self._begins_whole(raw):
            self._broken(self._why)
        else:
            self._end("torn", tail=Tail("start", 0, len(raw)))
        return None

    def _entry(self, raw: bytes, said: line.Said | None = None) -> Record | None:
        """The entry in `raw` if it follows; else none, and why. `said` is what it says, where that is known."""
        if self._sealed:
            self._why = "something follows the seal"
            return None
        try:
            entry = self._read(raw, said)
            if entry.kind == record.SCAR:
                raise line.BadLine("a scar without its fragment")
        except line.BadLine as error:
            self._why = str(error)
            return None
        self._take(entry, len(raw))
        return entry

    def _read(self, raw: bytes, said: line.Said | None = None) -> Record:
        """The entry in `raw`, checked against the chain and its place; BadLine otherwise. Changes nothing."""
        try:
            head = line.follow(self._head, raw)
        except line.BadLine as error:
            raise line.BadLine(tail.out_of_place(raw, self._n) or str(error)) from None
        if said is None:
            said = self._say(raw)
        kind, data, n = said.kind, said.data, said.n
        if n != self._n:
            raise line.BadLine(f"it says entry {reprlib.repr(n)} where entry {self._n} belongs")
        if not line.is_kind(kind) or (kind == self._first_kind) != (n == 0):
            raise line.BadLine(f"an entry of kind {reprlib.repr(kind)} has no place there")
        if self._version != line.VERSION:
            kind, data = versions.raise_entry(self._version, kind, data)
        if n == 0 or kind in record.OWN_KINDS:
            self._require_own_fields(n, kind, data)
        stamp = self._stamp(n, kind, data, said.utc, said.mono_ms)
        return Record(n, kind, data, stamp, self._lines + 1, head)

    def _require_own_fields(self, n: int, kind: str, data: dict[str, Any]) -> None:
        """The log's own kinds have fields that reading relies on."""
        if n == 0 or kind in (record.OPENED, record.CLOCK):
            if type(data.get("boot")) is not str or type(data.get("offset_min")) is not int:
                raise line.BadLine("it does not name its boot and offset")
            if abs(data["offset_min"]) > 24 * 60:
                raise line.BadLine("its offset is longer than a day")
        elif kind == record.SEAL and (data.get("head") != self._head.hex() or data.get("count") != n):
            raise line.BadLine("the seal is not of this log")

    def _stamp(self, n: int, kind: str, data: dict[str, Any], utc: str, mono_ms: int) -> Stamp:
        """The entry's moment; boot and offset are those last named."""
        offset_min, boot = self._offset_min, self._boot
        if n == 0 or kind in (record.OPENED, record.CLOCK):
            offset_min, boot = data["offset_min"], data["boot"]
        minute, base = self._minute
        if utc[:17] == minute:
            seconds, thousandths = _SECONDS.get(utc[17:20]), _THOUSANDTHS.get(utc[20:])
            if seconds is not None and thousandths is not None:
                return Stamp(base + seconds + thousandths, offset_min, mono_ms, boot)
        try:
            wall_ms = wall_from_iso(utc)
        except ValueError as error:
            raise line.BadLine("its time is none") from error
        self._minute = (utc[:17], wall_ms - int(utc[17:19] + utc[20:23]))
        return Stamp(wall_ms, offset_min, mono_ms, boot)

    def _take(self, entry: Record, size: int) -> Record:
        """Step past an entry that follows."""
        if entry.n == 0:
            self._header = entry.data
        self._n += 1
        self._head = entry.head
        self._byte += size
        self._lines = entry.line
        self._offset_min, self._boot = entry.stamp.offset_min, entry.stamp.boot
        self._sealed = entry.kind == record.SEAL
        return entry

    def _mend(self, begin: bytes) -> Record | None:
        """Read on from a line that does not follow: the scar's own entry, or none and the verdict."""
        why, leftover = self._why, bytearray(begin)
        while not self._sealed and len(leftover) <= line.SCAR_LIMIT:
            raw = self._source.readline(line.LINE_LIMIT + 1)
            if not raw:
                self._judge_tail(bytes(leftover), why)
                return None
            if leftover.endswith(line.CUT) and (scar := self._scar(leftover, raw)) is not None:
                self._scars.append(Scar(scar.n, self._byte, len(leftover) - len(line.CUT)))
                return self._take(scar, len(leftover) + len(raw))
            leftover += raw
        self._broken(why)
        return None

    def _scar(self, leftover: bytes | bytearray, raw: bytes) -> Record | None:
        """The entry in `raw` if it is the scar that accounts for `leftover` (fragment and cut mark)."""
        try:
            entry = self._read(raw)
        except line.BadLine:
            return None
        size = len(leftover) - len(line.CUT)
        if entry.kind != record.SCAR or entry.data.get("size") != size:
            return None
        stated = {"byte": self._byte, "sha256": sha256(leftover[:size]).hexdigest(), "size": size}
        return entry.but(line=entry.line + leftover.count(b"\n")) if entry.data == stated else None

    def _judge_tail(self, leftover: bytes, why: str) -> None:
        """The verdict on a file that ends in `leftover`."""
        size, cut = len(leftover), leftover.rfind(line.CUT) + len(line.CUT)
        if line.CUT in leftover and self._scar(leftover[:cut], leftover[cut:] + b"\n") is not None:
            self._end("torn", tail=Tail("whole", self._byte, size))
            return
        whole = line.whole_until(self._head, leftover)
        if whole == size and self._is_entry(leftover + b"\n"):
            self._end("torn", tail=Tail("whole", self._byte, size))
        elif not tail.is_torn(leftover, self._byte) or (whole is not None and leftover[whole:] != _LOST_END):
            self._broken(why)
        else:
            self._end("torn", tail=Tail("fragment", self._byte, size))

    def _is_entry(self, raw: bytes) -> bool:
        try:
            return self._read(raw).kind != record.SCAR
        except line.BadLine:
            return False

    def _begins_whole(self, raw: bytes) -> bool:
        """Whether a whole line that follows is inside `raw`, with something behind it."""
        end = line.whole_until(self._head, raw)
        return end is not None and raw[end:] not in (b"", _LOST_END)

    def _broken(self, why: str) -> None:
        self._end("broken", fault=Fault(self._lines + 1, self._byte, why))

    def _end(self, state: State, *, tail: Tail | None = None, fault: Fault | None = None) -> None:
        self._report = Report(
            state,
            self._header,
            (),
            self._n,
            self._head,
            self._byte,
            self._lines,
            tail,
            fault,
            tuple(self._scars),
        )


def scan(data: bytes, first: str = record.RUN) -> Report:
    """The verdict on the bytes of a log, with all its entries."""
    return scan_all(io.BytesIO(data), first)


def scan_all(source: BinaryIO, first: str = record.RUN) -> Report:
    """The verdict on what `source` holds, with all its entries."""
    scanner = Scanner(source, first)
    records = tuple(scanner)
    return replace(scanner.report, records=records)


def scan_file(path: Path, files: Files | None = None, first: str = record.RUN) -> Report:
    """The verdict on the file at `path`; any regular file that may be read.

    Raises Refused for what is no regular file, OSError where it cannot be read.
    """
    with reading(path, files or Files()) as source:
        return scan_all(source, first)
