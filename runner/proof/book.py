"""What is asked at each place of the control graph, of units and of conditions; each answer is worked out once."""

from collections.abc import Iterator, Sequence

from runner.job.items import Table
from runner.job.tightening import torque_stage
from runner.job.way import comes_before, stages_meant
from runner.procedure.linked import Act, Node, Stage, Test
from runner.proof.control import Control
from runner.proof.deeds import Breach
from runner.proof.finals import agreed_open
from runner.proof.transfers import Barred
from runner.proof.units import Mark, Unit, used_inputs
from runner.proof.variables import ConditionIds
from runner.proof.windows import Windows

HERE, UNWARNED = 1, 2
"""The two lowest bits: some run comes here; some run without having met an injury notice so far."""

_NOTHING_BARRED: Barred = frozenset()


class Book:
    """The units of a procedure, and what steps, windows and conditions ask of them."""

    def __init__(self, control: Control, units: tuple[Unit, ...]) -> None:
        self.procedure = control.procedure
        self.control = control
        self.units = units
        alike: dict[object, int] = {}
        self.shapes = [alike.setdefault(unit.shape, len(alike)) for unit in units]
        """By unit, a number for its shape: the shape itself takes long to look up."""
        self.unit_of = {name: unit for unit in units for name in unit.names}
        self.conditions = ConditionIds(control.valuations)
        self.windows = Windows(self.procedure, units)
        self.asking: set[str] = set()
        """The steps whose gate has to do with any unit, or needs a condition."""
        self.calm: set[str] = set()
        """The others, as far as no time limit and no injury notice has to be looked at either."""
        flagged = {name for unit in units for _, name in unit.flags}
        for node in self.procedure.nodes:
            if node.acts or node.needs or node.readings or node.id in flagged:
                self.asking.add(node.id)
            elif node.in_time is None and not (node.notices and node.warns):
                self.calm.add(node.id)
        self._hazards = [(c.name, c.hazardous) for c in self.procedure.conditions if c.hazardous]
        self._touched: dict[str, tuple[Unit, ...]] = {}
        self._only_when: dict[str, list[tuple[int, int, tuple[Test, ...]]]] = {}
        self._barred: dict[tuple[str, int], Barred] = {}
        self._unmet: dict[tuple[str, int], tuple[str, ...]] = {}
        self._left_open = agreed_open(self.procedure)
        self._of_bit = [0] * (2 + sum(unit.size for unit in units))
        for unit in units:
            for place in range(unit.offset, unit.offset + unit.size):
                self._of_bit[place] = unit.number

    @staticmethod
    def part(sets: int, unit: Unit) -> int:
        """The set of one unit among all."""
        return sets >> unit.offset & (1 << unit.size) - 1

    def touched(self, node: Node) -> tuple[Unit, ...]:
        """The units that the gate of a step asks or moves."""
        found = self._touched.get(node.id)
        if found is None:
            names: list[str | Mark] = [act.item for act in node.acts]
            names += [test.name for test in node.needs if test.kind == "item"]
            names += [("done", node.id), ("entered", node.id)]
            names += [("entered", source) for source in used_inputs(node)]
            units = dict.fromkeys(unit for name in names if (unit := self.unit_of.get(name)) is not None)
            found = self._touched[node.id] = tuple(units)
        return found

    def pending(self, name: str) -> int:
        """The bits in which a put-off step is owed."""
        return self.windows.pending[name]

    def condition_number(self, valuation: int) -> int:
        """A number for the conditions of a valuation."""
        return self.conditions.of(valuation)

    def open_by_condition(self, valuation: int) -> list[str]:
        """The put-off steps whose window is open by the conditions."""
        holds = self.control.valuations.holds
        return [name for name, tests in self.windows.by_condition if holds(valuation, tests)]

    def open_at(self, node: str) -> Sequence[str]:
        """The put-off steps whose window is open where work stands at a step."""
        return self.windows.at.get(node, ())

    def window_open(self, name: str, at: str, valuation: int) -> bool:
        """Whether the window of a put-off step is open by condition, or at a step, where work stands at `at`."""
        return bool(self.opens(self.procedure.by_id[name], at, valuation))

    def units_in(self, sets: int) -> Iterator[Unit]:
        """The units that have a bit in `sets`, in order."""
        sets &= ~(HERE | UNWARNED)
        while sets:
            unit = self.units[self._of_bit[(sets & -sets).bit_length() - 1]]
            sets ^= sets & unit.mask
            yield unit

    def stages(self, item: str) -> tuple[Stage, ...]:
        """The stages of an item."""
        return self.procedure.item_by_key[item].stages

    def table(self, item: str) -> Table:
        """The state machine of an item."""
        unit = self.unit_of[item]
        return unit.tables[unit.place_of[item]]

    def unit_for(self, breach: Breach) -> int | None:
        """The number of the unit that decides a breach; None where conditions alone, or notices, do."""
        by_rule: dict[str, tuple[str | Mark, ...]] = {
            "not-as-needed": (breach.subject,),
            "agreement-broken": (breach.subject,),
            "wrong-state": (breach.subject,),
            "wrong-moment": (breach.subject,),
            "left-open": (breach.subject,),
            "missed-window": (("off", breach.node),),
            "change-too-soon": (("off", breach.node),),
            "not-yet-entered": (("entered", breach.subject),),
        }
        names = by_rule.get(breach.rule, ())
        node = self.procedure.by_id.get(breach.node)
        if node is not None and node.put_off is not None:
            names = (*names, ("off", breach.node))
        return next((unit.number for name in names if (unit := self.unit_of.get(name)) is not None), None)

    def due(self, node: Node | None, valuation: int) -> tuple[str, ...]:
        """The put-off steps that come before a step (or the end)."""
        windows = self.windows
        if node is None:
            return tuple(windows.pending)
        names = [*windows.before_step.get(node.id, ())]
        for change in node.sets:
            names += windows.before_change.get(change, ())
        if not names:
            return ()
        now = self.control.valuations.conditions(valuation)
        by_id = self.procedure.by_id
        return tuple(
            name
            for name in dict.fromkeys(names)
            if (put_off := by_id[name].put_off) is not None and comes_before(put_off, node, now)
        )

    def opens(self, step: Node, at: str, valuation: int) -> bool | None:
        """Whether a window is open where work stands at `at`, by conditions or place; None where the ledger knows."""
        assert step.put_off is not None
        until = step.put_off.until
        if until.kind == "condition":
            return self.control.valuations.holds(valuation, until.tests)
        if until.tests and not self.control.valuations.holds(valuation, until.tests):
            return False  # it waits for conditions and for other work
        return at in until.nodes if until.kind == "at" else None

    def barred(self, node: Node, valuation: int) -> Barred:
        """The (act, stage) whose `only when` does not hold; stage 0 for re-tightening."""
        stages = self._only_when.get(node.id)
        if stages is None:
            stages = self._only_when[node.id] = [
                (index, stage, tests)
                for index, act in enumerate(node.acts)
                for stage, tests in self._stages(act)
                if tests
            ]
        if not stages:
            return _NOTHING_BARRED
        key = (node.id, self.conditions.of(valuation))
        found = self._barred.get(key)
        if found is None:
            holds = self.control.valuations.holds
            found = self._barred[key] = frozenset(
                (index, stage) for index, stage, tests in stages if not holds(valuation, tests)
            )
        return found

    def _stages(self, act: Act) -> list[tuple[int, tuple[Test, ...]]]:
        """The stages that an act may come to, each with its `only when`."""
        if act.verb not in ("tightens", "re-tightens"):
            return []
        item = self.procedure.item_by_key[act.item]
        if act.verb == "tightens":
            return [(n, item.stages[n - 1].only_when) for n in stages_meant(act, len(item.stages))]
        return [(0, item.stages[torque_stage(item) - 1].only_when)] if torque_stage(item) else []

    def unmet(self, node: Node, valuation: int) -> tuple[str, ...]:
        """The conditions that a step needs and that do not hold."""
        key = (node.id, self.conditions.of(valuation))
        found = self._unmet.get(key)
        if found is None:
            found = self._unmet[key] = tuple(
                test.name
                for test in node.needs
                if test.kind == "condition" and not self.control.valuations.holds(valuation, (test,))
            )
        return found

    def hazardous(self, valuation: int) -> bool:
        """Whether a condition stands at a hazardous value."""
        now = self.control.valuations.conditions(valuation)
        return any(now.get(name) in values for name, values in self._hazards)

    def closed_here(self, item: str, valuation: int) -> bool:
        """Whether an item must be closed by this procedure: it exists, and no agreement says that it is left open."""
        if item in self._left_open:
            return False
        tests = self.procedure.item_by_key[item].exists
        return not tests or any(held for _, held in self.control.valuations.readings(valuation, tests))
