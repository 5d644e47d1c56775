"""Entries followed together lead where they lead one by one, and a job that was kept is not changed by what comes."""

import random
from pathlib import Path

import pytest

from runner.job.events import Entry
from runner.job.evolve import evolve, evolve_all
from runner.job.record import from_record
from runner.job.state import Job
from runner.log import record
from runner.log.scan import scan_file
from runner.replaying import job_of
from tests.job.properties.dice import Dice
from tests.job.properties.player import Player
from tests.job.properties.writing import linked, written

SEEDS = range(20_261_126, 20_261_144)
CUTS = 12
LEAST_TAKEN_BACK = 3


def history(seed: int, folder: Path) -> tuple[Job, list[Entry]]:
    """The first job of a random run, and what was recorded until it was interrupted or ended."""
    player = Player(linked(*written(Dice(seed))), Dice(seed), folder).play()
    header, *rest = scan_file(player.run.path).records
    entries = []
    for each in rest:
        if each.kind in record.OWN_KINDS - {record.SEAL}:
            break
        entries.append(from_record(each.data, each.stamp))
    return job_of(header.data), entries


def one_by_one(job: Job, entries: list[Entry]) -> list[Job]:
    """The job before the first entry and after each."""
    jobs = [job]
    for entry in entries:
        jobs.append(evolve(jobs[-1], entry))
    return jobs


@pytest.fixture(scope="module")
def runs(tmp_path_factory: pytest.TempPathFactory) -> list[tuple[Job, list[Entry]]]:
    return [history(seed, tmp_path_factory.mktemp("run")) for seed in SEEDS]


def test_together_they_lead_where_they_lead_one_by_one(runs: list[tuple[Job, list[Entry]]]):
    chance, taken_back = random.Random(1), 0
    for first, entries in runs:
        jobs = one_by_one(first, entries)
        taken_back += sum(entry.kind == "taken_back" for entry in entries)
        for _ in range(CUTS):
            start, end = sorted(chance.choices(range(len(jobs)), k=2))
            together = evolve_all(jobs[start], entries[start:end])
            assert together == jobs[end]
            assert together.before == jobs[end].before, "what may be taken back leads back to the same"
    assert taken_back >= LEAST_TAKEN_BACK


def test_no_job_is_changed_by_the_entries_that_come_after_it(runs: list[tuple[Job, list[Entry]]]):
    for first, entries in runs:
        jobs, told = [first], [repr(first)]
        for entry in entries:
            jobs.append(evolve(jobs[-1], entry))
            told.append(repr(jobs[-1]) + repr(jobs[-1].before))
        for job in jobs[::5]:
            evolve_all(job, entries[job.seq :])
        assert [repr(jobs[0]), *(repr(job) + repr(job.before) for job in jobs[1:])] == told
