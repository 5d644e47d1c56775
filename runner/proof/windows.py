"""Where the put-off steps of a procedure are waited for: bits and places, worked out once."""

from runner.procedure.linked import Node, Procedure, Test
from runner.proof.units import Unit


class Windows:
    """Where the put-off steps of a procedure are waited for: bits and places, worked out once."""

    def __init__(self, procedure: Procedure, units: tuple[Unit, ...]) -> None:
        self.pending: dict[str, int] = {}
        self.by_flags = 0
        self.by_condition: list[tuple[str, tuple[Test, ...]]] = []
        self.at: dict[str, list[str]] = {}
        self.before_step: dict[str, list[str]] = {}
        self.before_change: dict[tuple[str, str], list[str]] = {}
        for unit in units:
            for name in unit.offs:
                self._add(procedure.by_id[name], unit)
        self.any = bool(self.pending)
        self.places = {*self.at, *self.before_step}
        """The steps at which something put off is open or due for other reasons than the conditions."""
        if self.before_change:
            self.places |= {
                node.id
                for node in procedure.nodes
                if node.sets and any(change in self.before_change for change in node.sets)
            }
        self.everything = 0
        for bits in self.pending.values():
            self.everything |= bits

    def _add(self, node: Node, unit: Unit) -> None:
        assert node.put_off is not None
        until, before = node.put_off.until, node.put_off.before
        waiting = unit.marked(("off", node.id))
        self.pending[node.id] = waiting << unit.offset
        if until.kind == "condition" or until.tests:
            self.by_condition.append((node.id, until.tests))
        if until.kind == "at":
            for name in until.nodes:
                self.at.setdefault(name, []).append(node.id)
        elif until.kind != "condition":
            done = [unit.marked(("done", name)) for name in until.nodes]
            together = waiting if until.kind == "done" else 0
            for each in done:
                together = together & each if until.kind == "done" else together | each
            self.by_flags |= (waiting & together) << unit.offset
        if before.kind == "step":
            for name in before.nodes:
                self.before_step.setdefault(name, []).append(node.id)
        elif before.test is not None:
            for value in before.test.values:
                self.before_change.setdefault((before.test.name, value), []).append(node.id)
