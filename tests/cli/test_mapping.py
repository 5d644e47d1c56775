"""`witnessmark map`: its forms, what it refuses, and what it marks."""

from pathlib import Path

import pytest

from runner.cli import mapping
from runner.cli.proving import Checked
from runner.procedure.finding import Finding, Station
from tests.cli.conftest import Cli
from tests.map.small import SMALL


@pytest.fixture
def job(home: Path) -> str:
    (home / "work" / "valve-box.yaml").write_text(SMALL, encoding="utf-8")
    return "valve-box.yaml"


def test_it_draws_in_the_terminal(cli: Cli, job: str) -> None:
    code, out, err = cli("map", job, "--ascii")
    assert (code, err) == (0, "")
    assert out.startswith("Valve box (valve-box, revision 4)\n")
    assert out.isascii()


def test_a_shipped_procedure_is_known_by_its_name(cli: Cli) -> None:
    code, out, _ = cli("map", "wheel-change")
    assert code == 0
    assert "chosen corner" in out


def test_a_picture_goes_to_a_file_or_to_the_output(cli: Cli, job: str) -> None:
    code, out, _ = cli("map", job, "--svg", "-")
    assert code == 0
    assert out.startswith("<svg ")
    assert cli("map", job, "--svg", "valve-box.svg")[0] == 0
    assert Path("valve-box.svg").read_text(encoding="utf-8") == out


def test_a_picture_writes_over_nothing_but_a_picture(cli: Cli, job: str) -> None:
    code, _, err = cli("map", job, "--svg", job)
    assert code == 2
    assert "does not end with .svg" in err
    assert Path(job).read_text(encoding="utf-8") == SMALL


def test_a_picture_that_cannot_be_written_is_said(cli: Cli, job: str) -> None:
    code, out, err = cli("map", job, "--svg", "no-such-folder/a.svg")
    assert (code, out) == (1, "")
    assert "no-such-folder/a.svg: " in err


def test_mermaid_text(cli: Cli, job: str) -> None:
    code, out, _ = cli("map", job, "--mermaid")
    assert code == 0
    assert "\nflowchart TD\n" in out


def test_a_procedure_that_does_not_link_prints_its_findings(cli: Cli, job: str) -> None:
    Path(job).write_text(SMALL.replace("again: look", "again: nowhere"), encoding="utf-8")
    code, out, err = cli("map", job)
    assert (code, out) == (1, "")
    assert "valve-box.yaml:" in err
    assert '"nowhere"' in err


def station(found: Checked, name: str) -> Station:
    assert found.procedure is not None
    return Station(found.procedure.by_id[name].mark, name, "", name, "")


@pytest.fixture
def two_found(monkeypatch: pytest.MonkeyPatch) -> None:
    """A proof that finds a warning and an error, each with a path."""
    real = mapping.checked

    def found(path: Path) -> Checked:
        made = real(path)
        warning = Finding(path.name, 1, 1, "warning", "unused", "first", path=(station(made, "look"),))
        error = Finding(path.name, 2, 1, "error", "left-open", "second", path=(station(made, "live"),))
        bare = Finding(path.name, 3, 1, "error", "unused", "has no path")
        return made.but(findings=(bare, warning, error))

    monkeypatch.setattr(mapping, "checked", found)


@pytest.mark.parametrize("form", [(), ("--svg", "-"), ("--mermaid",)], ids=["terminal", "svg", "mermaid"])
def test_the_path_of_the_first_error_is_marked_in_every_form(
    cli: Cli, job: str, two_found: None, form: tuple[str, ...]
) -> None:
    code, out, _ = cli("map", job, *form)
    assert code == 0
    assert "finding 2 of 2, error left-open" in out
    code, out, _ = cli("map", job, "--finding", "1", *form)
    assert code == 0
    assert "finding 1 of 2, warning unused" in out


def test_a_finding_that_is_not_there_is_a_wrong_command_line(cli: Cli, job: str, two_found: None) -> None:
    code, _, err = cli("map", job, "--finding", "3")
    assert code == 2
    assert "from 1 to 2" in err
