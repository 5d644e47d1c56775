"""Line mode on a disk that says no: how it ends tells whether the last thing tried is in the log."""

from pathlib import Path

import pytest

from runner.log.errors import LogError, NotRecorded, Unwritable
from runner.plain.session import Ending
from tests.plain.memory_run import MemoryRun
from tests.plain.small_job import small_job
from tests.plain.test_session import START, play


class Full(list[LogError]):
    """A disk that stays full."""

    def __bool__(self) -> bool:
        return True

    def pop(self, *_: object) -> LogError:
        return NotRecorded("the disk is full", may_retry=True)


@pytest.fixture
def run(tmp_path: Path) -> MemoryRun:
    return MemoryRun(small_job(tmp_path))


def test_the_pause_at_the_end_of_input_could_not_be_recorded(run: MemoryRun) -> None:
    play(run, START)
    count, run.failures = len(run.entries), Full()
    ending, out = play(run, "\n:note dry\n")
    assert out.count("NOT RECORDED: the disk is full") >= 2
    assert len(run.entries) == count
    assert ending is Ending.NOT_RECORDED
    assert "Go on with: witnessmark resume kept.jsonl" in out


def test_only_the_pause_at_the_end_of_input_was_tried(run: MemoryRun) -> None:
    play(run, START)
    play(run, "\n" * 12 + ":quit\n")
    assert not run.job.paused
    run.failures = [NotRecorded("the disk is full", may_retry=True)]
    ending, out = play(run, "")
    assert "NOT RECORDED" in out
    assert ending is Ending.NOT_RECORDED


def test_left_after_an_answer_that_could_not_be_recorded(run: MemoryRun) -> None:
    play(run, START)
    run.failures = Full()
    assert play(run, "\n:quit\n")[0] is Ending.NOT_RECORDED


def test_a_start_that_could_not_be_recorded(run: MemoryRun) -> None:
    run.failures = Full()
    ending, out = play(run, START)
    assert ending is Ending.NOT_RECORDED
    assert "No run was started" in out


def test_what_was_tried_again_and_recorded_is_not_held_against_the_run(run: MemoryRun) -> None:
    play(run, START)
    play(run, "\n" * 12 + ":quit\n")
    run.failures = [NotRecorded("the disk is full", may_retry=True)]
    ending, out = play(run, ":note wet\n:note dry\n")
    assert "NOT RECORDED" in out
    assert run.job.paused
    assert ending is Ending.LEFT


def test_an_entry_that_no_log_can_hold_says_nothing_of_the_disk(run: MemoryRun) -> None:
    play(run, START)
    play(run, "\n" * 12 + ":quit\n")
    run.failures = [Unwritable("The text holds half a letter.")]
    ending, out = play(run, ":note x\n:quit\n")
    assert "NOT RECORDED" in out
    assert ending is Ending.LEFT
