"""The judge stands alone, and a log that was touched is no log to it."""

import ast
from pathlib import Path

import pytest

from tests.job.properties.campaign import procedure_of
from tests.job.properties.dice import Script
from tests.job.properties.player import Player
from tests.judge import judge
from tests.judge.chain import NoLogError

HERE = Path(__file__).parent


def plain_run(folder: Path) -> bytes:
    player = Player(procedure_of(1), Script([]), folder).play()
    player.run.close()
    return player.data


def test_the_judge_imports_nothing_of_the_program():
    for path in HERE.glob("*.py"):
        if path.name.startswith("test_"):
            continue
        for part in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            names = [alias.name for alias in part.names] if isinstance(part, ast.Import) else []
            names += [part.module or ""] if isinstance(part, ast.ImportFrom) else []
            assert not [name for name in names if name.split(".")[0] == "runner"], path


def test_a_run_by_the_book_is_finished_without_fault(tmp_path: Path):
    verdict = judge(plain_run(tmp_path))
    assert (verdict.faults, verdict.outcome) == ((), "finished")


def test_a_touched_log_is_no_log(tmp_path: Path):
    data = plain_run(tmp_path)
    place = data.index(b'"who":"Ann"') + 7
    with pytest.raises(NoLogError):
        judge(data[:place] + b"B" + data[place + 1 :])
    second, third = data.index(b"\n") + 1, data.index(b"\n", data.index(b"\n") + 1) + 1
    with pytest.raises(NoLogError):
        judge(data[:second] + data[third:])
