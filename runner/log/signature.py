"""The signature over a seal: what is signed, where it stands, and what a reader tells of it.

Signed is a statement of four lines of ASCII text: its name and version, the run, the number of entries before
the seal, and the chain value that the seal would have without its signature; so it covers every byte of the
log, the seal's own words among them, and nothing of another run or place. It stands in the seal, behind which
nothing may follow. The key's part (Ed25519, RFC 8032) is in `keys`; this module needs no library for it.
"""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, Final, Literal

from runner.log import line, record
from runner.log.errors import KeyUnusable, Unwritable
from runner.log.record import Record, Report

NAME: Final = "signature"
"""The key of the seal's data that holds the signature."""

Sign = Callable[[bytes], tuple[bytes, bytes]]
"""Public key (32 bytes) and signature (64 bytes) of a message; raises KeyUnusable."""
Check = Callable[[bytes, bytes, bytes], bool]
"""Whether a signature (first) is that of a message (second) by a public key (third)."""

Kind = Literal[
    "good", "not sealed", "absent", "malformed", "other key", "forged", "other run", "other seal", "changed"
]

_FORMS: Final[Mapping[str, re.Pattern[str]]] = {
    "ed25519": re.compile(r"[0-9a-f]{128}", re.ASCII),
    "head": re.compile(r"[0-9a-f]{64}", re.ASCII),
    "key": re.compile(r"[0-9a-f]{64}", re.ASCII),
    "run": re.compile(r"[0-9a-f]{32}", re.ASCII),
}


@dataclass(frozen=True, slots=True)
class Statement:
    """What is signed."""

    run: str
    """Identity of the run, 32 hexadecimal letters."""
    count: int
    """Entries before the seal."""
    head: str
    """The chain value that the seal would have without its signature, in hexadecimal."""

    def text(self) -> bytes:
        """The bytes that are signed. Raises KeyUnusable for a run whose identity has another form."""
        if _FORMS["run"].fullmatch(self.run) is None:
            raise KeyUnusable("The identity of the run has not the form that a signature can name.")
        words = f"witnessmark-seal-signature/1\nrun {self.run}\ncount {self.count}\nhead {self.head}\n"
        return words.encode("ascii")

    def signed(self, public: bytes, signature: bytes) -> dict[str, Any]:
        """The signature as it stands in the seal."""
        return {
            "count": self.count,
            "ed25519": signature.hex(),
            "head": self.head,
            "key": public.hex(),
            "run": self.run,
        }


@dataclass(frozen=True, slots=True)
class Judged:
    """What is to be said of a log's signature."""

    kind: Kind
    words: str


def stated_key(seal: Record | None) -> str:
    """The public key that a seal's signature names, in hexadecimal; empty without one. This proves nothing."""
    signature = _signature(seal)
    return signature["key"] if signature is not None else ""


def judge(report: Report, last: Record | None, public: bytes, check: Check) -> Judged:
    """Whether the log was sealed by the holder of `public`; `last` is its last good entry."""
    if report.state != "complete" or last is None or report.header is None:
        return Judged(
            "not sealed", "NOT SIGNED: without a seal in order there is nothing that could be signed"
        )
    if NAME not in last.data:
        return Judged("absent", "NOT SIGNED: the seal was never signed, or its signature was taken away")
    signature = _signature(last)
    if signature is None:
        return Judged("malformed", "BAD SIGNATURE: it has not the form of one")
    if signature["key"] != public.hex():
        return Judged("other key", f"NOT SIGNED WITH THIS KEY, but with {signature['key']}")
    statement = Statement(signature["run"], signature["count"], signature["head"])
    if not check(bytes.fromhex(signature["ed25519"]), statement.text(), public):
        return Judged("forged", "BAD SIGNATURE: the holder of this key never made it")
    return _of_this_seal(statement, report.header, last)


def _of_this_seal(statement: Statement, header: dict[str, Any], seal: Record) -> Judged:
    """A statement that the key's holder did sign, held against the log it stands in."""
    if statement.run != header.get("run"):
        return Judged("other run", f"BAD SIGNATURE: it is that of another run, {statement.run}")
    if statement.count != seal.n:
        words = f"a seal of this run after {statement.count} entries; this one is after {seal.n}"
        return Judged("other seal", f"BAD SIGNATURE: it is that of {words}")
    before = bytes.fromhex(seal.data["head"])
    unsigned = {key: value for key, value in seal.data.items() if key != NAME}
    # The second test holds the signature's own bytes: only the one canonical form of the seal is accepted.
    try:
        ours = (_chained(before, seal, unsigned), _chained(before, seal, seal.data))
    except Unwritable:  # it holds what this program never writes
        ours = ("", "")
    if ours != (statement.head, seal.head.hex()):
        return Judged("changed", "BAD SIGNATURE: the log or its seal was changed after it was signed")
    return Judged("good", "SIGNED with this key")


def _chained(before: bytes, seal: Record, data: dict[str, Any]) -> str:
    body = line.body(seal.n, seal.kind, line.encode(data), seal.stamp.iso(), seal.stamp.mono_ms)
    return line.link(before, body)[1].hex()


def _signature(seal: Record | None) -> dict[str, Any] | None:
    """The seal's signature where it has the form of one."""
    found = seal.data.get(NAME) if seal is not None and seal.kind == record.SEAL else None
    if not isinstance(found, dict) or found.keys() != {"count", *_FORMS} or type(found["count"]) is not int:
        return None
    if not all(isinstance(found[key], str) and form.fullmatch(found[key]) for key, form in _FORMS.items()):
        return None
    return found
