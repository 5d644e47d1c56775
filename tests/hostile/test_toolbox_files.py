"""Toolbox files: the same machinery as for procedures, so the same answers; a bad tool is left out, the others stay."""

import os
from pathlib import Path

import pytest

from runner.safe_text import safe
from runner.toolbox.finding import find_toolbox
from runner.toolbox.reader import read_toolbox
from tests.cli.conftest import Cli, cli, home  # noqa: F401 - fixtures
from tests.hostile.strings import MARKUP, REFUSED, TERMINAL, WORKS, raw_controls

GOOD = "  - {name: Good one, kind: click, range: 20 to 130 N·m, serial: '1'}\n"
WHOLE = "tools:\n" + GOOD + "  - {name: NAME, kind: click, range: 40 to 200 N·m, serial: SERIAL}\n"


def with_text(name: str = "Other", serial: str = "'2'") -> str:
    return WHOLE.replace("NAME", name).replace("SERIAL", serial)


def test_the_pattern_is_right() -> None:
    assert [each.name for each in read_toolbox(with_text()).wrenches] == ["Good one", "Other"]


@pytest.mark.parametrize("character", REFUSED, ids=lambda c: f"U+{ord(c):04X}")
def test_a_refused_character_has_its_place(character: str) -> None:
    box = read_toolbox(with_text(f"x{character}y"))
    rule = "file-binary" if character == "\0" else "control-character"
    assert [(each.rule, each.line, each.column) for each in box.problems] == [(rule, 3, 13)]
    assert not raw_controls(box.problems[0].text())


@pytest.mark.parametrize("character", REFUSED, ids=lambda c: f"U+{ord(c):04X}")
def test_an_escape_brings_none_in_and_the_other_tool_stays(character: str) -> None:
    box = read_toolbox(with_text(f'"x\\u{ord(character):04x}y"'))
    assert [each.name for each in box.wrenches] == ["Good one"]
    assert {each.line for each in box.problems} == {3}


BOMBS = {
    "aliases": ("tools: &a [*a, *a]\n", "anchor"),
    "depth": ("tools: " + "[" * 100_000, "nesting"),
    "depth in a tool": ("tools:\n" + GOOD + "  - " + "{name: " * 49 + "x" + "}" * 49, "nesting"),
    "tags": ("tools: !!python/name:os.system []\n", "tag"),
    "numbers": ("tools:\n  - {name: x, kind: click, range: 1e999 to 1e9999 N·m}\n", "quantity"),
    "digits": ("tools:\n  - {name: x, kind: click, range: 1 to " + "9" * 100_000 + " N·m}\n", "quantity"),
    "not a number": ("tools:\n  - {name: x, kind: click, range: nan to inf N·m}\n", "quantity"),
    "size": ("tools: " + "x" * 2_000_000, "file-size"),
    "many": ("tools:\n" + "  - {a: b}\n" * 5_000, "more-findings"),
}


@pytest.mark.parametrize("name", BOMBS)
def test_a_bomb_is_a_finding(name: str) -> None:
    text, rule = BOMBS[name]
    box = read_toolbox(text)
    assert rule in [each.rule for each in box.problems]
    assert all(not raw_controls(each.text()) for each in box.problems)


@pytest.mark.parametrize(
    "place", ["range", "graduation", "length", "k", "uncertainty", "calibrated on", "due on"]
)
@pytest.mark.parametrize(
    "number", ["1e999 N·m", "NaN", "-inf", "9" * 100_000, "0000-00-00", "9999-99-99", "٣"]
)
def test_no_number_of_a_tool_is_taken_for_another(place: str, number: str) -> None:
    values = {
        "name": "x", "kind": "click", "range": "20 to 130 N·m", "graduation": "1 N·m", "length": "400 mm",
        "calibrated on": "2026-01-12", "due on": "2027-01-12",
    }  # fmt: skip
    certificate = {"uncertainty": "1.2 %", "k": "2"}
    (certificate if place in certificate else values)[place] = number
    inside = ", ".join(f"{key}: '{value}'" for key, value in certificate.items())
    text = "tools:\n  - name: x\n" + "".join(f"    {k}: '{v}'\n" for k, v in values.items() if k != "name")
    box = read_toolbox(text + f"    certificate: {{{inside}}}\n")
    assert box.wrenches == ()
    assert box.problems


def test_a_fifo_in_place_of_a_toolbox_is_not_waited_for(tmp_path: Path) -> None:
    if not hasattr(os, "mkfifo"):
        pytest.skip("not run here: this system has no FIFOs")
    os.mkfifo(tmp_path / "toolbox.yaml")
    assert [each.rule for each in find_toolbox(tmp_path, tmp_path).problems] == ["file-kind"]


@pytest.mark.parametrize("name", [*WORKS, *MARKUP])
def test_names_of_any_script_and_markup_are_data(name: str, tmp_path: Path, cli: Cli) -> None:  # noqa: F811
    text = WORKS.get(name) or MARKUP[name]
    quoted = "'" + text.replace("'", "''") + "'"
    written = with_text(quoted, quoted)
    box = read_toolbox(written)
    assert [each.name for each in box.wrenches] == ["Good one", " ".join(text.split())]
    path = tmp_path / "work" / "toolbox.yaml"
    path.write_text(written, encoding="utf-8")
    code, out, err = cli("tools", "--toolbox", str(path))
    assert code in (0, 1), err
    assert not raw_controls(out)
    assert safe(" ".join(text.split()))[:20] in out


def test_terminal_sequences_reach_no_terminal(tmp_path: Path, cli: Cli) -> None:  # noqa: F811
    for name, text in TERMINAL.items():
        path = tmp_path / "work" / "toolbox.yaml"
        path.write_bytes(with_text(text).encode("utf-8", "surrogatepass"))
        code, out, err = cli("tools", "--toolbox", str(path))
        assert code != 0, name
        assert not raw_controls(out + err), name
