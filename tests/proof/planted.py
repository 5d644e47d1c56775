"""Faults planted in the proof, one at a time: the comparison with the brute force must notice each.

A fault is a line of a function rewritten; wherever the proof holds the function, the changed one takes its place. A
line that is not found fails the test, so that the table here follows the proof.
"""

import inspect
import sys
import textwrap
from dataclasses import dataclass
from types import ModuleType
from typing import Any

import pytest

from runner.proof import chances, control, deeds, parts, sweep


@dataclass(frozen=True)
class Planted:
    """One line of the proof made wrong."""

    what: str
    module: ModuleType
    name: str
    old: str
    new: str

    def plant(self, patch: pytest.MonkeyPatch) -> None:
        """Put the wrong function where the right one is held."""
        holder: Any = self.module
        *owners, last = self.name.split(".")
        for owner in owners:
            holder = getattr(holder, owner)
        right = inspect.getattr_static(holder, last)
        source = textwrap.dedent(inspect.getsource(right))
        assert self.old in source, f"{self.what}: {self.name} has no line {self.old!r}"
        made: dict[str, Any] = {}
        exec(
            compile(source.replace(self.old, self.new), self.module.__file__ or "", "exec"),
            vars(self.module),
            made,
        )
        wrong = made[last]
        patch.setattr(holder, last, wrong)
        for name, module in list(sys.modules.items()):
            if name.startswith("runner.proof"):
                for key, held in list(vars(module).items()):
                    if held is right:
                        patch.setattr(module, key, wrong)


PLANTED = (
    Planted("acts never end half done", deeds, "deed", "frozenset(late)", "frozenset({refused})"),
    Planted("needs of items are not asked", deeds, "deed", "not in test.values", "in ()"),
    Planted("a wrong act closes the item", deeds, "_act", "yield state, state, Breach(\"wrong-state\"", "yield state, unit.with_item(state, act.item, machine.whole), Breach(\"wrong-state\""),
    Planted("only-when is not asked", deeds, "_act", "(index, stage) in barred", "False"),
    Planted("an open window is not noted", deeds, "Stand.cued", "self.opened(state, place)", "False"),
    Planted("what is due may stay owed", deeds, "Stand.begins", "after = unit.with_off(after, name, NOT_OWED)", "pass"),
    Planted("what waits for another does not wait", deeds, "Stand.begins", "set(asked).union(", "set(asked).difference("),
    Planted("nothing is due at the end", sweep, "Ledger.due", "return tuple(windows.pending)", "return ()"),
    Planted("an at-window is open anywhere", sweep, "Ledger._opens", "at in until.nodes", "True"),
    Planted("a needed condition of what is taken up is not asked", deeds, "Stand.taken_up", "done.breaches | unmet", "done.breaches"),
    Planted("an item of another place is left open", sweep, "Ledger._at_end", "self._closed_here(item, valuation)", "True"),
    Planted("a refused step sets its conditions", control, "Explorer._exits", "if said else valuation\n", "if said else done\n"),
    Planted("a step that is late sets its conditions", control, "Explorer._exits", 'assign(valuation, answer, "too late")', 'assign(done, answer, "too late")'),
    Planted("a time limit runs before its start", control, "Explorer._exits", "value is None or value is True", "True"),
    Planted("a way back is never used up", control, "Explorer.leads", "count + 1", "count"),
    Planted("a part at hand is asked for again", parts, "_Uses._asked", "and not unit.part(local, fresh)", ""),
    Planted("a notice is heard afterwards", sweep, "Ledger.leave", "if node.warns:\n", "if False:\n"),
    Planted("a last chance is seen too late", chances, "last_chances", "leaving[state] & opened[state]", "danger[state] & opened[state]"),
)  # fmt: skip
