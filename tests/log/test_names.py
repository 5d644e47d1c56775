"""Names of log files, and the cheap look at what a folder holds."""

import os
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from runner.log.names import SHOP_NAME, find_logs, log_name
from runner.log.writer import create, reopen
from runner.stamp import Stamp, wall_from_iso
from tests.doubles import SetOutside
from tests.log.makelog import HEADER, fill

LATE = Stamp(wall_from_iso("2026-11-25T23:30:00.000Z"), 60, 0, "b")


def test_a_name_tells_local_time_procedure_and_run() -> None:
    assert log_name(LATE, "lower-arm", "4fe1c2" + "0" * 26) == "20261126-0030-lower-arm-4fe1c2.jsonl"


@pytest.mark.parametrize(
    ("procedure", "part"),
    [
        ("Räder wechseln!", "rader-wechseln"),
        ("../../etc/passwd", "etc-passwd"),
        ("車輪", "run"),
        ("", "run"),
        ("a" * 300, "a" * 60),
        ("-rf --", "rf"),
        ("\x1b[31mred\0", "31mred"),
    ],
)
def test_names_are_made_safe(procedure: str, part: str) -> None:
    assert log_name(LATE, procedure, "4fe1c2") == f"20261126-0030-{part}-4fe1c2.jsonl"


@given(procedure=st.text(), run=st.text())
def test_any_name_is_one_that_create_takes(
    procedure: str, run: str, tmp_path_factory: pytest.TempPathFactory
) -> None:
    name = log_name(LATE, procedure, run)
    assert name.isascii()
    assert "/" not in name
    folder = tmp_path_factory.mktemp("logs")
    create(folder, name, {}, SetOutside()).close()
    assert os.listdir(folder) == [name]


def test_a_folder_lists_its_logs_with_how_they_look(tmp_path: Path) -> None:
    outside = SetOutside()
    for name in ("sealed", "open", "torn", "started"):
        with create(tmp_path, f"{name}.jsonl", {**HEADER, "name": name}, outside) as writer:
            if name != "started":
                fill(writer, outside, 2)
            if name == "sealed":
                sealed = writer.seal({"end": "finished"}, outside.now())
    with (tmp_path / "torn.jsonl").open("ab") as torn:
        torn.write(b'{"data":')
    (tmp_path / "unborn.jsonl").write_bytes(b'{"data":{"boot":"')
    (tmp_path / "other.jsonl").write_bytes(b'{"a":1}\n')
    (tmp_path / "binary.jsonl").write_bytes(bytes(range(256)))
    (tmp_path / "empty.jsonl").touch()
    (tmp_path / "link.jsonl").symlink_to(tmp_path / "open.jsonl")
    (tmp_path / "folder.jsonl").mkdir()
    os.mkfifo(tmp_path / "fifo.jsonl")
    (tmp_path / "notes.txt").touch()
    (tmp_path / SHOP_NAME).touch()
    found = {one.path.stem: one for one in find_logs(tmp_path)}
    assert {name: one.looks for name, one in found.items()} == {
        "binary": "not a log",
        "empty": "not a log",
        "open": "open",
        "other": "not a log",
        "sealed": "sealed",
        "started": "open",
        "torn": "torn",
        "unborn": "not started",
    }
    header = found["torn"].header
    assert header is not None
    assert header["name"] == "torn"
    assert found["sealed"].last_head == sealed.head.hex()
    assert found["started"].last_utc is not None


def test_a_large_header_and_a_long_log_are_looked_at_from_both_ends(tmp_path: Path) -> None:
    outside = SetOutside()
    create(tmp_path, "header.jsonl", {"procedure": "x" * 300_000}, outside).close()
    with create(tmp_path, "long.jsonl", {"procedure": "x" * 300_000}, outside) as writer:
        writer.append("note", {"text": "y" * 65_200}, outside.now())
    assert [(one.path.stem, one.looks) for one in find_logs(tmp_path)] == [
        ("header", "open"),
        ("long", "open"),
    ]
    reopen(tmp_path / "long.jsonl", outside)[0].close()


def test_a_missing_folder_holds_no_logs(tmp_path: Path) -> None:
    assert find_logs(tmp_path / "none") == ()
