"""`witnessmark ready`: its forms, what it refuses, and its exit codes."""

import json
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from runner import __version__
from runner.cli.exits import Exit
from runner.toolbox.finding import EXAMPLE
from tests.cli.conftest import Cli
from tests.cli.proofs import FILE, prover
from tests.plain.small_job import SMALL

SCHEMA = json.loads((Path(__file__).parents[1] / "ready" / "schema.json").read_text(encoding="utf-8"))


@pytest.fixture
def job(home: Path) -> str:
    (home / "work" / FILE).write_text(SMALL, encoding="utf-8")
    return FILE


@pytest.fixture
def box(home: Path) -> str:
    (home / "work" / "box.yaml").write_text(EXAMPLE, encoding="utf-8")
    return "box.yaml"


def document(cli: Cli, *arguments: str) -> Any:
    code, out, err = cli("ready", *arguments, "--json")
    assert (code, err) == (Exit.OK, "")
    assert out.isascii()
    made = json.loads(out)
    jsonschema.validate(made, SCHEMA, cls=jsonschema.Draft202012Validator)
    return made


def test_the_schema_is_one() -> None:
    jsonschema.Draft202012Validator.check_schema(SCHEMA)


def test_it_prints_the_sheet_in_eighty_columns(cli: Cli, job: str, box: str) -> None:
    code, out, err = cli("ready", job, "--toolbox", box, "--ascii")
    assert (code, err) == (Exit.OK, "")
    assert out.startswith("Ready sheet: Small job (small-job, revision 2)\n")
    assert "best: Click wrench 130 0042: set" in out
    assert out.isascii()
    assert max(len(line) for line in out.splitlines()) <= 80


def test_the_shops_toolbox_is_found_and_without_one_the_shops_unit_stands_beside(cli: Cli, job: str) -> None:
    made = document(cli, job, "--torque-unit", "lbf·ft", "--logs", "kept")
    torques = [s for each in made["tightenings"] for s in each["stages"] if s["kind"] == "torque"]
    assert torques
    assert all(not stage["settings"] and stage["other"].endswith(" lbf·ft") for stage in torques)
    Path("kept").mkdir()
    Path("kept/toolbox.yaml").write_text(EXAMPLE, encoding="utf-8")
    made = document(cli, job, "--logs", "kept")
    assert made["tools_in_box"] == 1
    assert any(stage["settings"] for each in made["tightenings"] for stage in each["stages"])


@pytest.mark.parametrize("name", ["lower-arm", "wheel-change"])
def test_json_of_a_shipped_procedure_keeps_to_the_schema(cli: Cli, box: str, name: str) -> None:
    made = document(cli, name, "--toolbox", box)
    assert (made["version"], made["program"], made["procedure"]) == (1, __version__, name)
    assert made["proved"]
    assert made["warnings"] == []
    assert made["from_memory"] is None
    assert {tool["name"] for tool in made["tools"]} >= {"torque wrench"}


def test_a_page_goes_to_a_file_or_to_the_output_and_writes_over_nothing_else(cli: Cli, job: str) -> None:
    code, out, _ = cli("ready", job, "--html", "-")
    assert code == Exit.OK
    assert out.startswith("<!DOCTYPE html>\n")
    code, said, _ = cli("ready", job, "--html", "sheet.html")
    assert (code, Path("sheet.html").read_text(encoding="utf-8")) == (Exit.OK, out)
    assert "printed to PDF by any browser" in said
    code, _, err = cli("ready", job, "--html", job)
    assert (code, Path(job).read_text(encoding="utf-8")) == (Exit.USAGE, SMALL)
    assert "does not end with .html" in err
    code, out, err = cli("ready", job, "--html", "nowhere/a.html")
    assert (code, out) == (Exit.PROBLEM, "")
    assert "nowhere/a.html: " in err


def test_a_procedure_that_does_not_link_prints_its_findings_as_check_does(cli: Cli, job: str) -> None:
    Path(job).write_text(SMALL.replace("[plate]", "[plat]"), encoding="utf-8")
    code, out, err = cli("ready", job)
    assert (code, out) == (Exit.PROBLEM, "")
    _, checked, _ = cli("check", job)
    assert err.splitlines()[0] in checked
    assert f"{FILE}:" in err


def test_one_that_is_not_proved_gets_a_sheet_with_a_warning_on_top(
    cli: Cli, job: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    prover(monkeypatch, times=2)
    code, out, _ = cli("ready", job)
    assert code == Exit.PROBLEM
    assert "! NOT PROVED: the proof finds 2 errors" in out
    assert out.index("NOT PROVED") < out.index("PEOPLE")
    code, out, _ = cli("ready", job, "--html", "-")
    assert code == Exit.PROBLEM
    assert '<p class="warning">NOT PROVED' in out


def test_an_error_in_the_toolbox_is_told_at_its_place_and_on_the_sheet(cli: Cli, job: str, box: str) -> None:
    Path(box).write_text(EXAMPLE.replace("20 to 130 N·m", "20 to 130"), encoding="utf-8")
    code, out, err = cli("ready", job, "--toolbox", box)
    assert code == Exit.PROBLEM
    assert "box.yaml:" in err
    assert "! The toolbox file has errors" in out
    code, _, err = cli("ready", job, "--toolbox", "not-there.yaml")
    assert code == Exit.PROBLEM
    assert "not-there.yaml" in err


def test_hostile_text_of_both_files_stays_text(cli: Cli, job: str, box: str) -> None:
    Path(job).write_text(
        SMALL.replace("title: Small job", "title: '=1+1 <script>x</script> &amp;'"), encoding="utf-8"
    )
    Path(box).write_text(EXAMPLE.replace("Click wrench 130", "'<b onload=x>CW</b>'"), encoding="utf-8")
    code, out, _ = cli("ready", job, "--toolbox", box, "--html", "-")
    assert code == Exit.OK
    assert "<script" not in out
    assert "&lt;script&gt;x&lt;/script&gt; &amp;amp;" in out
    assert "&lt;b onload=x&gt;CW&lt;/b&gt;" in out
    made = document(cli, job, "--toolbox", box)
    assert made["title"] == "=1+1 <script>x</script> &amp;"


def test_page_and_json_are_two_forms(cli: Cli, job: str) -> None:
    code, _, err = cli("ready", job, "--json", "--html", "-")
    assert code == Exit.USAGE
    assert "not allowed with" in err
