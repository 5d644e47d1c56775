"""Every torque of the shipped procedures on a fastener with thread and class, spoiled by a slip: who notices.

The kill table is printed (`-s`). One slip can stay unseen: 1 lbf·ft is 1.36 N·m (reference 1), so the wrong one of
these two may still be sane for a round that is below the whole torque, or before an angle, where the torque leaves
much room to the proof load. No rule can tell that from what was meant.
"""

import re
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

import pytest

from runner.procedure.finding import Mark
from runner.procedure.link_whole import link
from runner.procedure.reader import read_procedure
from runner.procedure.source import Source, Stage
from runner.proof.local import local_findings

SHIPPED = Path(__file__).parents[2] / "procedures"
SLIPS = ("×10", "÷10", "lbf·ft", "lbf·in", "kgf·m")
TORQUE = re.compile(r"torque: (\d+) N·m")


class Slip(NamedTuple):
    """One torque and what became of it: `last` where no other torque follows, `angle` where an angle does."""

    item: str
    torque: str
    slip: str
    last: bool
    angle: bool
    rules: tuple[tuple[str, str], ...]


def spoiled(value: int, slip: str) -> str:
    by_number = {"×10": f"{value * 10} N·m", "÷10": f"{value / 10:g} N·m"}
    return f"torque: {by_number.get(slip, f'{value} {slip}')}"


def used(name: str, mark: Mark) -> Source | None:
    """A file that another one uses."""
    path = Path(mark.file).parent / name
    return read_procedure(path.read_bytes(), str(path))[0]


def rules_found(text: str, path: Path) -> tuple[tuple[str, str], ...]:
    source, found = read_procedure(text.encode(), str(path))
    assert source is not None, found
    procedure, found = link(source, used)
    assert procedure is not None, [one.text() for one in found]
    return tuple((one.rule, one.grade) for one in local_findings(procedure))


def slips() -> Iterator[Slip]:
    for path in sorted(SHIPPED.rglob("*.yaml")):
        text = path.read_text(encoding="utf-8")
        source, _ = read_procedure(text.encode(), path.name)
        assert source is not None
        for item in source.items:
            if item.thread is None or item.strength is None:
                continue
            torques = [stage for stage in item.tighten if stage.kind == "torque"]
            angle = any(stage.kind == "angle" for stage in item.tighten)
            for stage in torques:
                for slip in SLIPS:
                    rules = rules_found(with_slip(text, stage, slip), path)
                    yield Slip(item.name.text, stage.text, slip, stage == torques[-1], angle, rules)


def with_slip(text: str, stage: Stage, slip: str) -> str:
    """The text with the torque of one stage changed, at its own line."""
    lines = text.split("\n")
    at = stage.mark.line - 1
    lines[at], changed = TORQUE.subn(lambda found: spoiled(int(found[1]), slip), lines[at])
    assert changed == 1
    return "\n".join(lines)


@pytest.fixture(scope="module")
def judged() -> list[Slip]:
    found = list(slips())
    for one in found:
        said = ", ".join(f"{rule} ({grade})" for rule, grade in dict.fromkeys(one.rules)) or "NOT NOTICED"
        print(
            f"\n{one.item:16} {one.torque:8} {one.slip:7} {'last ' if one.last else 'round'}  {said}", end=""
        )
    print()
    return found


def test_every_slip_is_noticed_but_a_neighbouring_unit_where_there_is_room(judged: list[Slip]) -> None:
    assert len(judged) >= 35
    missed = [one for one in judged if not one.rules]
    assert 0 < len(missed) < len(judged) / 8
    for one in missed:
        assert one.slip == "lbf·ft", one
        assert one.angle or not one.last, one


def test_ten_times_a_torque_is_an_error_by_the_fastener_alone(judged: list[Slip]) -> None:
    for one in judged:
        if one.slip in ("×10", "kgf·m"):
            assert ("past-proof-load", "error") in one.rules, one


def test_a_tenth_of_the_last_torque_is_hardly_tight(judged: list[Slip]) -> None:
    for one in judged:
        if one.last and one.slip in ("÷10", "lbf·in"):
            assert ("hardly-tight", "warning") in one.rules, one


@pytest.mark.parametrize("path", sorted(SHIPPED.rglob("*.yaml")), ids=lambda path: path.name)
def test_without_a_slip_nothing_is_said(path: Path) -> None:
    assert rules_found(path.read_text(encoding="utf-8"), path) == ()
