"""`run` and `rehearse` take what is proved; the rest only with a reason that is kept and shown throughout."""

import json
from pathlib import Path
from typing import Any

import pytest

from runner.bench.dialogs.reading import explain
from runner.bench.page import page
from runner.bench.rows import text_of
from runner.bench.scene import Scene
from runner.bench.theme import Look
from runner.cli.exits import Exit
from runner.view import UNPROVED_MEANS
from tests.bench.samples import IDENTITY, sample
from tests.cli.conftest import Cli
from tests.cli.proofs import FILE, prover
from tests.cli.test_commands import only_log
from tests.plain.small_job import SMALL
from tests.plain.test_session import START, WHOLE

REASON = "rehearsing a draft of the author"


@pytest.fixture
def job(home: Path) -> str:
    (home / "work" / FILE).write_text(SMALL, encoding="utf-8")
    return FILE


def by_lines(cli: Cli, command: str, job: str, *more: str, typed: str = WHOLE) -> tuple[int, str, str]:
    return cli(command, job, "--plain", "--performer", "Ann", "--logs", "kept", *more, typed=typed)


def header(home: Path) -> Any:
    log = only_log(home / "work" / "kept")
    return json.loads(log.read_text(encoding="utf-8").split("\n")[0])["data"]


@pytest.mark.parametrize("command", ["run", "rehearse"])
def test_what_is_not_proved_is_not_run_and_says_how(
    cli: Cli, home: Path, job: str, command: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    prover(monkeypatch)
    code, out, err = by_lines(cli, command, job)
    assert (code, out) == (Exit.PROBLEM, "")
    assert err.startswith(f"{FILE}:")
    assert "    rule: left-open (P8)\n    shown by this way:\n" in err
    assert err.rstrip().endswith(f"witnessmark {command} {FILE} --unproved REASON")
    assert not (home / "work" / "kept").exists()


def test_with_a_reason_it_is_run_without_gates_and_shown_throughout(
    cli: Cli, home: Path, job: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    prover(monkeypatch)
    code, out, err = by_lines(cli, "run", job, "--unproved", f"  {REASON} ")
    assert (code, err) == (Exit.OK, "")
    said = header(home)
    assert said["unproved"] == REASON
    assert not any(said["gates"].values())
    assert f"NOT PROVED: {REASON}\n  so {UNPROVED_MEANS}." in out
    steps = [line for line in out.split("\n") if line.startswith("Step ")]
    assert len(steps) >= 11
    assert all("(unproved" in line for line in steps)
    _, out, _ = cli("review", str(only_log(home / "work" / "kept")))
    assert f"not proved {REASON} (so {UNPROVED_MEANS})" in " ".join(out.split())


def test_a_proved_run_has_the_gates_of_its_proof(
    cli: Cli, home: Path, job: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    prover(monkeypatch, times=0)
    code, out, _ = by_lines(cli, "run", job)
    assert code == Exit.OK
    assert "PROVED" not in out
    assert header(home)["unproved"] == ""
    assert header(home)["gates"]["last_chance"] == {"measure": ["wheel-torque"]}


def test_a_real_proof_decides_what_is_run(cli: Cli, home: Path, job: str) -> None:
    """Nothing made by hand here: the plate is never put back, or it is."""
    forgotten = SMALL.replace("  - {step: plate-on, do: Put the plate back., puts back: [plate]}\n", "")
    (home / "work" / "forgotten.yaml").write_text(forgotten, encoding="utf-8")
    code, out, err = by_lines(cli, "run", "forgotten.yaml")
    assert (code, out) == (Exit.PROBLEM, "")
    assert "plate is still off at the end" in err
    assert "rule: left-open (P8)" in err
    assert by_lines(cli, "run", job)[0] == Exit.OK
    gates = header(home)["gates"]
    assert gates["proved"] is True
    assert gates["allowed"]["drain"]["plate"] == ["off"]


def test_warnings_prevent_no_run(cli: Cli, job: str, monkeypatch: pytest.MonkeyPatch) -> None:
    prover(monkeypatch, "no-tool")
    assert by_lines(cli, "run", job)[0] == Exit.OK


def test_a_reason_where_none_is_needed_is_refused(
    cli: Cli, home: Path, job: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    prover(monkeypatch, times=0)
    code, out, err = by_lines(cli, "rehearse", job, "--unproved", REASON)
    assert (code, out) == (Exit.USAGE, "")
    assert err == f"{FILE} is proved: leave --unproved out, so that the run has its gates.\n"
    assert not (home / "work" / "kept").exists()


@pytest.mark.parametrize(("reason", "said"), [(" \t", "say why"), ("x" * 201, "at most 200 characters")])
def test_a_reason_must_be_one(cli: Cli, job: str, reason: str, said: str) -> None:
    code, _, err = by_lines(cli, "run", job, "--unproved", reason)
    assert code == Exit.USAGE
    assert said in err


def test_what_cannot_be_linked_is_not_run_for_any_reason(cli: Cli, home: Path) -> None:
    (home / "work" / "bad.yaml").write_text(SMALL.replace("[plate]", "[plat]"), encoding="utf-8")
    code, out, err = by_lines(cli, "run", "bad.yaml", "--unproved", REASON)
    assert (code, out) == (Exit.PROBLEM, "")
    assert "nearest word: plate" in err
    assert "--unproved" not in err


def test_it_stays_unproved_when_it_is_taken_up_again(
    cli: Cli, job: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    prover(monkeypatch)
    by_lines(cli, "run", job, "--unproved", REASON, typed=START)
    prover(monkeypatch, times=0)
    _, out, _ = cli("resume", "--plain", "--logs", "kept", typed="")
    assert f"NOT PROVED: {REASON}" in out


def unproved(kind: str) -> Scene:
    who = IDENTITY.but(unproved=REASON, title="A very long title " * 5, work_piece="W" * 40)
    return Scene(view=sample(kind).but(identity=who), look=Look())


@pytest.mark.parametrize("kind", ["start", "prepare", "act", "reading", "hold", "stop", "seal"])
@pytest.mark.parametrize("size", [(80, 24), (160, 50), (60, 20)])
def test_the_bench_shows_it_whatever_is_asked(kind: str, size: tuple[int, int]) -> None:
    first = text_of(page(unproved(kind), *size)[0])
    assert " UNPROVED " in first
    assert " REHEARSAL " in first


@pytest.mark.parametrize("kind", ["start", "prepare"])
def test_the_ready_sheet_says_what_is_missing(kind: str) -> None:
    said = " ".join(" ".join(text_of(line).split()[1:]) for line in page(unproved(kind), 80, 24))
    for words in (REASON, "no last-chance gates and no free order"):
        assert words in said


def test_the_explanation_says_what_is_missing() -> None:
    reader = explain(unproved("act").view, Look().signs)
    assert ("Not proved", REASON) in reader.lines
    assert ("So", UNPROVED_MEANS) in reader.lines
    assert not [label for label, _ in explain(sample("act"), Look().signs).lines if label == "Not proved"]
