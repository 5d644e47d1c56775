"""Fuzzing: no traceback, no hang, no refusal without a reason, whatever the bytes.

Quick: some hundreds of inputs, seeded. Deep: a million, and some minutes more that coverage guides.

An input is mutated from a valid file five times out of six; of those at least a tenth must still be accepted, or the
fuzzer would only knock at the door.
"""

import json
import os
import secrets
import subprocess
import sys
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from importlib.util import find_spec
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.fuzz.campaign import campaign
from tests.fuzz.pieces import ROOT, WORDS, log_bytes, logs, procedures, toolboxes
from tests.fuzz.targets import TARGETS
from tests.hostile.chained import Body, chained, raw_body

QUICK = {"procedure": 160, "toolbox": 80, "log": 160}
DEEP = {"procedure": 400_000, "toolbox": 200_000, "log": 400_000}
"""Shared out by what an input costs: a procedure and a log about the same, a toolbox half."""
LEAST = 1_000_000
CHUNK = 20_000
PROCESSES = 2
GUIDED_S = 120
"""Seconds of coverage-guided fuzzing for each reader."""


def seed_of(name: str) -> int:
    """A new seed each time, or the one that the environment gives, to repeat a run."""
    return int(os.environ.get("WITNESSMARK_FUZZ_SEED") or secrets.randbits(31)) + len(name)


@st.composite
def near_files(draw: Callable[[st.SearchStrategy[Any]], Any], files: Sequence[bytes]) -> bytes:
    """A valid file with pieces cut out and put in; shrinks to few and short ones."""
    data: bytes = draw(st.sampled_from(files))
    for _ in range(draw(st.integers(1, 4))):
        at = draw(st.integers(0, len(data)))
        gone = draw(st.sampled_from((0, 1, 2, 10, 100)))
        put = draw(st.sampled_from(WORDS) | st.binary(max_size=3) | st.text(max_size=3).map(str.encode))
        data = data[:at] + put + data[at + gone :]
    return data


JSON_VALUES = st.recursive(
    st.none() | st.booleans() | st.integers() | st.text(st.characters(exclude_categories=())),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner, max_size=3),
    max_leaves=8,
)


@st.composite
def forged_logs(draw: Callable[[st.SearchStrategy[Any]], Any]) -> bytes:
    """A log of which some entries say anything at all, rightly chained."""
    bodies: list[Body] = list(draw(st.sampled_from(logs())))
    for _ in range(draw(st.integers(1, 3))):
        at = draw(st.integers(0, len(bodies) - 1))
        body = dict(bodies[at])
        key = draw(st.sampled_from(sorted(body)))
        value = draw(JSON_VALUES)
        if key == "data" and isinstance(body[key], dict) and draw(st.booleans()):
            inner = dict(body[key])
            inner[draw(st.sampled_from(sorted(inner) or ["who"]))] = value
            value = inner
        bodies[at] = {**body, key: value}
    return chained(map(raw_body, bodies))


_SLOW = [HealthCheck.too_slow, HealthCheck.data_too_large]
QUIETLY = settings(
    max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large]
)


@QUIETLY
@given(near_files(procedures()) | near_files(toolboxes()) | st.binary(max_size=200))
def test_both_readers_of_yaml_answer_anything_near_a_file(data: bytes) -> None:
    TARGETS["procedure"](data)
    TARGETS["toolbox"](data)


@QUIETLY
@given(near_files(log_bytes()) | forged_logs())
def test_the_reader_of_logs_answers_anything_near_a_log(data: bytes) -> None:
    TARGETS["log"](data)


@pytest.mark.parametrize("target", QUICK)
def test_some_hundreds_of_inputs(target: str) -> None:
    counts = campaign(target, QUICK[target], 20_261_126)
    print(counts)
    assert counts.inputs >= QUICK[target]
    assert counts.from_valid * 2 >= counts.inputs
    assert counts.accepted_from_valid * 10 >= counts.from_valid


def test_a_hang_and_a_traceback_would_be_told(monkeypatch: pytest.MonkeyPatch) -> None:
    """The fuzzer itself: what it must notice it notices, and says by which input."""
    from tests.fuzz.targets import HangError

    def spins(data: bytes) -> bool:
        while True:
            pass

    def breaks(data: bytes) -> bool:
        raise KeyError(data)

    for read, error in ((spins, HangError), (breaks, KeyError)):
        monkeypatch.setitem(TARGETS, "toolbox", read)
        with pytest.raises(error) as caught:
            campaign("toolbox", 3, 7)
        assert "toolbox, seed 7, input 0" in caught.value.__notes__[0]


def in_a_process(job: tuple[str, int, int]) -> dict[str, Any]:
    target, inputs, seed = job
    words = [sys.executable, "-m", "tests.fuzz.campaign", target, str(inputs), str(seed)]
    done = subprocess.run(words, cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, f"{target} with seed {seed}:\n{done.stderr[-3000:]}"
    counted: dict[str, Any] = json.loads(done.stdout)
    return counted


@pytest.mark.deep
def test_a_million_inputs() -> None:
    seed = seed_of("million")
    jobs = [
        (target, min(CHUNK, share - done), seed + number)
        for target, share in DEEP.items()
        for number, done in enumerate(range(0, share, CHUNK))
    ]
    with ThreadPoolExecutor(PROCESSES) as pool:
        counted = list(pool.map(in_a_process, jobs))
    for target in DEEP:
        own = [each for each in counted if each["target"] == target]
        sums = {
            key: sum(each[key] for each in own) for key in ("inputs", "from_valid", "accepted_from_valid")
        }
        worst = {key: max(each[key] for each in own) for key in ("slowest_s", "peak_mb")}
        print(f"{target}: seeds {own[0]['seed']} to {own[-1]['seed']}, {sums}, {worst}")
        assert sums["from_valid"] * 2 >= sums["inputs"]
        assert sums["accepted_from_valid"] * 10 >= sums["from_valid"]
    assert sum(each["inputs"] for each in counted) >= LEAST


@pytest.mark.deep
@pytest.mark.parametrize("target", ["procedure", "log"])
def test_guided_by_coverage(target: str) -> None:
    if find_spec("atheris") is None:
        pytest.skip("not run here: atheris is not installed (it has no build for this system or Python)")
    seed = seed_of(target)
    words = [sys.executable, "-m", "tests.fuzz.guided", target, "-1", str(GUIDED_S), str(seed)]
    done = subprocess.run(words, cwd=ROOT, capture_output=True, text=True, errors="replace", check=False)
    assert done.returncode == 0, done.stdout[-1500:] + done.stderr[-3000:]
    counts = json.loads([line for line in done.stdout.splitlines() if line.startswith("COUNTS ")][-1][7:])
    print(f"{counts}, {GUIDED_S} s, guided by coverage")
    assert counts["inputs"] >= 2_000
    assert counts["accepted"] >= 1
