"""A whole job in a real terminal, read off the screen and typed on the keyboard, with the program killed on the way."""

import re
import signal
from collections.abc import Iterator
from pathlib import Path

import pytest

from runner.log.scan import scan_file
from tests.bench.terminal import Terminal

PROCEDURE = """\
format: 1
procedure: corner
title: One corner
revision: 1
fits: Tarn 1.6 (invented)
sources: [Invented data.]
people: {performer: 1}
conditions:
  support:
    at start: on wheels
    changes: {on wheels: [raised], raised: [on wheels]}
    hazardous: [raised]
tolerance: {torque: ±4 %}
tools: [{name: torque wrench, covers: 40 to 200 N·m}]
parts: none
supplies: none
items:
  bolts:
    kind: fastener
    count: 4
    tighten: [{torque: 120 N·m, order: star, only when: {support: on wheels}}]
steps:
  - step: raise
    do: Raise the corner.
    danger: {hazard: The car can fall., consequence: crushing, avoid: Never work under a car on a jack alone.}
    look for: How does the car stand when it is pushed?
    answers: {it rocks: stop, it stays still: go on}
    sets: {support: raised}
  - step: turn
    do: Take the bolts out and start new ones.
    takes out: [bolts]
    starts: [bolts]
    read: {what: Runout of the hub, name: runout, unit: mm, band: at most 0.05 mm}
  - step: tight
    do: Tighten the bolts crosswise.
    tightens: [bolts]
    put off: {until: {support: on wheels}, before: end, because: The wheel must not turn under the wrench.}
  - step: lower
    do: Let the car down.
    sets: {support: on wheels}
close out: [No tool left over]
make safe: {raised: [Leave it on the stand]}
"""

BEGIN = """
import sys
from pathlib import Path
from runner.bench.desk import Pace
from runner.bench.opening import run_bench
from runner.outside import Outside
from runner.procedure.link import load_procedure
from runner.run import Run
folder = Path({folder!r})
logs = sorted(folder.glob("*-corner-*.jsonl"))
if logs:
    run = Run.resume(logs[0], Outside())
else:
    run = Run.begin(load_procedure(folder / "corner.yaml")[0], Outside(), folder, rehearsal=True)
sys.exit(run_bench(run, pace=Pace(0, 0, 0)))
"""

TYPED = {
    "Work piece": "KX-204-T",
    "Your name": "Ada Lind",
    "Runout of the hub": "0,03",
    "anything abnormal": "none",
}
"""What is typed where the screen asks for it."""


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[Path]:
    (tmp_path / "corner.yaml").write_text(PROCEDURE, encoding="utf-8")
    return tmp_path


def keys_for(screen: str) -> str:
    """What a person would press, from the screen alone."""
    entry = screen.splitlines()[20]
    if "▶ Y: " in entry:
        return "y"
    if "pick 1" in entry:
        good = re.search(r"(\d)  (it stays still|as recorded)", screen)
        return good.group(1) if good else "1"
    if entry.rstrip().endswith(": leave"):
        return "\r"
    asked = next((label for label in TYPED if label in screen), "")
    empty = re.search(r"▶ {9,}", entry) is not None
    return TYPED[asked] if asked and empty else "\r"


def work(terminal: Terminal, until: str, presses: int = 200) -> str:
    """Press what the screen asks for until `until` is on it or so many keys are pressed."""
    for _ in range(presses):
        screen = terminal.text
        if until in screen:
            return screen
        terminal.send(keys_for(screen))
        terminal.changed(screen)
    return terminal.text


def test_a_job_in_a_real_terminal_survives_being_killed(shop: Path) -> None:
    terminal = Terminal(BEGIN.format(folder=str(shop)))
    terminal.until("Your name")
    work(terminal, "number 3 of 4")
    terminal.until("▰ 1")  # what the screen shows as done is in the log
    terminal.signal(signal.SIGKILL)
    assert terminal.wait() == -signal.SIGKILL
    terminal.close()

    terminal = Terminal(BEGIN.format(folder=str(shop)))
    terminal.until("Back at the bench")
    work(terminal, "number 3 of 4")
    assert "▶ " in terminal.text
    assert "number 3 of 4" in terminal.text, "no entry that was shown is lost"
    work(terminal, "FINISHED")
    screen = terminal.until("Receipt code, for the job sheet: ")
    receipt = re.search(r"Receipt code, for the job sheet: (\S+)", screen)
    assert receipt
    work(terminal, "Leave")
    terminal.send("\r")
    assert terminal.wait() == 0
    terminal.close()
    (log,) = shop.glob("*-corner-*.jsonl")
    assert scan_file(log).state == "complete"
