"""An output that cannot be written is no error of the program: one sentence, exit code 1, and no crash report."""

import errno
import io
import os
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path

import pytest

from runner.cli import main
from runner.cli.exits import Exit
from runner.log.errors import NotRecorded
from runner.log.scan import scan_file
from runner.run import Run
from tests.cli.conftest import Cli
from tests.cli.test_commands import job, log_of, only_log
from tests.plain.test_session import START, WHOLE

ROOT = Path(__file__).parents[2]
PROGRAM = "import sys; from runner.cli import main; sys.exit(main())"
FULL = Path("/dev/full")
NO_ROOM, CLOSED = os.strerror(errno.ENOSPC), os.strerror(errno.EBADF)

needs_full = pytest.mark.skipif(not FULL.exists(), reason="this system has no /dev/full")
needs_shell = pytest.mark.skipif(os.name != "posix", reason="only a shell starts a program without an output")


def start(
    home: Path, arguments: Sequence[str], *, to: str, typed: str = "", before: str = ""
) -> tuple[int, str]:
    """Run the real program with its streams as the shell's `to` says: its exit code, and what it said of errors."""
    quoted = f'{before} exec "$@" {to}'
    done = subprocess.run(
        ["/bin/sh", "-c", quoted, "sh", sys.executable, "-c", PROGRAM, *arguments],
        env={
            "PATH": "/usr/bin:/bin",
            "PYTHONPATH": str(ROOT),
            "PYTHONDONTWRITEBYTECODE": "1",  # under a limit on files Python would leave half a module in its cache
            "HOME": str(home),
            "LANG": "C.UTF-8",
        },
        cwd=home / "work",
        input=typed,
        capture_output=True,
        text=True,
        check=False,
    )
    return done.returncode, done.stderr


def crashes(home: Path) -> list[Path]:
    return list(home.rglob("crash-*"))


@pytest.fixture
def log(home: Path) -> Path:
    code, _ = start(home, ["run", job(home), "--plain", "--performer", "Ann"], to="", typed=WHOLE)
    assert code == 0
    return only_log(home / ".local" / "share" / "witnessmark" / "logs")


COMMANDS = (
    "verify --json LOG",
    "verify LOG.gone LOG",
    "review LOG",
    "export LOG",
    "check --sarif small-job.yaml",
    "ready lower-arm",
    "--help",
    "",
)


@pytest.mark.parametrize(
    ("to", "why", "commands"),
    [
        pytest.param(">/dev/full", NO_ROOM, COMMANDS, marks=needs_full),
        pytest.param(">&-", CLOSED, ("verify LOG", "export --scars LOG", "--version"), marks=needs_shell),
    ],
)
def test_an_output_that_cannot_be_written_is_said_in_a_sentence(
    home: Path, log: Path, to: str, why: str, commands: Sequence[str]
) -> None:
    for command in commands:
        told = start(home, command.replace("LOG", str(log)).split(), to=to)
        assert told[0] == Exit.PROBLEM, command
        last = told[1].splitlines()[-1]
        assert f"the output could not be written: {why}" in last, command
        assert "incomplete" in last, command
        for word in ("Traceback", "Exception ignored", "error of the program", "nothing was exported"):
            assert word not in told[1], command
    assert crashes(home) == []


@needs_full
def test_a_key_is_said_to_be_made_or_the_output_to_be_lost(home: Path) -> None:
    """The files are there all the same: what was done before the output was lost is not undone."""
    code, err = start(home, ["key", "new"], to=">/dev/full")
    assert code == Exit.PROBLEM
    assert f"the output could not be written: {NO_ROOM}" in err
    code, err = start(home, ["key", "show"], to=">/dev/full")
    assert code == Exit.PROBLEM
    assert crashes(home) == []


@needs_full
def test_an_output_of_many_pieces_is_said_once(home: Path, log: Path) -> None:
    """Far more than any buffer holds: the first failure ends it, and the rest is not tried."""
    code, err = start(home, ["verify", *[str(log)] * 200], to=">/dev/full")
    assert code == Exit.PROBLEM
    assert err.count("\n") == 1


@needs_full
@pytest.mark.parametrize("to", [">/dev/full 2>&1", "2>/dev/full", ">/dev/full 2>&-"])
def test_errors_that_cannot_be_written_either_are_no_crash(home: Path, to: str) -> None:
    code, _ = start(home, ["verify", "gone.jsonl"], to=to)
    assert code == Exit.PROBLEM
    assert crashes(home) == []


@needs_full
@pytest.mark.parametrize("to", [">/dev/full", ">&-"])
def test_a_run_by_lines_is_left_in_order(home: Path, to: str) -> None:
    code, _ = start(home, ["run", job(home), "--plain", "--performer", "Ann"], to="", typed=START + ":quit\n")
    assert code == Exit.UNFINISHED
    path = only_log(home / ".local" / "share" / "witnessmark" / "logs")
    before = scan_file(path)
    code, err = start(home, ["resume", str(path), "--plain"], to=to, typed="\n\n")
    assert code == Exit.PROBLEM
    if to == ">/dev/full":
        assert f"the output could not be written: {NO_ROOM}" in err
        assert f"The run is not sealed. Go on with: witnessmark resume {path}" in err
    else:
        assert "started without its standard streams; a log cannot be opened" in err
    after = scan_file(path)
    assert after.state == "open"
    assert after.records[: before.count] == before.records
    assert [each.kind for each in after.records[before.count :]] == ["opened"] * (to == ">/dev/full")
    assert crashes(home) == []


@needs_full
def test_a_run_that_never_began_leaves_nothing(home: Path) -> None:
    code, err = start(home, ["run", job(home), "--plain"], to=">/dev/full", typed=WHOLE)
    assert code == Exit.PROBLEM
    assert "No run was started" in err
    assert not list(home.rglob("*.jsonl"))


@needs_full
def test_an_entry_that_is_not_recorded_counts_more_than_a_lost_output(
    cli: Cli, home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Log and output on one disk that fills up: NOT RECORDED cannot be said where it belongs."""
    log = log_of(cli, home, START + ":quit\n", "a")
    with (home / "work" / "out").open("w", encoding="utf-8") as out, FULL.open("wb") as full:

        def fills(*_: object) -> None:
            os.dup2(full.fileno(), out.fileno())
            raise NotRecorded("the disk is full", may_retry=True)

        monkeypatch.setattr(Run, "record", fills)
        monkeypatch.setattr("sys.stdout", out)
        code, _, err = cli("resume", str(log), "--plain", typed="\n\n")
    told = err.splitlines()
    assert code == Exit.NOT_RECORDED
    assert told[0].startswith("NOT RECORDED: the disk is full.")
    assert f"the output could not be written: {NO_ROOM}" in told[1]
    assert told[2] == f"The run is not sealed. Go on with: witnessmark resume {log}"


class Keyboard(io.StringIO):
    """An input that says that it is a terminal."""

    def isatty(self) -> bool:
        return True


@needs_full
@pytest.mark.parametrize("left", [Exit.OK, Exit.UNFINISHED])
def test_what_is_said_after_the_full_screen_does_not_change_how_the_run_was_left(
    cli: Cli,
    home: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
    left: Exit,
) -> None:
    """The screen has told it already, and the log has it."""
    log = log_of(cli, home, START + ":quit\n", "a")
    monkeypatch.setattr("runner.cli.screens.open_bench", lambda opened, *_: opened() and left)
    monkeypatch.setattr("sys.stdin", Keyboard())
    monkeypatch.setattr("sys.stderr.isatty", lambda: True)
    with FULL.open("w", encoding="utf-8") as full:
        monkeypatch.setattr("sys.stdout", full)
        code = main(["resume", str(log)])
    assert code == left
    assert f"the output could not be written: {NO_ROOM}" in capsys.readouterr().err


@needs_full
def test_a_message_meant_for_the_errors_never_gets_into_the_output(home: Path, log: Path) -> None:
    """Where the errors are closed, the interpreter would print them on the output instead."""
    torn = home / "work" / "torn.jsonl"
    torn.write_bytes(log.read_bytes()[:-20])
    code, _ = start(home, ["export", str(torn)], to=">out 2>&-")
    assert code == Exit.TORN
    lines = (home / "work" / "out").read_bytes().splitlines()
    assert lines
    assert all(each.startswith(b'{"data":') for each in lines)
