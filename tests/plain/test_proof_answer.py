"""The proof's answer by lines: asked without recording, and printed after an act that leaves the plan."""

import io

import pytest

from runner.plain.console import Console
from runner.plain.session import Session
from tests.plain.memory_run import MemoryRun
from tests.procedure.procedure_text import linked
from tests.proof.test_live import CAR

START = "\nT-1\nBo\n\n\n\n"
"""Performer as offered, work piece; checker and condition; the notice, and it is raised."""


def play(script: str, *, proved: bool = True) -> tuple[MemoryRun, str]:
    run = MemoryRun(linked(CAR), proved=proved)
    out = io.StringIO()
    Session(run, Console(io.StringIO(script), out), performer="Ann", sleep=lambda s: None).play()
    return run, out.getvalue()


def since(out: str, mark: str) -> list[str]:
    """The lines from the one with `mark` to the next prompt."""
    lines = out.splitlines()
    at = next(n for n, line in enumerate(lines) if mark in line)
    rest = lines[at:]
    end = next((n for n, line in enumerate(rest) if n and line.startswith(("Ann", "recorded"))), len(rest))
    return rest[:end]


def test_may_put_off_answers_without_recording() -> None:
    run, out = play(START + ":may put off\n:quit\n")
    assert 'Proof: It may still be put off, and is done before "Plug the lead in".' in out
    assert "Proof: Everything that is open can still be closed." in out
    assert [entry.kind for entry in run.entries if entry.kind in ("put_off_unplanned", "refused")] == []
    assert run.job.owed == {}


@pytest.mark.parametrize(
    "line", [":may put off", ":may put off too stiff", ":may :put off too stiff", ":MAY PUT OFF"]
)
def test_may_takes_a_command_as_it_is_typed(line: str) -> None:
    _, out = play(START + line + "\n:quit\n")
    assert "Proof: It may still be put off" in out


@pytest.mark.parametrize("line", [":may", ":may note dry", ":may fly", ":may deviate sideways: because"])
def test_may_asks_only_about_acts_that_leave_the_plan(line: str) -> None:
    run, out = play(START + line + "\n:quit\n")
    assert "Proof:" not in out
    assert "Write it so:" in out or "There is no command" in out
    assert run.job.owed == {}


def test_after_a_put_off_its_answer_is_read_out_line_by_line() -> None:
    _, out = play(START + ":put off the clip is stiff\n:quit\n")
    assert since(out, "put off outside the plan") == [
        "recorded 22:26 put off outside the plan: Unplug the lead.: the clip is stiff",
        'Proof: It may still be put off, and is done before "Plug the lead in".',
        "Proof: Everything that is open can still be closed.",
        "Item: lead: connected, off the plan",
        "Put off: Unplug the lead; why: the clip is stiff; when: any time before it is due; "
        'before: "Plug the lead in"; passed by, can be taken up now',
        "",
        "Step 2 of 15: Take the cap off.",
        "Take off cap",
    ]


def test_what_is_lost_is_said_as_such_and_said_again_when_asked() -> None:
    script = (
        START
        + "\n\n:may deviate not done: broke; by Chief\n:deviate not done: broke; by Chief\n:owed\n:status\n:quit\n"
    )
    run, out = play(script)
    again = io.StringIO()
    Session(run, Console(io.StringIO(":quit\n"), again), performer="Ann", sleep=lambda s: None).play()
    lost = "NO WAY LEFT: cap is still off at the end: nobody puts it back"
    assert out.count(f"Proof: {lost}") == 2, "asked, then done"
    assert out.count(lost) == 4, "asked, done, :owed, :status; not twice in a row for who listens"
    assert again.getvalue().count(lost) == 1, "whoever comes back is told"
    assert [deviation.kind for deviation in run.job.deviations] == ["not done"]


def test_a_run_without_a_proof_says_that_nothing_tells() -> None:
    run, out = play(START + ":may put off\n:put off stiff\n:quit\n", proved=False)
    assert "Proof: It can be put off. This run is not proved: nothing tells until where" in out
    assert out.count("Proof:") == 1
    assert "unplug" in run.job.owed


def test_help_names_the_question() -> None:
    _, out = play(START + ":help\n:quit\n")
    assert ":may put off, or :may COMMAND WORDS" in out
