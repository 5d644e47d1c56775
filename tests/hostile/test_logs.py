"""Logs from elsewhere: rightly chained and hostile all the same. Scan, review, resume and the start of another run
answer in sentences; nothing of them steers a terminal.
"""

import os
from pathlib import Path
from typing import Any

import pytest

from runner.earlier import left_behind
from runner.job.record import RecordError
from runner.log.errors import LogError
from runner.log.names import SHOP_NAME, find_logs
from runner.log.scan import scan, scan_file
from runner.log.shop import Listed, missing_runs
from runner.outside import Files
from runner.procedure.linked import LinkedError
from runner.replaying import replay
from runner.review.facts import facts_of
from runner.review.terminal import review_lines
from runner.run import Run
from runner.start import find_runs
from tests.cli.conftest import Cli, cli, home  # noqa: F401 - fixtures
from tests.doubles import SetOutside
from tests.hostile.chained import BODIES, KEPT, Body, chained, changed, ending, raw_body
from tests.hostile.strings import HALVES, MARKS, MARKUP, REFUSED, TERMINAL, WORKS, raw_controls

PROCEDURE: Body = BODIES[0]["data"]["procedure"]


def sampled(at: int) -> tuple[pytest.MarkDecorator, ...]:
    """Every fifth case in the quick tier, all of them in the deep one as well."""
    return () if at % 5 == 1 else (pytest.mark.deep,)


def looked_at(data: bytes, folder: Path) -> tuple[str, str]:
    """The state of a log, and how resuming it ends; all readers have looked at it and nothing steers."""
    path = folder / "a.jsonl"
    path.write_bytes(data)
    report = scan_file(path)
    assert not raw_controls(report.summary())
    find_runs((folder,))
    for entry in find_logs(folder):
        missing_runs((Listed("r", "p", "2026-01-01T00:00:00.000Z", None),), (entry,))
    left_behind(folder, "piece", Files(), rehearsal=True)
    left_behind(folder, "piece", Files(), rehearsal=False)
    ended = "resumed"
    if report.header is not None:
        for each in review_lines(facts_of(report)):
            assert not raw_controls(each)
        try:
            replay(report)
        except (LinkedError, RecordError) as error:
            ended = f"replay: {error}"
    try:
        Run.resume(path, SetOutside()).close()
    except LogError as error:
        ended = f"refused: {error}" if ended == "resumed" else ended
    assert len(ended) < 700
    return report.state, ended


def test_the_pattern_is_right(tmp_path: Path) -> None:
    assert chained(map(raw_body, BODIES)) == KEPT.read_bytes()
    assert looked_at(changed(lambda made: None), tmp_path) == ("open", "resumed")


LINES = {
    "lists, 30,000 deep": (b'{"a":' + b"[" * 30_000 + b"]" * 30_000 + b"}", "broken"),
    "lists without an end": (b'{"a":' + b"[" * 60_000 + b"}", "broken"),
    "objects, 10,000 deep": (b'{"a":' * 10_000 + b"1" + b"}" * 10_000, "broken"),
    "lists, 900 deep": (b'{"who":"x","events":' + b"[" * 900 + b"]" * 900 + b"}", "broken"),
    "lists, 201 deep": (b'{"who":"x","events":' + b"[" * 201 + b"]" * 201 + b"}", "broken"),
    "lists, 200 deep": (b'{"who":"x","events":' + b"[" * 200 + b"]" * 200 + b"}", "open"),
    "digits": (b'{"a":' + b"9" * 60_000 + b"}", "broken"),
    "many digits": (b'{"a":' + b"9" * 4_000 + b"}", "open"),
    "exponent": (b'{"a":1e999}', "broken"),
    "fraction": (b'{"a":1.5}', "broken"),
    "not a number": (b'{"a":NaN}', "broken"),
    "infinity": (b'{"a":-Infinity}', "broken"),
    "a key twice": (b'{"a":1,"a":2}', "broken"),
    "half a letter, escaped": (b'{"a":"\\ud800"}', "broken"),
    "half a letter": (b'{"a":"\xed\xa0\x80"}', "broken"),
    "no UTF-8": (b'{"a":"\xff"}', "broken"),
    "a NUL": (b'{"a":"\x00"}', "broken"),
    "a raw escape": (b'{"a":"\x1b[2J"}', "broken"),
    "too long": (b'{"a":"' + b"x" * 70_000 + b'"}', "broken"),
    "no object": (b"[]", "broken"),
    "nothing": (b"", "broken"),
}


@pytest.mark.parametrize("name", LINES)
def test_a_chained_line_of_any_bytes_has_its_verdict(name: str, tmp_path: Path) -> None:
    data, wanted = LINES[name]
    state, _ = looked_at(ending(data), tmp_path)
    assert state == wanted
    report = scan(ending(data))
    assert report.count == (7 if wanted == "open" else 6)
    if wanted == "broken":
        assert report.fault is not None
        assert report.fault.line == 7


EVENTS: list[Any] = [
    [], {}, "x", 1, None, ["x"], [1], [None], [[]], [{}], [{"kind": 7, "v": 1}], [{"kind": ["a"], "v": 1}],
    [{"kind": "noted"}], [{"kind": "noted", "v": "abc"}], [{"kind": "noted", "v": [1]}],
    [{"kind": "noted", "v": 10**4000}], [{"kind": "x" * 50_000, "v": 1}], [{"kind": "\u202e\x1b[2J", "v": 1}],
    [{"kind": "counted_in", "tool": "none such", "v": 1}], [{"kind": "step_done", "node": "none such", "v": 1}],
    [{"kind": "came_to", "node": "none such", "v": 1}], [{"kind": "came_to", "node": [], "v": 1}],
    [{"kind": "item_changed", "item": "none such", "act": -1, "state": "?", "v": 1}],
    [{"kind": "reading_taken", "node": "x", "name": "y", "value": "1e999", "unit": "parsec", "v": 1}],
    [{"kind": "deviated", "number": 10**15, "v": 1}], [{"kind": "sealed", "outcome": "finished", "v": 1}],
    [{"kind": "taken_back", "entry": -5, "v": 1}], [{"kind": "corrected", "number": 10**9, "v": 1}],
]  # fmt: skip


@pytest.mark.parametrize("events", EVENTS, ids=lambda e: repr(e)[:40])
@pytest.mark.parametrize("at", [1, 6, 11])
def test_events_of_any_form_are_answered(events: Any, at: int, tmp_path: Path) -> None:
    def change(made: list[Body]) -> None:
        made[at]["data"] = {"who": "x", "events": events}
        made[at]["kind"] = "note"

    state, _ = looked_at(changed(change), tmp_path)
    assert state == "open"


@pytest.mark.parametrize("at", [pytest.param(at, marks=sampled(at)) for at in range(1, len(BODIES) - 1)])
def test_every_event_of_a_kept_log_may_come_too_early(at: int, tmp_path: Path) -> None:
    """Each one brought to the second place: what it names is not there yet."""

    def change(made: list[Body]) -> None:
        made[1]["kind"], made[1]["data"] = BODIES[at]["kind"], BODIES[at]["data"]

    state, ended = looked_at(changed(change, 3), tmp_path)
    assert state == "open"
    assert ended == "resumed" or ended.startswith(("replay: ", "refused: "))


ODD: list[Any] = [None, 1, -1, 10**4000, "x", [], [1], [[]], [["a"]], ["a", 1], {}, {"a": 1}, True, "\x1b[2J"]


OWN_KEYS = ("procedure", "gates", "rehearsal", "bench", "unproved", "run", "program", "sync", "pid")
LOG_KEYS = ("boot", "offset_min", "log")
HEADER_CASES = [(key, value) for key in (*OWN_KEYS, *LOG_KEYS, *PROCEDURE) for value in ODD]


@pytest.mark.parametrize(
    ("key", "value"),
    [pytest.param(*case, marks=sampled(at), id=f"{at}-{case[0]}") for at, case in enumerate(HEADER_CASES)],
)
def test_a_header_of_any_form_is_answered(key: str, value: Any, tmp_path: Path) -> None:
    def change(made: list[Body]) -> None:
        made[0]["data"].update({key: value} if key in (*OWN_KEYS, *LOG_KEYS) else {})
        if key in PROCEDURE and key not in OWN_KEYS:
            made[0]["data"]["procedure"].update({key: value})

    state, _ = looked_at(changed(change, 4), tmp_path)
    assert state == "open" or (key in LOG_KEYS and state in ("broken", "not a log"))


TIMES = {
    ("0001-01-01T00:00:00.000Z", -1440): "broken", ("9999-12-31T23:59:60.999Z", 1440): "broken",
    ("0000-00-00T00:00:00.000Z", 0): "broken", ("1970-01-01T00:00:00.000Z", -1440): "open",
    ("0002-01-01T00:00:00.000Z", -1440): "open", ("9998-12-31T23:59:60.999Z", 1440): "open",
    ("2026-01-01T00:00:00.000Z", 1441): "broken", ("2026-13-01T00:00:00.000Z", 0): "broken",
    ("٢026-01-01T00:00:00.000Z", 0): "broken",
}  # fmt: skip


@pytest.mark.parametrize(("utc", "offset"), TIMES)
def test_a_time_is_one_or_damage(utc: str, offset: int, tmp_path: Path) -> None:
    def change(made: list[Body]) -> None:
        made[0]["utc"], made[0]["data"]["offset_min"] = utc, offset
        for body in made[1:]:
            body["utc"] = utc

    assert looked_at(changed(change), tmp_path)[0] == TIMES[utc, offset]


@pytest.mark.parametrize("mono", [10**4000, -(10**4000), 2**63, 0])
def test_a_running_clock_of_any_size_is_read(mono: int, tmp_path: Path) -> None:
    def change(made: list[Body]) -> None:
        for body in made:
            body["mono_ms"] = mono

    assert looked_at(changed(change), tmp_path)[0] == "open"


STEERING = {**TERMINAL, **MARKUP, **WORKS, "controls": "a".join((*REFUSED, *MARKS))}


@pytest.mark.parametrize("name", STEERING)
def test_what_a_log_says_steers_no_terminal(name: str, tmp_path: Path, cli: Cli) -> None:  # noqa: F811
    text = STEERING[name]

    def change(made: list[Body]) -> None:
        linked = made[0]["data"]["procedure"]
        linked |= {"title": text, "revision": text, "fits": text, "sources": [text], "files": [[text, text]]}
        made[0]["data"] |= {"bench": text, "unproved": text, "sync": text, "run": text, "program": text}
        made[1]["data"] = {"who": text, "events": [{"kind": "started", "work_piece": text, "v": 1}]}
        made[2] |= {
            "kind": "note",
            "data": {"who": text, "events": [{"kind": "noted", "text": text, "v": 1}]},
        }
        made[3] |= {"kind": "note", "data": {"who": text, "events": [{"kind": text, "v": text}]}}

    path = tmp_path / "work" / "x.jsonl"
    path.write_bytes(changed(change))
    for words in (("verify",), ("review",), ("export",), ("resume", "--plain")):
        code, out, err = cli(words[0], str(path), *words[1:])
        assert code < 60, (words, err)
        assert "error of the program" not in err
        assert not raw_controls(out + err), words
    (path.parent / SHOP_NAME).write_bytes(path.read_bytes())
    code, out, err = cli("verify", str(path.parent / SHOP_NAME))
    assert not raw_controls(out + err)
    assert code


@pytest.mark.parametrize("half", HALVES)
def test_half_a_letter_is_damage(half: str) -> None:
    report = scan(changed(lambda made: made[3]["data"].update({"who": half})))
    assert report.state == "broken"


def test_one_hundred_megabytes_are_read_line_by_line(tmp_path: Path) -> None:
    """Without a line end no more is read than a first line may have."""
    path = tmp_path / "large.jsonl"
    with path.open("wb") as file:
        file.write(b'{"data":{')
        file.truncate(100 * 1024 * 1024)

    class Counting(Files):
        taken = 0

        def read(self, fd: int, size: int, offset: int) -> bytes:
            data = super().read(fd, size, offset)
            self.taken += len(data)
            return data

    files = Counting()
    assert scan_file(path, files).state == "broken"
    assert files.taken <= 17 * 1024 * 1024
    path.write_bytes(changed(lambda made: None) + b"\0" * (100 * 1024 * 1024))
    files = Counting()
    assert scan_file(path, files).state == "broken"
    assert files.taken <= 2 * 1024 * 1024


@pytest.mark.parametrize("kind", ["fifo", "directory", "device"])
def test_what_is_no_file_is_refused(kind: str, tmp_path: Path, cli: Cli) -> None:  # noqa: F811
    path = tmp_path / "work" / "odd.jsonl"
    if kind == "fifo":
        if not hasattr(os, "mkfifo"):
            pytest.skip("not run here: this system has no FIFOs")
        os.mkfifo(path)
    elif kind == "directory":
        path.mkdir()
    else:
        path.symlink_to("/dev/zero")
    for words in (("verify",), ("review",), ("export",), ("resume", "--plain")):
        code, _, err = cli(words[0], str(path), *words[1:])
        assert 0 < code < 60, words
        assert "error of the program" not in err
