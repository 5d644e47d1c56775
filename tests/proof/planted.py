# ruff: noqa: E501  one fault a line
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

from runner.proof import book, chances, control, deeds, parts, sweep
from tests.proof.agreement import Tally, compare
from tests.proof.generate import seeded


@dataclass(frozen=True)
class Planted:
    """One line of the proof made wrong."""

    what: str
    module: ModuleType
    name: str
    old: str
    new: str
    seed: int
    """A case in which it is noticed (`python -m tests.proof.planted` looks for new ones)."""

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
    Planted("acts never end half done", deeds, "deed", "frozenset(late)", "frozenset({refused})",20254),
    Planted("needs of items are not asked", deeds, "deed", "not in test.values", "in ()",20014),
    Planted("a wrong act closes the item", deeds, "_act", "yield state, state, Breach(\"wrong-state\"", "yield state, unit.with_item(state, act.item, machine.whole), Breach(\"wrong-state\"",20002),
    Planted("only-when is not asked", deeds, "_act", "(index, stage) in barred", "False",20060),
    Planted("an open window is not noted", deeds, "Stand.cued", "self.opened(state, place)", "False",20004),
    Planted("what is due may stay owed", deeds, "Stand.begins", "after = unit.with_off(after, name, NOT_OWED)", "pass",20007),
    Planted("what waits for another does not wait", deeds, "Stand.begins", "set(asked).union(", "set(asked).difference(",20079),
    Planted("nothing is due at the end", book, "Book.due", "return tuple(windows.pending)", "return ()",20004),
    Planted("an at-window is open anywhere", book, "Book.opens", "at in until.nodes", "True",20017),
    Planted("a needed condition of what is taken up is not asked", deeds, "Stand.taken_up", "done.breaches | unmet", "done.breaches",21378),
    Planted("an item of another place is left open", book, "Book.closed_here", "return not tests or any(held for _, held in self.control.valuations.readings(valuation, tests))", "return True",20011),
    Planted("a refused step sets its conditions", control, "Explorer._exits", "node.hold.refused, valuation,", "node.hold.refused, done,", 20243),
    Planted("a step that is late sets its conditions", control, "Explorer._exits", 'assign(valuation, answer, "too late")', 'assign(done, answer, "too late")',20241),
    Planted("a time limit runs before its start", control, "Explorer._exits", "value is None or value is True", "True",23357),
    Planted("a way back is never used up", control, "Explorer._counted", "count + 1", "count",20002),
    Planted("a part at hand is asked for again", parts, "_Uses._asked", "and not unit.flag(local, fresh)", "",20003),
    Planted("a hazard is not told", sweep, "Ledger.leave", "self.hazardous(valuation)", "False", 20012),
    Planted("a last chance is seen too late", chances, "last_chances", "leaving[state] & opened[state]", "danger[state] & opened[state]",20004),
)  # fmt: skip


def found(planted: Planted, seeds: range) -> int | None:
    """The first of these seeds in which a fault is noticed."""
    for seed in seeds:
        made = seeded(seed)
        right = Tally()
        compare(right, "", made)
        if right.wrong:
            continue
        with pytest.MonkeyPatch.context() as patch:
            planted.plant(patch)
            wrong = Tally()
            compare(wrong, "", made)
        if wrong.wrong:
            return seed
    return None


if __name__ == "__main__":
    for each in PLANTED:
        print(each.what, found(each, range(20_000, 22_000)), flush=True)
