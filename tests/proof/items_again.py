"""What a step does to an item, written out again by the guide's tables: a wrong row in the engine's would be seen."""

from runner.procedure.linked import Act, Item, Node, Test
from tests.proof.product import STAND, At

PAIRS = {
    "connection": ("connected", "disconnected", "disconnects", "connects"),
    "aid": ("out", "in", "puts in", "takes out"),
    "cover": ("on", "off", "takes off", "puts back"),
    "fitted part": ("in", "out", "takes out", "fits"),
    "fluid": ("full", "drained", "drains", "fills"),
    "valve": ("shut", "open", "opens", "shuts"),
    "lock": ("off", "on", "puts on", "takes off"),
}
"""By kind: closed, open, the verb that opens, the verb that closes."""


def states(item: Item) -> tuple[str, ...]:
    if item.kind != "fastener":
        return PAIRS[item.kind][:2]
    return ("untouched", "loosened", "out", "started", *(f"stage {n + 1}" for n in range(len(item.stages))))


def closed(item: Item) -> tuple[str, ...]:
    if item.kind != "fastener":
        return PAIRS[item.kind][:1]
    return ("untouched", f"stage {len(item.stages)}")


def deed(node: Node | None, at: At, item: Item, state: str) -> tuple[str, set[str], set[str]]:
    """What a step makes of an item: its state after the gate, those in which the time can be over, rules broken."""
    partly, broken = {state}, set[str]()
    for act in node.acts if node and at.place == STAND else ():
        partly.add(state)
        if act.item != item.key:
            continue
        for operation, stage in operations(act, item, state):
            after = one_move(item, state, operation, stage)
            if after is None:
                broken.add("wrong-state")
                break
            if any(
                at.value("condition", test.name) not in test.values
                for test in only_when(item, operation, stage)
            ):
                broken.add("wrong-moment")
                break
            partly.add(state)
            state = after
    if node is not None and (
        node.wait is not None
        or node.answers
        or node.hold
        or any(r.kind != "worked out" for r in node.readings)
    ):
        partly.add(state)
    return state, partly, broken


def operations(act: Act, item: Item, state: str) -> list[tuple[str, int]]:
    if act.verb != "tightens":
        return [(act.verb, 0)]
    first, last = act.stages or (1, len(item.stages))
    now = int(state.split()[1]) if state.startswith("stage") else 0
    left = [n for n in range(first, last + 1) if n > now]
    return [("tightens", n) for n in left] or [("tightens", 1)]


def only_when(item: Item, operation: str, stage: int) -> tuple[Test, ...]:
    if operation == "re-tightens":
        torques = [s for s in item.stages if s.kind == "torque"]
        return torques[-1].only_when if torques else ()
    return item.stages[stage - 1].only_when if operation == "tightens" else ()


def one_move(item: Item, state: str, verb: str, stage: int) -> str | None:
    """Where an act leads; None where it is wrong. `tightens` is by one stage."""
    if item.kind != "fastener":
        whole, opened, opens, closes = PAIRS[item.kind]
        return {(whole, opens): opened, (opened, closes): whole}.get((state, verb))
    tight = state == "untouched" or state.startswith("stage")
    match verb:
        case "loosens":
            return "loosened" if tight else None
        case "takes out":
            return None if state == "out" else "out"
        case "starts":
            return "started" if state in ("out", "loosened") else None
        case "re-tightens":
            return state if state in closed(item) else None
        case _:
            below = "started" if stage == 1 else f"stage {stage - 1}"
            return f"stage {stage}" if state == below else None
