"""A log as plain JSON Lines, and its scars as one JSON document: for programs that know nothing of scars.

A line of the export is the entry's value as it stands (`data`, `kind`, `mono_ms`, `n`, `utc` and the chain
value `~`), written in ASCII with JSON's escapes, so that no terminal and no program can be steered by what
people typed. In canonical form again it has the bytes that the chain covers.
"""

import base64
import json
from collections.abc import Iterator
from hashlib import sha256
from typing import Any, BinaryIO

from runner.log import line
from runner.log.errors import Refused
from runner.log.record import Report

VERSION = 1
"""Of the list of scars. Raised when a name in it changes its meaning; new names may come at any time."""


def json_lines(source: BinaryIO, report: Report) -> Iterator[bytes]:
    """Each good entry as one line; `source` stands at the first byte of the file that `report` is about.

    Raises Refused where the file is no longer the one that was judged.
    """
    gaps = {scar.byte: scar.size + len(line.CUT) for scar in report.scars}
    at, head, version = 0, line.root(), (report.header or {}).get("log")
    head = line.root(version) if isinstance(version, int) else head
    while at < report.good_bytes:
        at += len(source.read(gaps.get(at, 0)))
        raw = source.readline(line.HEADER_LIMIT + 1 if at == 0 else line.LINE_LIMIT + 1)
        try:
            head = line.follow(head, raw)
            value = line.decode(raw)
        except line.BadLine as error:
            raise Refused("The log was changed while it was read.") from error
        yield json.dumps(value, ensure_ascii=True, separators=(",", ":")).encode("ascii") + b"\n"
        at += len(raw)
    if head != report.head:
        raise Refused("The log was changed while it was read.")


def scar_list(source: BinaryIO, report: Report, name: str, *, is_list: bool = False) -> dict[str, Any]:
    """The scars with their bytes, and what a crash left at the end, with the verdict on the file `name`.

    With `is_list` that file is the shop's list of runs, which no seal ends: it is in order where a log would be open.
    """
    fault, tail = report.fault, report.tail
    in_order = is_list and report.state == "open"
    return {
        "version": VERSION,
        "log": name,
        "run": (report.header or {}).get("run"),
        "state": "list of runs" if is_list else report.state,
        "verdict": f"list of runs, {report.count} entries." if in_order else report.summary(),
        "entries": report.count,
        "head": report.head.hex(),
        "fault": None if fault is None else {"line": fault.line, "byte": fault.byte, "why": fault.why},
        "scars": [{"n": scar.n, **_fragment(source, scar.byte, scar.size)} for scar in report.scars],
        "tail": None if tail is None else {"kind": tail.kind, **_fragment(source, tail.byte, tail.size)},
    }


def _fragment(source: BinaryIO, byte: int, size: int) -> dict[str, Any]:
    source.seek(byte)
    raw = source.read(size)
    coded = base64.b64encode(raw).decode("ascii")
    return {"byte": byte, "size": size, "sha256": sha256(raw).hexdigest(), "base64": coded}
