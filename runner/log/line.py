"""One line of a log: its canonical bytes, its place in the chain, and the receipt code of that place.

A line is `body` without its last brace, then `,"~":"<64 hex>"}` and a line feed. The hex is
SHA-256(previous chain value, 32 bytes, then body); before the first line the chain value is
SHA-256("witnessmark-log/1\\n"), which ties every value to this format and version. Bodies are canonical
JSON as RFC 8785 has it, for the subset used here: ASCII keys, integers within ±(2^53-1), text, true, false,
null, lists, objects; no fractions.
"""

import json
import re
from binascii import hexlify
from functools import lru_cache
from hashlib import sha256
from itertools import chain
from typing import Any, Final, NoReturn

from msgspec import field
from msgspec.json import Encoder

from runner.frozen import Slim
from runner.log.errors import Unwritable

VERSION: Final = 1
"""The log version written here."""
LINE_LIMIT: Final = 65_536
"""Bytes of one line with its line feed, the header apart."""
HEADER_LIMIT: Final = 16 * 1024 * 1024
"""Bytes of the first line, which carries the whole linked procedure."""
CUT: Final = b"\x18\x18\x18\x18\n"
"""Ends a scar's fragment. 0x18 cannot stand raw in JSON text, and four of them are no slip of one byte."""
SCAR_LIMIT: Final = 4 * LINE_LIMIT
"""Bytes of a scar's fragment with its cut mark: a torn entry, and what torn scars left behind it."""
PARTS_LIMIT: Final = 1_000_000
"""Of one line, as `parts` counts them. The first line of a procedure of 10,000 steps has 376,000."""

_INT_LIMIT = 2**53 - 1
_DEPTH_LIMIT = 200
_DEPTH_READ = _DEPTH_LIMIT + 2
"""Of a whole line, whose data may be as deep as what is written. The same wherever a line is read, however much of
the interpreter's stack is in use."""
_LETTERS = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
"""Base 32 without I, L, O and U, which are misread by hand (Crockford, "Base 32", crockford.com)."""
_READ_AS = str.maketrans("OIL", "011", "- ")
_SUFFIX = re.compile(rb',"~":"([0-9a-f]{64})"\}')
_SUFFIX_SIZE = 72
_KEYS = {"data", "kind", "mono_ms", "n", "utc", "~"}
_WORDS = re.compile(r"[a-z]+(_[a-z]+)*", re.ASCII)


class BadLine(ValueError):  # noqa: N818 - read as `except BadLine`
    """The bytes are no line of a log; the message says why in a few words."""


def root(version: int = VERSION) -> bytes:
    """The chain value before the first line of a log of `version`."""
    return sha256(b"witnessmark-log/%d\n" % version).digest()


@lru_cache(256)
def is_kind(text: str) -> bool:
    """Whether `text` can name a kind of entry: lower-case words joined by underscores, at most 40 letters."""
    return len(text) <= 40 and _WORDS.fullmatch(text) is not None


def encode(value: object) -> bytes:
    """The one byte form of `value`; Unwritable when it has none."""
    _require_fit(value)
    try:
        return _ENCODE(value)
    except UnicodeEncodeError as error:
        raise Unwritable("The text holds half a letter (a lone surrogate) and cannot be written.") from error


def decode(data: bytes) -> Any:
    """The value of one JSON line; BadLine for fractions, doubled keys, lone surrogates, what is no JSON, and what is
    larger or deeper than anything that is written.
    """
    if len(data) > LINE_LIMIT and parts(data) > PARTS_LIMIT:
        raise BadLine("it holds more values than a line may")
    try:
        text = data.decode("utf-8")
        value, end = _DECODE(text, 0)
        if b"\\ud" in data or b"\\uD" in data:
            json.dumps(value, ensure_ascii=False).encode("utf-8")
    except UnicodeError as error:
        raise BadLine("it is not UTF-8 text") from error
    except RecursionError as error:
        raise BadLine("it is nested too deeply") from error
    except BadLine:
        raise
    except ValueError as error:
        raise BadLine("it is not JSON") from error
    if text[end:] not in ("", "\n"):
        raise BadLine("something follows its JSON text")
    if data.count(b"[") + data.count(b"{") > _DEPTH_READ and _is_deep(value):
        raise BadLine("it is nested too deeply")
    return value


def parts(data: bytes) -> int:
    """How many lists, objects, keys and further values a text of JSON holds, at most: signs inside strings count too.

    Bytes alone do not bound how long reading takes: a number or an empty list has two of them, a text has thousands.
    """
    return data.count(b"[") + data.count(b"{") + data.count(b'":') + data.count(b",")


def _is_deep(value: object) -> bool:
    """Whether lists and objects stand in one another deeper than a line may have them."""
    level: list[Any] = [value] if isinstance(value, dict | list) else []
    for _ in range(_DEPTH_READ):
        inside = chain.from_iterable(each.values() if isinstance(each, dict) else each for each in level)
        level = [each for each in inside if isinstance(each, dict | list)]
        if not level:
            return False
    return True


class Said(Slim, frozen=True):
    """What the line of an entry says, each part of the right form; not yet whether the entry has its place."""

    data: Any
    kind: str
    mono_ms: int
    n: int
    utc: str
    chain: str = field(name="~")


def read(raw: bytes) -> Said:
    """What a line says; BadLine where it is no JSON (as `decode`) or has not the form of an entry."""
    return said(decode(raw))


def said(value: object) -> Said:
    """What the value of a line says; BadLine where it has not the form of an entry."""
    if type(value) is not dict or value.keys() != _KEYS:
        raise BadLine("it has not the keys of an entry")
    read_off = Said(value["data"], value["kind"], value["mono_ms"], value["n"], value["utc"], value["~"])
    if type(read_off.data) is not dict or type(read_off.kind) is not str or type(read_off.utc) is not str:
        raise BadLine("a field of it has the wrong form")
    if type(read_off.mono_ms) is not int or type(read_off.n) is not int:
        raise BadLine("a field of it has the wrong form")
    return read_off


def body(n: int, kind: str, data: bytes, utc: str, mono_ms: int) -> bytes:
    """The part of a line that the chain covers; `data` is already canonical."""
    return b'{"data":%b,"kind":"%b","mono_ms":%d,"n":%d,"utc":"%b"}' % (
        data,
        kind.encode("ascii"),
        mono_ms,
        n,
        utc.encode("ascii"),
    )


def link(previous: bytes, body_bytes: bytes) -> tuple[bytes, bytes]:
    """The whole line for a body, and the chain value after it."""
    head = sha256(previous + body_bytes).digest()
    return b'%b,"~":"%b"}\n' % (body_bytes[:-1], head.hex().encode("ascii")), head


def follow(previous: bytes, line: bytes) -> bytes:
    """The chain value after `line` (with its line feed); BadLine where it does not follow `previous`."""
    cut = len(line) - _SUFFIX_SIZE - 1
    if cut <= 0 or not line.startswith(b',"~":"', cut) or not line.endswith(b'"}\n'):
        raise BadLine("it does not end in a chain value")
    head = sha256(b"%b%b}" % (previous, line[:cut])).digest()
    if hexlify(head) != line[cut + 6 : -3]:
        raise BadLine("its bytes do not give its chain value")
    return head


def whole_until(previous: bytes, data: bytes) -> int | None:
    """Where a whole line that follows `previous` ends in `data` (before its line feed), if one is there."""
    done, running = 0, sha256(previous)
    for match in _SUFFIX.finditer(data):
        running.update(data[done : match.start()])
        done = match.start()
        here = running.copy()
        here.update(b"}")
        if here.hexdigest().encode("ascii") == match[1]:
            return match.end()
    return None


def receipt(head: bytes) -> str:
    """The first 50 bits of a chain value as ten letters in two groups, to be written on paper."""
    bits = int.from_bytes(head[:7], "big") >> 6
    letters = "".join(_LETTERS[(bits >> shift) & 31] for shift in range(45, -1, -5))
    return f"{letters[:5]}-{letters[5:]}"


def is_receipt(written: str) -> bool:
    """Whether a text has the form of a receipt code."""
    letters = written.upper().translate(_READ_AS)
    return len(letters) == 10 and all(letter in _LETTERS for letter in letters)


def same_receipt(written: str, head: bytes) -> bool:
    """Whether a code copied from paper is that of `head`; case, spaces and O, I, L are forgiven."""
    return written.upper().translate(_READ_AS) == receipt(head).replace("-", "")


def _require_fit(value: object) -> None:
    """Unwritable for any value, at any depth, that has no canonical form here."""
    level = [value]
    for _ in range(_DEPTH_LIMIT + 1):
        inside: list[object] = []
        for each in level:
            if isinstance(each, dict):
                _require_keys(each)
                # Most values are text; what they cost is felt at every entry.
                inside += [held for held in each.values() if type(held) is not str]
            elif isinstance(each, list | tuple):
                inside += [held for held in each if type(held) is not str]
            elif isinstance(each, int):
                if not -_INT_LIMIT <= each <= _INT_LIMIT:
                    raise Unwritable("A number beyond ±(2^53-1) cannot be written; write it as text.")
            elif not (each is None or isinstance(each, str)):
                raise Unwritable(
                    f"A value of type {type(each).__name__} cannot be written; write it as text."
                )
        if not inside:
            return
        level = inside
    raise Unwritable(f"An entry may not be nested deeper than {_DEPTH_LIMIT}.")


def _require_keys(value: dict[Any, Any]) -> None:
    try:
        fit = "".join(value).isascii()
    except TypeError:
        fit = False
    if not fit:
        wrong = next(key for key in value if not isinstance(key, str) or not key.isascii())
        raise Unwritable(f"The key {wrong!r} is not ASCII text and cannot be written.")


def _as_plain(value: object) -> object:
    """A text or number of a kind of its own, as plain text or number."""
    return str(value) if isinstance(value, str) else int(value)  # type: ignore[call-overload]


def _without_doubles(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    value = dict(pairs)
    if len(value) != len(pairs):
        raise BadLine("a key stands twice in it")
    return value


def _no_fraction(text: str) -> NoReturn:
    raise BadLine("a number in it is not a whole one")


_ENCODE = Encoder(order="sorted", enc_hook=_as_plain).encode
_DECODE = json.JSONDecoder(
    object_pairs_hook=_without_doubles, parse_float=_no_fraction, parse_constant=_no_fraction
).raw_decode
