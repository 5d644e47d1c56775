"""`witnessmark tools`: the toolbox listed, what is overdue, and what is wrong in it."""

import json
from pathlib import Path

import pytest

from runner.cli.exits import Exit
from runner.joint.sourced import FROM_MEMORY
from runner.toolbox.finding import EXAMPLE
from runner.toolbox.reader import read_toolbox
from tests.cli.conftest import Cli

SHOP = """\
tools:
  - name: Click wrench 130
    kind: click
    range: 20 to 130 N·m
    graduation: 1 N·m
    length: 400 mm
    class: II A
    serial: "0042"
    calibrated on: 2025-05-31
    due on: 2026-05-31
    certificate: {uncertainty: 1.2 %, k: 2, number: K-77}
  - {name: Dial 90, kind: dial, range: 10 to 90 N·m, class: I B, due on: 2026-06-01}
"""


@pytest.fixture
def put(home: Path, monkeypatch: pytest.MonkeyPatch):
    """Write a toolbox beside the logs, or in the settings folder; the day is 2026-06-01."""
    monkeypatch.setattr("runner.cli.tools.today", lambda: "2026-06-01")

    def write(text: str, folder: str = "data/witnessmark/logs") -> Path:
        path = home / folder / "toolbox.yaml"
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
        return path

    return write


def test_every_tool_is_listed_with_what_is_known_of_it(cli: Cli, put) -> None:
    path = put(SHOP)
    code, out, err = cli("tools")
    assert (code, err) == (Exit.OK, "")
    lines = out.splitlines()
    assert lines[0] == f"Toolbox: {path}"
    assert lines[1].split() == ["Click", "wrench", "130", "click", "20", "to", "130", "N·m"]
    assert lines[2].strip() == (
        "a mark every 1 N·m, length 400 mm, class II A (±4 %), serial 0042, calibrated 2025-05-31, "
        "OVERDUE since 2026-05-31, uncertainty 1.2 % at k = 2 (certificate K-77)"
    )
    assert lines[4].strip() == "class I B (±4 %*), due 2026-06-01"


def test_overdue_ones_are_warned_of_and_missing_certificates_told(cli: Cli, put) -> None:
    put(SHOP)
    out = cli("tools")[1]
    assert [line for line in out.splitlines() if line.startswith("OVERDUE")] == [
        "OVERDUE: Click wrench 130 0042, since 2026-05-31; used all the same, that is a deviation"
    ]
    assert "Without certificate, so the bare band decides: Dial 90\n" in out


def test_a_class_from_memory_says_so_and_one_from_a_text_does_not(cli: Cli, put) -> None:
    put(SHOP)
    assert f"* permissible deviation {FROM_MEMORY}" in cli("tools")[1]
    first, second = json.loads(cli("tools", "--json")[1])["tools"]
    assert (first["permissible_percent"], first["from_memory"]) == ("4", None)
    assert (second["permissible_percent"], second["from_memory"]) == ("4", FROM_MEMORY)
    put(SHOP.replace(", class: I B", ""))
    assert FROM_MEMORY not in cli("tools")[1]


def test_the_document_has_every_key_of_every_tool(cli: Cli, put) -> None:
    path = put(SHOP)
    code, out, err = cli("tools", "--json")
    assert (code, err) == (Exit.OK, "")
    assert out.isascii()
    document = json.loads(out)
    assert (document["files"], document["day"], document["findings"]) == ([str(path)], "2026-06-01", [])
    first = document["tools"][0]
    assert first["certificate"] == {"uncertainty": "1.2", "unit": "%", "coverage": "2", "number": "K-77"}
    assert (first["serial"], first["overdue"], document["tools"][1]["overdue"]) == ("0042", True, False)


def test_errors_are_told_at_their_place_and_the_rest_is_listed(cli: Cli, put) -> None:
    path = put(SHOP.replace("kind: dial", "kind: dail"))
    code, out, err = cli("tools")
    assert code == Exit.PROBLEM
    assert err.startswith(f'{path}:12:27: error: "kind" cannot be "dail"')
    assert "nearest word: dial" in err
    assert "Click wrench 130" in out
    assert "Dial 90" not in out
    code, out, _ = cli("tools", "--json")
    assert code == Exit.PROBLEM
    (finding,) = json.loads(out)["findings"]
    assert (finding["line"], finding["grade"], finding["near"]) == (12, "error", "dial")


def test_without_a_toolbox_it_says_where_one_may_stand_with_an_example(cli: Cli, home: Path) -> None:
    code, out, err = cli("tools")
    assert (code, err) == (Exit.OK, "")
    assert str(home / "data" / "witnessmark" / "logs" / "toolbox.yaml") in out
    assert str(home / "config" / "witnessmark" / "toolbox.yaml") in out
    shown = "\n".join(line[2:] for line in out.splitlines() if line.startswith("  ") and "/" not in line)
    assert read_toolbox(shown + "\n").wrenches == read_toolbox(EXAMPLE).wrenches


def test_both_places_are_read_and_the_one_beside_the_logs_wins(cli: Cli, put) -> None:
    first = put(SHOP)
    second = put(SHOP.replace("130 N·m", "100 N·m").replace("Dial 90", "Mine"), "config/witnessmark")
    code, out, err = cli("tools")
    assert code == Exit.OK
    assert out.splitlines()[:2] == [f"Toolbox: {first}", f"     and {second}"]
    assert "20 to 130 N·m" in out
    assert "20 to 100 N·m" not in out
    assert "Mine" in out
    assert f"{second}:2:11: warning:" in err


def test_a_toolbox_can_be_named(cli: Cli, put, home: Path) -> None:
    put(SHOP)
    (home / "work" / "other.yaml").write_text(EXAMPLE, encoding="utf-8")
    assert "calibrated 2026-01-12, due 2027-01-12" in cli("tools", "--toolbox", "other.yaml")[1]
    code, _, err = cli("tools", "--toolbox", "none.yaml")
    assert code == Exit.PROBLEM
    assert err.startswith("none.yaml:1:1: error: there is no such file")


def test_what_a_file_says_cannot_steer_the_terminal(cli: Cli, put) -> None:
    put('tools:\n  - {name: "a\\e[2Jb", kind: click, range: 20 to 130 N·m}\n')
    code, out, err = cli("tools")
    assert code in (Exit.OK, Exit.PROBLEM)
    assert "\x1b" not in out + err


def test_today_is_the_day_of_the_clock(cli: Cli, home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from runner.cli.setting import today
    from runner.stamp import Stamp

    monkeypatch.setattr("runner.outside.Outside.now", lambda self: Stamp(1_780_271_940_000, 120, 0, ""))
    assert today() == "2026-06-01"  # 2026-05-31 23:59 UTC, 01:59 the next day two hours further east


JUDGED = ("tools", "--deviation", "click", "wrench", "130", "--set", "100", "N·m", "--reference")


def test_a_deviation_has_its_sign_and_the_reference_reading_as_denominator(cli: Cli, put) -> None:
    """reference.md section 6 (D): set 100, reference 104.1 is −3.939 % and passes ±4 % (TS); by the set value it would
    be −4.100 %. Its sign convention is M."""
    put(SHOP)
    code, out, err = cli(*JUDGED, "104.1", "N·m")
    assert (code, err) == (Exit.OK, "")
    assert out.splitlines()[0] == "Click wrench 130: −3.94 %, within the permissible ±4 %"
    assert "a = (set or shown − reference) / reference · 100 %" in out
    assert "ISO 6789-1, clause 7" in out
    made = json.loads(cli(*JUDGED, "104.1", "N·m", "--json")[1])
    assert made["deviation_percent"].startswith("-3.9385")
    assert (made["permissible_percent"], made["within"]) == ("4", True)
    assert made["working"]["from_memory"] == FROM_MEMORY
    assert "+4.17 %, beyond the permissible ±4 %" in cli(*JUDGED, "96", "N·m")[1]
    # 100 / 1.04 is +4 % exactly at 96.153846…; rounding must not hide that a little more is beyond.
    assert "+4.0001" in cli(*JUDGED, "96.15375", "N·m")[1]


def test_a_deviation_is_told_in_any_unit_and_not_judged_without_a_class(cli: Cli, put) -> None:
    put("tools: [{name: Plain, kind: click, range: 20 to 130 N·m}]\n")
    words = ("tools", "--deviation", "Plain", "--set", "100 N·m", "--reference", "73.7562 lbf·ft")
    out = cli(*words)[1]
    assert out.splitlines()[0].startswith("Plain: 0 %; no type and class of the tool is known")
    assert json.loads(cli(*words, "--json")[1])["within"] is None


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (
            ("--deviation", "Dial 90", "--set", "60 N·m"),
            "needs --deviation NAME, --set TORQUE and --reference",
        ),
        (("--set", "60 N·m", "--reference", "60 N·m"), "needs --deviation NAME"),
        (("--deviation", "Dial 91", "--set", "60 N·m", "--reference", "60 N·m"), "Nearest: Dial 90"),
        (("--deviation", "Dial 90", "--set", "60", "--reference", "60 N·m"), "has no unit"),
        (("--deviation", "Dial 90", "--set", "60 N·m", "--reference", "0 N·m"), "a reading above 0"),
    ],
)
def test_a_deviation_that_cannot_be_told_says_what_is_needed(cli: Cli, put, words, said) -> None:
    put(SHOP)
    code, out, err = cli("tools", *words)
    assert (code, out) == (Exit.USAGE, "")
    assert said in err
