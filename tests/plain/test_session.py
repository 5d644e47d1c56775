"""Line mode over the real engine: a whole run from a script, and every way it can end."""

import io
from pathlib import Path
from typing import get_args

import pytest

from runner.job import actions as a
from runner.log.errors import Latched, NotRecorded, Unwritable
from runner.plain.console import Console
from runner.plain.session import Ending, Session
from tests.plain.memory_run import MemoryRun
from tests.plain.small_job import small_job

START = "\nTR-17\n81230 km\nTW-07\n\nBen\n\n"
"""Performer as offered, work piece, counter; then tool, part, checker, condition."""
RAISED = "\n\nit stays still\n"
WHOLE = (
    START + RAISED + "\n\n\n\n30.2\n\n\n"  # plate off, bolt out, new part, started, torque, wheel bolts
    "\nBen\nrelease at the mark\n\n\n"  # level, hold point, plate on, lowered
    "\n\n121\nclick\n"  # the cue taken up, three bolts
    "\n4.5 mm\n"
    "\n\nnone\nseal\n"
)


def play(run: MemoryRun, script: str, **options: bool) -> tuple[Ending, str]:
    out = io.StringIO()
    console = Console(io.StringIO(script), out, ascii_only=options.get("ascii_only", False))
    ending = Session(run, console, performer="Ann", sleep=lambda s: None).play()
    return ending, out.getvalue()


@pytest.fixture
def run(tmp_path: Path) -> MemoryRun:
    return MemoryRun(small_job(tmp_path))


def test_a_whole_run_from_a_script_ends_sealed(run: MemoryRun) -> None:
    ending, out = play(run, WHOLE)
    assert (ending, run.job.outcome) == (Ending.SEALED, "finished"), out
    assert out.rstrip().endswith("outcome: finished")
    assert "Not accepted" not in out


def test_recorded_is_said_only_after_the_entry_is_kept(run: MemoryRun) -> None:
    run.failures = [NotRecorded("the disk is full", may_retry=True)]
    ending, out = play(run, START[:-1] + START)
    said = out.index("NOT RECORDED: the disk is full")
    assert out.find("recorded 22") > said
    assert len(run.entries) > 1
    assert ending is Ending.LEFT


def test_a_latched_log_ends_the_session(run: MemoryRun) -> None:
    play(run, START)
    run.failures = [Latched("the disk did not confirm the entry")]
    count = len(run.entries)
    ending, out = play(run, "\n:resume\n")
    assert ending is Ending.NOT_RECORDED
    assert "NOT RECORDED" in out
    assert len(run.entries) == count


def test_an_entry_without_a_place_in_a_log_is_said_and_the_run_goes_on(run: MemoryRun) -> None:
    play(run, START)
    run.failures = [Unwritable("The text holds half a letter.")]
    _, out = play(run, "\n\n")
    assert "NOT RECORDED: The text holds half a letter." in out
    assert "recorded 22" in out


def test_end_of_input_pauses_and_leaves(run: MemoryRun) -> None:
    ending, out = play(run, START)
    assert ending is Ending.LEFT
    assert run.job.paused
    assert "paused: input ended" in out
    assert "witnessmark resume kept.jsonl" in out


def test_end_of_input_before_the_start_writes_nothing(run: MemoryRun) -> None:
    ending, out = play(run, "Ann\n")
    assert (ending, run.entries) == (Ending.LEFT, [])
    assert "nothing was written" in out


def test_quit_leaves_without_an_entry(run: MemoryRun) -> None:
    ending, _ = play(run, START + ":quit\n")
    assert ending is Ending.LEFT
    assert not run.job.paused


def test_the_offered_performer_is_never_assumed(run: MemoryRun) -> None:
    play(run, "Cleo\nTR-17\n1 km\n")
    assert run.job.performer == "Cleo"


def test_only_changes_are_printed(run: MemoryRun) -> None:
    _, out = play(run, START + RAISED + ":note dry\n")
    after = out.partition("note: dry")[2]
    assert "Step" not in after.partition("paused")[0]
    assert out.count("Condition: support is raised") == 1


def test_refusals_say_the_way_on_and_are_recorded(run: MemoryRun) -> None:
    _, out = play(run, START + RAISED + "\n\n\n\n44\n")
    assert "Not accepted: 44 N·m is outside" in out
    assert "way on: measure again" in out
    assert run.entries[-2].kind == "refused"


def test_a_hold_point_asks_for_another_name(run: MemoryRun) -> None:
    script = START + RAISED + "\n\n\n\n\n\n\n\n"
    _, out = play(run, script + "release it is fine\nBen\nrefuse it is low\n")
    assert "Name of checker (not Ann)>" in out
    assert "Ann does this work and cannot release its hold point" in out
    assert run.entries[-2].who == "Ben"
    assert run.entries[-2].kind == "hold_refused"


def test_as_name_gives_one_line_to_somebody_else(run: MemoryRun) -> None:
    script = START + RAISED + "\n\n\n\n\n\n\n\n"
    play(run, script + "as Ben: release at the mark\n:note mine\n")
    assert [(entry.kind, entry.who) for entry in run.entries[-3:-1]] == [
        ("hold_released", "Ben"),
        ("noted", "Ann"),
    ]


def test_i_am_holds_until_told_otherwise(run: MemoryRun) -> None:
    play(run, START + ":i am Ben\n:note one\n:i am Ann\n:note two\n")
    assert [entry.who for entry in run.entries[-3:-1]] == ["Ben", "Ann"]


def test_stop_and_abandon(run: MemoryRun) -> None:
    ending, out = play(run, START + "\n\nit rocks\n:look it rocks\n:abandon it rocks\n\nseal\n")
    assert ending is Ending.SEALED, out
    assert run.job.outcome == "abandoned"
    assert "For the tag on the work:\nUNFINISHED" in out


def test_resume_compares_with_the_work(run: MemoryRun) -> None:
    play(run, START + RAISED + "\n:pause next is the drain\n")
    ending, out = play(run, "\n" * 10 + ":quit\n")
    assert ending is Ending.LEFT
    assert "Paused: next is the drain" in out
    assert "resumed" in out
    assert not run.job.to_confirm


def test_hand_over_needs_the_other_name(run: MemoryRun) -> None:
    _, out = play(run, START + ":hand over Cleo: plate next\n\nCleo\n:note hers\n")
    assert "Cleo types the own name" in out
    assert run.job.performer == "Cleo"
    assert run.entries[-2].who == "Cleo"


def test_take_over_alone(run: MemoryRun) -> None:
    play(run, START + ":take over Cleo: Ann went home\n")
    assert run.job.performer == "Cleo"


def test_ascii_mode_prints_ascii_only(run: MemoryRun) -> None:
    _, out = play(run, WHOLE, ascii_only=True)
    assert out.isascii()
    assert "30 N.m" in out


def test_hostile_text_is_shown_not_obeyed(run: MemoryRun) -> None:
    _, out = play(run, START + ":note a\x1b[2J\u202eb\n:\x1b]0;x\x07\n")
    assert "\x1b" not in out
    assert "\u202e" not in out
    assert "␛[2J<U+202E>b" in out


def test_a_line_too_long_is_not_used(run: MemoryRun) -> None:
    _, out = play(run, START + ":note " + "x" * 9000 + "\n:note short\n")
    assert "nothing of that one was used" in out
    assert [e.kind for e in run.entries[-2:]] == ["noted", "paused"]


def test_the_help_tells_every_command_and_is_shown(run: MemoryRun) -> None:
    _, out = play(run, START + ":help\n:deviat x\n")
    assert ":deviate KIND: REASON" in out
    assert "Nearest: :deviate" in out


def test_every_topic_prints(run: MemoryRun) -> None:
    topics = ("why", "again", "status", "back", "ahead", "owed", "items", "tools", "points", "recorded")
    _, out = play(run, START + RAISED + "".join(f":{topic}\n" for topic in topics))
    assert "There is no command" not in out
    assert "TW-07" in out.partition(":tools")[2]


def test_time_that_passed_while_typing_does_not_redirect_the_line(run: MemoryRun) -> None:
    """The picture is judged anew before a line is used; where another thing is asked now, the line is dropped."""
    play(run, START)
    session = Session(run, Console(io.StringIO(""), io.StringIO()))
    old = run.view
    run.job = run.job.but(seq=run.job.seq + 1, paused=False, phase="stopped")
    assert session._changed_meanwhile(old)


def test_get_args_of_deviation_kinds_are_words() -> None:
    assert "out of band" in get_args(a.DeviationKind)
