"""The commands as a user meets them: help, exit codes, what they print and where they write."""

import fcntl
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

from runner.cli.exits import MEANINGS, Exit, worst
from runner.cli.parser import COMMANDS, build_parser
from runner.log.line import VERSION as LOG_VERSION
from runner.procedure.linked import VERSION as LINKED_VERSION
from tests.cli.conftest import Cli
from tests.plain.small_job import SMALL
from tests.plain.test_session import START, WHOLE

HEAVY = ("textual", "pint", "yaml", "pydantic", "platformdirs")


def job(home: Path, name: str = "small-job.yaml", text: str = SMALL) -> str:
    (home / "work" / name).write_text(text, encoding="utf-8")
    return name


def only_log(folder: Path) -> Path:
    (log,) = [path for path in folder.glob("*.jsonl") if path.name != "shop.jsonl"]
    return log


@pytest.mark.parametrize("command", COMMANDS, ids=lambda c: c.name)
def test_every_command_has_help_with_one_example(cli: Cli, command: object) -> None:
    name = command.name  # type: ignore[attr-defined]
    code, out, err = cli(name, "--help")
    assert (code, err) == (0, "")
    assert out.count("Example:") == 1
    example = out.partition("Example:\n")[2].strip()
    assert example.startswith(f"witnessmark {name}")
    build_parser().parse_args(example.split()[1:])


def test_the_help_lists_every_command_and_every_exit_code(cli: Cli) -> None:
    code, out, _ = cli("--help")
    assert code == 0
    for command in COMMANDS:
        assert f"    {command.name} " in out
    for exit_code, meaning in MEANINGS.items():
        assert f"{exit_code.value:>3}  {meaning}" in out
    assert set(MEANINGS) == set(Exit)


def test_version_tells_program_format_and_log_versions(cli: Cli) -> None:
    code, out, _ = cli("--version")
    assert code == 0
    assert f"procedure format 1, log version {LOG_VERSION}, linked form {LINKED_VERSION}" in out


def test_without_a_terminal_the_start_screen_is_the_help(cli: Cli) -> None:
    code, out, _ = cli()
    assert code == 0
    assert out.startswith("usage: witnessmark")


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        (("chek", "x"), "no such command: chek. Nearest: check"),
        (("zzzz",), "no such command: zzzz. Known: run, resume"),
        (("run",), "PROCEDURE"),
        (("run", "x", "--plian"), "--plian"),
        (("verify",), "LOG"),
        (("ch\x1b[2Jek",), "ch␛[2Jek"),
    ],
)
def test_a_wrong_command_line_is_code_2(cli: Cli, typed: tuple[str, ...], said: str) -> None:
    code, out, err = cli(*typed)
    assert (code, out) == (Exit.USAGE, "")
    assert said in err
    assert "\x1b" not in err


def test_a_whole_run_and_its_log(cli: Cli, home: Path) -> None:
    code, out, err = cli("run", job(home), "--plain", "--performer", "Ann", "--logs", "kept", typed=WHOLE)
    assert (code, err) == (0, ""), out
    log = only_log(home / "work" / "kept")
    assert str(log) in out
    code, out, _ = cli("verify", *sorted(str(path) for path in log.parent.iterdir()))
    assert code == 0
    assert "COMPLETE: sealed" in out
    assert "receipt code" in out
    code, out, _ = cli("review", str(log))
    assert code == 0
    assert "outcome      finished" in out


def test_an_unfinished_run_is_code_3_and_is_found_again(cli: Cli, home: Path) -> None:
    code, out, _ = cli("run", job(home), "--plain", "--performer", "Ann", typed=START)
    assert code == Exit.UNFINISHED
    log = only_log(home / "data" / "witnessmark" / "logs")
    assert str(log) in out
    code, out, _ = cli("resume", "--plain", typed="\n:abandon rain\n\n\n\n\n\n\n\nseal\nseal\nseal\n")
    assert code == 0, out
    assert f"Resuming {log}" in out
    code, out, _ = cli("resume", "--plain")
    assert code == Exit.PROBLEM
    assert "No unfinished run" in out
    code, _, err = cli("resume", str(log), "--plain")
    assert code == Exit.PROBLEM
    assert "sealed" in err


def test_several_unfinished_runs_are_listed(cli: Cli, home: Path) -> None:
    for _ in range(2):
        cli("rehearse", job(home), "--plain", "--performer", "Ann", typed=START)
    code, out, _ = cli("resume", "--plain")
    assert code == Exit.PROBLEM
    assert out.count("witnessmark resume ") == 2
    assert "rehearsal of Small job, revision 2" in out


def test_resume_tells_that_the_file_has_changed(cli: Cli, home: Path) -> None:
    cli("run", job(home), "--plain", "--performer", "Ann", typed=START)
    job(home, text=SMALL.replace("Raise the car.", "Raise the car slowly."))
    _, out, _ = cli("resume", "--plain", typed="")
    assert "file has changed since this run began" in out


def test_nothing_is_written_before_the_start(cli: Cli, home: Path) -> None:
    code, out, _ = cli("run", job(home), "--plain", typed="")
    assert code == Exit.UNFINISHED
    assert "nothing was written" in out
    assert not (home / "data").exists()


def test_a_procedure_with_errors_is_not_run(cli: Cli, home: Path) -> None:
    name = job(home, "bad.yaml", SMALL.replace("takes off: [plate]", "takes off: [plat]"))
    code, out, err = cli("run", name, "--plain", typed=WHOLE)
    assert (code, out) == (Exit.PROBLEM, "")
    assert "bad.yaml:" in err
    assert "nearest word: plate" in err


def test_an_unknown_procedure_lists_those_shipped(cli: Cli) -> None:
    code, _, err = cli("run", "no-such-job", "--plain")
    assert code == Exit.PROBLEM
    assert "no-such-job:1:1: error: there is no such file" in err
    assert "Shipped procedures:" in err


def test_check_reports_every_error_with_its_place(cli: Cli, home: Path) -> None:
    good = job(home)
    bad = job(home, "bad.yaml", SMALL.replace("[plate]", "[plat]"))
    code, out, _ = cli("check", good, bad)
    assert code == Exit.PROBLEM
    findings = [line for line in out.splitlines() if line.startswith("bad.yaml:")]
    assert len(findings) >= 2
    assert all(line.split(":")[1].isdigit() and line.split(":")[2].isdigit() for line in findings)
    assert out.splitlines()[-1].startswith("2 procedures, 2 errors")
    assert cli("check", good)[0] == 0


def test_check_names_files_as_they_are_reached_from_here(cli: Cli, home: Path) -> None:
    (home / "work" / "sub").mkdir()
    bad = job(home, "sub/bad.yaml", "format: 1\n")
    _, out, _ = cli("check", bad)
    assert out.startswith("sub/bad.yaml:1:1: error:")


def test_the_full_screen_needs_a_terminal_and_says_what_does_not(cli: Cli, home: Path) -> None:
    code, _, err = cli("run", job(home))
    assert code == Exit.PROBLEM
    assert "--plain" in err


def log_of(cli: Cli, home: Path, typed: str, folder: str) -> Path:
    cli("run", job(home), "--plain", "--performer", "Ann", "--logs", folder, typed=typed)
    return only_log(home / "work" / folder)


def test_verify_gives_the_worst_over_several(cli: Cli, home: Path) -> None:
    """Order of the issue: 1 worst, then 4, then 3."""
    sealed = log_of(cli, home, WHOLE, "a")
    left = log_of(cli, home, START, "b")
    torn = log_of(cli, home, START, "c")
    torn.write_bytes(torn.read_bytes()[:-20])
    broken = log_of(cli, home, WHOLE, "d")
    broken.write_bytes(broken.read_bytes().replace(b"TR-17", b"TR-18", 1))
    text = home / "work" / "x.jsonl"
    text.write_text("hello\n")
    codes = {path: cli("verify", str(path))[0] for path in (sealed, left, torn, broken, text)}
    assert list(codes.values()) == [0, 3, 4, 1, 1]
    assert cli("verify", str(sealed), str(left))[0] == 3
    assert cli("verify", str(torn), str(left), str(sealed))[0] == 4
    assert cli("verify", str(torn), str(broken), str(left))[0] == 1
    assert cli("verify", str(sealed), "gone.jsonl")[0] == 1
    assert cli("verify", str(home))[0] == 1


def test_verify_says_what_it_does_not_promise(cli: Cli, home: Path) -> None:
    _, out, _ = cli("verify", str(log_of(cli, home, START, "a")))
    assert "Not promised without a receipt code on paper" in out


def test_verify_of_the_shop_list_misses_a_log_taken_away(cli: Cli, home: Path) -> None:
    log = log_of(cli, home, WHOLE, "a")
    shop = str(log.parent / "shop.jsonl")
    assert cli("verify", shop)[0] == 0
    log.unlink()
    code, out, _ = cli("verify", shop)
    assert code == Exit.PROBLEM
    assert "MISSING: small-job" in out


@pytest.mark.parametrize("words", [("review",), ("resume",), ("resume", "--plain")])
def test_the_list_of_runs_is_no_run_to_review_or_resume(cli: Cli, home: Path, words: tuple[str, ...]) -> None:
    log = log_of(cli, home, WHOLE, "a")
    for path in (log.parent / "shop.jsonl", log.parent / "a copy.jsonl"):
        path.write_bytes((log.parent / "shop.jsonl").read_bytes())
        before = path.read_bytes()
        code, out, err = cli(*words, str(path))
        assert (code, out, err.count("\n")) == (Exit.PROBLEM, "", 1)
        assert err.startswith(f"{path} is the shop's list of runs, not the log of a run;")
        assert "witnessmark verify" in err
        assert "BROKEN" not in err
        assert path.read_bytes() == before


def test_a_run_goes_on_while_somebody_keeps_the_list_of_runs(
    cli: Cli, home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    log = log_of(cli, home, WHOLE, "a")
    shop = log.parent / "shop.jsonl"
    before = shop.read_bytes()
    monkeypatch.setattr("runner.log.takeup.PATIENCE_MS", 0)
    with shop.open("rb") as held:
        fcntl.flock(held, fcntl.LOCK_EX)
        code, out, _ = cli("run", job(home), "--plain", "--performer", "Ann", "--logs", "a", typed=WHOLE)
    assert code == 0
    said = [line for line in out.splitlines() if "The shop's list of runs could not be kept" in line]
    assert len(said) == 2, "when the run is begun, and in the end with the receipt code"
    assert all("held by another program" in line for line in said)
    assert shop.read_bytes() == before
    (new,) = [each for each in log.parent.glob("*.jsonl") if each not in (log, shop)]
    assert cli("verify", str(new))[0] == 0


def test_review_of_broken_and_foreign_files(cli: Cli, home: Path) -> None:
    log = log_of(cli, home, WHOLE, "a")
    raw = log.read_bytes().splitlines(keepends=True)
    log.write_bytes(b"".join(raw[:6]) + raw[6].replace(b"Ann", b"Bob") + b"".join(raw[7:]))
    code, out, _ = cli("review", str(log))
    assert code == Exit.PROBLEM
    assert out.startswith("BROKEN at line 7")
    assert "TR-17" in out
    text = home / "work" / "x.jsonl"
    text.write_text("hello\n")
    code, out, err = cli("review", str(text))
    assert (code, out) == (Exit.PROBLEM, "")
    assert "NOT A LOG" in err


def test_review_reads_without_the_yaml_and_in_ascii(
    cli: Cli, home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    log = log_of(cli, home, WHOLE, "a")
    (home / "work" / "small-job.yaml").unlink()
    monkeypatch.setenv("WITNESSMARK_ASCII", "yes")
    code, out, _ = cli("review", str(log))
    assert code == 0
    assert out.isascii()
    assert "30.2 N.m" in out


def test_paths_lists_every_folder_and_the_way_to_remove_all(cli: Cli, home: Path) -> None:
    code, out, _ = cli("paths")
    assert code == 0
    for folder in ("config", "data", "cache"):
        assert f"rm -r -- {home / folder / 'witnessmark'}" in out
    for name in ("witnessmark.toml", "logs", "crashes"):
        assert name in out
    for folder in (home / "config" / "witnessmark", home / "data" / "witnessmark" / "logs"):
        assert f"{folder / 'toolbox.yaml'}  (not there yet)" in out, "where a toolbox is looked for"
    assert not (home / "data").exists()


def test_a_wrong_setting_is_code_2_with_its_place(cli: Cli, home: Path) -> None:
    folder = home / "config" / "witnessmark"
    folder.mkdir(parents=True)
    (folder / "witnessmark.toml").write_text('performr = "Ann"\n')
    code, _, err = cli("run", job(home), "--plain", typed=START)
    assert code == Exit.USAGE
    assert "witnessmark.toml:1: no such setting: performr. Nearest: performer" in err


def test_an_error_of_the_program_is_a_report_not_a_traceback(
    cli: Cli, home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fails(*arguments: object) -> None:
        raise RuntimeError("no such luck")

    monkeypatch.setattr("runner.cli.folders.paths_lines", fails)
    code, out, err = cli("paths")
    assert code == Exit.CRASHED
    assert "Traceback" not in out + err
    assert "every entry that was shown as recorded is in its log" in err
    (report,) = (home / "data" / "witnessmark" / "crashes").iterdir()
    assert str(report) in err
    assert "no such luck" in report.read_text()
    assert report.stat().st_mode & 0o077 == 0


def test_a_crash_report_that_cannot_be_written_is_said(
    cli: Cli, home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fails(*arguments: object) -> None:
        raise RuntimeError("no such luck")

    (home / "data").write_text("a file where the folder should be")
    monkeypatch.setattr("runner.cli.folders.paths_lines", fails)
    code, _, err = cli("paths")
    assert code == Exit.CRASHED
    assert "No crash report" in err
    assert "in fails" in err


def test_ctrl_c_is_code_130_and_says_what_is_safe(cli: Cli, monkeypatch: pytest.MonkeyPatch) -> None:
    def interrupted(*arguments: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("runner.cli.folders.paths_lines", interrupted)
    code, _, err = cli("paths")
    assert code == Exit.INTERRUPTED
    assert "shown as recorded is in its log" in err


def test_worst_orders_codes_as_documented() -> None:
    assert worst([]) is Exit.OK
    assert worst([Exit.UNFINISHED, Exit.TORN]) is Exit.TORN
    assert worst([Exit.TORN, Exit.PROBLEM, Exit.UNFINISHED]) is Exit.PROBLEM


@pytest.mark.parametrize("argument", ["--help", "--version"])
def test_help_and_version_load_nothing_heavy(argument: str) -> None:
    code = (
        "import sys\nfrom runner.cli import main\n"
        f"try:\n    main([{argument!r}])\nexcept SystemExit:\n    pass\n"
        f"print('HEAVY', [name for name in {HEAVY!r} if name in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.splitlines()[-1] == "HEAVY []"


def test_a_reader_that_goes_away_is_code_141(home: Path) -> None:
    code = "import sys; from runner.cli import main; sys.exit(main(['paths']))"
    root = Path(__file__).parents[2]
    environment = {"PATH": "/usr/bin:/bin", "PYTHONPATH": str(root), "HOME": str(home)}
    pipes = {"stdout": subprocess.PIPE, "stderr": subprocess.PIPE}
    with subprocess.Popen([sys.executable, "-c", code], env=environment, **pipes) as process:
        assert process.stdout is not None
        assert process.stderr is not None
        process.stdout.close()
        assert process.stderr.read() == b""
    assert process.returncode == Exit.PIPE_CLOSED


def test_line_mode_never_loads_the_full_screen(home: Path) -> None:
    (home / "work" / "job.yaml").write_text(SMALL, encoding="utf-8")
    code = (
        "import sys\nfrom runner.cli import main\n"
        "left = main(['run', 'job.yaml', '--plain'])\n"
        "print('LOADED', left, [name for name in ('textual', 'rich') if name in sys.modules])"
    )
    environment = {"PATH": "/usr/bin:/bin", "PYTHONPATH": str(Path(__file__).parents[2]), "HOME": str(home)}
    done = subprocess.run(
        [sys.executable, "-c", code],
        input="Ann\n",
        capture_output=True,
        text=True,
        check=True,
        env=environment,
        cwd=home / "work",
    )
    assert done.stdout.splitlines()[-1] == "LOADED 3 []"


def test_the_table_of_commands_in_the_readme_is_complete() -> None:
    """Rows look like `| \\`witnessmark run PROCEDURE\\` | ... |`; while there is no table there is nothing to hold."""
    readme = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")
    rows = re.findall(r"^\| *`witnessmark ([a-z]+)", readme, re.MULTILINE)
    assert not rows or sorted(set(rows)) == sorted(command.name for command in COMMANDS)


GONE = """
import sys
from types import SimpleNamespace
from runner.cli.output import watched
from runner.cli.working import _say_what_stays

sys.stdout = watched(sys.stdout)
run = SimpleNamespace(summary=lambda: ("Paused.",), job=SimpleNamespace(outcome=""), path=None, sealed=False)
sys.stdin.read()  # until the terminal is gone
_say_what_stays(run, SimpleNamespace(ascii=False))
print("written to nothing", flush=True)
"""


@pytest.mark.skipif(sys.platform == "win32", reason="no terminals of this kind there")
def test_a_terminal_that_is_gone_when_the_screen_is_left_is_no_error_of_the_program() -> None:
    ours, its = os.openpty()
    with subprocess.Popen(
        [sys.executable, "-c", GONE], stdin=subprocess.PIPE, stdout=its, stderr=subprocess.PIPE
    ) as child:
        os.close(its)
        os.close(ours)
        _, said = child.communicate(b"")
    # The errors go to the same terminal; where they go elsewhere, they say that these lines were lost.
    assert child.returncode == 0
    assert b"the output could not be written: " in said
    assert said.count(b"\n") == 1
