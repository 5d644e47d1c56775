"""A line read straight into events is what it is when read by way of dictionaries; nothing else is let in."""

import random
import re
from io import BytesIO
from typing import Any

import pytest

from runner import typedline
from runner.job.record import RecordError, from_record
from runner.log import line, versions
from runner.log.scan import Scanner, scan_file
from runner.stamp import Stamp
from tests.job.properties.dice import Dice
from tests.job.properties.player import Player
from tests.job.properties.writing import linked, written
from tests.log.makelog import hand_made

AT = Stamp(1_780_000_000_000, 120, 5_000, "b")
SEED = 4711
MUTATIONS, LEAST_REFUSED, LEAST_TAKEN = 3_000, 1_000, 30
PIECES = (
    b'"', b",", b":", b"{", b"}", b"[", b"]", b" ", b"1.0", b"1e3", b"true", b"null", b"9" * 17, b"\\u0041", b"\\",
    b"-", b'"v":1,', b'"v" :1,', b'"who":"Bo",', b'"kind":"noted",', b"\xff", b"\x00", b"\xc3\xa4",
)  # fmt: skip


def outcome(read: Any, raw: bytes) -> tuple[str, Any]:
    """What reading a line comes to: all of it, its entry among it, or how it fails."""
    try:
        said = read(raw)
    except line.BadLine as error:
        return "no line", str(error)
    around = (said.kind, said.mono_ms, said.n, said.utc, said.chain)
    try:
        return "entry", (around, from_record(said.data, AT))
    except RecordError as error:
        return "no record", str(error)


@pytest.fixture(scope="module")
def lines(tmp_path_factory: pytest.TempPathFactory) -> list[bytes]:
    """Of a few random runs, with all that a hand of good will and of none does."""
    found: list[bytes] = []
    for seed in range(SEED, SEED + 6):
        player = Player(linked(*written(Dice(seed))), Dice(seed), tmp_path_factory.mktemp("run")).play()
        assert scan_file(player.run.path).fault is None
        found += [raw + b"\n" for raw in player.data.split(b"\n")[1:] if raw.endswith(b'"}')]
    return found


def test_most_lines_are_read_straight_and_all_come_to_the_same(lines: list[bytes]):
    straight = 0
    for raw in lines:
        typed = outcome(typedline.read, raw)
        assert typed == outcome(line.read, raw)
        straight += typed[0] == "entry" and isinstance(typedline.read(raw).data["events"], tuple)
    assert straight > len(lines) * 2 // 3, f"{straight} of {len(lines)}"


def test_changed_lines_come_to_the_same_by_both_ways(lines: list[bytes]):
    chance, refused, taken = random.Random(SEED), 0, 0
    for _ in range(MUTATIONS):
        raw = chance.choice(lines)
        at = chance.choice([place.start() for place in re.finditer(rb'[":,\[{0-9]', raw)])
        raw = raw[:at] + chance.choice(PIECES) + raw[at + chance.choice((0, 0, 1)) :]
        typed = outcome(typedline.read, raw)
        assert typed == outcome(line.read, raw), raw
        refused += typed[0] == "no line"
        taken += typed[0] == "entry"
    print(f"{MUTATIONS} changed lines: {refused} refused, {taken} still an entry")
    assert refused > LEAST_REFUSED
    assert taken > LEAST_TAKEN


NOTE = (
    b'{"data":{"events":[{"kind":"noted","node":"a","text":"b","v":1}],"who":"Ann"},'
    b'"kind":"noted","mono_ms":1,"n":1,"utc":"x","~":"y"}\n'
)


def test_the_line_that_is_changed_below_is_read_straight():
    assert isinstance(typedline.read(NOTE).data["events"], tuple)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        (b'"text":"b"', b'"text":"c","text":"b"'),
        (b'"text":"b"', b'"text" :"c","text":"b"'),
        (b'"text":"b"', b'"text":"c:","text":"b"'),
        (b'"n":1', b'"n":1,"n":1'),
        (b'"who":"Ann"', b'"who":"Bo","who":"Ann"'),
        (b'"n":1', b'"n":1.0'),
        (b'"v":1', b'"v":1.0'),
        (b'"n":1', b'"n":1e0'),
        (b'"n":1', b'"n":1E0'),
        (b'"text":"b"', b'"text":"\xed\xa0\x80"'),
        (b'"text":"b"', b'"text":"\x1f"'),
        (b"}\n", b"}\n\n"),
        (b"}\n", b"} \n"),
        (b'{"data"', b' {"data"'),
    ],
)
def test_what_no_line_may_hold_is_refused_as_ever(old: bytes, new: bytes):
    changed = NOTE.replace(old, new, 1)
    assert changed != NOTE
    with pytest.raises(line.BadLine) as told:
        line.read(changed)
    with pytest.raises(line.BadLine, match=re.escape(str(told.value))):
        typedline.read(changed)


def test_an_older_log_is_raised_as_json_has_it(monkeypatch: pytest.MonkeyPatch):
    """What raises an entry knows dictionaries; it is never handed events that were read already."""
    seen: list[type] = []

    def step(kind: str, data: dict[str, Any]) -> versions.Entry:
        seen.extend(type(each) for each in data.get("events", ()))
        return kind, data

    monkeypatch.setattr(line, "VERSION", 2)
    monkeypatch.setattr(versions, "STEPS", {1: step})
    noted = {"events": [{"kind": "noted", "node": "a", "text": "b", "v": 1}], "who": "Ann"}
    old = hand_made(("noted", noted), version=1)
    records = list(Scanner(BytesIO(old), say=typedline.read))
    assert seen == [dict]
    assert records[1].data == noted


ACTED = NOTE.replace(
    b'"kind":"noted","node":"a","text":"b","v":1',
    b'"act":1,"item":"i","kind":"acted","node":"a","state":"s","v":1,"verb":"v"',
    1,
)


@pytest.mark.parametrize("number", [b"1.0", b"1e0", b"-0.0", b"10E-1"])
def test_no_number_of_an_event_may_be_a_fraction(number: bytes):
    assert isinstance(typedline.read(ACTED).data["events"], tuple)
    with pytest.raises(line.BadLine, match="not a whole one"):
        typedline.read(ACTED.replace(b'"act":1', b'"act":' + number))
