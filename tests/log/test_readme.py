"""logs/README.md against the code: its script judges as the program does, its names are the program's."""

import re
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from runner.log import line, record
from runner.log.scan import scan
from runner.log.writer import HEADER_OWN
from tests.log.makelog import hand_made, sealed_bytes

ROOT = Path(__file__).parents[2]
README = (ROOT / "logs" / "README.md").read_text(encoding="utf-8")


@pytest.fixture
def script() -> Callable[[bytes], str]:
    """The page's script as a function from a file's bytes to its verdict."""
    code = re.findall(r"```python\n(.*?)```", README, re.DOTALL)[-1]
    names: dict[str, Callable[[bytes], str]] = {}
    exec(code.rpartition("print(")[0], names)
    return names["verify"]


def test_the_script_runs_as_it_stands(tmp_path: Path) -> None:
    data = sealed_bytes(tmp_path, scar=True)
    code = re.findall(r"```python\n(.*?)```", README, re.DOTALL)[-1]
    told = subprocess.run(
        [sys.executable, "-c", code, tmp_path / "a.jsonl"], capture_output=True, text=True, check=True
    )
    assert told.stdout == f"COMPLETE: 9 entries, head {scan(data).head.hex()}\n"


@pytest.mark.parametrize("seal", [True, False])
def test_the_script_agrees_with_the_program(
    tmp_path: Path, script: Callable[[bytes], str], seal: bool
) -> None:
    data = sealed_bytes(tmp_path, scar=True, seal=seal)
    changed = [
        data[:place] + bytes([data[place] ^ 1]) + data[place + 1 :] for place in range(0, len(data), 17)
    ]
    cut = [data[:size] for size in range(1, len(data), 13)] + [data[: data.rfind(b"\n", 0, -1) + 1]]
    for each in [data, data + b"x", *changed, *cut]:
        report = scan(each)
        word = {"complete": "COMPLETE", "open": "OPEN"}.get(report.state, "NOT IN ORDER")
        told = script(each)
        assert told.startswith(word)
        if word == "NOT IN ORDER":
            assert told == f"NOT IN ORDER from byte {report.good_bytes}; {report.count} entries before it"


def test_an_empty_file_is_no_log(script: Callable[[bytes], str]) -> None:
    assert scan(b"").state == "not a log"
    assert script(b"") == "NOT IN ORDER from byte 0; 0 entries before it"


CHAINED_ANEW = {
    "nothing changed": b'{"raw":"1.5"}',
    "NaN": b'{"raw":NaN}',
    "infinity": b'{"raw":-Infinity}',
    "a fraction": b'{"raw":1.5}',
    "a power of ten": b'{"raw":1e3}',
    "a key twice": b'{"raw":1,"raw":2}',
    "a key twice inside": b'{"raw":[{"a":1,"a":1}]}',
    "no JSON": b'{"raw":}',
    "no UTF-8": b'{"raw":"\xff"}',
}
"""What somebody who can compute the chain may write in an entry."""


@pytest.mark.parametrize("seal", [True, False])
@pytest.mark.parametrize("what", CHAINED_ANEW)
def test_the_script_takes_no_line_that_the_program_does_not(
    script: Callable[[bytes], str], what: str, seal: bool
) -> None:
    data = hand_made(("reading", {}))
    good = scan(data)
    utc = "2026-11-25T09:04:00.000Z"
    raw, head = line.link(good.head, line.body(good.count, "reading", CHAINED_ANEW[what], utc, 99))
    data += raw
    if seal:
        said = line.encode({"count": good.count + 1, "head": head.hex()})
        data += line.link(head, line.body(good.count + 1, "seal", said, utc, 100))[0]
    report = scan(data)
    if what == "nothing changed":
        assert report.state == ("complete" if seal else "open")
        assert script(data).startswith("COMPLETE: " if seal else "OPEN: ")
    else:
        assert report.state == "broken"
        assert script(data) == f"NOT IN ORDER from byte {good.good_bytes}; {good.count} entries before it"


def test_the_page_names_every_kind_and_own_key() -> None:
    for name in record.OWN_KINDS | HEADER_OWN:
        assert f"`{name}`" in README


def test_the_tests_that_the_page_names_are_there() -> None:
    named = set(re.findall(r"`((?:tests/\w+/)?test_\w+\.py)`", README))
    assert len(named) >= 12
    for name in named:
        assert (ROOT / name if "/" in name else ROOT / "tests" / "log" / name).is_file(), name
