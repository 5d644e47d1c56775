"""The authoring guide is true: its examples link, its wrong ones say what it prints, its tables are the reader's."""

import re
from pathlib import Path

import pytest

from runner.cli.findings_text import finding_lines
from runner.cli.proving import checked
from runner.procedure import read_items, read_readings, read_steps, reader
from runner.procedure.desk import RESERVED
from runner.procedure.finding import Mark
from runner.procedure.kinds import KINDS
from runner.procedure.link_calls import DEEPEST_CALLS
from runner.procedure.link_report import MOST_ITEMS, MOST_NODES
from runner.procedure.link_ways import _DEEPEST
from runner.procedure.link_whole import link
from runner.procedure.opening import LARGEST
from runner.procedure.read_ways import MOST_ROUNDS, MOST_STEPS
from runner.procedure.reader import read_procedure
from runner.procedure.source import Source
from runner.procedure.syntax import DEEPEST
from runner.quantities.units import KINDS as MEASURED
from runner.quantities.units import units_of
from tests.procedures.hand import Hand

GUIDE = (Path(__file__).parents[2] / "procedures" / "README.md").read_text(encoding="utf-8")
_FENCE = re.compile(r"^```(?P<kind>[^\n]*)\n(?P<body>.*?)^```$", re.MULTILINE | re.DOTALL)
FENCES = [(match["kind"], match["body"]) for match in _FENCE.finditer(GUIDE)]
EXAMPLES = [body for kind, body in FENCES if kind == "yaml"]
WRONG = [(body, FENCES[at + 1][1]) for at, (kind, body) in enumerate(FENCES) if kind == "yaml wrong"]
UNPROVED = [(body, FENCES[at + 1][1]) for at, (kind, body) in enumerate(FENCES) if kind == "yaml unproved"]
FILES = {body.partition("\n")[0].removeprefix("# "): body for body in EXAMPLES if body.startswith("# ")}

_REST = {
    "format": "1",
    "procedure": "job",
    "title": "A job",
    "revision": "1",
    "fits": "an invented car",
    "sources": "[Invented data]",
    "people": "{performer: 1}",
    "tools": "none",
    "parts": "none",
    "supplies": "none",
    "steps": "[{step: look, do: Look round.}]",
    "close out": "[Look round]",
}
"""What an example leaves out; it follows the example, so that the line numbers are the example's."""


def whole(example: str) -> bytes:
    keys = {line.partition(":")[0] for line in example.split("\n")}
    return (
        example + "".join(f"{key}: {value}\n" for key, value in _REST.items() if key not in keys)
    ).encode()


def findings(example: str) -> list[str]:
    read, found = read_procedure(whole(example), "job.yaml")
    if read is None:
        return [finding.text() for finding in found]

    def resolve(path: str, _: Mark) -> Source | None:
        return read_procedure(whole(FILES[path]), path)[0]

    lines = {"job.yaml": tuple(whole(example).decode().split("\n"))}
    procedure, linking = link(read, resolve, lines=lines)
    wrong = [finding for finding in linking if finding.grade == "error"]
    assert (procedure is None) == bool(wrong)
    return [finding.text() for finding in (*found, *wrong)]


def section(title: str) -> str:
    """The text under a heading."""
    return GUIDE.partition(f"\n## {title}\n")[2].partition("\n## ")[0]


def rows(title: str) -> list[list[str]]:
    """The cells of the table rows under a heading."""
    lines = [line for line in section(title).split("\n") if line.startswith("| ")]
    return [[cell.strip() for cell in line.strip("|").split(" | ")] for line in lines[1:]]


def quoted(text: str) -> list[str]:
    return re.findall(r"`([^`]+)`", text)


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda example: example.split("\n")[0])
def test_an_example_links_without_a_finding(example: str):
    assert findings(example) == []


@pytest.mark.parametrize(("example", "printed"), WRONG, ids=lambda text: text.split("\n")[0])
def test_a_wrong_example_says_what_is_printed(example: str, printed: str):
    assert "\n".join(findings(example)) == printed.rstrip("\n")


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda example: example.split("\n")[0])
def test_an_example_is_proved(example: str, folder: Path):
    (folder / "job.yaml").write_bytes(whole(example))
    of = checked(folder / "job.yaml")
    assert of.proved, [finding.text() for finding in of.findings]
    assert {finding.rule for finding in of.findings} <= {"unused"}


@pytest.mark.parametrize(("example", "printed"), UNPROVED, ids=lambda text: text.split("\n")[1])
def test_an_unproved_example_says_what_is_printed(example: str, printed: str, folder: Path):
    (folder / "job.yaml").write_bytes(whole(example))
    of = checked(folder / "job.yaml")
    lines = [line for finding in of.findings for line in finding_lines(finding, of)]
    assert "\n".join([*lines, ""]).replace(str(folder / "job.yaml"), "job.yaml") == printed


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A folder with every file that the guide's examples use."""
    (tmp_path / "parts").mkdir()
    for name, body in FILES.items():
        (tmp_path / name).write_bytes(whole(body))
    return tmp_path


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda example: example.split("\n")[0])
def test_an_example_can_be_carried_out(example: str, folder: Path):
    (folder / "job.yaml").write_bytes(whole(example))
    agreed = re.findall(r"leaves open: \{(\w+):", example)
    hand = Hand(folder / "job.yaml", folder / "logs", on_word=True).work()
    assert hand.left_open == agreed
    assert hand.job.outcome == ("finished with open points" if agreed else "finished")


def test_there_are_examples_of_both_sorts():
    assert len(EXAMPLES) >= 14
    assert len(WRONG) >= 6
    assert len(UNPROVED) >= 2


ALL_KEYS = {
    *reader.KEYS,
    *read_steps.STEP_KEYS,
    *read_items._ANY_KIND,
    *read_items._FASTENER_KEYS,
    *read_items._STAGE_KEYS,
    *read_readings._READING_KEYS,
    *read_readings._WORK_OUT_KEYS,
    *("hazard", "consequence", "avoid", "from", "to"),
    *("at start", "changes", "hazardous", "getting there", "choose at start"),
    *("covers", "number", "each", "quantity", "after", "within", "warn at", "too late"),
    *("released by", "asks", "if refused", "until", "before", "because", "no later than", "time", "at"),
    *("use", "again", "at most", "then", "only if", "only for"),
}


def test_the_table_of_keys_is_whole():
    assert {key for row in rows("All keys") for key in quoted(row[0])} == ALL_KEYS


@pytest.mark.parametrize("key", sorted(ALL_KEYS))
def test_every_key_has_an_example(key: str):
    used = re.compile(rf"(?:^|[\s{{,-]){re.escape(key)}:(?: |$)", re.MULTILINE)
    assert any(used.search(example) for example in EXAMPLES), key


def test_the_table_of_item_kinds_is_the_programs():
    told = {quoted(kind)[0]: (set(quoted(verbs)), states) for kind, verbs, states in rows("Items")}
    assert set(told) == set(KINDS)
    for name, kind in KINDS.items():
        verbs, states = told[name]
        assert verbs == set(kind.verbs)
        assert f"**{kind.whole}**" in states
        assert all(state in states for state in kind.states)


@pytest.mark.parametrize("verb", read_steps.VERBS)
def test_every_verb_has_an_example(verb: str):
    assert any(f" {verb}: " in example for example in EXAMPLES)


def test_every_unit_is_listed():
    assert {unit for kind in MEASURED for unit in units_of(kind)} <= set(
        quoted(section("Numbers, units, tolerances"))
    )


def test_the_keys_kept_for_later_are_named():
    assert set(quoted(section("Kept for later"))) == RESERVED


def test_the_limits_are_the_programs():
    told = section("Limits")
    assert LARGEST == 1024 * 1024
    assert "1 MiB" in told
    assert (MOST_STEPS, MOST_NODES, MOST_ITEMS) == (20_000, 20_000, 20_000)
    for number, what in (
        (DEEPEST, "nests at most {} deep"),
        (_DEEPEST, "ways nest at most {} deep"),
        (read_items.MOST_FASTENERS, "{} fasteners"),
        (read_readings.MOST_TIMES, "at most {} times in a step"),
        (MOST_ROUNDS, "a way back at most {} times"),
        (DEEPEST_CALLS, "each other at most {} deep"),
    ):
        assert what.format(number) in told.replace("\n", " ")


def test_links_lead_somewhere():
    anchors = {
        re.sub(r"[^a-z0-9 -]", "", title.lower()).replace(" ", "-")
        for title in re.findall(r"^## (.+)$", GUIDE, re.MULTILINE)
    }
    for target in re.findall(r"\]\(([^)]+)\)", GUIDE):
        if target.startswith("#"):
            assert target[1:] in anchors, target
        else:
            assert (Path(__file__).parents[2] / "procedures" / target).exists(), target
