"""The torques of a fastener against its proof load (P27, P28)."""

from decimal import Decimal
from functools import lru_cache
from typing import TYPE_CHECKING

from runner.procedure.linked import Item
from runner.procedure.stages import drag_in
from runner.proof.local.fasteners import Fastener, friction_stated, joint_named
from runner.proof.local.found import Found
from runner.quantities import Quantity, QuantityError, convert

if TYPE_CHECKING:  # see fasteners.py
    from runner.joint.between import Between
    from runner.joint.sanity import Judgement

_CHECK = "check the torque, its unit, the thread and the class against the maker's information"


def torques_sane(fastener: Fastener, found: Found) -> None:
    """Every torque that passes the proof load, and a last one that comes nowhere near it.

    A round before the last torque is meant to be low. What an angle adds after it is another rule's.
    """
    item = fastener.item
    torques = fastener.given("torque")
    said: set[Quantity] = set()
    for number, _, asked in torques:
        if asked in said or _surely_sane(item, asked):
            continue
        judgement = judged(item, asked, more_follows=number != torques[-1][0])
        if judgement is None or judgement.grade is None:
            continue
        said.add(asked)
        node = fastener.steps[number]
        message = f'"{item.name}" gets {_sentence(item, judgement)}'
        if passes_proof(judgement):
            found.add(node, "past-proof-load", message, _mend(judgement), judgement.grade)
        else:
            found.add(node, "hardly-tight", message, _CHECK, judgement.grade)


def _surely_sane(item: Item, asked: Quantity) -> bool:
    """Whether a torque lies among those of which nothing is said: a comparison, where a judgement is a long sum."""
    if item.thread is None or item.strength is None or asked.unit != "N·m":
        return False
    sane = _sane(item.thread, item.strength, item.friction, item.prevailing)
    return sane is not None and sane.holds(float(asked.value))


@lru_cache(maxsize=1024)
def _sane(
    thread: str, strength: str, friction: tuple[str, str] | None, prevailing: tuple[str, str] | None
) -> "Between | None":
    joint = joint_named(thread, strength)
    if joint is None:
        return None
    from runner.joint.sanity import sane_torques  # noqa: PLC0415 - see fasteners.py

    try:
        return sane_torques(*joint, friction_stated(friction), prevailing_nm=_drag(prevailing))
    except QuantityError:
        return None  # as in _judged


def _drag(prevailing: tuple[str, str] | None) -> float:
    """The prevailing torque in N·m. Raises QuantityError out of proportion."""
    return 0.0 if prevailing is None else float(convert(Decimal(prevailing[0]), prevailing[1], "N·m"))


def judged(item: Item, asked: Quantity, *, more_follows: bool = False) -> "Judgement | None":
    """What is to be said of a torque on a fastener; None where its thread or class is not known."""
    return _judged(
        item.thread, item.strength, asked, item.friction, item.prevailing, _typed(item, asked), more_follows
    )


def _typed(item: Item, asked: Quantity) -> Quantity | None:
    """The torque that the author wrote, where the drag of the nut was added to it."""
    if item.prevailing is None or not item.drag_added:
        return None
    drag = drag_in(Decimal(item.prevailing[0]), item.prevailing[1], asked.unit)
    return Quantity(asked.value - drag, asked.unit, asked.kind) if drag < asked.value else None


@lru_cache(maxsize=4096)
def _judged(
    thread: str | None,
    strength: str | None,
    asked: Quantity,
    friction: tuple[str, str] | None,
    prevailing: tuple[str, str] | None,
    typed: Quantity | None,
    more_follows: bool,
) -> "Judgement | None":
    joint = joint_named(thread, strength)
    if joint is None:
        return None
    from runner.joint.sanity import judge_torque  # noqa: PLC0415 - see fasteners.py

    try:
        torque = float(convert(asked.value, asked.unit, "N·m"))
        return judge_torque(
            *joint,
            torque,
            friction_stated(friction),
            prevailing_nm=_drag(prevailing),
            written=asked,
            typed=typed,
            more_follows=more_follows,
        )
    except QuantityError:
        return None  # a value out of all proportion lies in no tool's range, which P18 says


def passes_proof(judgement: "Judgement") -> bool:
    """Whether what is said of a torque is that it may pass the proof load."""
    share = judgement.share_of_proof
    return judgement.grade is not None and share is not None and share.high >= 1


def memory_words(*, from_memory: bool) -> str:
    """What stands behind a sentence that rests on a value from memory."""
    from runner.joint.sourced import FROM_MEMORY  # noqa: PLC0415 - see fasteners.py

    return f" ({FROM_MEMORY})" if from_memory else ""


def _sentence(item: Item, judgement: "Judgement") -> str:
    """The judgement with its whole interval, where its values come from, and the likely slip."""
    from runner.joint.friction import friction_text  # noqa: PLC0415 - see fasteners.py
    from runner.joint.sanity import share_text  # noqa: PLC0415 - see fasteners.py

    words = judgement.words.removesuffix(".")
    share, stated = judgement.share_of_proof, friction_stated(item.friction)
    if share is not None and (stated is None or stated.low != stated.high):
        over = f"friction {friction_text(stated)}" if stated else "that friction"
        words += f", {share_text(share)} over {over}"
    words += memory_words(from_memory=judgement.from_memory)
    return f"{words}: {judgement.slip}" if judgement.slip else words


def _mend(judgement: "Judgement") -> str:
    """Where it hangs on the friction, the friction is worth stating."""
    if judgement.grade == "error" or not judgement.assumed_friction:
        return _CHECK
    return f"{_CHECK}, or state the friction of this joint with `friction`"
