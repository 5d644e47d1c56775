"""Plain JSON Lines and the list of scars: nothing lost, nothing added, nothing that steers a terminal."""

import base64
import hashlib
import io
import json
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from runner.log import line
from runner.log.errors import NotRecorded, Refused
from runner.log.export import json_lines, scar_list
from runner.log.scan import scan
from runner.log.writer import create, reopen
from tests.doubles import FaultyFiles, SetOutside
from tests.log.makelog import HEADER, fill, hand_made, sealed_bytes

KEPT = Path(__file__).parent / "kept" / "version-1.jsonl"


def lines_of(data: bytes) -> list[bytes]:
    return list(json_lines(io.BytesIO(data), scan(data)))


def scars_of(data: bytes) -> dict[str, Any]:
    return scar_list(io.BytesIO(data), scan(data), "a.jsonl")


def chain_of(lines: list[bytes]) -> bytes:
    """The chain value that the exported values give, each in canonical form again; checks every one of them."""
    head = hashlib.sha256(b"witnessmark-log/1\n").digest()
    for each in lines:
        value = json.loads(each)
        stated = value.pop("~")
        body = json.dumps(value, sort_keys=True, separators=(",", ":"), ensure_ascii=False).encode()
        head = hashlib.sha256(head + body).digest()
        assert stated == head.hex()
    return head


def check(data: bytes) -> int:
    """Hold an export against the log; gives the number of scars."""
    report, lines, listed = scan(data), lines_of(data), scars_of(data)
    assert all(each.isascii() and each.endswith(b"\n") and each.count(b"\n") == 1 for each in lines)
    assert not any(byte < 0x20 or byte == 0x7F for each in lines for byte in each[:-1])
    assert [json.loads(each)["n"] for each in lines] == list(range(report.count))
    assert [json.loads(each)["data"] for each in lines] == [each.data for each in report.records]
    assert set(json.loads(lines[0])) == {"data", "kind", "mono_ms", "n", "utc", "~"}
    assert chain_of(lines) == report.head
    assert (listed["state"], listed["entries"], listed["head"]) == (
        report.state,
        report.count,
        report.head.hex(),
    )
    assert [each["n"] for each in listed["scars"]] == [each.n for each in report.scars]
    for each in [*listed["scars"], *([listed["tail"]] if listed["tail"] else [])]:
        raw = base64.b64decode(each["base64"], validate=True)
        assert raw == data[each["byte"] : each["byte"] + each["size"]]
        assert (len(raw), hashlib.sha256(raw).hexdigest()) == (each["size"], each["sha256"])
    for each in listed["scars"]:
        accounts = json.loads(lines[each["n"]])
        assert accounts["data"] == {"byte": each["byte"], "sha256": each["sha256"], "size": each["size"]}
    assert json.dumps(listed).isascii()
    return len(listed["scars"])


def test_a_kept_log_of_version_1() -> None:
    assert check(KEPT.read_bytes()) == 1
    value = json.loads(lines_of(KEPT.read_bytes())[7])
    assert value["data"] == {"text": "Räder – 車輪 – \u2028 \x1b[31m <b> [red]"}


@pytest.mark.parametrize("seal", [True, False])
def test_a_log_with_a_scar(tmp_path: Path, seal: bool) -> None:
    assert check(sealed_bytes(tmp_path, scar=True, seal=seal)) == 1


def test_every_prefix_of_a_log(tmp_path: Path) -> None:
    """What a crash can leave: the entries before it, and the rest as the tail."""
    data = sealed_bytes(tmp_path, scar=True)
    done = 0
    for size in range(data.index(b"\n") + 1, len(data), 3):
        report = scan(data[:size])
        assert report.state in ("open", "torn")
        check(data[:size])
        listed = scars_of(data[:size])["tail"]
        assert (listed is None) == (report.state == "open")
        done += 1
    assert done >= 400


def test_a_fragment_with_line_feeds_and_any_bytes_in_it(tmp_path: Path) -> None:
    """A crash may leave a line feed and then empty sectors; the export is plain all the same."""
    outside = SetOutside()
    with create(tmp_path, "a.jsonl", HEADER, outside) as log:
        fill(log, outside, 2)
    with log.path.open("ab") as file:
        file.write(b'{"data":{"raw":"\xff\x00tor' + bytes(1024) + b"\n")
    log, _ = reopen(log.path, outside)
    with log:
        fill(log, outside, 1)
        log.seal({}, outside.now())
    assert check(log.path.read_bytes()) == 1


def test_a_full_disk_leaves_a_scar_that_is_listed(tmp_path: Path) -> None:
    files = FaultyFiles("write", 3, short=20)
    outside = SetOutside(files=files)
    with create(tmp_path, "a.jsonl", HEADER, outside) as log:
        fill(log, outside, 1)
        with pytest.raises(NotRecorded):
            fill(log, outside, 1)
        files.mend()
        fill(log, outside, 2)
        log.seal({}, outside.now())
    assert check(log.path.read_bytes()) == 1
    assert scars_of(log.path.read_bytes())["scars"][0]["size"] == 20


def test_of_a_broken_log_what_is_in_order_before_the_fault(tmp_path: Path) -> None:
    data = bytearray(sealed_bytes(tmp_path, scar=True))
    place = data.index(b'"raw":"3,5')
    data[place + 7] ^= 1
    lines, listed = lines_of(bytes(data)), scars_of(bytes(data))
    assert [json.loads(each)["n"] for each in lines] == [0, 1, 2, 3]
    assert (listed["state"], listed["fault"]["line"]) == ("broken", 5)
    assert chain_of(lines) == scan(bytes(data)).head


def test_a_file_that_changes_between_judging_and_reading_is_refused(tmp_path: Path) -> None:
    data = sealed_bytes(tmp_path)
    other = hand_made(("reading", {}))
    for changed in (data[:300] + b"x" + data[301:], data[: len(data) // 2], other, b""):
        with pytest.raises(Refused, match="changed while it was read"):
            list(json_lines(io.BytesIO(changed), scan(data)))


def test_another_log_of_the_same_length_is_refused() -> None:
    one, other = hand_made(("reading", {"raw": "1"})), hand_made(("reading", {"raw": "2"}))
    assert len(one) == len(other)
    with pytest.raises(Refused, match="changed while it was read"):
        list(json_lines(io.BytesIO(other), scan(one)))


def test_a_log_that_grew_meanwhile_is_exported_as_it_was_judged(tmp_path: Path) -> None:
    data = sealed_bytes(tmp_path, seal=False)
    early = data[: data.rindex(b"\n", 0, -1) + 1]
    assert len(list(json_lines(io.BytesIO(data), scan(early)))) == scan(early).count


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    st.lists(st.text(st.characters(exclude_categories=["Cs"]), max_size=30), min_size=1, max_size=4),
    st.binary(max_size=60),
)
def test_any_text_and_any_torn_end(
    tmp_path_factory: pytest.TempPathFactory, texts: list[str], torn: bytes
) -> None:
    """Whatever people type: no control, bidirectional or other odd letter reaches a terminal."""
    folder, outside = tmp_path_factory.mktemp("any"), SetOutside()
    with create(folder, "a.jsonl", HEADER, outside) as log:
        for text in texts:
            log.append("note", {"text": text}, outside.now())
    torn = torn.replace(b"\n", b"").replace(b"\x18", b"")
    with log.path.open("ab") as file:
        file.write(torn)
    log, _ = reopen(log.path, outside)
    log.close()
    data = log.path.read_bytes()
    assert check(data) == bool(torn)
    notes = [json.loads(each) for each in lines_of(data)]
    assert [each["data"]["text"] for each in notes if each["kind"] == "note"] == texts


def test_base64_is_that_of_the_rfc() -> None:
    """RFC 4648, section 10: the encoding that the page states."""
    data = b"foobar"
    found = sealed_torn(data)
    assert found["base64"] == "Zm9vYmFy"


def sealed_torn(fragment: bytes) -> dict[str, Any]:
    listed = scars_of(hand_made(("reading", {})) + fragment)["tail"]
    assert listed["size"] == len(fragment) <= line.LINE_LIMIT
    found: dict[str, Any] = listed
    return found
