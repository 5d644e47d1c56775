"""Fasteners as the rules on tightening see them: each once as it is written, with the first step of each stage."""

from collections.abc import Mapping
from decimal import Decimal
from functools import lru_cache
from typing import TYPE_CHECKING

from runner.frozen import Frozen
from runner.job.tightening import torque_stage
from runner.procedure.linked import Act, Item, Node, Procedure, Stage
from runner.quantities import Quantity, kind_of

if TYPE_CHECKING:  # tables that few starts need: they are loaded where a fastener is judged
    from runner.joint.between import Between
    from runner.joint.strength import Strength
    from runner.joint.threads import Thread


class Fastener(Frozen):
    """A fastener that some step tightens; `steps` has, by the number of a stage, the first step that gives it."""

    item: Item
    steps: Mapping[int, Node]

    def given(self, kind: str) -> list[tuple[int, Stage, Quantity]]:
        """The stages of a kind that some step gives, with their numbers and what is asked.

        Rounds below the whole torque and the pass that goes once more around add nothing that a rule could judge.
        """
        return [
            (number, stage, asked)
            for number, stage in enumerate(self.item.stages, start=1)
            if stage.kind == kind and number in self.steps and not _follows_from_another(stage)
            if (asked := asked_of(stage)) is not None
        ]


def fasteners(procedure: Procedure) -> list[Fastener]:
    """The fasteners of which enough is said to judge their tightening, each once for all its places."""
    items = [item for item in procedure.items if item.stages and (item.surface or item.strength)]
    if not items:
        return []
    steps: dict[str, dict[int, Node]] = {item.key: {} for item in items}
    for node in procedure.nodes:
        for act in node.acts:
            if act.item in steps:
                for number in _stages(act, procedure.item_by_key[act.item]):
                    steps[act.item].setdefault(number, node)
    found: dict[object, Fastener] = {}
    for item in items:
        if steps[item.key]:
            found.setdefault(_as_written(item), Fastener(item, steps[item.key]))
    return list(found.values())


def _stages(act: Act, item: Item) -> range:
    if act.verb == "re-tightens":
        last = torque_stage(item)
        return range(last, last + 1) if last else range(0)
    if act.verb != "tightens":
        return range(0)
    first, last = act.stages or (1, len(item.stages))
    return range(first, last + 1)


def _follows_from_another(stage: Stage) -> bool:
    return stage.final_pass or (stage.share is not None and Decimal(stage.share) < 100)


def _as_written(item: Item) -> object:
    """What two items share that are one entry at several places."""
    stages = tuple((stage.kind, stage.target, stage.unit, stage.text) for stage in item.stages)
    said = (item.friction, item.surface, item.given_for, item.prevailing, item.grip, item.new_every_time)
    return item.name, item.thread, item.strength, stages, said


def asked_of(stage: Stage) -> Quantity | None:
    """What a stage asks: its target, else the middle of its range or the one limit that is written."""
    if stage.unit is None:
        return None
    limits = (stage.band.low, stage.band.high) if stage.band else ()
    written = [Decimal(limit) for limit in limits if limit is not None]
    if stage.target is None and not written:
        return None
    value = Decimal(stage.target) if stage.target is not None else sum(written, Decimal(0)) / len(written)
    return Quantity(value, stage.unit, kind_of(stage.unit)) if value > 0 else None


@lru_cache(maxsize=1024)
def joint_named(thread: str | None, strength: str | None) -> "tuple[Thread, Strength] | None":
    """Thread and strength by the author's words; None where either is not said or not known: nothing is guessed."""
    if thread is None or strength is None:
        return None
    from runner.joint.strength import StrengthError, strength_for  # noqa: PLC0415 - see above
    from runner.joint.threads import ThreadError, parse_thread  # noqa: PLC0415 - see above

    try:
        known = parse_thread(thread)
        return known, strength_for(strength, known)
    except (ThreadError, StrengthError):
        return None  # the linker remarks on names that it does not know


def friction_stated(friction: tuple[str, str] | None) -> "Between | None":
    """The friction as the author states it."""
    if friction is None:
        return None
    from runner.joint.between import Between  # noqa: PLC0415 - see above

    low, high = friction
    return Between(float(Decimal(low)), float(Decimal(high)))
