"""`check --explain`: a page for every rule of the proof, an honest answer for every rule of the format."""

import ast
from pathlib import Path

import pytest

import runner.procedure
from runner.cli.exits import Exit
from runner.cli.format_rules import SECTIONS
from runner.proof.rules import RULES, rule_named
from runner.proof.rules.pages import PAGES
from tests.cli.conftest import Cli

GUIDE = (Path(__file__).parents[2] / "procedures" / "README.md").read_text(encoding="utf-8")


@pytest.mark.parametrize("rule", RULES.values(), ids=lambda rule: rule.name)
def test_every_rule_has_a_page(cli: Cli, rule: object) -> None:
    name, number = rule.name, rule.number  # type: ignore[attr-defined]
    code, out, err = cli("check", "--explain", name)
    assert (code, err) == (Exit.OK, "")
    assert out.startswith(f"{name} ({number}, {RULES[name].grades})\n")
    said = " ".join(out.split())
    assert RULES[name].says in said
    assert f"What mends it: {RULES[name].mend}." in said
    assert PAGES[name].why in said
    for example in (PAGES[name].wrong, PAGES[name].right):
        assert all(line.strip() in out for line in example.split("\n"))
    assert max(len(line) for line in out.split("\n")) <= 100
    for typed in (name.upper(), number.lower(), f" {number} "):
        assert cli("check", "--explain", typed)[1] == out


def test_the_numbers_are_whole_and_each_is_once() -> None:
    assert [rule.number for rule in RULES.values()] == [f"P{at}" for at in range(1, len(RULES) + 1)]
    assert set(PAGES) == set(RULES)
    assert not set(SECTIONS) & set(RULES)
    assert rule_named("p0") is None


def test_a_rule_whose_grade_hangs_on_how_grave_it_is_says_so(cli: Cli) -> None:
    torque = rule_named("past-proof-load")
    assert torque is not None
    assert (torque.grade, torque.grades, torque.at_worst) == (
        "error",
        "error, warning or advice",
        "up to error",
    )
    assert cli("check", "--explain", "P27")[1].startswith("past-proof-load (P27, error, warning or advice)\n")
    rank = ("error", "warning", "advice")
    for rule in RULES.values():
        assert [rule.grade, *rule.lesser] == sorted({rule.grade, *rule.lesser}, key=rank.index)


def test_without_a_rule_all_are_listed(cli: Cli) -> None:
    code, out, _ = cli("check", "--explain")
    assert code == Exit.OK
    said = " ".join(out.split())
    for rule in RULES.values():
        assert f"{rule.number} {rule.name} {rule.at_worst} {rule.says}" in said
    assert max(len(line) for line in out.split("\n")) <= 80


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("left-opn", "Nearest: left-open."),
        ("no-such-thing-at-all-to-be-found", "P1   never-reached"),
        ("\x1b[2J", "no such rule: ␛[2J"),
        ("P99", "no such rule: P99"),
    ],
)
def test_an_unknown_rule_is_code_2_with_the_nearest_or_the_list(cli: Cli, typed: str, said: str) -> None:
    code, out, err = cli("check", "--explain", typed)
    assert (code, out) == (Exit.USAGE, "")
    assert said in err
    assert "\x1b" not in err


def words_of_the_format() -> set[str]:
    """The rule words in the sources of reader and linker: the second argument of what keeps a finding."""
    keeps = {"error", "at", "add", "unknown", "_refuse", "_Sentence"}
    found = set()
    for path in Path(runner.procedure.__path__[0]).glob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if not isinstance(node, ast.Call):
                continue
            name = getattr(node.func, "attr", getattr(node.func, "id", ""))
            place = 3 if name == "condition_test" else 1
            if name in keeps | {"condition_test"} and len(node.args) > place:
                words = ast.walk(node.args[place])
                found |= {each.value for each in words if isinstance(each, ast.Constant)}
    return {word for word in found if isinstance(word, str) and word.replace("-", "").isalpha()}


def test_every_rule_of_the_format_is_known() -> None:
    found = words_of_the_format()
    assert len(found) > 80
    missing = found - set(SECTIONS) - set(RULES)
    assert not missing


def test_the_headings_are_those_of_the_guide() -> None:
    headings = {line.removeprefix("## ") for line in GUIDE.split("\n") if line.startswith("## ")}
    assert set(SECTIONS.values()) <= headings


def test_the_guide_lists_every_rule_of_the_proof() -> None:
    for rule in RULES.values():
        assert f"| {rule.number} | `{rule.name}` | {rule.grades} | {rule.says} |\n" in GUIDE
    assert GUIDE.count("\n| P") == len(RULES)


def test_a_rule_of_the_format_says_where_it_stands(cli: Cli) -> None:
    code, out, _ = cli("check", "--explain", "Decimal-Comma")
    assert code == Exit.OK
    assert "decimal-comma is a rule of the format" in out
    assert '"How text is read"' in out
