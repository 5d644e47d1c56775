"""A torque that makes no sense for its fastener, as `check` tells it: one rule, three grades, alike in every form."""

import json
from pathlib import Path

import pytest

from runner.cli.exits import Exit
from runner.proof.rules.on_tightening import PAGES
from tests.cli.conftest import Cli
from tests.procedures.test_guide import whole


@pytest.fixture(
    params=[("25 N·m", "advice", "note"), ("32 N·m", "warning", "warning"), ("60 N·m", "error", "error")]
)
def graded(request: pytest.FixtureRequest, home: Path) -> tuple[str, str, str]:
    """A torque on M8 8.8, its grade and that in SARIF; tests/proof/test_local_joints.py works the limits out."""
    torque, grade, level = request.param
    text = PAGES["past-proof-load"].wrong.replace("60 N·m", torque)
    (home / "work" / "job.yaml").write_bytes(whole(text))
    return torque, grade, level


def test_every_form_has_the_grade_of_the_finding(cli: Cli, graded: tuple[str, str, str]) -> None:
    torque, grade, level = graded
    code, out, _ = cli("check", "job.yaml")
    assert code == (Exit.PROBLEM if grade == "error" else Exit.OK)
    assert f'{grade}: "pump bolts" gets {torque} on M8x1.25 8.8: ' in out
    assert "rule: past-proof-load (P27)" in out
    assert "from memory, check the standard" in out
    (found,) = json.loads(cli("check", "--json", "job.yaml")[1])["procedures"][0]["findings"]
    assert (found["rule"], found["number"], found["grade"]) == ("past-proof-load", "P27", grade)
    assert "from memory, check the standard" in found["message"]
    (run,) = json.loads(cli("check", "--sarif", "job.yaml")[1])["runs"]
    (result,) = run["results"]
    assert (result["ruleId"], result["level"]) == ("past-proof-load", level)
    assert run["tool"]["driver"]["rules"][result["ruleIndex"]]["defaultConfiguration"]["level"] == "error"


def test_strict_takes_the_warning_for_an_error_and_not_the_advice(
    cli: Cli, graded: tuple[str, str, str]
) -> None:
    code = cli("check", "--strict", "job.yaml")[0]
    assert code == (Exit.OK if graded[1] == "advice" else Exit.PROBLEM)


def test_the_slip_is_a_question_in_every_form(cli: Cli, home: Path) -> None:
    (home / "work" / "job.yaml").write_bytes(whole(PAGES["past-proof-load"].wrong))
    question = "60 N·m where 60 lbf·in or 6 N·m was meant?"
    assert question in cli("check", "job.yaml")[1]
    (found,) = json.loads(cli("check", "--json", "job.yaml")[1])["procedures"][0]["findings"]
    assert found["message"].endswith(question)
    (result,) = json.loads(cli("check", "--sarif", "job.yaml")[1])["runs"][0]["results"]
    assert f"{question} What mends it: check the torque" in result["message"]["text"]
