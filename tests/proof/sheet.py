"""A small procedure in the making, whose main line is lawful: what is opened is closed, conditions follow `changes`.

What holds where the pen stands is known (states of items, possible values of conditions), so that most sheets are
clean; `tests.proof.planting` then spoils some. Everything is invented.
"""

import json
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from runner.job.items import Fault, table
from runner.procedure.kinds import final_states
from tests.job.properties.dice import Dice

Step = dict[str, Any]
Steps = list[Any]

DANGER = {"hazard": "It can fall.", "consequence": "crushing", "avoid": "Stay clear."}
KINDS = (
    "fastener",
    "fastener",
    "fastener",
    "connection",
    "aid",
    "cover",
    "fitted part",
    "fluid",
    "valve",
    "lock",
)
VALUES = {"support": ("down", "up", "half"), "supply": ("live", "dead", "low")}


@dataclass
class Item:
    """An item on the sheet: how it is declared, its state here, and whether something else will act on it."""

    name: str
    about: dict[str, Any]
    stages: int
    state: str
    locked: bool = False
    uses: int = 0
    fresh: bool = False

    @property
    def kind(self) -> Any:
        return self.about["kind"]

    @property
    def final(self) -> bool:
        return self.state in final_states(self.kind, self.stages)


class Sheet:
    """The procedure so far. `now` are the values each condition may have where the pen stands."""

    def __init__(self, dice: Dice, *, name: str = "generated") -> None:
        self.dice, self.name = dice, name
        self.conditions: dict[str, dict[str, Any]] = {}
        self.now: dict[str, set[str]] = {}
        self.items: dict[str, Item] = {}
        self.used: dict[str, dict[str, Any]] = {}
        self.contract: dict[str, Any] = {}
        self.hooks: list[tuple[int, Callable[[str], None]]] = []
        self.asked: list[tuple[str, tuple[str, ...]]] = []
        self.read: list[str] = []
        self.done: list[str] = []
        self.number = 0
        self.depth = 0
        self.warned = False
        self.variant = dice.chance(12)
        self.sided = dice.chance(18)
        self.chosen = dice.chance(60)

    # -- what there is

    def declare(self) -> None:
        """Draw the conditions and the items."""
        for name in list(VALUES)[: self.dice.pick((0, 1, 1, 1, 1, 2, 2))]:
            self._condition(name)
        for number in range(self.dice.pick((1, 1, 2, 2, 3, 4))):
            self._item(f"i{number + 1}")

    def _condition(self, name: str) -> None:
        dice = self.dice
        values = VALUES[name][: dice.pick((2, 2, 3))]
        if len(values) == 2 or dice.chance(40):
            changes = {v: [w for w in values if w != v] for v in values}
        else:
            changes = {values[0]: [values[1]], values[1]: [values[0], values[2]], values[2]: [values[1]]}
        start = list(values[:2]) if dice.chance(15) else [values[0]]
        self.conditions[name] = {"at start": start, "changes": changes}
        if dice.chance(35):
            self.conditions[name]["hazardous"] = [values[1]]
        self.now[name] = set(start)

    def _item(self, name: str) -> Item:
        dice = self.dice
        kind = dice.pick(KINDS)
        about: dict[str, Any] = {"kind": kind}
        stages = 0
        if kind == "fastener":
            stages = dice.pick((1, 1, 2))
            about["tighten"] = [
                {"torque": "60 N·m", "method": "click"} if dice.chance(25) else {"snug": "hand tight"}
                for _ in range(stages)
            ]
            if self.conditions and dice.chance(30):
                condition = dice.pick(list(self.conditions))
                value = dice.pick(list(self.conditions[condition]["changes"]))
                about["tighten"][-1]["only when"] = {condition: value}
            if dice.chance(25):
                about["count"] = "2"
        if kind in ("fastener", "fitted part") and dice.chance(40):
            about["new"] = "every time"
            about["part"] = "seal"
        state = table(kind, stages).whole
        if dice.chance(10):
            state = dice.pick(table(kind, stages).states)
            about["at start"] = state
        self.items[name] = Item(name, about, stages, state)
        return self.items[name]

    # -- steps

    def step(self, do: bool = True, **about: Any) -> Step:
        """A step with a name of its own; hooks that wait for a step of the main list may take its name."""
        self.number += 1
        name = f"s{self.number}"
        step: Step = {"step": name} | ({"do": f"Do {name}."} if do else {})
        step |= {key.replace("_", " "): value for key, value in about.items()}
        if self.depth == 0:
            ripe = [hook for hook in self.hooks if hook[0] <= 1]
            self.hooks = [(count - 1, hook) for count, hook in self.hooks if count > 1]
            for _, hook in ripe:
                hook(name)
        hazard = any(self.now[c] & set(about.get("hazardous", ())) for c, about in self.conditions.items())
        if (hazard and not self.warned) or self.dice.chance(4):
            step[self.dice.pick(("danger", "warning", "caution"))] = DANGER
            self.warned = self.warned or self.depth == 0
        return step

    def act(self, item: Item, verb: str, **more: Any) -> Step:
        """A step with one act, and the item in its next state."""
        step = self.step(**more)
        self.add_act(step, item, verb)
        return step

    def add_act(self, step: Step, item: Item, verb: str) -> None:
        """One more act on a step."""
        machine = table(item.kind, item.stages)
        if verb.startswith("tightens "):
            first, last = (int(n) for n in verb.split()[1:])
            words = "the rest" if last == item.stages else f"stages {first} to {last}"
            tight = step.setdefault("tightens", {})
            tight[item.name] = words
            item.state, item.fresh = f"stage {last}", False
            return
        step.setdefault(verb, []).append(item.name)
        if verb in ("starts", "fits") and "part" in item.about:
            # A new one that was started and taken out again before it was tightened is still good.
            item.uses += not item.fresh
            item.fresh = verb == "starts"
        move = machine.move(item.state, verb)
        assert not isinstance(move, Fault), (item.name, item.state, verb)
        item.state = move

    def choices(self, item: Item) -> list[str]:
        """The verbs that an item's state allows here, `only when` among what must hold."""
        machine = table(item.kind, item.stages)
        if item.locked:
            return []
        made = []
        for operation in machine.operations:
            if isinstance(machine.move(item.state, operation), Fault):
                continue
            if operation.startswith("tightens"):
                first = int(operation.split()[1])
                last = item.stages if self.dice.chance(60) else first
                if not self.may_tighten(item, last):
                    last = first
                if self.may_tighten(item, last):
                    made.append(f"tightens {first} {last}")
            elif operation == "re-tightens":
                if self.dice.chance(15) and self.may_tighten(item, item.stages):
                    made.append(operation)
            else:
                made.append(operation)
        return made

    def may_tighten(self, item: Item, last: int) -> bool:
        """Whether the last stage asked may be done with the conditions as they are here."""
        test = item.about["tighten"][last - 1].get("only when", {})
        return all(self.now[name] <= {value} for name, value in test.items())

    def toward_final(self, item: Item) -> list[str]:
        """The verbs that close an item from its state, one after another."""
        if item.kind == "fastener":
            if item.final:
                return []
            if item.state in ("loosened", "out"):
                return ["starts"]
            return [f"tightens {self._stage(item) + 1} {item.stages}"]
        machine = table(item.kind, item.stages)
        for operation in machine.operations:
            move = machine.move(item.state, operation)
            if not isinstance(move, Fault) and move in machine.finals:
                return [] if item.final else [operation]
        return []

    def _stage(self, item: Item) -> int:
        return int(item.state.split()[1]) if item.state.startswith("stage") else 0

    # -- conditions

    def set_to(self, name: str, value: str, **more: Any) -> Step:
        """A step that changes a condition."""
        step = self.step(**more)
        about = self.conditions[name]
        if value in about.get("hazardous", ()) and not self.warned:
            step["danger"] = DANGER
            self.warned = self.warned or self.depth == 0
        step["sets"] = {name: value}
        self.now[name] = {value}
        return step

    def reachable(self, name: str) -> list[str]:
        """The values to which a condition may go from every value it may have here."""
        changes = self.conditions[name]["changes"]
        return [v for v in changes if all(w == v or v in changes[w] for w in self.now[name])]

    def snapshot(self) -> Any:
        """What must be the same for a way back to be lawful."""
        return (
            tuple((i.state if not i.final else "final", i.locked) for i in self.items.values()),
            tuple(sorted((c, tuple(sorted(v))) for c, v in self.now.items())),
        )

    # -- the whole

    def data(self, steps: Steps) -> dict[str, Any]:
        """The whole file."""
        whole: dict[str, Any] = {
            "format": "1", "procedure": self.name, "title": "A generated job", "revision": "1",
            "fits": "an invented car", "sources": ["Invented data"], "people": {"performer": "1", "checker": "1"},
            "tools": "none", "parts": "none", "supplies": "none", "close out": ["Look round"], "steps": steps,
        }  # fmt: skip
        if self.conditions:
            whole["conditions"] = self.conditions
        if self.items:
            whole["items"] = {item.name: item.about for item in self.items.values()}
        if any("part" in item.about for item in self.items.values()):
            uses = sum(item.uses * int(item.about.get("count", 1)) for item in self.items.values())
            whole["parts"] = [{"name": "seal", "quantity": str(max(1, uses))}]
        if self.variant:
            whole["variants"] = {"kit": ["plain", "full"]}
        if self.sided:
            places = ["left", "right"]
            whole["locations"] = {"side": {"choose at start": places} if self.chosen else places}
        return whole | self.contract


def text(data: dict[str, Any]) -> str:
    """The file as text; JSON is YAML."""
    return json.dumps(data, ensure_ascii=False, indent=None)
