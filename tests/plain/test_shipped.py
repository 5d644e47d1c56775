"""The shipped procedures by line mode, whole: with obvious answers, and the demo as CI types it."""

import io
from pathlib import Path

import pytest

from runner.cli import main
from runner.log.names import find_logs
from runner.log.scan import scan_file
from runner.plain.session import Ending, Session
from runner.procedure.link import load_procedure
from runner.run import Run
from runner.start import shipped
from tests.doubles import SetOutside
from tests.plain.answerer import Answerer

LABELS = (
    "clean and flat",
    "it does not move",
    "whole and dry",
    "the groove lies clear across the hole",
    "gone hard",
    "straight and quiet",
)
VALUES = {"play": "0.4 mm", "hole": "18.02 mm", "height-left": "383 mm", "height-right": "381 mm"}
DEMO = Path(__file__).parents[1] / "scripts" / "demo.txt"
"""What CI types into `witnessmark demo --plain`; this file rewrites it: `python -m tests.plain.test_shipped`."""


def drive(name: str, folder: Path, *, impatient: bool = False) -> tuple[Ending, Run, Answerer]:
    """Carry a shipped procedure on with obvious answers; waits pass at once."""
    path = shipped(name)
    assert path is not None
    procedure, findings = load_procedure(path)
    assert procedure is not None, findings
    outside = SetOutside()
    run = Run.begin(procedure, outside, folder, rehearsal=True)
    console = Answerer(run, LABELS, VALUES, impatient=impatient)

    def sleep(seconds: float) -> None:
        outside.pass_time(int(seconds * 1000) + 1)

    ending = Session(run, console, sleep=sleep).play()
    run.close()
    return ending, run, console


@pytest.mark.parametrize("name", ["lower-arm", "wheel-change"])
def test_a_shipped_procedure_can_be_carried_to_its_seal(name: str, tmp_path: Path) -> None:
    ending, run, console = drive(name, tmp_path)
    assert ending is Ending.SEALED, console.text[-3000:]
    assert run.job.outcome == "finished"
    assert "Not accepted" not in console.text
    (log,) = find_logs(tmp_path)
    assert scan_file(log.path).state == "complete"


def test_the_demo_of_ci_is_what_the_procedure_asks_for_today(tmp_path: Path) -> None:
    ending, run, console = drive("lower-arm", tmp_path, impatient=True)
    assert ending is Ending.SEALED, console.text[-3000:]
    assert run.job.outcome == "finished with open points"
    assert DEMO.read_text(encoding="utf-8").splitlines() == console.lines, (
        "python -m tests.plain.test_shipped"
    )


def test_the_demo_command_leaves_nothing_in_the_current_folder(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """A time limit of 10 s stands in the way of the real clock: the first wait is slept through by a set clock."""
    outside = SetOutside()
    work = tmp_path / "work"
    work.mkdir()
    monkeypatch.chdir(work)
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    monkeypatch.setattr("runner.cli.taking_up.Outside", lambda: outside)
    monkeypatch.setattr("time.sleep", lambda seconds: outside.pass_time(int(seconds * 1000) + 1))
    monkeypatch.setattr("sys.stdin", io.StringIO(DEMO.read_text(encoding="utf-8")))
    assert main(["demo", "--plain"]) == 0, capsys.readouterr().out[-3000:]
    assert list(work.iterdir()) == []
    (log,) = find_logs(tmp_path / "data" / "witnessmark" / "logs")
    assert log.header is not None
    assert log.header["rehearsal"] is True
    assert scan_file(log.path).state == "complete"


if __name__ == "__main__":
    import tempfile

    with tempfile.TemporaryDirectory() as folder:
        typed = drive("lower-arm", Path(folder), impatient=True)[2].lines
    DEMO.write_text("\n".join(typed) + "\n", encoding="utf-8")
