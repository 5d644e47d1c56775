"""How much of both readers the fuzzer and the tests reach: every branch, as coverage.py counts them."""

import json
import os
import subprocess
import sys
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import pytest

from tests.fuzz.pieces import ROOT

LEAST = 95.0
"""Per cent of the branches of each reader."""

_OF_YAML = "opening characters composing syntax traps tree page finding excerpt desk reader"
_OF_LOGS = "scan line tail record source versions"

READERS = {
    "yaml": (
        *(f"runner/procedure/{name}.py" for name in _OF_YAML.split()),
        "runner/procedure/read_*.py",
        "runner/toolbox/reader.py",
    ),
    "log": (*(f"runner/log/{name}.py" for name in _OF_LOGS.split()), "runner/job/record.py"),
}

CAMPAIGNS = (("procedure", 3_000), ("toolbox", 2_000), ("log", 3_000))
"""The beginning of the million: under coverage an input takes three times as long."""

TESTS = (
    "tests/procedure", "tests/toolbox", "tests/log/test_scan.py", "tests/log/test_line.py", "tests/log/test_kept.py",
    "tests/hostile/test_procedure_files.py", "tests/hostile/test_toolbox_files.py", "tests/hostile/test_logs.py",
    "tests/job/test_events.py",
)  # fmt: skip


@pytest.mark.deep
def test_the_branches_of_both_readers_are_reached(tmp_path: Path) -> None:
    if find_spec("coverage") is None:
        pytest.skip("not run here: coverage.py is not installed")
    around = {**os.environ, "COVERAGE_FILE": str(tmp_path / "data")}
    included = ",".join(pattern for patterns in READERS.values() for pattern in patterns)
    counting = [sys.executable, "-m", "coverage", "run", "-a", "--branch", f"--include={included}", "-m"]

    def run(*words: str) -> None:
        done = subprocess.run([*words], cwd=ROOT, env=around, capture_output=True, text=True, check=False)
        assert done.returncode == 0, done.stdout[-2000:] + done.stderr[-2000:]

    for target, inputs in CAMPAIGNS:
        run(*counting, "tests.fuzz.campaign", target, str(inputs), "1")
    run(*counting, "pytest", "-n", "0", "-q", "-p", "no:cacheprovider", *TESTS)
    run(sys.executable, "-m", "coverage", "json", "-q", "-o", str(tmp_path / "found.json"))
    files: dict[str, Any] = json.loads((tmp_path / "found.json").read_text(encoding="utf-8"))["files"]
    for reader, patterns in READERS.items():
        own = {name: each for name, each in files.items() if any(Path(name).match(each) for each in patterns)}
        whole = sum(each["summary"]["num_branches"] for each in own.values())
        reached = sum(each["summary"]["covered_branches"] for each in own.values())
        print(f"{reader}: {reached} of {whole} branches reached, {100 * reached / whole:.1f} %")
        for name, each in own.items():
            if each["missing_branches"]:
                print(f"    {name}: not {each['missing_branches']}")
        assert whole >= 100
        assert 100 * reached / whole >= LEAST
