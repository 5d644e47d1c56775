"""Where a toolbox is looked for, and how two of them are one."""

import os
from pathlib import Path

from runner.joint.wrench import Wrench
from runner.procedure.finding import Finding
from runner.toolbox.model import Toolbox, folded
from runner.toolbox.reader import placed, read_toolbox

TOOLBOX_NAME = "toolbox.yaml"
"""The name of a toolbox file, in a logs folder (the shop's) and in a user's settings folder alike."""

EXAMPLE = """\
tools:
  - name: Click wrench 130
    kind: click
    range: 20 to 130 N·m
    graduation: 1 N·m
    length: 400 mm
    class: II A
    serial: "0042"
    calibrated on: 2026-01-12
    due on: 2027-01-12
    certificate: {number: C-118, uncertainty: 1.2 %, k: 2}
"""
"""A toolbox with one (invented) tool and every key, shown where there is none yet."""


def toolbox_files(settings_folder: Path, logs_folder: Path) -> tuple[Path, ...]:
    """The toolbox files there are, the one beside the logs first. Whatever has the name counts, so that it is read
    and found to be wrong rather than passed over."""
    both = dict.fromkeys(folder / TOOLBOX_NAME for folder in (logs_folder, settings_folder))
    return tuple(path for path in both if os.path.lexists(path))


def find_toolbox(settings_folder: Path, logs_folder: Path) -> Toolbox:
    """The tools of both files, those beside the logs first; an empty Toolbox where there is no file.

    A name stands for one tool: where both files have it the entry beside the logs wins, and a warning at the other
    says so. Never raises for what the files hold.
    """
    return united(tuple(read_toolbox(path) for path in toolbox_files(settings_folder, logs_folder)))


def united(boxes: tuple[Toolbox, ...]) -> Toolbox:
    """Several toolboxes as one, the first of a name winning."""
    kept: dict[str, str] = {}
    wrenches: list[Wrench] = []
    problems: list[Finding] = []
    for box in boxes:
        problems += box.problems
        file = str(box.path)
        for wrench in box.wrenches:
            key = folded(wrench.name)
            if key in kept:
                problems.append(_hidden(box, wrench.name, kept[key]))
                continue
            kept[key] = file
            wrenches.append(wrench)
    return Toolbox(tuple(path for box in boxes for path in box.paths), tuple(wrenches), tuple(problems))


def _hidden(box: Toolbox, name: str, first: str) -> Finding:
    message = f'"{name}" is also in {first}, which comes first: this entry is left out'
    return placed(box, name, "twice", message, expected="another name, or one entry only")
