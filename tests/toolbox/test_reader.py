"""A toolbox file: what is read, and what is found where."""

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from runner.joint.wrench import Certificate, Wrench
from runner.toolbox.finding import EXAMPLE
from runner.toolbox.model import Toolbox, range_text
from runner.toolbox.reader import KEYS, read_toolbox

SAMPLE = Path(__file__).parents[2] / "logs" / "toolbox.yaml"
CLICK = "{name: a, kind: click, range: 20 to 130 N·m}"


def one(text: str) -> Wrench:
    """The only tool of a toolbox without findings."""
    box = read_toolbox(f"tools:\n  - {text}\n")
    assert box.problems == ()
    (wrench,) = box.wrenches
    return wrench


def test_the_example_has_every_key_and_is_read_whole():
    box = read_toolbox(EXAMPLE)
    assert box.problems == ()
    assert box.wrenches == (
        Wrench(
            name="Click wrench 130", kind="click", low="20", high="130", unit="N·m", graduation="1", length="400",
            type_class="II A", serial="0042", calibrated_on="2026-01-12", due_on="2027-01-12",
            certificate=Certificate(uncertainty="1.2", unit="%", coverage="2", number="C-118"),
        ),
    )  # fmt: skip
    assert all(f"{key}:" in EXAMPLE for key in KEYS)


def test_the_sample_beside_the_logs_has_no_finding_and_says_that_it_is_invented():
    box = read_toolbox(SAMPLE)
    assert box.problems == ()
    assert len(box.wrenches) == 8
    assert "invented" in SAMPLE.read_text(encoding="utf-8").splitlines()[0]


def test_the_page_about_logs_shows_a_toolbox_that_is_read_whole():
    page = (SAMPLE.parent / "README.md").read_text(encoding="utf-8")
    shown = page.partition("## The toolbox")[2].partition("```yaml\n")[2].partition("```")[0]
    assert read_toolbox(shown).problems == ()
    assert read_toolbox(shown).wrenches == read_toolbox(EXAMPLE).wrenches
    table = page.partition("## The toolbox")[2].partition("\n## ")[0]
    assert all(f"`{key}`" in table for key in KEYS)


def test_units_are_those_of_the_range():
    wrench = one("{name: a, kind: click, range: 10 to 150 ft-lb, graduation: 12 in-lb, length: 18 in}")
    assert (wrench.unit, wrench.graduation, wrench.length) == ("lbf·ft", "1", "457.2")


def test_a_fixed_tool_has_one_torque():
    for text in ("60 N·m", "exactly 60 N·m"):
        wrench = one(f"{{name: a, kind: fixed, range: {text}}}")
        assert (wrench.low, wrench.high, range_text(wrench)) == ("60", "60", "60 N·m")


def test_gauges_measure_in_their_own_unit():
    assert one("{name: a, kind: angle gauge, range: 0 to 360°, graduation: 2°}").unit == "°"
    assert one("{name: a, kind: gauge, range: 0 to 10 mm}").unit == "mm"
    wrench = one("{name: a, kind: gauge, range: -5 to 5 mm, certificate: {uncertainty: 4 µm}}")
    assert wrench.certificate == Certificate(uncertainty="4", unit="µm")


def test_nothing_is_taken_for_a_number_a_date_or_a_yes():
    wrench = one("{name: yes, kind: click, range: 20 to 130 N·m, serial: 010, due on: 2027-01-12}")
    assert (wrench.name, wrench.serial, wrench.due_on) == ("yes", "010", "2027-01-12")


BAD = [
    ("kind: clack", "kind", '"kind" cannot be "clack"', "click"),
    ("range: 20 to 130", "range", "has no unit", None),
    ("range: 20 to 130 Nmm", "range", "names no unit", "N·m"),
    ("range: 20 to 130 mm", "range", "is a length", "N·m"),
    ("range: at most 130 N·m", "range", "is no marked range", None),
    ("range: 60 N·m ±5 %", "range", "is no marked range", None),
    ("range: -5 to 60 N·m", "range", "is no marked range", None),
    ("range: exactly 60 N·m", "range", "is no marked range", None),
    ("range: 130 to 20 N·m", "range", "has no value in it", None),
    ("graduation: 1", "graduation", "has no unit", None),
    ("graduation: 0 N·m", "graduation", "is no step", None),
    ("graduation: 200 N·m", "graduation", "is no step", None),
    ("length: 400 N·m", "length", "is a torque", "m"),
    ("length: 0 mm", "length", "is no length", None),
    ("class: II H", "class", "is no type and class", None),
    ("class: I F", "class", "is no type and class", "II F"),
    ("calibrated on: 12.1.2026", "calibrated on", 'cannot be "12.1.2026"', None),
    ("due on: 2026-02-30", "due on", 'cannot be "2026-02-30"', None),
    ("due on: 20270112", "due on", 'cannot be "20270112"', None),
    ("serial: []", "serial", "must be text", None),
    ("certificate: C-118", "certificate", "must be keys and values", None),
    ("certificate: {uncertainty: 0 %}", "uncertainty", "is no uncertainty", None),
    ("certificate: {uncertainty: 100 %}", "uncertainty", "leaves nothing", None),
    ("certificate: {uncertainty: 1}", "uncertainty", "has no unit", None),
    ("certificate: {uncertainty: 1 mm}", "uncertainty", "is a length", "N·m"),
    ("certificate: {uncertainty: 1 %, k: 0}", "k", "is no coverage factor", None),
    ("certificate: {k: 2}", "certificate", 'needs "uncertainty"', None),
    ("certificate: {uncertainty: 1 %, numbr: C}", "numbr", "is no key", "number"),
    ("lenght: 400 mm", "lenght", "is no key", "length"),
    ("unit: N·m", "unit", "is no key", None),
]


@pytest.mark.parametrize(("line", "key", "said", "near"), BAD, ids=[each[0] for each in BAD])
def test_what_is_wrong_is_found_at_its_place_and_the_tool_left_out(line, key, said, near):
    lines = {"name": "name: a", "kind": "kind: click", "range": "range: 20 to 130 N·m"}
    lines[line.partition(":")[0]] = line
    text = "tools:\n  - " + "\n    ".join(lines.values()) + f"\n  - {CLICK.replace('name: a', 'name: b')}\n"
    box = read_toolbox(text, "shop.yaml")
    (finding,) = box.problems
    assert said in finding.message
    assert finding.grade == "error"
    assert finding.near == near
    written = text.split("\n")[finding.line - 1]
    assert key in written
    assert finding.headline().startswith(f"shop.yaml:{finding.line}:{finding.column}: error: ")
    assert [each.name for each in box.wrenches] == ["b"]


def test_a_range_of_two_torques_is_no_fixed_tool():
    box = read_toolbox("tools: [{name: a, kind: fixed, range: 20 to 60 N·m}]")
    assert "one value of a fixed tool" in box.problems[0].message


def test_what_yaml_itself_tears_apart_leaves_the_tool_out_too():
    box = read_toolbox(
        f"tools:\n  - name: a\n    kind: click\n    range: 20 to 130 N·m\n"
        f"    certificate: {{uncertainty: 1,2 %}}\n  - {CLICK}\n"
    )
    assert [(each.rule, each.line) for each in box.problems] == [("decimal-comma", 5), ("twice", 6)]
    assert box.wrenches == ()


def test_it_is_due_after_the_day_it_was_calibrated_on():
    box = read_toolbox(f"tools: [{CLICK[:-1]}, calibrated on: 2026-01-12, due on: 2026-01-12}}]")
    assert "not after the day" in box.problems[0].message


def test_a_name_stands_for_one_tool():
    box = read_toolbox(f"tools:\n  - {CLICK}\n  - {CLICK.replace('name: a', 'name: A')}\n")
    (finding,) = box.problems
    assert (finding.line, finding.rule) == (3, "twice")
    assert "on line 2" in finding.message
    assert [each.name for each in box.wrenches] == ["a"]


def test_nothing_is_held_against_a_kind_that_could_not_be_read():
    box = read_toolbox("tools: [{name: a, kind: gage, range: -5 to 10 mm, class: I B}]")
    assert [(each.rule, each.near) for each in box.problems] == [("word", "gauge")]


def test_doubts_are_warnings_and_the_tool_can_be_picked():
    box = read_toolbox(
        "tools:\n  - {name: a, kind: dial, range: 1 to 9 N·m, class: II A, serial: 7}\n"
        "  - {name: b, kind: dial, range: 1 to 9 N·m, serial: 7}\n"
    )
    assert [(each.grade, each.line) for each in box.problems] == [("warning", 2), ("warning", 3)]
    assert box.errors == ()
    assert [each.name for each in box.wrenches] == ["a", "b"]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "no toolbox in it"),
        ("# nothing\n", "no toolbox in it"),
        ("- a\n", "this is no toolbox"),
        ("tools: []\n", "empty list"),
        ("tools:\n", "has no value"),
        ("tols: []\n", "is no key of a toolbox"),
        ("tools: [3]\n", "must be keys and values"),
        ("tools: [*a]\n", "not used in a toolbox"),
        ("tools: {a: [}\n", "closes"),
        ("tools: " + "[" * 60 + "]" * 60, "nested deeper"),
        ("tools:\n\t- a\n", "tab"),
        ("tools: [\x1b]\n", "not allowed in a toolbox"),
        ("tools: [\ud800]\n", "UTF-8"),
        ("#" * (1024 * 1024 + 1), "the most a toolbox may have"),
    ],
)  # fmt: skip
def test_what_is_no_toolbox_at_all(text, said):
    box = read_toolbox(text)
    assert box.wrenches == ()
    assert any(said in each.message for each in box.problems)


def test_after_more_errors_than_are_kept_nothing_is_trusted():
    text = "tools:\n" + f"  - {CLICK}\n" + "  - {name: x, kind: clack}\n" * 1100
    box = read_toolbox(text)
    assert box.problems[-1].rule == "more-findings"
    assert box.wrenches == ()


def test_a_file_that_is_not_there_or_no_file_is_said(tmp_path: Path):
    assert "no such file" in read_toolbox(tmp_path / "none.yaml").problems[0].message
    assert "not a toolbox file" in read_toolbox(tmp_path).problems[0].message


WORDS = st.sampled_from(
    [
        "tools", ":", " ", "\n", "- ", "  ", "{", "}", "[", "]", ", ", "name", "kind", "range", "click", "fixed",
        "gauge", "20 to 130 N·m", "0 to 0 mm", "exactly 1 turn", "graduation", "1e9 N", "1 %", "certificate",
        "uncertainty", "due on", "2026-01-12", "length", "class", "II A", "#", "&", "*", "!!int", "'", '"', "|",
        "9" * 50 + " N·m", "1/0 mm", "k", "5 °C", "20 to 30 °F", "ratio", "1 to 5", "0.5",
    ]
)  # fmt: skip


@given(st.one_of(st.text(), st.lists(WORDS, max_size=40).map("".join), st.binary()))
def test_anything_gives_findings_or_a_toolbox(text):
    box = read_toolbox(text)
    assert isinstance(box, Toolbox)
    assert box.wrenches or box.problems


FIELDS = st.fixed_dictionaries(
    {
        "name": WORDS,
        "kind": st.sampled_from(["click", "fixed", "gauge", "angle gauge", "dial"]),
        "range": WORDS,
    },
    optional=dict.fromkeys(set(KEYS) - {"name", "kind", "range"}, WORDS),
)


@given(FIELDS)
def test_any_entry_is_a_whole_tool_or_has_an_error(fields):
    text = "tools:\n  - " + "\n    ".join(f"{key}: {value}" for key, value in fields.items())
    box = read_toolbox(text)
    assert bool(box.wrenches) != bool(box.errors)
    for wrench in box.wrenches:
        assert wrench.unit
        assert range_text(wrench)
