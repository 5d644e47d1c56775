"""What each verb does to each kind of item: one total state machine per kind, written as one table.

The engine runs these tables and the proof reads them; there is no other copy of the rules. For every state and
every operation there is a row: the state it leads to, or a `Fault` that says in plain words why it is wrong.
Operations are the verbs; a fastener's `tightens` is one operation per stage (`tightens 1`, `tightens 2` …).
"""

from collections.abc import Mapping
from functools import lru_cache

from runner.frozen import Frozen
from runner.procedure.kinds import KINDS, final_states, stage_state, states_of
from runner.procedure.source import ItemKind


class Fault(Frozen):
    """An operation in the wrong state; `why` completes "it …" and `lift` names what would make it right."""

    why: str
    lift: str


Move = str | Fault


class Table(Frozen):
    """One kind's state machine. `states` stand from least to most advanced; `finals` are the closed ones."""

    kind: ItemKind
    states: tuple[str, ...]
    whole: str
    finals: tuple[str, ...]
    operations: tuple[str, ...]
    moves: Mapping[tuple[str, str], Move]

    def move(self, state: str, operation: str) -> Move:
        """Where `operation` leads from `state`; an operation the kind does not know is a fault too."""
        return self.moves.get(
            (state, operation), Fault("has no such operation", "ask the author of the procedure")
        )

    def rank(self, state: str) -> int:
        """How far a state is advanced; untouched counts as the most advanced of all, for nothing was done to it."""
        return len(self.states) if state == self.whole else self.states.index(state)


_TWO_STATES: Mapping[ItemKind, tuple[tuple[str, str, str], ...]] = {
    # operation, from, to
    "connection": (("disconnects", "connected", "disconnected"), ("connects", "disconnected", "connected")),
    "aid": (("puts in", "out", "in"), ("takes out", "in", "out")),
    "cover": (("takes off", "on", "off"), ("puts back", "off", "on")),
    "fitted part": (("takes out", "in", "out"), ("fits", "out", "in")),
    "fluid": (("drains", "full", "drained"), ("fills", "drained", "full")),
    "valve": (("opens", "shut", "open"), ("shuts", "open", "shut")),
    "lock": (("puts on", "off", "on"), ("takes off", "on", "off")),
}


def _two_states(kind: ItemKind) -> Mapping[tuple[str, str], Move]:
    moves: dict[tuple[str, str], Move] = {}
    for operation, before, after in _TWO_STATES[kind]:
        moves[before, operation] = after
        moves[after, operation] = Fault(f"is already {after}", f"it would have to be {before} first")
    return moves


def _fastener(stages: int) -> Mapping[tuple[str, str], Move]:
    done = [stage_state(number) for number in range(1, stages + 1)]
    seated = ["untouched", *done]
    moves: dict[tuple[str, str], Move] = {}
    for state in states_of("fastener", stages):
        moves[state, "loosens"] = (
            "loosened"
            if state in seated
            else Fault(
                f"is {state} already" if state == "loosened" else f"is {state}, not tight",
                "nothing to loosen",
            )
        )
        moves[state, "takes out"] = (
            "out" if state != "out" else Fault("is already out", "it would have to be in first")
        )
        moves[state, "starts"] = (
            "started"
            if state in ("out", "loosened")
            else Fault(
                "is already started" if state == "started" else f"is {state}",
                "it would have to be loosened or out",
            )
        )
        for number in range(1, stages + 1):
            below = "started" if number == 1 else stage_state(number - 1)
            moves[state, f"tightens {number}"] = (
                stage_state(number)
                if state == below
                else Fault(
                    f"is {state}", f"it would have to be {'started by hand' if number == 1 else below} first"
                )
            )
        moves[state, "re-tightens"] = (
            state
            if state in final_states("fastener", stages)
            else Fault(f"is {state}, not final", "only a final or untouched fastener is re-tightened")
        )
    return moves


@lru_cache(maxsize=256)
def table(kind: ItemKind, stages: int = 0) -> Table:
    """The state machine of `kind`; `stages` counts only for a fastener."""
    moves = _fastener(stages) if kind == "fastener" else _two_states(kind)
    return Table(
        kind=kind,
        states=states_of(kind, stages),
        whole=KINDS[kind].whole,
        finals=final_states(kind, stages),
        operations=tuple(dict.fromkeys(operation for _, operation in moves)),
        moves=moves,
    )
