"""A verdict made by hand, so that what is printed of one can be held apart from how it was found."""

import pytest

from runner.job.gates import Gates
from runner.procedure.finding import Finding, Grade, Mark, Station
from runner.procedure.linked import Procedure
from runner.proof.rules import RULES
from runner.proof.verdict import Verdict

FILE = "small-job.yaml"


def mark_of(procedure: Procedure, step: str) -> Mark:
    return next(node.mark for node in procedure.nodes if node.step == step)


def way(procedure: Procedure, stops: int) -> tuple[Station, ...]:
    """A path of so many stops, over and over the steps of the procedure."""
    nodes = [node for node in procedure.nodes if node.joint is None]
    chosen = [nodes[at % len(nodes)] for at in range(stops)]
    return tuple(
        Station(node.mark, node.step, "left" if not at else "", node.id, f"stop number {at + 1}", "go on")
        for at, node in enumerate(chosen)
    )


def prover(
    monkeypatch: pytest.MonkeyPatch,
    rule: str = "left-open",
    *,
    step: str = "plate-off",
    message: str = "the plate is still off at the end",
    stops: int = 2,
    grade: Grade | None = None,
    times: int = 1,
) -> None:
    """Let every procedure have these findings at one of its steps; `times` 0 proves it."""

    def verdict(procedure: Procedure) -> Verdict:
        mark = mark_of(procedure, step)
        made = Finding(
            mark.file, mark.line, mark.column, grade or RULES[rule].grade, rule, message,
            length=len(step), path=way(procedure, stops), mend="put it back", node=step,
        )  # fmt: skip
        gates = Gates(last_chance={"measure": ("wheel-torque",)}) if not times else Gates()
        return Verdict((made,) * times, gates, states=31, items=3)

    monkeypatch.setattr("runner.cli.proving.prove", verdict)
