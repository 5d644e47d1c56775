"""The judge stands alone, and a log that was touched is no log to it."""

import ast
import hashlib
import json
from pathlib import Path
from typing import Any

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


def chained(values: list[dict[str, Any]]) -> bytes:
    """Entries with their chain made anew, as somebody who wants to mislead would."""
    head, lines = hashlib.sha256(b"witnessmark-log/1\n").digest(), []
    for value in values:
        if value["kind"] == "seal":
            value["data"]["head"] = head.hex()
        body = json.dumps(value, sort_keys=True, separators=(",", ":"), ensure_ascii=False).encode()
        head = hashlib.sha256(head + body).digest()
        lines.append(body[:-1] + b',"~":"' + head.hex().encode() + b'"}\n')
    return b"".join(lines)


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("refusals", 1), ("corrections", -1), ("taken_back", 7), ("put_off_unplanned", 1), ("open_items", 1),
        ("owed", 2), ("open_points", 1), ("deviations", {"by feel": 1}), ("taken_up_again", 1), ("invented", 3),
        ("refusals", None),
    ],
)  # fmt: skip
def test_a_seal_that_counts_wrongly_is_found(tmp_path: Path, name: str, value: object):
    values = [json.loads(line) for line in plain_run(tmp_path).splitlines()]
    for each in values:
        del each["~"]
    assert judge(chained(values)).faults == ()
    tally = values[-1]["data"]["tally"]
    tally[name] = tally.get(name, 0) + value if isinstance(value, int) else value
    if value is None:
        del tally[name]
    assert [fault for fault in judge(chained(values)).faults if f"TALLY: {name}" in fault]


@pytest.mark.parametrize(("name", "value"), [("rehearsal", True), ("unproved", "because")])
def test_a_seal_that_says_another_beginning_is_found(tmp_path: Path, name: str, value: object):
    values = [json.loads(line) for line in plain_run(tmp_path).splitlines()]
    for each in values:
        del each["~"]
    values[-1]["data"][name] = value
    assert [fault for fault in judge(chained(values)).faults if f"TALLY: {name}" in fault]
