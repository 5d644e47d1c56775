"""A whole run to its seal: what the seal says alone, and what becomes of it where it is to be signed."""

import io
import json
from pathlib import Path
from typing import Any

import pytest

from runner.job.events import Sealed
from runner.job.state import Deviation
from runner.job.tally import COUNTED, Tally
from runner.log.keys import PRIVATE_NAME, SealKey, is_signed, make_keys
from runner.log.scan import scan_file
from runner.log.signature import judge
from runner.plain.console import Console
from runner.plain.session import Ending, Session
from runner.replaying import replay
from runner.review.facts import facts_of
from runner.review.terminal import review_lines
from runner.run import Run
from tests.doubles import SetOutside
from tests.plain.small_job import small_job
from tests.plain.test_session import START, WHOLE

ROOT = Path(__file__).parents[1]


class Typed(io.StringIO):
    """Lines typed; before one of them something happens."""

    def __init__(self, script: str, at: str = "", happens: Any = None) -> None:
        super().__init__(script)
        self.at, self.happens = at, happens

    def readline(self, size: int | None = -1, /) -> str:
        line = super().readline(-1 if size is None else size)
        if self.at and line.strip() == self.at:
            self.happens()
        return line


def begun(folder: Path, **more: Any) -> Run:
    return Run.begin(small_job(folder), SetOutside(), folder / "logs", **more)


def play(run: Run, script: io.StringIO) -> tuple[Ending, str]:
    out = io.StringIO()
    ending = Session(
        run, Console(script, out, ascii_only=False), performer="Ann", sleep=lambda s: None
    ).play()
    run.close()
    return ending, out.getvalue()


def seal_of(run: Run) -> dict[str, Any]:
    assert run.path is not None
    found: dict[str, Any] = json.loads(run.path.read_bytes().splitlines()[-1])
    return found


def test_a_seal_can_be_read_alone(tmp_path: Path) -> None:
    run = begun(tmp_path, rehearsal=True, unproved="the small job has no proof here")
    ending, out = play(run, Typed(WHOLE))
    assert ending is Ending.SEALED, out
    data = seal_of(run)["data"]
    assert data["events"][0]["outcome"] == "finished"
    assert data["count"] == seal_of(run)["n"]
    assert (data["rehearsal"], data["unproved"]) == (True, "the small job has no proof here")
    tally = data["tally"]
    assert tally.keys() == {"open_points", "open_items", "owed", "deviations", *COUNTED}
    assert (tally["open_points"], tally["open_items"], tally["owed"], tally["deviations"]) == (0, 0, 0, {})
    assert tally["put_off"] == 1
    assert "signature" not in data
    assert "SIGNED" not in out.upper()


def test_what_was_before_a_resume_is_counted_with_what_came_after(tmp_path: Path) -> None:
    run = begun(tmp_path)
    ending, _ = play(run, Typed(START + "99999\n:pause lunch\n"))
    assert ending is Ending.LEFT
    assert run.path is not None
    before = [event["kind"] for each in scan_file(run.path).records[1:] for event in each.data["events"]]
    again = Run.resume(run.path, SetOutside())
    ending, out = play(again, Typed("\n:abandon rain\n\n\n\n\n\n\n\nseal\nseal\nseal\n"))
    assert ending is Ending.SEALED, out
    tally = seal_of(again)["data"]["tally"]
    kinds = [event["kind"] for each in scan_file(run.path).records for event in each.data.get("events", ())]
    assert before.count("paused") == 1
    assert tally["taken_up_again"] == 1
    assert tally["pauses"] == kinds.count("paused") >= 1
    assert tally["refusals"] == kinds.count("refused")
    assert tally["open_items"] == len(seal_of(again)["data"]["events"][0].get("open_items", ()))
    assert seal_of(again)["data"]["events"][0]["outcome"] == "abandoned"


def test_a_tally_counts_by_kind() -> None:
    tally = Tally()
    for kinds in (
        ("refused",),
        ("corrected", "hold_lapsed"),
        ("asked_again",),
        ("handed_over",),
        ("opened",),
        ("noted",),
    ):
        tally.take(kinds)
    points = [
        Deviation(n, kind, "s", "x", "why", "Ann", "")
        for n, kind in enumerate(("by feel", "not done", "by feel"))
    ]
    seal = Sealed(
        outcome="finished with open points", open_points=("a", "b", "c"), open_items=("d",), owed=("e", "f")
    )
    told = tally.at_seal(seal, points)
    assert told["deviations"] == {"by feel": 2, "not done": 1}
    assert (told["open_points"], told["open_items"], told["owed"]) == (3, 1, 2)
    assert (told["refusals"], told["corrections"], told["handovers"], told["taken_up_again"]) == (1, 2, 1, 1)
    assert not any(
        told[name] for name in COUNTED.keys() - {"refusals", "corrections", "handovers", "taken_up_again"}
    )


def test_a_run_with_a_key_is_signed_and_reads_and_reviews_as_ever(tmp_path: Path) -> None:
    private, _, public = make_keys(tmp_path / "keys")
    run = begun(tmp_path, key=SealKey(private))
    assert run.findings == ()
    ending, out = play(run, Typed(WHOLE))
    assert ending is Ending.SEALED
    assert "The seal is signed." in out
    assert run.path is not None
    report = scan_file(run.path)
    assert judge(report, report.records[-1], public, is_signed).kind == "good"
    assert replay(report).outcome == "finished"
    assert "outcome      finished" in "\n".join(review_lines(facts_of(report)))


def test_a_key_that_is_gone_at_the_end_loses_no_seal(tmp_path: Path) -> None:
    private, _, public = make_keys(tmp_path / "keys")
    run = begun(tmp_path, key=SealKey(private))
    ending, out = play(run, Typed(WHOLE, "seal", private.unlink))
    assert ending is Ending.SEALED
    assert "The seal is NOT SIGNED. The key seal-key.pem cannot be read: No such file" in out
    assert run.path is not None
    report = scan_file(run.path)
    assert (report.state, judge(report, report.records[-1], public, is_signed).kind) == ("complete", "absent")


def test_a_key_that_cannot_be_used_is_told_when_there_is_time_to_put_it_right(tmp_path: Path) -> None:
    missing = SealKey(tmp_path / PRIVATE_NAME)
    run = begun(tmp_path, key=missing)
    assert len(run.findings) == 1
    assert run.findings[0].startswith("The seal of this run would not be signed. The key seal-key.pem cannot")
    play(run, Typed(START))
    assert run.path is not None
    again = Run.resume(run.path, SetOutside(), key=missing)
    again.close()
    assert [each for each in again.findings if "would not be signed" in each]
    third = Run.resume(run.path, SetOutside(), key=SealKey(make_keys(tmp_path / "keys")[0]))
    third.close()
    assert not [each for each in third.findings if "signed" in each]


@pytest.mark.parametrize(
    "path", sorted((ROOT / "tests" / "kept").glob("*.jsonl")), ids=lambda path: path.name
)
def test_seals_from_before_there_was_a_tally_have_none_and_are_complete(path: Path) -> None:
    report = scan_file(path)
    assert report.state == "complete"
    assert "tally" not in report.records[-1].data
    assert judge(report, report.records[-1], bytes(32), is_signed).kind == "absent"
