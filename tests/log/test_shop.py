"""The shop's list of runs: several hands, crashes, and a log that has gone."""

import subprocess
import sys
from pathlib import Path

import pytest

from runner.log.errors import Broken, NotRecorded, Refused
from runner.log.names import SHOP_NAME, find_logs
from runner.log.scan import scan_file
from runner.log.shop import missing_runs, note_seal, note_start, read_shop
from runner.log.writer import create
from tests.doubles import FaultyFiles, SetOutside

ROOT = Path(__file__).parents[2]


def run_jobs(folder: Path, outside: SetOutside, *names: str) -> None:
    """Short runs, each started, sealed and listed."""
    for name in names:
        with create(folder, f"{name}.jsonl", {}, outside) as writer:
            note_start(folder, writer.run, name, writer.head, outside)
            sealed = writer.seal({"end": "finished"}, outside.now())
            note_seal(folder, writer.run, sealed.n, sealed.head, outside)


def test_starts_and_seals_are_listed(tmp_path: Path) -> None:
    outside = SetOutside()
    assert read_shop(tmp_path) == ()
    run_jobs(tmp_path, outside, "first", "second")
    with create(tmp_path, "third.jsonl", {}, outside) as writer:
        note_start(tmp_path, writer.run, "third", writer.head, outside)
    listed = read_shop(tmp_path)
    assert [each.procedure for each in listed] == ["first", "second", "third"]
    assert [each.sealed_head is not None for each in listed] == [True, True, False]
    assert missing_runs(listed, find_logs(tmp_path)) == ()
    assert scan_file(tmp_path / SHOP_NAME, first="shop").state == "open"
    assert (tmp_path / SHOP_NAME).stat().st_mode & 0o777 == 0o600


def test_a_log_taken_away_or_cut_back_is_missed(tmp_path: Path) -> None:
    run_jobs(tmp_path, SetOutside(), "first", "second", "third")
    (tmp_path / "second.jsonl").unlink()
    third = tmp_path / "third.jsonl"
    third.write_bytes(b"".join(third.read_bytes().splitlines(keepends=True)[:-1]))
    missing = missing_runs(read_shop(tmp_path), find_logs(tmp_path))
    assert [(each.listed.procedure, each.why) for each in missing] == [
        ("second", "its log is not in the folder"),
        ("third", "its log does not end in the seal that was listed"),
    ]


def test_several_processes_list_their_runs_at_once(tmp_path: Path) -> None:
    code = (
        "import sys; from pathlib import Path; from runner.log.shop import note_start\n"
        "from runner.outside import Outside\n"
        "for n in range(20):\n"
        "    note_start(Path(sys.argv[1]), f'{sys.argv[2]}{n}', 'wheel', bytes(32), Outside())"
    )
    hands = [subprocess.Popen([sys.executable, "-c", code, tmp_path, hand], cwd=ROOT) for hand in "abc"]
    assert [hand.wait() for hand in hands] == [0, 0, 0]
    assert {each.run for each in read_shop(tmp_path)} == {f"{hand}{n}" for hand in "abc" for n in range(20)}


def test_a_torn_list_is_mended_and_a_changed_one_is_not(tmp_path: Path) -> None:
    outside = SetOutside()
    run_jobs(tmp_path, outside, "first")
    path = tmp_path / SHOP_NAME
    with path.open("ab") as torn:
        torn.write(b'{"data":{"he')
    run_jobs(tmp_path, outside, "second")
    assert len(scan_file(path, first="shop").scars) == 1
    assert [each.procedure for each in read_shop(tmp_path)] == ["first", "second"]
    path.write_bytes(path.read_bytes().replace(b"first", b"thirt"))
    with pytest.raises(Broken):
        read_shop(tmp_path)
    with pytest.raises(Broken):
        run_jobs(tmp_path, outside, "third")


def test_a_run_log_is_no_list_and_a_list_no_run(tmp_path: Path) -> None:
    run_jobs(tmp_path, SetOutside(), "first")
    assert scan_file(tmp_path / SHOP_NAME).state == "broken"
    (tmp_path / "first.jsonl").rename(tmp_path / SHOP_NAME)
    with pytest.raises(Broken):
        read_shop(tmp_path)
    (tmp_path / SHOP_NAME).write_bytes(b"hello\n")
    with pytest.raises(Refused):
        read_shop(tmp_path)


@pytest.mark.parametrize("op", ["write", "fdatasync", "fsync_dir", "flock", "fstat", "stat", "open", "read"])
def test_failing_calls_are_answers_not_crashes(tmp_path: Path, op: str) -> None:
    run_jobs(tmp_path, SetOutside(), "first")
    failed = 0
    for at in range(1, 30):
        files = FaultyFiles(op, at)
        try:
            note_start(tmp_path, "f" * 32, "wheel", bytes(32), SetOutside(files=files))
        except (NotRecorded, Refused):
            failed += 1
        if not files.struck:
            break
    assert failed >= 1
    assert scan_file(tmp_path / SHOP_NAME, first="shop").state == "open"
