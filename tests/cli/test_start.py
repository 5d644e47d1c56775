"""What there is to begin with, and the start screen by lines."""

import io
from pathlib import Path

from runner.plain.console import Console
from runner.plain.start_menu import choose
from runner.start import DEMO, Choice, find_procedures, find_runs, find_start, shipped
from tests.cli.conftest import Cli
from tests.plain.small_job import SMALL
from tests.plain.test_session import START, WHOLE


def picked(home: Path, typed: str) -> tuple[Choice | None, str]:
    out = io.StringIO()
    start = find_start([home / "logs"], home / "work")
    return choose(start, Console(io.StringIO(typed), out)), out.getvalue()


def ready(cli: Cli, home: Path) -> None:
    (home / "work" / "small-job.yaml").write_text(SMALL, encoding="utf-8")
    for typed in (WHOLE, START):  # the other way round the second run would be told of the first
        code, out, _ = cli(
            "run",
            "small-job.yaml",
            "--plain",
            "--performer",
            "Ann",
            "--logs",
            str(home / "logs"),
            typed=typed,
        )
        assert code in (0, 3), out


def test_procedures_runs_and_logs_are_found(cli: Cli, home: Path) -> None:
    ready(cli, home)
    (home / "work" / "other.yaml").write_text("a: 1\n")
    (home / "logs" / "notes.jsonl").write_text("hello\n")
    start = find_start([home / "logs", home / "logs", home / "gone"], home / "work")
    assert (len(start.unfinished), len(start.finished)) == (1, 1)
    assert start.finished[0].title == "Small job"
    here = [found for found in start.procedures if not found.shipped]
    assert [(found.name, found.title, found.revision) for found in here] == [("small-job", "Small job", "2")]
    assert DEMO in {found.name for found in start.procedures if found.shipped}


def test_a_shipped_procedure_is_known_by_its_name_only() -> None:
    assert shipped(DEMO) is not None
    assert shipped("../procedures/lower-arm") is None
    assert shipped("parts/ball-joint") is None
    assert shipped("no-such") is None


def test_each_file_is_offered_once(home: Path) -> None:
    (home / "work" / "a.yaml").write_text(SMALL, encoding="utf-8")
    (home / "work" / "procedures").symlink_to(home / "work")
    assert [found.name for found in find_procedures(home / "work") if not found.shipped] == ["a"]
    assert find_runs([home / "work"]) == ()


def test_the_start_screen_offers_and_takes_a_number(cli: Cli, home: Path) -> None:
    ready(cli, home)
    choice, out = picked(home, "nine\n99\n1\n")
    assert choice is not None
    assert choice.deed == "resume"
    assert out.count("Type a number from 1 to") == 2
    assert "Unfinished runs:" in out
    assert "Finished logs, to review:" in out


def test_a_procedure_is_run_or_rehearsed_and_nothing_else_is_rehearsed(cli: Cli, home: Path) -> None:
    ready(cli, home)
    choice, out = picked(home, "rehearse 1\nrehearse 2\n")
    assert choice == Choice("rehearse", home / "work" / "small-job.yaml")
    assert "Only a procedure can be rehearsed." in out
    assert picked(home, "2\n")[0] == Choice("run", home / "work" / "small-job.yaml")


def test_enter_or_the_end_of_input_leaves(home: Path) -> None:
    assert picked(home, "\n")[0] is None
    assert picked(home, "")[0] is None


def test_hostile_titles_stay_text(home: Path) -> None:
    text = SMALL.replace("title: Small job", 'title: "x\x1b[2J"')
    (home / "work" / "a.yaml").write_text(text, encoding="utf-8")
    assert "\x1b" not in picked(home, "\n")[1]
