"""`export` when it cannot be carried to its end, and of files without a seal to expect: what it says, its exit code."""

import errno
import json
import os
from collections.abc import Iterator
from pathlib import Path

import pytest

from runner.cli import exporting
from runner.cli.exits import Exit
from runner.log.errors import LogError, Refused
from tests.cli.conftest import Cli
from tests.cli.test_commands import log_of
from tests.cli.test_output import crashes, needs_shell, start
from tests.plain.test_session import START, WHOLE

INCOMPLETE = "it is incomplete, and holds its beginning at most"


@needs_shell
def test_on_a_full_disk_the_output_holds_a_part_and_that_is_said(cli: Cli, home: Path) -> None:
    """The shell's limit on the size of a file stands for the full disk: it lets a part through in the same way."""
    log = log_of(cli, home, WHOLE, "a")
    out, whole = home / "work" / "exp", cli("export", str(log))[1].encode()
    code, err = start(home, ["export", str(log)], to=">exp", before="ulimit -f 8;")
    assert code == Exit.PROBLEM
    assert 0 < out.stat().st_size < len(whole)
    assert whole.startswith(out.read_bytes())
    assert f"the output could not be written: {os.strerror(errno.EFBIG)}; {INCOMPLETE}" in err
    assert "nothing was exported" not in err
    assert err.count("\n") == 1
    assert crashes(home) == []


@needs_shell
def test_on_a_full_disk_no_file_stays(cli: Cli, home: Path) -> None:
    log = log_of(cli, home, WHOLE, "a")
    code, err = start(home, ["export", str(log), "--to", "exp"], to="", before="ulimit -f 8;")
    assert code == Exit.PROBLEM
    assert f"{os.strerror(errno.EFBIG)}; nothing was exported." in err
    assert [
        each.name for each in (home / "work").iterdir() if "exp" in each.name or ".new" in each.name
    ] == []


@pytest.mark.parametrize(
    ("error", "words"),
    [
        (OSError(errno.EIO, "Input/output error"), "Input/output error"),
        (Refused("It was changed."), "It was changed"),
    ],
)
def test_a_log_that_cannot_be_read_to_its_end(
    cli: Cli, home: Path, monkeypatch: pytest.MonkeyPatch, error: OSError | LogError, words: str
) -> None:
    log = log_of(cli, home, WHOLE, "a")
    kept = exporting.json_lines

    def failing(*arguments: object) -> Iterator[bytes]:
        yield from list(kept(*arguments))[:2]  # type: ignore[arg-type]
        raise error

    monkeypatch.setattr(exporting, "json_lines", failing)
    code, out, err = cli("export", str(log))
    assert (code, out.count("\n")) == (Exit.PROBLEM, 2)
    assert err == f"{log}: {words}; the output is incomplete, and holds its beginning at most.\n"
    code, out, err = cli("export", str(log), "--to", "exp")
    assert (code, out) == (Exit.PROBLEM, "")
    assert err == f"{log}: {words}; nothing was exported.\n"
    assert not (home / "work" / "exp").exists()


@pytest.mark.parametrize("more", [(), ("--scars",), ("--to", "exp"), ("--until-fault",)])
def test_a_torn_first_line_has_nothing_to_export(cli: Cli, home: Path, more: tuple[str, ...]) -> None:
    log = log_of(cli, home, START, "a")
    for name in ("torn.jsonl", "shop.jsonl"):
        torn = home / "work" / name
        torn.write_bytes((log if name == "torn.jsonl" else log.parent / name).read_bytes()[:20])
        code, out, err = cli("export", str(torn), *more)
        assert (code, out) == (Exit.TORN, "")
        assert (
            "TORN TAIL: the first line is incomplete; the run was never started. Nothing was exported." in err
        )
    assert not (home / "work" / "exp").exists()


@pytest.mark.parametrize("name", ["shop.jsonl", "copy.jsonl"])
def test_a_list_of_runs_in_order_is_complete_as_it_is(cli: Cli, home: Path, name: str) -> None:
    """No seal ends it: OPEN would say of it that something is still to come."""
    log = log_of(cli, home, WHOLE, "a")
    path = log.parent / name
    whole = (log.parent / "shop.jsonl").read_bytes()
    path.write_bytes(whole)
    code, out, err = cli("export", str(path))
    assert (code, err) == (Exit.OK, "")
    assert [json.loads(each)["kind"] for each in out.splitlines()] == ["shop", "started", "sealed"]
    code, out, err = cli("export", str(path), "--scars")
    listed = json.loads(out)
    assert (code, err) == (Exit.OK, "")
    assert (listed["state"], listed["verdict"]) == ("list of runs", "list of runs, 3 entries.")
    path.write_bytes(whole[:-9])
    code, out, err = cli("export", str(path))
    assert (code, out.count("\n")) == (Exit.TORN, 2)
    assert "TORN TAIL" in err
    path.write_bytes(whole.replace(b"small", b"smell", 1))
    assert cli("export", str(path))[0] == Exit.PROBLEM
