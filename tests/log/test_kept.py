"""Logs of every version there has been: files that are never edited and must be read for ever."""

from pathlib import Path

from runner.log.scan import scan_file

KEPT = Path(__file__).parent / "kept"


def test_version_1() -> None:
    report = scan_file(KEPT / "version-1.jsonl")
    assert report.state == "complete"
    assert report.head.hex() == "e42af80af8adbffc57397b89a772ea7af2b464bab79ffe4c3719d316d7a93787"
    kinds = [entry.kind for entry in report.records]
    assert kinds == ["run", "reading", "reading", "clock", "reading", "scar", "opened", "note", "seal"]
    assert report.records[7].data == {"text": "Räder – 車輪 – \u2028 \x1b[31m <b> [red]"}
    assert [entry.stamp.boot[-1] for entry in report.records] == ["b"] * 6 + ["c"] * 3
    assert [(scar.n, scar.size) for scar in report.scars] == [(5, 28)]
    assert report.records[4].stamp.wall_ms < report.records[2].stamp.wall_ms
    assert report.records[2].stamp.iso() == "2026-05-28T20:26:40.030Z"
