"""The rules of the way: what is passed on arrival, which exit leads where, when put-off work is open and due.

They know neither jobs nor the states of a proof: they ask for what holds. The engine answers from the job in hand,
the proof from each state that it explores, so that both go by one copy.
"""

from collections.abc import Callable, Mapping, Sequence
from typing import Literal, Protocol

from runner.procedure.linked import Act, Exit, Node, PutOff, Test, Window

Passing = Literal["", "skipped", "absent", "joint", "owed", "listed"]
"""Why work does not stand at a step on arrival; "" where it does."""


class Arriving(Protocol):
    """What an arrival asks of whoever knows."""

    def holds(self, tests: Sequence[Test]) -> bool:
        """Whether all tests hold now."""

    def absent(self, node: Node) -> bool:
        """Whether this work piece does not have the step."""

    def owed(self, node: Node) -> bool:
        """Whether the step is owed already."""

    def opens(self, node: Node) -> bool:
        """Whether the window of the put-off step is open."""


def passing(node: Node, now: Arriving, *, detour: bool = False) -> Passing:
    """What happens on arrival at a step. Nothing is put off on a detour."""
    if not now.holds(node.guard):
        return "skipped"
    if now.absent(node):
        return "absent"
    if node.joint is not None and now.holds(node.needs):
        return "joint"
    if node.put_off is not None and not detour:
        if now.owed(node):
            return "owed"
        if not (may_be_done_on_arrival(node.put_off) and now.opens(node)):
            return "listed"
    return ""


def may_be_done_on_arrival(put_off: PutOff) -> bool:
    """Whether a put-off step is done as it is reached where its window is open. One with a latest time is listed (and
    cued at once): what is owed is watched by the clock. A window at a later step is not open here.
    """
    return put_off.no_later is None and put_off.until.kind != "at"


def led(way: Exit, taken: Callable[[str], int]) -> tuple[str, str]:
    """Where an exit leads, and the limit that counts this time ("" for none); `taken` says how often one was used."""
    while way.limit is not None:
        if taken(way.limit.id) < way.limit.at_most:
            return way.to, way.limit.id
        way = way.limit.then
    return way.to, ""


def is_open(
    window: Window,
    *,
    holds: Callable[[Sequence[Test]], bool],
    done: Callable[[str], bool],
    at: str,
    passed: Callable[[], bool],
) -> bool:
    """Whether a window is open where the main line stands at `at`; `passed` says whether its time is over."""
    if window.kind == "condition":
        return holds(window.tests)
    if window.kind == "done":
        return all(done(node) for node in window.nodes)
    if window.kind == "at":
        return at in window.nodes
    return any(done(node) for node in window.nodes) and passed()


def comes_before(put_off: PutOff, node: Node, conditions: Mapping[str, str]) -> bool:
    """Whether a put-off step is due before `node`, standing where the conditions are as given."""
    before = put_off.before
    if before.kind == "step":
        return node.id in before.nodes
    test = before.test
    return test is not None and any(
        name == test.name and value in test.values and conditions.get(name) != value
        for name, value in node.sets
    )


def stages_meant(act: Act, stages: int) -> range:
    """The stages an act of tightening means, counted from 1, of a fastener that has so many."""
    first, last = act.stages or (1, stages)
    return range(first, last + 1)


def reached(state: str) -> int:
    """The stage a fastener has reached: 0 when only started, -1 when it is not even that."""
    if state.startswith("stage "):
        return int(state.removeprefix("stage "))
    return 0 if state == "started" else -1


def operations(act: Act, stages: int, state: str) -> tuple[str, ...]:
    """What an act asks of an item at `state`, in order. An act of tightening that finds all its stages done is asked
    as its first stage, which is a fault.
    """
    if act.verb != "tightens":
        return (act.verb,)
    left = [number for number in stages_meant(act, stages) if reached(state) < number]
    return tuple(f"tightens {number}" for number in left) or ("tightens 1",)
