"""Logs that anybody can write: any content, rightly chained, so that only what an entry says is wrong."""

import copy
import json
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any

from runner.log import line

KEPT = Path("tests/kept/run-1-lower-arm.jsonl")

Body = dict[str, Any]


def bodies(data: bytes) -> list[Body]:
    """The entries of a log without their chain values."""
    return [json.loads(raw[:-73] + b"}") for raw in data.splitlines(keepends=True)]


def raw_body(body: Body) -> bytes:
    """A body as a hostile writer may write it: nothing is refused, halves of letters are let through."""
    return json.dumps(body, ensure_ascii=False, sort_keys=True, separators=(",", ":")).encode(
        "utf-8", "surrogatepass"
    )


def chained(all_bodies: Iterable[bytes]) -> bytes:
    head, lines = line.root(), []
    for body in all_bodies:
        whole, head = line.link(head, body)
        lines.append(whole)
    return b"".join(lines)


BODIES = bodies(KEPT.read_bytes())


def changed(change: Callable[[list[Body]], object], entries: int = 12) -> bytes:
    """The first entries of a kept log with something changed in them."""
    made = copy.deepcopy(BODIES[:entries])
    change(made)
    return chained(map(raw_body, made))


def ending(data: bytes, *, entries: int = 6) -> bytes:
    """The first entries of a kept log and one more, whose data is `data` as it stands."""
    tail = b',"kind":"note","mono_ms":1,"n":%d,"utc":"2026-01-01T00:00:00.000Z"}' % entries
    return chained([*map(raw_body, BODIES[:entries]), b'{"data":' + data + tail])
