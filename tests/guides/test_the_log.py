"""What is left behind."""

import json
import shutil
from pathlib import Path

import pytest

from runner.job import actions as a
from runner.log.scan import scan_file
from runner.run import Run
from tests.doubles import SetOutside
from tests.guides.seen import log_of, report_of, review
from tests.job.bench_hand import Hand
from tests.procedures.hand import QuickFiles

JOB = """\
title: Fit the cover
revision: 4
sources: ['Invented data, sheet 7']
tools: [{name: gauge}]
items:
  cover: {kind: cover}
  bolt: {kind: fastener, at start: started, tighten: [{torque: 60 N·m ±4 %, method: measured}]}
steps:
  - {step: open, do: Take the cover off., takes off: [cover]}
  - {step: tighten, do: Tighten the bolt., tightens: [bolt]}
  - step: measure
    do: Measure the gap.
    tools: [gauge]
    read:
      - {what: Batch of the seal, name: batch, text: batch number}
      - {what: Gap, name: gap, unit: mm, band: 1 to 2 mm}
    hold point: {released by: checker, asks: Is it clean?}
  - {step: shut, do: Put the cover back., puts back: [cover]}
"""


def _done() -> Hand:
    hand = Hand(JOB)
    hand.do(a.Do, act=0)
    hand.refuse(
        a.Tighten, item="bolt", stage=1, member=1, method="measured", raw="60,0.0", why="", lift="type"
    )
    hand.tighten("60,5")
    hand.do(a.Do)
    hand.do(a.Read, name="batch", raw="L-4711")
    hand.do(a.Deviate, kind="out of band", reason="the face is worn", authority="Dee", raw="2.5")
    hand.do(a.Release, "Bo", released=True, said="by the light")
    hand.go("sealed")
    return hand


def test_l1_every_line_says_who_what_and_when_and_a_departure_why(tmp_path: Path) -> None:
    """21 CFR 11.10 (e), audit trail (S)."""
    lines = [json.loads(line) for line in log_of(_done(), tmp_path).read_text().splitlines()[1:]]
    assert all(line["utc"].endswith("Z") and line["data"]["who"] and line["data"]["events"] for line in lines)
    whys = [
        event["reason"] for line in lines for event in line["data"]["events"] if event["kind"] == "deviated"
    ]
    assert whys == ["the face is worn"]


def test_l2_each_entry_is_in_the_file_in_plain_letters_before_the_job_goes_on(tmp_path: Path) -> None:
    """ALCOA+: contemporaneous, attributable, legible (M: from memory)."""
    hand = _done()
    outside = SetOutside(step_ms=0, files=QuickFiles())
    outside.boot = hand.entries[0].stamp.boot
    run = Run.begin(hand.procedure, outside, tmp_path)
    for number, entry in enumerate(hand.entries, start=1):
        run.record(entry)
        assert run.path is not None
        on_disk = run.path.read_text(encoding="utf-8").splitlines()
        assert len(on_disk) == number + 1
        assert f'"who":"{entry.who}"' in on_disk[-1]
        assert f'"kind":"{entry.events[0].kind}"' in on_disk[-1]  # type: ignore[attr-defined]
        run.apply(entry)
    run.close()


@pytest.mark.parametrize("change", ["a digit", "a line left out", "two lines in another order", "a name"])
def test_l3_an_altered_record_is_found_out(change: str, tmp_path: Path) -> None:
    """21 CFR 11.10 (a), discerning altered records (S)."""
    path = log_of(_done(), tmp_path)
    assert scan_file(path).state == "complete"
    whole = path.read_bytes()
    lines = whole.splitlines(keepends=True)
    changed = {
        "a digit": whole.replace(b"60,5", b"61,5", 1),
        "a name": whole.replace(b'"who":"Bo"', b'"who":"Cy"', 1),
        "a line left out": b"".join(lines[:5] + lines[6:]),
        "two lines in another order": b"".join([*lines[:5], lines[6], lines[5], *lines[7:]]),
    }[change]
    assert changed != whole
    path.write_bytes(changed)
    assert scan_file(path).state == "broken"


def test_l4_a_copy_is_complete_both_for_programs_and_for_people(tmp_path: Path) -> None:
    """21 CFR 11.10 (b), accurate and complete copies (S)."""
    original = log_of(_done(), tmp_path / "logs")
    copy = tmp_path / "copy.jsonl"
    shutil.copy(original, copy)
    shutil.rmtree(tmp_path / "logs")
    assert scan_file(copy).state == "complete"
    told = review(copy)
    for words in (
        "Fit the cover, revision 4",
        "T-1",
        "60.5 N·m",
        "L-4711",
        "the face is worn",
        "by the light",
    ):
        assert words in told


def test_l5_the_record_names_the_work_done_its_date_who_did_it_and_who_approved_it(tmp_path: Path) -> None:
    """14 CFR 43.9 (a) (S2)."""
    told = review(log_of(_done(), tmp_path))
    assert "2026-05-28" in told
    assert any("Ann: takes off cover" in line for line in told.splitlines())
    assert any("Bo: hold point released as checker: by the light" in line for line in told.splitlines())


def test_l6_part_numbers_actual_readings_the_data_used_and_the_place_are_in_the_record(
    tmp_path: Path,
) -> None:
    """New Zealand Civil Aviation Rule 43.69 (a) (S)."""
    told = review(log_of(_done(), tmp_path, bench="bench 3"))
    for words in ("L-4711", "60.5 N·m", "Invented data, sheet 7", "bench 3", "2.5 mm"):
        assert words in told, words


def test_l7_what_was_typed_stands_in_the_log_as_typed_and_so_does_what_was_refused(tmp_path: Path) -> None:
    """Thimbleby & Cairns 2010, Reducing number entry errors (S)."""
    events = [
        event for record in report_of(_done(), tmp_path).records for event in record.data.get("events", ())
    ]
    assert [event["raw"] for event in events if event["kind"] == "refused"] == ["60,0.0"]
    assert [event["raw"] for event in events if event["kind"] == "tightened"] == ["60,5"]


def test_l8_a_release_carries_name_time_and_meaning_and_the_run_its_revision_and_offset(
    tmp_path: Path,
) -> None:
    """21 CFR 11.50 (M: from memory)."""
    report = report_of(_done(), tmp_path)
    (release,) = (record for record in report.records if record.kind == "hold_released")
    assert release.data["who"] == "Bo"
    assert release.data["events"][0]["role"] == "checker"
    assert (release.stamp.date_text(), release.stamp.offset_min) == ("2026-05-28", 120)
    assert report.header is not None
    assert report.header["procedure"]["revision"] == "4"
    assert "UTC+02:00" in review(next(tmp_path.glob("*.jsonl")))
