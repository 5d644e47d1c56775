"""Entries handed on one at a time lead to the job that a whole report leads to, and to the same verdicts."""

from dataclasses import replace
from pathlib import Path

import pytest

from runner.job import actions as a
from runner.job.record import RecordError
from runner.log.record import Record
from runner.log.scan import scan_file
from runner.log.writer import reopen
from runner.procedure.linked import Procedure
from runner.replaying import Replay, replay
from runner.run import Run
from tests.doubles import SetOutside
from tests.job.properties.dice import Dice
from tests.job.properties.player import Player, QuickFiles
from tests.job.properties.writing import linked, written


class Listing(Replay):
    """A replay that keeps the numbers of what it is handed."""

    def __init__(self) -> None:
        super().__init__()
        self.taken: list[int] = []

    def take(self, entry: Record) -> None:
        self.taken.append(entry.n)
        super().take(entry)


def played(folder: Path, seed: int, turns: int = 40) -> Player:
    player = Player(procedure_of(seed), Dice(seed), folder)
    for _ in range(turns):
        if not player.run.sealed:
            player.turn()
    player.run.close()
    return player


def procedure_of(seed: int) -> Procedure:
    return linked(*written(Dice(seed)))


@pytest.mark.parametrize("seed", [11, 12, 13])
def test_one_at_a_time_comes_to_the_same_job_as_all_at_once(tmp_path: Path, seed: int):
    player = played(tmp_path, seed)
    report = scan_file(player.run.path)
    fold = Replay()
    for entry in report.records:
        fold.take(entry)
    assert fold.job == replay(report)
    assert fold.job.seq == player.run.job.seq


def test_the_jobs_on_the_way_stay_what_they_were(tmp_path: Path):
    report = scan_file(played(tmp_path, 14).run.path)
    fold, then = Replay(), []
    for entry in report.records:
        fold.take(entry)
        then.append(fold.job)
    for count, job in enumerate(then, start=1):
        assert replay(replace(report, records=report.records[:count])) == job


def test_an_entry_of_no_run_is_told_at_the_end_with_its_line(tmp_path: Path):
    report = scan_file(played(tmp_path, 15).run.path)
    place = next(n for n, each in enumerate(report.records) if n and "events" in each.data)
    foreign = report.records[place].but(data={"who": "Ann", "events": [{"kind": "sung", "v": 1}]})
    fold = Replay()
    for entry in (*report.records[:place], foreign, *report.records[place + 1 :]):
        fold.take(entry)
    with pytest.raises(RecordError, match=f"line {foreign.line}: .*sung"):
        _ = fold.job


@pytest.mark.parametrize("cut", [0, 1, 30])
def test_taken_up_entry_by_entry_each_is_handed_over_once(tmp_path: Path, cut: int):
    """Also where the last line lacks its line feed, which is read again after it is healed, or is torn."""
    outside = SetOutside(files=QuickFiles())
    run = Run.begin(procedure_of(16), outside, tmp_path)
    run.act(a.Start(who="Ann", stamp=run.stamp(), work_piece="T-1"))
    for _ in range(5):
        run.act(a.Note(who="Ann", stamp=run.stamp(), text="a remark"))
    run.close()
    path = run.path
    whole = path.read_bytes()
    path.write_bytes(whole[: len(whole) - cut])
    reader = Listing()
    log, report = reopen(path, outside, reader)
    log.close()
    assert reader.taken == list(range(report.count))
    assert report.count == len(whole.splitlines()) - (cut == 30)
    assert [each.n for each in report.records] == [report.count - 1]
