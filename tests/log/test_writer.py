"""Creating, appending, resuming and sealing, and every refusal of a place or a second hand."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from runner.log import line
from runner.log.errors import Broken, Held, Latched, LogError, NotRecorded, Refused, Sealed, Unwritable
from runner.log.scan import scan_file
from runner.log.writer import create, reopen
from runner.outside import Outside
from tests.doubles import SetOutside
from tests.log.makelog import HEADER, fill, start


def kinds(path: Path) -> list[str]:
    return [entry.kind for entry in scan_file(path).records]


def test_what_append_gives_is_what_a_reader_finds(tmp_path: Path) -> None:
    outside = SetOutside()
    with start(tmp_path, outside) as writer:
        assert (writer.n, writer.run, writer.remarks) == (0, f"{1:032x}", ())
        recorded = writer.append("reading", {"raw": "1,5 N·m"}, outside.now())
        assert (writer.n, writer.head, writer.receipt) == (1, recorded.head, recorded.receipt)
        report = scan_file(writer.path)
        assert report.state == "open"
        assert report.head == recorded.head
        assert line.same_receipt(recorded.receipt, report.head)
        sealed = writer.seal({"end": "abandoned", "open": ["bush bolts"]}, outside.now())
    seal = scan_file(writer.path).records[-1]
    assert seal.data == {"count": 2, "end": "abandoned", "head": recorded.head.hex(), "open": ["bush bolts"]}
    assert (sealed.n, sealed.head) == (2, seal.head)


def test_the_header_holds_what_the_caller_gave_and_nothing_private(tmp_path: Path) -> None:
    with create(tmp_path / "new" / "deep", "a.jsonl", HEADER, Outside(), run="f" * 32) as writer:
        header = scan_file(writer.path).header
    assert header is not None
    assert {key: header[key] for key in HEADER} == HEADER
    assert header.keys() - HEADER.keys() == {"boot", "log", "offset_min", "pid", "run", "sync"}
    assert (header["run"], header["log"]) == ("f" * 32, 1)
    text = writer.path.read_text()
    for private in (os.uname().nodename, str(tmp_path), str(Path.home())):
        assert private not in text


def test_permissions_are_the_owners_alone(tmp_path: Path) -> None:
    with create(tmp_path / "logs", "a.jsonl", {}, SetOutside()) as writer:
        assert writer.path.stat().st_mode & 0o777 == 0o600
        assert writer.path.parent.stat().st_mode & 0o777 == 0o700


@pytest.mark.parametrize("kind", ["run", "opened", "clock", "scar", "seal", "Reading", "put-off", ""])
def test_the_logs_own_kinds_are_not_the_callers(tmp_path: Path, kind: str) -> None:
    with start(tmp_path, SetOutside()) as writer, pytest.raises(ValueError, match="kind"):
        writer.append(kind, {}, SetOutside().now())


def test_the_logs_own_keys_are_not_the_callers(tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="boot"):
        create(tmp_path, "b.jsonl", {"boot": "mine"}, SetOutside())
    with start(tmp_path, SetOutside()) as writer, pytest.raises(ValueError, match="count"):
        writer.seal({"count": 5}, SetOutside().now())


def test_what_cannot_be_written_is_refused_and_the_log_goes_on(tmp_path: Path) -> None:
    outside = SetOutside()
    with start(tmp_path, outside) as writer:
        for data in ({"a": 1.5}, {"a": "\ud800"}, {"text": "x" * 65_536}):
            with pytest.raises(Unwritable):
                writer.append("note", data, outside.now())
        assert writer.append("note", {"text": "x" * 65_000}, outside.now()).n == 1
    assert scan_file(writer.path).state == "open"
    with pytest.raises(Unwritable):
        create(tmp_path, "b.jsonl", {"text": "x" * 16 * 1024 * 1024}, outside)


def test_a_header_of_a_large_procedure_is_read_back(tmp_path: Path) -> None:
    outside = SetOutside()
    with create(tmp_path, "a.jsonl", {"procedure": "é" * 2_000_000}, outside) as writer:
        fill(writer, outside, 2)
    with reopen(writer.path, outside)[0] as writer:
        assert writer.n == 3
    assert scan_file(writer.path).count == 4


def test_resuming_records_who_when_and_what_was_found(tmp_path: Path) -> None:
    outside = SetOutside()
    with start(tmp_path, outside) as writer:
        fill(writer, outside, 3)
        run, head = writer.run, writer.head
    outside.pass_time(3_600_000)
    outside.reboot()
    again, report = reopen(writer.path, outside)
    with again:
        assert (report.state, report.count, report.head) == ("open", 4, head)
        assert (again.run, again.n) == (run, 4)
        fill(again, outside, 1)
    found = scan_file(writer.path)
    opened = found.records[4]
    assert opened.data == {"boot": outside.boot, "found": 4, "offset_min": 120, "pid": 4711}
    assert [entry.kind for entry in found.records[4:]] == ["opened", "reading"]
    assert found.records[5].stamp.boot == outside.boot


@pytest.mark.parametrize("leftover", [b'{"da', b"\0" * 50, b"\x18\x18", b'{"data":{\x18\x18\x18\x18\n{"data'])
def test_a_torn_end_stays_in_the_file_as_a_scar(tmp_path: Path, leftover: bytes) -> None:
    outside = SetOutside()
    with start(tmp_path, outside) as writer:
        fill(writer, outside, 2)
    before = writer.path.read_bytes() + leftover
    writer.path.write_bytes(before)
    again, report = reopen(writer.path, outside)
    with again:
        assert (report.state, report.count) == ("torn", 3)
        fill(again, outside, 1)
    found = scan_file(writer.path)
    assert writer.path.read_bytes().startswith(before)
    assert [entry.kind for entry in found.records[3:]] == ["scar", "opened", "reading"]
    assert [(scar.byte, scar.size) for scar in found.scars] == [(len(before) - len(leftover), len(leftover))]


def test_an_entry_without_its_line_feed_is_healed_and_pointed_at(tmp_path: Path) -> None:
    outside = SetOutside()
    with start(tmp_path, outside) as writer:
        fill(writer, outside, 2)
    writer.path.write_bytes(writer.path.read_bytes()[:-1])
    again, report = reopen(writer.path, outside)
    with again:
        assert report.count == 3
        assert report.tail is not None
        assert report.tail.kind == "whole"
    assert kinds(writer.path) == ["run", "reading", "reading", "opened"]


def test_a_seal_without_its_line_feed_is_healed_and_ends_the_run(tmp_path: Path) -> None:
    outside = SetOutside()
    with start(tmp_path, outside) as writer:
        writer.seal({"end": "finished"}, outside.now())
    whole = writer.path.read_bytes()
    writer.path.write_bytes(whole[:-1])
    with pytest.raises(Sealed):
        reopen(writer.path, outside)
    assert writer.path.read_bytes() == whole


def test_nothing_follows_a_seal(tmp_path: Path) -> None:
    outside = SetOutside()
    with start(tmp_path, outside) as writer:
        writer.seal({"end": "finished"}, outside.now())
        for again in (
            lambda: writer.append("note", {}, outside.now()),
            lambda: writer.seal({}, outside.now()),
        ):
            with pytest.raises(Sealed, match=r"a\.jsonl is sealed"):
                again()
    with pytest.raises(Sealed):
        reopen(writer.path, outside)
    assert scan_file(writer.path).state == "complete"


def test_a_changed_log_is_not_resumed_and_not_touched(tmp_path: Path) -> None:
    outside = SetOutside()
    with start(tmp_path, outside) as writer:
        fill(writer, outside, 3)
    changed = writer.path.read_bytes().replace(b"1,5", b"1,6")
    writer.path.write_bytes(changed)
    with pytest.raises(Broken, match="is broken at line 3, byte") as broken:
        reopen(writer.path, outside)
    assert broken.value.report.count == 2
    assert writer.path.read_bytes() == changed


@pytest.mark.parametrize("content", [b"", b'{"data":{"boot":"', b"something else\n"])
def test_what_is_no_started_run_is_not_resumed(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "a.jsonl"
    path.write_bytes(content)
    path.chmod(0o600)
    with pytest.raises(Refused, match="cannot be resumed"):
        reopen(path, SetOutside())
    assert path.read_bytes() == content


def test_a_closed_writer_takes_nothing(tmp_path: Path) -> None:
    writer = start(tmp_path, SetOutside())
    writer.close()
    writer.close()
    with pytest.raises(Latched, match="NOT RECORDED: the log is closed"):
        writer.append("note", {}, SetOutside().now())


# One hand


def test_a_second_process_is_told_who_holds_the_run(tmp_path: Path) -> None:
    outside = SetOutside()
    with start(tmp_path, outside) as writer:
        code = (
            "import sys; from pathlib import Path; from runner.log.writer import reopen\n"
            "from runner.log.errors import Held; from runner.outside import Outside\n"
            "try: reopen(Path(sys.argv[1]), Outside())\n"
            "except Held as held: print(held)"
        )
        told = subprocess.run(
            [sys.executable, "-c", code, writer.path],
            capture_output=True,
            text=True,
            check=True,
            cwd=Path(__file__).parents[2],
        )
        since = scan_file(writer.path).records[0].stamp.iso()
        assert (
            told.stdout.strip()
            == f"The run a.jsonl is open in process 4711 since {since}. Close it there first."
        )


def test_the_lock_outlives_an_unrelated_reader_in_the_same_process(tmp_path: Path) -> None:
    outside = SetOutside()
    with start(tmp_path, outside) as writer:
        scan_file(writer.path)
        writer.path.read_bytes()
        with pytest.raises(Held) as held:
            reopen(writer.path, outside)
        assert held.value.pid == 4711
        fill(writer, outside, 1)
    reopen(writer.path, outside)[0].close()


def test_a_foreign_byte_stops_the_log(tmp_path: Path) -> None:
    outside = SetOutside()
    with start(tmp_path, outside) as writer:
        with writer.path.open("ab") as other:
            other.write(b"\n")
        with pytest.raises(NotRecorded, match="something else has written") as refused:
            fill(writer, outside, 1)
        assert not refused.value.may_retry
        with pytest.raises(Latched, match="something else has written"):
            fill(writer, outside, 1)
    assert writer.path.read_bytes().endswith(b"}\n\n")


@pytest.mark.parametrize("act", ["unlink", "rename", "replace", "swap", "hard link"])
def test_a_log_taken_from_under_the_writer_stops_it(tmp_path: Path, act: str) -> None:
    outside = SetOutside()
    with start(tmp_path, outside) as writer:
        path, other = writer.path, tmp_path / "other"
        if act == "unlink":
            path.unlink()
        elif act == "rename":
            path.rename(other)
        elif act == "replace":
            other.write_bytes(path.read_bytes())
            other.rename(path)
        elif act == "swap":
            path.rename(other)
            path.write_bytes(other.read_bytes())
        else:
            os.link(path, other)
        with pytest.raises(NotRecorded) as refused:
            fill(writer, outside, 1)
        assert not refused.value.may_retry


# Places


def test_links_and_other_things_are_refused_not_followed(tmp_path: Path) -> None:
    outside = SetOutside()
    with start(tmp_path, outside, "real.jsonl") as writer:
        real = writer.path.read_bytes()
    (tmp_path / "link.jsonl").symlink_to(writer.path)
    (tmp_path / "dangling.jsonl").symlink_to(tmp_path / "target.jsonl")
    (tmp_path / "folder.jsonl").mkdir()
    os.mkfifo(tmp_path / "fifo.jsonl")
    for name, why in {
        "link.jsonl": "symbolic link",
        "dangling.jsonl": "symbolic link",
        "folder.jsonl": "not a regular file",
        "fifo.jsonl": "not a regular file",
        "none.jsonl": "cannot be opened",
    }.items():
        with pytest.raises(Refused, match=why):
            reopen(tmp_path / name, outside)
        if name != "none.jsonl":
            with pytest.raises(Refused, match="exists already"):
                start(tmp_path, outside, name)
    assert not (tmp_path / "target.jsonl").exists()
    os.link(writer.path, tmp_path / "second.jsonl")
    with pytest.raises(Refused, match="second name"):
        reopen(writer.path, outside)
    assert writer.path.read_bytes() == real


def test_who_else_may_write_is_remarked_or_refused(tmp_path: Path) -> None:
    outside, folder = SetOutside(), tmp_path / "logs"
    start(folder, outside).close()
    folder.chmod(0o770)
    with reopen(folder / "a.jsonl", outside)[0] as writer:
        assert writer.remarks == ("logs may be written by others of its group.",)
    folder.chmod(0o1777)
    reopen(folder / "a.jsonl", outside)[0].close()
    folder.chmod(0o777)
    for attempt in (lambda: reopen(folder / "a.jsonl", outside), lambda: start(folder, outside, "b.jsonl")):
        with pytest.raises(Refused, match="written by anybody"):
            attempt()
    folder.chmod(0o700)
    (folder / "a.jsonl").chmod(0o666)
    with pytest.raises(Refused, match="written by anybody"):
        reopen(folder / "a.jsonl", outside)


@pytest.mark.parametrize(
    "name", ["../a.jsonl", "a/b.jsonl", "a.txt", ".jsonl", ".a.jsonl", "a\n.jsonl", "a\0.jsonl", ""]
)
def test_names_lead_nowhere_else(tmp_path: Path, name: str) -> None:
    with pytest.raises(Refused, match="no name for a log"):
        create(tmp_path, name, {}, SetOutside())
    assert list(tmp_path.iterdir()) == []


def test_every_answer_of_the_tree_is_one_plain_sentence_or_two(tmp_path: Path) -> None:
    outside = SetOutside()
    with start(tmp_path, outside) as writer:
        seen: list[LogError] = [
            NotRecorded("the disk is full", may_retry=True),
            Held("a.jsonl"),
            Sealed("a.jsonl"),
        ]
        with pytest.raises(Held) as held:
            reopen(writer.path, outside)
        seen.append(held.value)
    for error in seen:
        text = str(error)
        assert text[0].isupper()
        assert text.endswith(".")
        assert "\n" not in text
        assert str(tmp_path) not in text


def test_a_log_of_several_openings_is_plain_json_lines(tmp_path: Path) -> None:
    outside = SetOutside()
    start(tmp_path, outside).close()
    for _ in range(5):
        with reopen(tmp_path / "a.jsonl", outside)[0] as writer:
            fill(writer, outside, 1)
    values = [json.loads(each) for each in (tmp_path / "a.jsonl").read_text().splitlines()]
    assert [value["kind"] for value in values] == ["run", *["opened", "reading"] * 5]
