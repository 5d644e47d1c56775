"""The lines of a log, each held against the chain; written from `logs/README.md` alone."""

import hashlib
import json
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

CUT = b"\x18\x18\x18\x18\n"


class NoLogError(ValueError):
    """The bytes are no log, or not in order."""


@dataclass(frozen=True)
class Moment:
    """When an entry was made: wall and running clock in milliseconds, and the boot they belong to."""

    wall: int
    mono: int
    boot: str

    def since(self, start: "Moment") -> tuple[int, ...]:
        """What each clock that can be trusted says about the time since `start`."""
        wall = self.wall - start.wall
        return (wall, self.mono - start.mono) if self.boot == start.boot else (wall,)


@dataclass(frozen=True)
class Line:
    """One entry as it stands in the file."""

    n: int
    kind: str
    data: dict[str, Any]
    moment: Moment


def lines(data: bytes) -> list[Line]:
    """Every entry in order. Raises NoLogError at the first byte that does not follow."""
    head, at, boot = hashlib.sha256(b"witnessmark-log/1\n").digest(), 0, ""
    found: list[Line] = []
    while at < len(data):
        end = data.find(b"\n", at) + 1
        entry = _entry(head, data[at:end])
        if entry is None:
            end, entry = _behind_a_scar(head, data, at)
        head = bytes.fromhex(entry["~"])
        if entry["n"] != len(found):
            raise NoLogError(f"entry {entry['n']} stands in place {len(found)}")
        boot = entry["data"].get("boot", boot) if entry["kind"] in ("run", "opened", "clock") else boot
        moment = Moment(_wall(entry["utc"]), entry["mono_ms"], boot)
        found.append(Line(entry["n"], entry["kind"], entry["data"], moment))
        at = end
    return found


def _entry(head: bytes, line: bytes) -> dict[str, Any] | None:
    digest = hashlib.sha256(head + line[:-73] + b"}").hexdigest().encode()
    return json.loads(line) if line.endswith(b',"~":"' + digest + b'"}\n') else None


def _behind_a_scar(head: bytes, data: bytes, at: int) -> tuple[int, dict[str, Any]]:
    cut = data.find(CUT, at)
    while cut >= 0:
        end = data.find(b"\n", cut + len(CUT)) + 1
        entry = _entry(head, data[cut + len(CUT) : end])
        if entry is not None and entry["kind"] == "scar":
            return end, entry
        cut = data.find(CUT, cut + 1)
    raise NoLogError(f"the chain is broken at byte {at}")


def _wall(utc: str) -> int:
    moment = datetime.strptime(utc, "%Y-%m-%dT%H:%M:%S.%fZ").replace(tzinfo=UTC)
    return round(moment.timestamp() * 1000)
