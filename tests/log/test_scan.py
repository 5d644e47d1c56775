"""What reading says about whole, cut, changed and hostile files."""

import io
import json
import os
from hashlib import sha256
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from runner.log import line, versions
from runner.log.errors import Refused
from runner.log.scan import Scanner, scan, scan_file
from tests.doubles import SetOutside
from tests.hostile.chained import BODIES, chained, ending, raw_body
from tests.log.makelog import hand_made, sealed_bytes, start


@pytest.fixture
def whole(tmp_path: Path) -> bytes:
    """A sealed log with a scar: 9 entries."""
    return sealed_bytes(tmp_path, scar=True)


def lines_of(data: bytes) -> list[bytes]:
    return [each + b"\n" for each in data.split(b"\n")[:-1]]


def test_a_sealed_log_is_complete_and_tells_everything(whole: bytes) -> None:
    report = scan(whole)
    assert report.state == "complete"
    assert report.summary() == "COMPLETE: sealed, 9 entries."
    assert [entry.kind for entry in report.records] == ["run", *["reading"] * 5, "scar", "opened", "seal"]
    assert [entry.n for entry in report.records] == list(range(9))
    assert [entry.line for entry in report.records] == [1, 2, 3, 4, 5, 6, 8, 9, 10]
    assert report.records[2].data == {"raw": "1,5 N·m", "by": "Ada"}
    assert report.header is not None
    assert report.header["procedure"]["title"] == "Wheel change, invented"
    assert (report.good_bytes, report.tail, report.fault) == (len(whole), None, None)
    assert [(scar.n, scar.size) for scar in report.scars] == [(6, 19)]
    assert report.records[-1].head == report.head
    assert report.records[-1].stamp.offset_min == 120
    stamps = [entry.stamp.wall_ms for entry in report.records]
    assert stamps == sorted(stamps)


def test_reading_one_by_one_gives_the_same(whole: bytes) -> None:
    scanner = Scanner(io.BytesIO(whole))
    with pytest.raises(RuntimeError):
        _ = scanner.report
    assert tuple(scanner) == scan(whole).records
    assert scanner.report.summary() == scan(whole).summary()
    assert scanner.report.records == ()


def test_nothing_may_follow_a_seal(whole: bytes) -> None:
    for more in (b"x", b"\n", b"\0", b'{"data":{', line.CUT, lines_of(whole)[1]):
        report = scan(whole + more)
        assert report.state == "broken"
        assert report.fault is not None
        assert report.fault.why == "something follows the seal"


def test_the_fault_says_line_byte_and_why(whole: bytes) -> None:
    lines = lines_of(whole)
    report = scan(b"".join(lines[:3] + lines[4:]))
    assert report.summary() == (
        f"BROKEN at line 4, byte {len(b''.join(lines[:3]))}: it says entry 4 where entry 3 belongs."
    )
    report = scan(whole.replace(b"1,5", b"9,5"))
    assert report.summary() == (
        f"BROKEN at line 3, byte {len(b''.join(lines[:2]))}: its bytes do not give its chain value."
    )


def test_a_scar_must_account_for_its_fragment(whole: bytes) -> None:
    lines = lines_of(whole)
    assert lines[6].endswith(line.CUT)
    without = b"".join([*lines[:6], *lines[7:]])
    changed = whole.replace(b'"tor\x18', b'"Tor\x18')
    unmarked = whole.replace(b"\x18\x18\x18\x18\n", b"\x18\x18\x18\n")
    remarked = [whole.replace(line.CUT, b"\x18" * i + b"\x19" + line.CUT[i + 1 :]) for i in range(4)]
    for data in (without, changed, unmarked, *remarked):
        assert scan(data).state == "broken"


@pytest.mark.parametrize(
    ("leftover", "state"),
    [
        (b'{"data":{"raw":"to', "torn"),
        (b"any bytes at all", "torn"),
        (b"\0" * 700, "torn"),
        (b"\xff\xfe\x00garbage", "torn"),
        (b'{"data":{' + line.CUT, "torn"),
        (b'{"data":{' + line.CUT + b'{"data":{"by', "torn"),
        (b'{"data":{\x18\x18' + line.CUT + line.CUT, "torn"),
        (b"x" * (line.LINE_LIMIT + 1), "broken"),
        (b"\0" * line.LINE_LIMIT, "torn"),
        (b"\0" * (line.LINE_LIMIT + 513), "broken"),
        (b"x" * 60_000 + b"\0" * 100_000, "broken"),
        (line.CUT * ((line.SCAR_LIMIT - 5) // 5), "torn"),
        (line.CUT * ((line.SCAR_LIMIT - 5) // 5 + 1), "broken"),
        (b"\0" * 1_100 + b"\nx", "broken"),
        (b"\0" * 1_100 + b"\n\n", "broken"),
        (b"a whole foreign line\n", "broken"),
        (b"two\nlines", "broken"),
        (b"\n", "broken"),
    ],
)
def test_the_bytes_behind_the_last_entry(tmp_path: Path, leftover: bytes, state: str) -> None:
    data = sealed_bytes(tmp_path, seal=False)
    report = scan(data + leftover)
    assert report.state == state
    assert report.count == 7
    if state == "torn":
        assert report.tail is not None
        assert (report.tail.kind, report.tail.byte, report.tail.size) == (
            "fragment",
            len(data),
            len(leftover),
        )


def test_an_entry_with_an_empty_sector_is_torn(tmp_path: Path) -> None:
    outside = SetOutside()
    with start(tmp_path, outside) as writer:
        first = writer.path.stat().st_size
        writer.append("note", {"text": "x" * 1_500}, outside.now())
    data = (tmp_path / "a.jsonl").read_bytes()
    edges = [first, *range((first // 512 + 1) * 512, len(data), 512), len(data)]
    assert len(edges) > 4
    for begin, end in pairwise(edges):
        image = data[:begin] + b"\0" * (end - begin) + data[end:]
        assert scan(image).state == "torn"
        nearly = data[: begin + 1] + b"\0" * (end - begin - 1) + data[end:]
        assert scan(nearly).state == ("torn" if end == len(data) else "broken")


def test_sectors_are_those_of_the_file_also_behind_a_cut_mark(tmp_path: Path) -> None:
    data = sealed_bytes(tmp_path, seal=False) + b"torn" + line.CUT
    to_sector = -len(data) % 512
    for shift, state in ((0, "torn"), (1, "broken"), (5, "broken"), (9, "broken")):
        scar = b"x" * (to_sector + shift) + b"\0" * 512 + b"x\n"
        assert scan(data + scar).state == state


def test_a_first_line_alone_is_judged_by_its_end() -> None:
    data = hand_made()
    assert scan(data).state == "open"
    tail = scan(data[:-1]).tail
    assert tail is not None
    assert tail.kind == "start"
    for more in (b"x", b"\0\0", b"\x18"):
        assert scan(data[:-1] + more).state == "broken"
    assert scan(data[:-1] + b"\0").summary() == (
        "TORN TAIL: the first line is incomplete; the run was never started."
    )


def test_a_whole_entry_without_its_line_feed_is_known(whole: bytes, tmp_path: Path) -> None:
    (tmp_path / "open").mkdir()
    opened = sealed_bytes(tmp_path / "open", seal=False)
    for data in (whole, opened):
        report = scan(data[:-1])
        assert report.state == "torn"
        assert report.tail is not None
        assert report.tail.kind == "whole"
        assert scan(data[:-1] + b" ").state == "broken"
        assert scan(data[:-1] + b"\0\0").state == "broken"
        lost_end = scan(data[:-1] + b"\0")
        assert (lost_end.state, lost_end.count) == ("torn", report.count)
        assert lost_end.tail is not None
        assert lost_end.tail.kind == "fragment"


@pytest.mark.parametrize(
    "data", [b"", b"hello\n", b"{}\n", b"\x89PNG\r\n", b"\0" * 4096, b'{"a":1}\n{"b":2}\n', b"{"]
)
def test_other_files_are_not_logs(data: bytes) -> None:
    report = scan(data)
    assert report.state == ("torn" if data == b"{" else "not a log")
    assert report.records == ()
    assert report.header is None


@given(st.binary(max_size=300))
def test_any_bytes_get_a_verdict(data: bytes) -> None:
    assert scan(data).state in ("not a log", "torn", "broken")


GOOD_SEAL = {"count": 1, "head": scan(hand_made()).head.hex()}


@pytest.mark.parametrize(
    ("entries", "fields"),
    [
        ([("reading", {})], {"n": 2}),
        ([("reading", {})], {"n": "1"}),
        ([("reading", {})], {"n": True}),
        ([("reading", {})], {"mono_ms": "1"}),
        ([("reading", {})], {"utc": 5}),
        ([("reading", {})], {"utc": "yesterday"}),
        ([("reading", {})], {"utc": "2026-11-25T09:04:61.000Z"}),
        ([("reading", {})], {"data": []}),
        ([("reading", {})], {"more": 1}),
        ([("Reading", {})], {}),
        ([("run", {})], {}),
        ([("opened", {})], {}),
        ([("clock", {"boot": "b", "offset_min": "0"})], {}),
        ([("clock", {"boot": "b", "offset_min": 9999})], {}),
        ([("scar", {"byte": 0, "size": 0, "sha256": sha256(b"").hexdigest()})], {}),
        ([("seal", {"count": 2, "head": GOOD_SEAL["head"]})], {}),
        ([("seal", {"count": 1, "head": "00"})], {}),
        ([("seal", GOOD_SEAL), ("reading", {})], {}),
    ],
)
def test_a_right_chain_does_not_excuse_wrong_entries(entries: list[Any], fields: dict[str, Any]) -> None:
    assert scan(hand_made(*entries, **fields)).state == "broken"


def test_the_hand_made_control_is_good() -> None:
    assert scan(hand_made(("seal", GOOD_SEAL))).state == "complete"
    assert scan(hand_made(("reading", {}))).state == "open"


def test_boot_and_offset_are_those_last_named() -> None:
    entries = [
        ("reading", {}),
        ("opened", {"boot": "c", "offset_min": 60}),
        ("reading", {}),
        ("clock", {"boot": "c", "offset_min": -90}),
        ("reading", {}),
    ]
    stamps = [entry.stamp for entry in scan(hand_made(*entries)).records]
    assert [(each.boot, each.offset_min) for each in stamps] == [
        ("b", 0), ("b", 0), ("c", 60), ("c", 60), ("c", -90), ("c", -90),
    ]  # fmt: skip


def test_an_unknown_version_is_refused_by_name() -> None:
    report = scan(hand_made(("reading", {}), version=7))
    assert (
        report.summary() == "NOT A LOG at line 1, byte 0: it has log version 7; this program reads up to 1."
    )
    assert scan(hand_made(version=7).replace(b'"log":7', b'"log":8')).state == "broken"
    assert scan(hand_made().replace(b'"log":1', b'"log":3')).state == "broken"
    assert scan(hand_made(version=-1)).state == "broken"


def test_an_older_version_is_raised_step_by_step(monkeypatch: pytest.MonkeyPatch) -> None:
    def first_step(kind: str, data: dict[str, Any]) -> versions.Entry:
        return kind, {**data, "steps": 1}

    def second_step(kind: str, data: dict[str, Any]) -> versions.Entry:
        return "note" if kind == "reading" else kind, {**data, "steps": data["steps"] + 1}

    monkeypatch.setattr(line, "VERSION", 3)
    monkeypatch.setattr(versions, "STEPS", {1: first_step, 2: second_step})
    old = scan(hand_made(("reading", {"raw": "5"}), version=1))
    assert [(entry.kind, entry.data.get("steps")) for entry in old.records] == [("run", 2), ("note", 2)]


def test_any_readable_regular_file_is_judged_and_nothing_else(tmp_path: Path, whole: bytes) -> None:
    path = tmp_path / "a.jsonl"
    path.chmod(0o666)
    assert scan_file(path).state == "complete"
    os.mkfifo(tmp_path / "fifo")
    with pytest.raises(Refused, match="not a regular file"):
        scan_file(tmp_path / "fifo")
    with pytest.raises(Refused, match="not a regular file"):
        scan_file(tmp_path)
    with pytest.raises(FileNotFoundError):
        scan_file(tmp_path / "none")


def test_a_reader_needs_no_code_of_ours(whole: bytes) -> None:
    """Clean lines are JSON for any reader, and the chain needs only SHA-256."""
    lines = [each for each in lines_of(whole) if not each.endswith(line.CUT)]
    head = sha256(b"witnessmark-log/1\n").digest()
    for each in lines:
        value = json.loads(each)
        head = sha256(head + each[:-73] + b"}").digest()
        assert value["~"] == head.hex()


def test_half_a_cut_mark_at_the_edge_of_a_sector_is_torn(tmp_path: Path) -> None:
    """A cut mark over two sectors of which only the second arrived; behind it, healing may have begun again."""
    data = sealed_bytes(tmp_path, seal=False)
    for lost in range(1, 5):
        fragment = b"x" * (-(len(data) + lost) % 512)
        half = b"\0" * lost + line.CUT[lost:]
        for more in (b"", b"\x18", b"\0\0", b"\0\0\x18"):
            assert scan(data + fragment + half + more).state == "torn", (lost, more)
        for more in (b"x", b"\n", b"\0x"):
            assert scan(data + fragment + half + more).state == "broken", (lost, more)
        assert scan(data + b"x" + fragment + half).state == "broken"
    assert scan(data + b"x" * (-(len(data) + 512 + 5) % 512 + 512) + b"\n").state == "broken"


@pytest.mark.parametrize("deep", [150, 210, 700])
@pytest.mark.parametrize("under", [0, 500])
def test_the_verdict_is_the_same_however_much_of_the_stack_is_in_use(deep: int, under: int) -> None:
    """Line mode and the full screen read the same file from under more calls than `verify` does."""
    data = ending(b'{"a":' + b"[" * deep + b"]" * deep + b"}")

    def state(calls: int) -> str:
        return state(calls - 1) if calls else scan(data).state

    assert state(under) == ("open" if deep == 150 else "broken")


@pytest.mark.parametrize(("filling", "parts"), [(b"[],", 2), (b"0,", 1), (b'{"":0},', 3)])
def test_a_first_line_that_would_take_long_to_read_is_refused_unread(filling: bytes, parts: int) -> None:
    whole = raw_body(BODIES[0])
    held = b'{"data":{"a":[' + filling * (line.PARTS_LIMIT // parts) + b"0],"
    report = scan(chained([held + whole.removeprefix(b'{"data":{')]))
    assert report.state == "broken"
    assert report.fault is not None
    assert "more values than a line may" in report.fault.why
