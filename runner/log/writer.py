"""Creating, resuming, appending to and sealing the log of one run.

One thread uses a writer at a time. `append` returns only when the entry is on the medium; every other end is
an error of the tree in `errors`.
"""

import re
from collections.abc import Mapping
from pathlib import Path
from typing import Any, Final, Self

from runner.frozen import Slim
from runner.log import line, place, record, signature
from runner.log.chainfile import ChainFile
from runner.log.errors import KeyUnusable, NotRecorded, Refused, Sealed
from runner.log.record import Report
from runner.log.takeup import Reader, closing_on_error, lock, reread
from runner.outside import Files, Outside
from runner.stamp import Stamp

HEADER_OWN: Final = frozenset({"boot", "log", "offset_min", "pid", "run", "sync"})
"""Keys of the header that the log itself fills."""
SEAL_OWN: Final = frozenset({"count", "head", signature.NAME})
"""Keys of the seal that the log itself fills."""
CLOCK_SLACK_MS: Final = 2_000
"""How far the wall clock may step against the running clock before that is an entry of its own."""


class Recorded(Slim, frozen=True):
    """An entry that is on the medium."""

    n: int
    head: bytes
    """The chain value after it."""

    @property
    def receipt(self) -> str:
        """The same in ten letters, to be written on paper."""
        return line.receipt(self.head)


class LogWriter:
    """The one writer of an unsealed log; made by `create` or `reopen`, never directly."""

    def __init__(self, chain: ChainFile, run: str, last: Stamp, remarks: tuple[str, ...]) -> None:
        self._chain = chain
        self._last_stamp = last
        self._sealed = False
        self._recorded = _recorded(chain)
        self.run: Final = run
        """Identity of the run: 128 random bits in hexadecimal."""
        self.remarks: Final = remarks
        """What is unusual about folder or file without forbidding it: another owner, a writing group."""
        self.not_signed = ""
        """Why the seal has no signature although one was asked for."""

    @property
    def path(self) -> Path:
        """The log's file."""
        return self._chain.path

    @property
    def n(self) -> int:
        """Number of the last recorded entry."""
        return self._recorded.n

    @property
    def head(self) -> bytes:
        """The chain value after the last recorded entry."""
        return self._recorded.head

    @property
    def receipt(self) -> str:
        """The receipt code after the last recorded entry."""
        return self._recorded.receipt

    def append(self, kind: str, data: Mapping[str, Any], stamp: Stamp) -> Recorded:
        """Record one entry of the caller's kind; when this returns, it is on the medium.

        Raises ValueError for a kind that is not the caller's, Unwritable for data that no log can hold,
        NotRecorded when it could not be made durable, Latched after that for good, Sealed after the seal.
        """
        if kind in record.OWN_KINDS or not line.is_kind(kind):
            raise ValueError(f"{kind!r} is no kind for a caller's entry")
        return self._record(kind, data, stamp)

    def seal(self, data: Mapping[str, Any], stamp: Stamp, sign: signature.Sign | None = None) -> Recorded:
        """Record the end of the run, with `head` and `count` of all before it. Errors as for `append`.

        With `sign` the seal has a signature. Where the key cannot be used the seal is recorded without one all the
        same, and `not_signed` says why: the end of a run must not hang on a key.
        """
        clash = SEAL_OWN & data.keys()
        if clash:
            raise ValueError(f"the seal's {sorted(clash)} are the log's own")
        recorded = self._record(record.SEAL, data, stamp, sign)
        self._sealed = True
        return recorded

    def close(self) -> None:
        """Close the file and give the run free. May be called again; nothing may be appended after it."""
        self._chain.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *exc: object) -> None:
        self.close()

    def _open(self, outside: Outside, found: int) -> None:
        """Record who took the log up, when, and how many entries were found."""
        stamp = outside.now()
        self._record(record.OPENED, {"found": found, **_presence(outside, stamp)}, stamp)

    def _record(
        self, kind: str, data: Mapping[str, Any], stamp: Stamp, sign: signature.Sign | None = None
    ) -> Recorded:
        if self._sealed:
            raise Sealed(self.path.name)
        jump = clock_jump(self._last_stamp, stamp)
        if jump is not None and not (kind == record.OPENED and stamp.boot != self._last_stamp.boot):
            self._chain.put(record.CLOCK, jump, stamp)
            self._chain.sync()  # by itself: a crash may leave one unfinished entry, never two
            self._last_stamp = stamp
        if kind == record.SEAL:
            self._chain.mend(stamp)
            data = {**data, "head": self._chain.head.hex(), "count": self._chain.count}
            data = self._signed(data, stamp, sign) if sign is not None else data
        self._chain.put(kind, data, stamp)
        self._last_stamp = stamp
        self._chain.sync()
        self._recorded = _recorded(self._chain)
        return self._recorded

    def _signed(self, data: dict[str, Any], stamp: Stamp, sign: signature.Sign) -> dict[str, Any]:
        """The seal's data with their signature, or as they are where the key cannot be used."""
        n, kind = self._chain.count, record.SEAL
        body = line.body(n, kind, line.encode(data), stamp.iso(), stamp.mono_ms)
        statement = signature.Statement(self.run, n, line.link(self._chain.head, body)[1].hex())
        self.not_signed = ""
        try:
            return {**data, signature.NAME: statement.signed(*sign(statement.text()))}
        except KeyUnusable as error:
            self.not_signed = str(error)
            return data


def create(
    folder: Path, name: str, header: Mapping[str, Any], outside: Outside, run: str | None = None
) -> LogWriter:
    """Start the log `name` in `folder` (made if missing); when this returns the run is started, durably.

    `header` holds the linked procedure, program versions and whatever else reading needs for ever; the keys
    of `HEADER_OWN` are added. `run` is the run's identity where the caller has drawn it for the name.
    Raises Refused for a place where no log may be kept, Unwritable for a header that no log can hold,
    NotRecorded when the start could not be made durable (an incomplete file may stay: it is no started run).
    """
    clash = HEADER_OWN & header.keys()
    if clash:
        raise ValueError(f"the header's {sorted(clash)} are the log's own")
    _require_plain(name)
    files, stamp = outside.files, outside.now()
    run = run or outside.new_id()
    own = {"log": line.VERSION, "run": run, "sync": files.sync_name, **_presence(outside, stamp)}
    path = folder / name
    try:
        remarks = place.ready_folder(folder, files)
        fd = place.open_new(path, files)
    except OSError as error:
        raise NotRecorded(f"{path.name} cannot be created ({error.strerror})", may_retry=True) from error
    chain = ChainFile(files, path, fd, line.root())
    with closing_on_error(chain):
        lock(files, fd, path)
        chain.put(record.RUN, {**header, **own}, stamp, limit=line.HEADER_LIMIT)
        chain.sync()
        _sync_folder(files, folder)
    return LogWriter(chain, run, stamp, remarks)


def reopen(path: Path, outside: Outside, reader: Reader | None = None) -> tuple[LogWriter, Report]:
    """Take up an unsealed log: read it from the medium, verify it, heal a torn end, record the opening.

    The report holds the entries found, before that opening (with a `reader`, which is handed each of them, only the
    last); its `tail` is what a crash had left. An entry found `whole` is among them: it was never confirmed on a
    screen, nor need the last one of an open log be.
    Raises Refused, Held, Broken, Sealed; NotRecorded when the opening could not be made durable.
    """
    files = outside.files
    try:
        remarks = place.folder_remarks(path.parent, files)
        fd, own_remarks = place.open_old(path, files)
    except OSError as error:
        raise Refused(f"{path.name} cannot be opened for writing ({error.strerror}).") from error
    chain = ChainFile(files, path, fd, line.root())
    with closing_on_error(chain):
        lock(files, fd, path)
        report = reread(chain, fd, files, reader=reader)
        if report.state == "complete":
            raise Sealed(path.name)
        last = report.records[-1].stamp
        run = str((report.header or {}).get("run"))
        writer = LogWriter(chain, run, last, (*remarks, *own_remarks))
        writer._open(outside, report.count)
    return writer, report


def clock_jump(before: Stamp, after: Stamp) -> dict[str, Any] | None:
    """What a `clock` entry says when wall time did not go along with the running clock, else none."""
    if before.boot == after.boot and before.offset_min == after.offset_min:
        step_ms = (after.wall_ms - before.wall_ms) - (after.mono_ms - before.mono_ms)
        if abs(step_ms) <= CLOCK_SLACK_MS:
            return None
    return {"before": before.iso(), "after": after.iso(), "boot": after.boot, "offset_min": after.offset_min}


def _recorded(chain: ChainFile) -> Recorded:
    return Recorded(chain.count - 1, chain.head)


def _presence(outside: Outside, stamp: Stamp) -> dict[str, Any]:
    return {"boot": stamp.boot, "offset_min": stamp.offset_min, "pid": outside.pid()}


def _require_plain(name: str) -> None:
    if re.fullmatch(r"[A-Za-z0-9][A-Za-z0-9._-]{0,199}\.jsonl", name) is None:
        raise Refused(f"{name!r} is no name for a log; use letters, digits and - and end it in .jsonl.")


def _sync_folder(files: Files, folder: Path) -> None:
    try:
        files.fsync_dir(folder)
    except OSError as error:
        raise NotRecorded(f"the folder could not be synced ({error.strerror})", may_retry=False) from error
