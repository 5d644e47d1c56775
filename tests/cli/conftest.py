"""Every CLI test has a home of its own: no test reads the developer's settings or writes beside them."""

import io
import os
from collections.abc import Callable
from pathlib import Path

import pytest

from runner.cli import main

Ran = tuple[int, str, str]
Cli = Callable[..., Ran]


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    for name in list(os.environ):
        if name.startswith(("WITNESSMARK_", "XDG_")) or name == "NO_COLOR":
            monkeypatch.delenv(name)
    for name, folder in (("CONFIG", "config"), ("DATA", "data"), ("CACHE", "cache")):
        monkeypatch.setenv(f"XDG_{name}_HOME", str(tmp_path / folder))
    monkeypatch.setenv("HOME", str(tmp_path))
    work = tmp_path / "work"
    work.mkdir()
    monkeypatch.chdir(work)
    return tmp_path


@pytest.fixture
def cli(home: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Cli:
    """Run a command in this process: exit code, output, errors."""

    def run(*arguments: str, typed: str = "") -> Ran:
        monkeypatch.setattr("sys.stdin", io.StringIO(typed))
        try:
            code = main(arguments)
        except SystemExit as left:
            code = left.code if isinstance(left.code, int) else 99
        out, err = capsys.readouterr()
        return code, out, err

    return run
