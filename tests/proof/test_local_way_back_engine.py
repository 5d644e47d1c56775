"""P23 against the engine: random ways back, from every value found and every state of the item, each way taken."""

import copy
import json
import re
from typing import Any

import pytest
from hypothesis import event, given, seed, settings
from hypothesis import strategies as st

from runner.job import actions as a
from runner.job.items import table
from runner.procedure.link_whole import link
from runner.procedure.linked import Procedure
from runner.procedure.reader import read_procedure
from runner.proof.local import local_findings
from tests.job.bench_hand import Hand
from tests.procedure.procedure_text import _HEAD

Table = dict[str, Any]

HEIGHTS = ["low", "middle", "high"]
POWERS = ["on", "off"]
ITEMS: dict[str, Table] = {
    "cap": {"kind": "cover"},
    "bolt": {"kind": "fastener", "tighten": [{"torque": "50 N·m ±4 %"}, {"snug": "once more"}]},
}
VERBS = {
    "cap": ["takes off", "puts back"],
    "bolt": ["loosens", "starts", "tightens", "re-tightens", "takes out"],
}

PAIRS: dict[str, list[tuple[Table, Table]]] = {
    "cap": [({"takes off": ["cap"]}, {"puts back": ["cap"]})],
    "bolt": [
        ({"re-tightens": ["bolt"]}, {"re-tightens": ["bolt"]}),
        ({"loosens": ["bolt"]}, {"starts": ["bolt"], "tightens": ["bolt"]}),
    ],
}
"""What often stands around the other steps, so that many ways leave the item as it was."""


@st.composite
def steps(draw: st.DrawFn, item: str, goal: str) -> list[Table]:
    """A few steps: acts on the item, changes of height, needs, guards and questions that lead on, away or inside."""
    made: list[Table] = []
    asked: list[str] = []

    def step(name: str, *, nested: bool = False) -> Table:
        one: Table = {"step": name, "do": "Do it."}
        heights = st.lists(st.sampled_from(HEIGHTS), min_size=1, max_size=2, unique=True)
        kind = draw(st.sampled_from(["act", "set", "set", "ask", "ask", "both"]))
        if kind in ("act", "both"):
            one[draw(st.sampled_from(VERBS[item]))] = [item]
        if kind in ("set", "both"):
            one["sets"] = {"support": draw(st.sampled_from(HEIGHTS))}
        if kind == "ask" and not nested:
            one["look for"] = "How is it?"
            inner = [step(f"{name}-inside", nested=True)]
            one["answers"] = {"good": "go on", "bad": draw(st.sampled_from(["go on", "stop", inner]))}
        guards = [{}, {}, {}, {"support": draw(heights)}, {"power": draw(st.sampled_from(POWERS))}]
        guards += [{name: draw(st.sampled_from(["good", "bad"]))} for name in asked]
        if guard := draw(st.sampled_from(guards)):
            one["only if"] = guard
        if draw(st.integers(0, 5)) == 0:
            one["needs"] = {"support": draw(heights)}
        if "answers" in one:
            asked.append(name)
        return one

    for number in range(draw(st.integers(0, 4))):
        made.append(step(f"s{number}"))
    if draw(st.booleans()):
        first, last = draw(st.sampled_from(PAIRS[item]))
        made = [{"step": "open", "do": "Do it.", **first}, *made, {"step": "close", "do": "Do it.", **last}]
    if draw(st.integers(0, 3)):
        made.append({"step": "last", "do": "Do it.", "sets": {"support": goal}})
    return made or [{"step": "none", "do": "Do it."}]


@st.composite
def cases(draw: st.DrawFn) -> tuple[str, Table, Table]:
    """The item's name, the main file and the file of its way back, which leads to one of the heights."""
    item = draw(st.sampled_from(list(ITEMS)))
    goal = draw(st.sampled_from(HEIGHTS))
    changes = {height: [other for other in HEIGHTS if other != height] for height in HEIGHTS}
    if draw(st.booleans()):
        of = draw(st.sampled_from(HEIGHTS))
        changes[of] = changes[of][:1]
    power = {"at start": POWERS, "changes": {"on": ["off"], "off": ["on"]}}
    head = {name: value for name, value in _HEAD.items() if name not in ("people", "sources", "close out")}
    head |= {"people": {"performer": "1"}, "sources": ["Invented"], "close out": ["Look round"]}
    entered = draw(
        st.sampled_from([HEIGHTS, HEIGHTS, [height for height in HEIGHTS if height != goal], HEIGHTS[:2]])
    )
    used = head | {
        "procedure": "way",
        "conditions": {"support": {"at start": entered, "changes": changes}, "power": power},
        "ends with": {"support": goal},
        "items": {item: ITEMS[item]},
        "steps": draw(steps(item, goal)),
    }
    support = {"at start": goal, "changes": changes, "getting there": {goal: "way.yaml"}}
    main = head | {
        "conditions": {"support": support, "power": power},
        "steps": [{"step": "stand", "do": "Stand there."}],
    }
    return item, main, used


def linked(item: str, state: str, main: Table, used: Table) -> Procedure | None:
    used = used | {"items": {item: used["items"][item] | {"at start": state}}}
    read = {
        name: read_procedure(json.dumps(data).encode(), name)[0] for name, data in (("a", main), ("b", used))
    }
    assert read["a"] is not None
    assert read["b"] is not None
    return link(read["a"], lambda path, mark: read["b"])[0]


class Brute:
    """What goes wrong on the ways back from one value found, over every run."""

    def __init__(self) -> None:
        self.wrong: set[str] = set()
        self.back = False

    def walk(self, hand: Hand, item: str, first: str, goal: str) -> None:
        """Take every way on from where the hand stands."""
        while hand.job.detour and hand.job.phase == "working":
            now = hand.demand
            if now.kind == "blocked":
                # An act that cannot be done first is not a fault of the way: the item would not have been found so.
                if now.subject != item or hand.entries_acts():
                    self.wrong.add(now.subject)
                return
            if now.kind in ("look", "question"):
                for option in now.options[1:]:
                    other = copy.copy(hand)
                    other.entries = list(hand.entries)
                    other.do(a.Look, label=option.key)
                    self.walk(other, item, first, goal)
            hand.answer(now)
        if hand.job.phase != "working":
            return
        self.back = True
        if hand.job.found or hand.job.conditions["support"] != goal:
            self.wrong.add("support")
        one = hand.procedure.item_by_key[item]
        finals = table(one.kind, len(one.stages)).finals
        last = hand.state(item)
        if last != first and not {first, last} <= set(finals):
            self.wrong.add("left")


def compare(item: str, main: Table, used: Table) -> None:
    goal = used["ends with"]["support"]
    stages = len(ITEMS[item].get("tighten", ()))
    states = table(ITEMS[item]["kind"], stages).states
    made = [linked(item, state, main, used) for state in states]
    if made[0] is None:
        event("does not link")
        return
    findings = [one for one in local_findings(made[0]) if one.rule == "way-back-broken"]
    told = {
        found
        for one in findings
        for found in re.findall(
            "|".join(HEIGHTS), one.message.partition("where it is found ")[2].partition(":")[0]
        )
    }
    broken = set()
    for found in HEIGHTS:
        if found == goal:
            continue
        brute = Brute()
        for state, procedure in zip(states, made, strict=True):
            assert procedure is not None
            for power in POWERS:
                hand = Hand(procedure, start={"power": power, "support": goal})
                hand.do(a.FoundCondition, name="support", value=found)
                brute.walk(hand, procedure.items[0].key, state, goal)
        if brute.wrong or not brute.back:
            broken.add(found)
    event(f"{len(broken)} of 2 broken")
    assert told == broken, "\n".join(one.text() for one in findings)


@seed(23)
@given(cases())
@settings(max_examples=15, deadline=None)
def test_the_walk_agrees_with_the_engine(case: tuple[str, Table, Table]):
    compare(*case)


@pytest.mark.deep
@given(cases())
@settings(max_examples=1000, deadline=None)
def test_the_walk_agrees_with_the_engine_deep(case: tuple[str, Table, Table]):
    compare(*case)
