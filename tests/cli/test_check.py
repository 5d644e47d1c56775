"""`check` in the terminal: findings of the proof with their rule, path and mend, verdicts, exit codes."""

from pathlib import Path

import pytest

from runner.cli.exits import Exit
from runner.cli.findings_text import MOST_STATIONS
from runner.cli.proving import NOT_COVERED
from tests.cli.conftest import Cli
from tests.cli.proofs import FILE, prover
from tests.plain.small_job import SMALL


@pytest.fixture
def job(home: Path) -> str:
    (home / "work" / FILE).write_text(SMALL, encoding="utf-8")
    return FILE


def line_of(text: str) -> int:
    return next(at for at, line in enumerate(SMALL.split("\n"), start=1) if text in line)


def test_a_finding_of_the_proof_has_its_line_rule_path_and_mend(
    cli: Cli, job: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    prover(monkeypatch)
    code, out, err = cli("check", job)
    raised, off = line_of("step: raise"), line_of("step: plate-off")
    assert (code, err) == (Exit.PROBLEM, "")
    assert out.split("\n") == [
        f"small-job.yaml:{off}:12: error: the plate is still off at the end",
        "      - {step: plate-off, do: Take the plate off., takes off: [plate]}",
        "               ^^^^^^^^^",
        "    rule: left-open (P8)",
        "    shown by this way:",
        f"      1. small-job.yaml:{raised}:11  raise (left): stop number 1",
        f"      2. small-job.yaml:{off}:12  plate-off: stop number 2",
        "    mend: put it back",
        "not proved: small-job.yaml (11 steps, 3 items, 31 states)",
        "1 procedure, 1 error",
        "",
    ]


def test_a_long_path_is_cut_in_the_middle_and_says_so(
    cli: Cli, job: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    prover(monkeypatch, stops=MOST_STATIONS)
    assert "more (--whole-paths" not in cli("check", job)[1]
    prover(monkeypatch, stops=40)
    _, out, _ = cli("check", job)
    stops = [int(line.split(".")[0]) for line in out.split("\n") if ": stop number" in line]
    # The finding is about plate-off: of its stops 2, 13, 24 and 35 the last is printed anyway.
    assert stops == [1, 2, 3, 4, 34, 35, 36, 37, 38, 39, 40]
    assert "      … 29 more (--whole-paths shows them)" in out
    prover(monkeypatch, step="level", stops=29)
    stops = [int(line.split(".")[0]) for line in cli("check", job)[1].split("\n") if ": stop number" in line]
    assert stops == [1, 2, 3, 4, 19, 23, 24, 25, 26, 27, 28, 29]
    prover(monkeypatch, stops=40)
    _, out, _ = cli("check", job, "--whole-paths")
    assert out.count(": stop number") == 40
    assert "--whole-paths" not in out


def test_a_proved_procedure_says_so_and_how_large_the_proof_was(
    cli: Cli, job: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    prover(monkeypatch, times=0)
    code, out, _ = cli("check", job)
    assert (code, out) == (
        Exit.OK,
        "proved: small-job.yaml (11 steps, 3 items, 31 states)\n1 procedure, no errors\n",
    )


def test_warnings_are_no_errors_unless_strict(cli: Cli, job: str, monkeypatch: pytest.MonkeyPatch) -> None:
    prover(monkeypatch, "no-tool")
    code, out, _ = cli("check", job)
    assert code == Exit.OK
    assert "\nproved: small-job.yaml" in out
    assert out.endswith("1 procedure, no errors, 1 warning\n")
    code, out, _ = cli("check", "--strict", job)
    assert code == Exit.PROBLEM
    assert out.endswith("1 warning (warnings count as errors: --strict)\n")
    prover(monkeypatch, "never-put-off")
    assert cli("check", "--strict", job)[0] == Exit.OK


def test_what_the_proof_does_not_cover_is_said_when_asked(cli: Cli, job: str) -> None:
    assert "does not cover" not in cli("check", job)[1]
    _, out, _ = cli("check", "--verbose", job)
    assert "What the proof does not cover:" in out
    assert all(f"  - {each}\n" in out for each in NOT_COVERED)


def test_what_cannot_be_linked_is_not_proved(cli: Cli, home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    prover(monkeypatch, times=0)
    (home / "work" / "bad.yaml").write_text(SMALL.replace("[plate]", "[plat]"), encoding="utf-8")
    code, out, _ = cli("check", "bad.yaml")
    assert code == Exit.PROBLEM
    assert "not proved: bad.yaml (it cannot be linked)" in out


def test_hostile_words_of_a_finding_stay_words(cli: Cli, job: str, monkeypatch: pytest.MonkeyPatch) -> None:
    prover(monkeypatch, message="the \x1b[2Jplate\u202e")
    _, out, _ = cli("check", job)
    assert "\x1b" not in out
    assert "the ␛[2Jplate<U+202E>" in out


def test_a_file_of_another_folder_is_named_as_it_is_reached(
    cli: Cli, home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (home / "work" / "sub").mkdir()
    (home / "work" / "sub" / FILE).write_text(SMALL, encoding="utf-8")
    prover(monkeypatch)
    _, out, _ = cli("check", f"sub/{FILE}")
    assert out.startswith(f"sub/{FILE}:")
    assert out.count(f". sub/{FILE}:") == 2


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ((), "name a PROCEDURE, or a rule with --explain"),
        (("--explain", "left-open", "x.yaml"), "--explain takes no PROCEDURE"),
        (("--json", "--sarif", "x.yaml"), "not allowed with argument"),
    ],
)
def test_a_command_line_that_cannot_be_meant_is_code_2(cli: Cli, typed: tuple[str, ...], said: str) -> None:
    code, out, err = cli("check", *typed)
    assert (code, out) == (Exit.USAGE, "")
    assert said in err
