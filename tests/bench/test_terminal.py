"""The bench in a real terminal: it starts, it leaves the terminal whole however it ends, and it never spins."""

import os
import re
import resource
import signal
import subprocess
import sys
from collections.abc import Iterator

import pytest

from runner.bench.terminal import unfit
from tests.bench.terminal import ROOT, Terminal

BENCH = """
import sys
from runner.bench.desk import Pace
from runner.bench.opening import run_bench
from tests.bench.samples import SampleRun, sample
sys.exit(run_bench(SampleRun([sample("act"), sample("look", seq=42)]), pace=Pace(0, 0, 0)))
"""
RESTORED = (b"\x1b[?1049l", b"\x1b[?25h")
"""What leaves the alternate screen and shows the cursor again (xterm control sequences)."""


@pytest.fixture
def bench() -> Iterator[Terminal]:
    terminal = Terminal(BENCH)
    yield terminal
    terminal.close()


def test_it_starts_takes_keys_and_quits_with_the_terminal_whole(bench: Terminal) -> None:
    screen = bench.until("Enter: done")
    assert "Front lower arm, both sides" in screen.splitlines()[0]
    bench.send("\r")
    bench.until("How does the car behave")
    bench.send("\x11")
    bench.until("Leave the bench")
    bench.send("2")
    bench.until("Enter: do this (2)")
    bench.send("\r")
    assert bench.wait() == 3
    assert all(sequence in bench.raw for sequence in RESTORED)


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGHUP])
def test_a_signal_ends_it_in_order(bench: Terminal, number: int) -> None:
    bench.until("Enter: done")
    bench.signal(number)
    assert bench.wait() == 128 + number
    assert all(sequence in bench.raw for sequence in RESTORED)


def test_a_terminal_that_is_gone_ends_it_without_spinning() -> None:
    """SIGHUP ignored, as under nohup: nothing else tells that the terminal has gone."""
    bench = Terminal("import signal; signal.signal(signal.SIGHUP, signal.SIG_IGN)\n" + BENCH)
    bench.until("Enter: done")
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    bench.hang_up()
    # 120 is what Python itself gives when its streams cannot be flushed at the end.
    assert bench.wait() in {3, 120, 128 + signal.SIGHUP}
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    assert after.ru_utime - before.ru_utime < 8


def test_no_color_means_no_colour_at_all() -> None:
    bench = Terminal(BENCH, env={"NO_COLOR": "1"})
    bench.until("Enter: done")
    bench.press("\r", "How does the car behave")
    codes = {code for found in re.findall(rb"\x1b\[([0-9;]*)m", bench.raw) for code in found.split(b";")}
    bench.close()
    assert codes <= {b"", b"0", b"1", b"4", b"7", b"39", b"49"}, codes


def test_the_mouse_of_the_terminal_can_be_left_alone() -> None:
    bench = Terminal(BENCH.replace("pace=", "mouse=False, pace="))
    bench.until("Enter: done")
    bench.close()
    assert b"\x1b[?1000h" not in bench.raw


def test_where_no_full_screen_can_be_shown_the_way_by_lines_is_named() -> None:
    ended = subprocess.run(
        [sys.executable, "-c", BENCH],
        cwd=ROOT,
        capture_output=True,
        text=True,
        stdin=subprocess.DEVNULL,
        check=False,
    )
    assert ended.returncode == 1
    assert "--plain" in ended.stderr
    assert "--plain" in unfit({"TERM": "dumb"})
    assert "--plain" in unfit({})


def test_only_the_bench_loads_textual_and_it_loads_little() -> None:
    code = """
import sys
import runner.bench
assert "textual" not in sys.modules
import runner.bench.desk, runner.bench.page
assert "textual" not in sys.modules, "the desk is tested without a screen"
import textual.app
floor = set(sys.modules)
import runner.bench.opening
assert not {"pint", "yaml"} & set(sys.modules), "the bench itself needs no units and reads no YAML"
widgets = {name for name in set(sys.modules) - floor if name.startswith("textual.widgets")}
assert not widgets, widgets
"""
    subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, check=True, env={**os.environ, "PYTHONPATH": str(ROOT)}
    )
