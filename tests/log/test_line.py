"""One line: its canonical bytes, what is refused, the chain value and the receipt code."""

import hashlib
import json
import math
from contextlib import suppress
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from runner.log import line
from runner.log.errors import Unwritable

BIGGEST = 2**53 - 1
texts = st.text(st.characters(exclude_categories=["Cs"]))
keys = st.text(st.characters(max_codepoint=127))
values = st.recursive(
    st.none() | st.booleans() | st.integers(-BIGGEST, BIGGEST) | texts,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(keys, inner, max_size=4),
    max_leaves=20,
)


def by_the_rfc(value: Any) -> str:
    """RFC 8785, sections 3.2.1 to 3.2.4, written down independently for the subset of values used here."""
    if value is None or isinstance(value, bool):
        return {None: "null", True: "true", False: "false"}[value]
    if isinstance(value, int):
        return str(value)
    if isinstance(value, str):
        short = {'"': '\\"', "\\": "\\\\", "\b": "\\b", "\f": "\\f", "\n": "\\n", "\r": "\\r", "\t": "\\t"}
        return '"' + "".join(short.get(c, f"\\u{ord(c):04x}" if c < " " else c) for c in value) + '"'
    if isinstance(value, list):
        return "[" + ",".join(map(by_the_rfc, value)) + "]"
    in_order = sorted(value, key=lambda key: key.encode("utf-16-be"))
    return "{" + ",".join(f"{by_the_rfc(key)}:{by_the_rfc(value[key])}" for key in in_order) + "}"


@given(values)
def test_encoding_is_canonical_and_decodes_to_the_same_value(value: Any) -> None:
    data = line.encode(value)
    assert data.decode() == by_the_rfc(value)
    assert line.decode(data) == value
    assert line.encode(line.decode(data)) == data


def test_the_sample_of_rfc_8785() -> None:
    """RFC 8785, section 3.2.2 and its canonical form in 3.2.3 (the fractions of the sample apart)."""
    sample = (
        '{"string":"\\u20ac$\\u000F\\u000aA\'\\u0042\\u0022\\u005c\\\\\\"\\/","literals":[null,true,false]}'
    )
    expected = '{"literals":[null,true,false],"string":"€$\\u000f\\nA\'B\\"\\\\\\\\\\"/"}'
    assert line.encode(json.loads(sample)).decode() == expected


def nested(depth: int) -> list[Any]:
    value: list[Any] = []
    for _ in range(depth):
        value = [value]
    return value


UNWRITABLE = [
    1.0,
    math.nan,
    math.inf,
    2**53,
    -(2**53),
    {"é": 1},
    {1: 2},
    "\ud800",
    {"a": ["\udfff"]},
    b"x",
    {1, 2},
]


@pytest.mark.parametrize(
    "value", [*UNWRITABLE, object(), nested(201), nested(5000)], ids=lambda value: type(value).__name__
)
def test_what_has_no_place_in_a_log_is_refused_in_one_sentence(value: Any) -> None:
    with pytest.raises(Unwritable) as refused:
        line.encode(value)
    assert str(refused.value).endswith(".")
    assert "\n" not in str(refused.value)


NO_JSON = [
    b"\xff",
    b'"\xed\xa0\x80"',
    b"",
    b"{}{}",
    b"{} ",
    b" {}",
    b"{}\n\n",
    b"[" * 100_000,
    b"9" * 1_000_000,
]
NOT_OURS = [
    b'{"a":1} {"b":2}',
    b"[" * 203 + b"]" * 203,
    b'{"a":' * 203 + b"1" + b"}" * 203,
    b'{"a":1,"a":1}',
    b'{"a":{"b":1,"b":2}}',
    b"1.0",
    b"1e5",
    b"NaN",
    b"[-Infinity]",
    b'"\\ud800"',
    b'"\\uDFFF"',
]


@pytest.mark.parametrize("data", [*NO_JSON, *NOT_OURS], ids=lambda data: repr(data[:20]))
def test_bytes_that_are_no_line_are_refused(data: bytes) -> None:
    with pytest.raises(line.BadLine):
        line.decode(data)


@given(st.binary(max_size=200))
def test_decoding_any_bytes_gives_a_value_or_bad_line(data: bytes) -> None:
    with suppress(line.BadLine):
        line.decode(data)


@given(st.binary(min_size=32, max_size=32), st.dictionaries(keys, values, max_size=4), st.integers(0, 10**9))
def test_a_line_is_canonical_json_chained_to_the_one_before(
    previous: bytes, data: dict[str, Any], n: int
) -> None:
    canonical = line.encode(data)
    whole, head = line.link(previous, line.body(n, "reading", canonical, "2026-11-25T09:04:00.000Z", 17))
    assert line.encode(line.decode(whole)) + b"\n" == whole
    unchained = line.decode(whole)
    del unchained["~"]
    assert head == hashlib.sha256(previous + by_the_rfc(unchained).encode()).digest()
    assert line.follow(previous, whole) == head
    assert line.whole_until(previous, whole + b"more") == len(whole) - 1
    with pytest.raises(line.BadLine):
        line.follow(hashlib.sha256(previous).digest(), whole)


def test_the_chain_begins_with_format_and_version() -> None:
    assert line.root() == hashlib.sha256(b"witnessmark-log/1\n").digest()
    assert line.root(2) != line.root()


@pytest.mark.parametrize("kind", ["reading", "put_off", "a_b_c"])
def test_kinds_are_lower_case_words(kind: str) -> None:
    assert line.is_kind(kind)


@pytest.mark.parametrize("kind", ["", "Reading", "put-off", "_a", "a_", "a__b", "a1", "é", "a\n", "a" * 41])
def test_other_kinds_are_none(kind: str) -> None:
    assert not line.is_kind(kind)


def test_a_receipt_is_the_first_fifty_bits() -> None:
    assert line.receipt(bytes(32)) == "00000-00000"
    assert line.receipt(b"\xff" * 32) == "ZZZZZ-ZZZZZ"
    assert line.receipt(bytes.fromhex("00443214c74240") + bytes(25)) == "01234-56789"


@given(st.binary(min_size=32, max_size=32))
def test_a_receipt_copied_by_hand_is_recognised(head: bytes) -> None:
    code = line.receipt(head)
    assert len(code) == 11
    assert not set(code) & set("ILOU")
    assert line.same_receipt(code.lower().replace("-", " ").replace("0", "o").replace("1", "l"), head)
    assert not line.same_receipt(code, hashlib.sha256(head).digest())
    assert not line.same_receipt(code[:-1], head)
