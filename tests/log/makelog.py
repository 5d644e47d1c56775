"""Logs to damage: written by the real writer into a folder, or line by line with any content."""

from pathlib import Path
from typing import Any

from runner.log import line
from runner.log.writer import LogWriter, create, reopen
from tests.doubles import FaultyFiles, SetOutside

HEADER = {"procedure": {"title": "Wheel change, invented", "steps": ["raise", "swap"]}, "program": "0.1.0"}


def start(folder: Path, outside: SetOutside, name: str = "a.jsonl") -> LogWriter:
    return create(folder, name, HEADER, outside)


def fill(writer: LogWriter, outside: SetOutside, count: int) -> None:
    for number in range(count):
        writer.append("reading", {"raw": f"{number},5 N·m", "by": "Ada"}, outside.now())


def sealed_bytes(folder: Path, *, count: int = 5, scar: bool = False, seal: bool = True) -> bytes:
    """A log, with a scar in it and sealed if asked for."""
    outside = SetOutside()
    writer = start(folder, outside)
    fill(writer, outside, count)
    writer.close()
    if scar:
        with (folder / "a.jsonl").open("ab") as log:
            log.write(b'{"data":{"raw":"tor')
    writer, _ = reopen(folder / "a.jsonl", outside)
    if seal:
        writer.seal({"end": "finished"}, outside.now())
    writer.close()
    return (folder / "a.jsonl").read_bytes()


def hand_made(*entries: tuple[str, dict[str, Any]], version: int = 1, **fields: Any) -> bytes:
    """A rightly chained log of any entries behind a header; `fields` replace parts of every body."""
    own = {"boot": "b", "log": version, "offset_min": 0, "run": "r"}
    head, lines = line.root(version), []
    for n, (kind, data) in enumerate([("run", own), *entries]):
        body: dict[str, Any] = {
            "data": data,
            "kind": kind,
            "mono_ms": n,
            "n": n,
            "utc": "2026-11-25T09:04:00.000Z",
        }
        if n:
            body |= fields
        whole, head = line.link(head, line.encode(body))
        lines.append(whole)
    return b"".join(lines)


def faulty(op: str, at: int, *, for_ever: bool = False, short: int | None = None) -> SetOutside:
    return SetOutside(files=FaultyFiles(op, at, for_ever=for_ever, short=short))
