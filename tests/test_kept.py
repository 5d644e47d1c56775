"""Sealed logs of each version, kept for ever: they verify, replay to what their seal says, and can be reviewed."""

from pathlib import Path

import pytest

from runner.job.record import from_record, to_record
from runner.log import line
from runner.log.scan import scan_file
from runner.picture import picture
from runner.replaying import replay
from runner.review.facts import facts_of
from runner.review.terminal import review_lines

ROOT = Path(__file__).parents[1]
KEPT = sorted((ROOT / "tests" / "kept").glob("*.jsonl")) + sorted((ROOT / "logs").glob("sample-*.jsonl"))


def test_there_are_logs_to_keep() -> None:
    assert len(KEPT) >= 2


@pytest.mark.parametrize("path", KEPT, ids=lambda path: path.name)
def test_a_kept_log_is_complete_and_replays_to_its_seal(path: Path) -> None:
    report = scan_file(path)
    assert report.state == "complete", report.summary()
    job = replay(report)
    sealed = report.records[-1].data["events"][0]
    assert (job.phase, job.outcome) == ("sealed", sealed["outcome"])
    assert [point.reason for point in job.deviations] == [
        event["reason"]
        for record in report.records
        for event in record.data.get("events", ())
        if event["kind"] == "deviated"
    ]
    assert picture(job).outcome == sealed["outcome"]


@pytest.mark.parametrize("path", KEPT, ids=lambda path: path.name)
def test_a_kept_log_reads_and_writes_unchanged(path: Path) -> None:
    for record in scan_file(path).records:
        if "events" in record.data and record.kind != "seal":
            entry = from_record(record.data, record.stamp)
            kind, data = to_record(entry)
            assert (kind, line.encode(data)) == (record.kind, line.encode(record.data))


@pytest.mark.parametrize("path", KEPT, ids=lambda path: path.name)
def test_a_kept_log_can_be_reviewed(path: Path) -> None:
    lines = "\n".join(review_lines(facts_of(scan_file(path))))
    assert "Front lower arm" in lines
    assert "finished" in lines
