"""`witnessmark setting`, as it is typed at the counter."""

import json
from decimal import Decimal
from pathlib import Path

import pytest

from runner.cli.exits import Exit
from tests.cli.conftest import Cli

TOOLBOX = """\
tools:
  - {name: Click wrench 130, kind: click, range: 20 to 130 N·m, graduation: 1 N·m, length: 400 mm}
  - {name: Feet, kind: click, range: 10 to 150 lbf·ft, graduation: 1 lbf·ft, due on: 2026-01-01}
  - {name: Dial 90, kind: dial, range: 10 to 90 N·m, graduation: 5 N·m}
  - {name: Angle gauge, kind: angle gauge, range: 0 to 360°}
"""


@pytest.fixture
def toolbox(home: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    path = home / "config" / "witnessmark" / "toolbox.yaml"
    path.parent.mkdir(parents=True)
    path.write_text(TOOLBOX, encoding="utf-8")
    monkeypatch.setattr("runner.cli.setting.today", lambda: "2026-06-01")
    return path


# Common practice, no source: check values on a wrench with whole marks (issue 4).
@pytest.mark.parametrize(("wanted", "marked"), [("60", "44"), ("40", "30"), ("25", "18"), ("75", "55")])
def test_a_wrench_in_pound_feet_with_whole_marks(cli: Cli, wanted: str, marked: str) -> None:
    code, out, err = cli("setting", wanted, "N·m", "--unit", "lbf·ft", "--graduation", "1")
    assert (code, err) == (Exit.OK, "")
    assert out.splitlines()[0] == f"Set {marked} lbf·ft"


@pytest.mark.parametrize(
    "typed",
    [
        "60|N·m|--length|400|mm|--extension|50|mm|--angle|0°",
        "60 N·m|--length|400 mm|--extension|50 mm|--angle|0°",
        "--length|400|mm|--extension|50|mm|--angle|0|--unit|N·m|60 N·m",
        "60|Nm|--length=400 mm|--extension=50 mm",
    ],
)
def test_words_need_no_quotes(cli: Cli, typed: str) -> None:
    words = typed.split("|")
    if words[-1] == "60 N·m":
        words = [words[-1], *words[:-1]]
    code, out, err = cli("setting", *words)
    assert (code, err) == (Exit.OK, "")
    assert out.splitlines()[0] == "Set 53.33 N·m"
    for part in (
        "S = T · L / (L + E · cos θ)",
        "400 mm",
        "50 mm",
        "53.3333 N·m",
        "59.9962 N·m",
        "−0.01 %",
        "TM 9-254",
    ):
        assert part in out


def test_the_document_says_all_that_the_text_does(cli: Cli) -> None:
    code, out, _ = cli(
        "setting", "60 N·m", "--unit", "ft-lb", "--graduation", "1", "--range", "10 to 250", "--json"
    )
    assert code == Exit.OK
    assert out.isascii()
    made = json.loads(out)
    assert made["set_to"] == {"value": "44", "unit": "lbf·ft"}
    assert Decimal(made["exact"]["value"]).quantize(Decimal("0.0001")) == Decimal("44.2537")
    assert made["applied"]["unit"] == "N·m"
    assert made["error_percent"] == "-0.57"
    assert "under 20 %" in made["warning"]
    assert made["working"]["formula"] == "S = T"
    assert {source["seen"] for source in made["working"]["sources"]} == {"text", "worked out"}
    assert made["working"]["from_memory"] is None


def test_a_source_is_cited_only_for_what_was_used(cli: Cli) -> None:
    def sources(*words: str) -> list[str]:
        made = json.loads(cli("setting", "60 N·m", *words, "--json")[1])
        return [source["name"].partition(" ")[0] for source in made["working"]["sources"]]

    assert sources() == []
    assert sources("--unit", "lbf·ft") == ["units"]
    assert sources("--length", "400 mm", "--extension", "50 mm") == ["US"]
    assert sources("--length", "400 mm", "--extension", "0 mm") == ["wrench"]


def test_without_a_toolbox_it_says_where_one_is_looked_for(cli: Cli, home: Path) -> None:
    code, out, err = cli("setting", "60 N·m", "--wrench", "foo")
    assert (code, out) == (Exit.USAGE, "")
    assert 'no tool named "foo": there is no toolbox. toolbox.yaml is looked for in ' in err
    assert str(home / "config" / "witnessmark") in err


def test_a_range_may_be_written_as_friction_is_for_the_other_command(cli: Cli) -> None:
    answer = cli("setting", "22 N·m", "--range", "20..130 N·m")
    assert answer == cli("setting", "22 N·m", "--range", "20 to 130 N·m")
    assert "20 N·m to 130 N·m" in answer[1]
    assert cli("setting", "60 N·m", "--range", "..130 N·m")[0] == Exit.USAGE


def test_low_in_the_range_is_answered_with_a_warning(cli: Cli) -> None:
    code, out, _ = cli("setting", "22 N·m", "--range", "20", "to", "130", "N·m", "--graduation", "1", "N·m")
    assert code == Exit.OK
    assert out.startswith("Set 22 N·m\n")
    assert "Warning: 22 N·m is under 20 % of the maximum" in out
    assert "Source: ISO 6789:2003: as a wrench maker's manual reviews it" in out


@pytest.mark.parametrize(
    ("typed", "code", "said"),
    [
        ("10 N·m|--range|20 to 130 N·m", Exit.PROBLEM, "outside the marked range"),
        ("60 N·m|--extension|50 mm", Exit.PROBLEM, "has no length"),
        ("60 N·m|--length|400 mm|--extension|350 mm|--angle|180°", Exit.PROBLEM, "effective length"),
        ("-60 N·m|--unit|N·m", Exit.USAGE, '"−60 N·m" is no torque'),
        ("0 N·m", Exit.USAGE, '"0 N·m" is no torque'),
        ("60 N·m|--graduation|0", Exit.USAGE, '"0 N·m" is no graduation'),
        ("0 N·m|--set|44 lbf·ft", Exit.USAGE, '"0 N·m" is no torque'),
        (
            "200 N·m|--range|7.3 to 110.6 lbf·ft|--unit|N·m",
            Exit.PROBLEM,
            "a setting from 9.89747 N·m to 149.953 N·m",
        ),
        ("60", Exit.USAGE, "has no unit"),
        ("60 Nmm", Exit.USAGE, "did you mean N·m"),
        ("60 mm", Exit.USAGE, "is a length"),
        ("60 J", Exit.USAGE, "torque is not energy"),
        ("60 N·m|--unit|mm", Exit.USAGE, "is a length"),
        ("60 N·m|--unit", Exit.USAGE, "--unit"),
        ("60 N·m|--angle|30°", Exit.USAGE, "--extension"),
        ("60 N·m|--length|400|--extension|50 mm", Exit.USAGE, "has no unit"),
        ("60 N·m|--wrench|none such", Exit.USAGE, 'no tool named "none such"'),
        ("--set|44 lbf·ft|--range|1 to 9 N·m", Exit.USAGE, "--range"),
        ("60 \x1b[2JN·m", Exit.USAGE, "expected a torque"),
        ("", Exit.USAGE, "say the torque"),
    ],
)
def test_what_is_refused_has_its_reason_and_no_answer(cli: Cli, typed: str, code: Exit, said: str) -> None:
    got, out, err = cli("setting", *[word for word in typed.split("|") if word])
    assert (got, out) == (code, "")
    assert said in err
    assert "\x1b" not in err


@pytest.mark.parametrize(
    ("typed", "first"),
    [
        ("--set|44|lbf·ft", "44 lbf·ft reaches the fastener"),
        ("--set|44|lbf·ft|--unit|N·m", "59.656 N·m reaches the fastener"),
        # S8 figure 4-5 (TS): set 60 lbf·in, 12 in, 2 in
        ("--set|60|lbf·in|--length|12|in|--extension|2|in", "70 lbf·in reaches the fastener"),
    ],
)
def test_the_inverse_says_what_reaches_the_fastener(cli: Cli, typed: str, first: str) -> None:
    code, out, err = cli("setting", *typed.split("|"))
    assert (code, err) == (Exit.OK, "")
    assert out.splitlines()[0] == first


def test_the_inverse_against_a_torque_that_is_wanted(cli: Cli) -> None:
    code, out, _ = cli("setting", "60", "N·m", "--set", "44", "lbf·ft")
    assert code == Exit.OK
    assert "−0.57 % from the 60 N·m that is wanted" in out
    document = json.loads(cli("setting", "60", "N·m", "--set", "44", "lbf·ft", "--json")[1])
    assert document["error_percent"] == "-0.57"
    assert document["applied"]["unit"] == "N·m"


def test_a_wrench_of_the_toolbox_brings_its_own_numbers(cli: Cli, toolbox: Path) -> None:
    code, out, _ = cli(
        "setting", "60", "N·m", "--wrench", "click", "wrench", "130", "--extension", "50", "mm"
    )
    assert code == Exit.OK
    assert out.startswith("Set 53 N·m\n")
    assert "Warning" not in out


def test_an_overdue_wrench_is_answered_with_a_warning(cli: Cli, toolbox: Path) -> None:
    code, out, _ = cli("setting", "60", "N·m", "--wrench", "Feet")
    assert code == Exit.OK
    assert out.startswith("Set 44 lbf·ft\n")
    assert "Warning: Feet: overdue since 2026-01-01" in out
    against = json.loads(cli("setting", "60", "N·m", "--wrench", "Feet", "--json")[1])["against"]
    assert against == ["Feet: overdue since 2026-01-01"]


def test_what_is_read_is_pulled_until_it_reads(cli: Cli, toolbox: Path) -> None:
    assert cli("setting", "62", "N·m", "--wrench", "Dial 90")[1].startswith(
        "Pull until Dial 90 reads 60 N·m\n"
    )


@pytest.mark.parametrize(
    ("typed", "code", "said"),
    [
        ("--wrench|Click wrench 31", Exit.USAGE, "Nearest: Click wrench 130"),
        ("--wrench|Angle gauge", Exit.PROBLEM, "measures in °"),
        ("--wrench|Feet|--unit|N·m", Exit.USAGE, "--unit is not for a wrench of the toolbox"),
        ("--wrench|Feet|--graduation|1", Exit.USAGE, "--graduation"),
        ("--wrench|Feet|--extension|50 mm", Exit.PROBLEM, "Feet"),
        ("--wrench|Feet|--toolbox|none.yaml", Exit.USAGE, "It has errors: see witnessmark tools"),
    ],
)
def test_what_a_wrench_of_the_toolbox_cannot_do(
    cli: Cli, toolbox: Path, typed: str, code: Exit, said: str
) -> None:
    got, out, err = cli("setting", "60 N·m", *typed.split("|"))
    assert (got, out) == (code, "")
    assert said in err


def test_a_length_that_the_toolbox_does_not_know_can_be_said(cli: Cli, toolbox: Path) -> None:
    code, out, _ = cli("setting", "60 N·m", "--wrench", "Feet", "--extension", "50 mm", "--length", "450 mm")
    assert code == Exit.OK
    assert out.startswith("Set 40 lbf·ft\n")  # 44.25 · 450 / 500 = 39.83
