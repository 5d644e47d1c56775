"""The linked procedure of a log's header, read as plain data: what each step, item and condition asks."""

import ast
from decimal import Decimal, DivisionByZero, InvalidOperation
from typing import Any

Data = dict[str, Any]

WHOLE = {"fastener": "untouched", "connection": "connected", "aid": "out", "cover": "on", "fitted part": "in",
         "fluid": "full", "valve": "shut", "lock": "off"}  # fmt: skip

VERBS = {
    ("connection", "disconnects"): ("connected", "disconnected"),
    ("connection", "connects"): ("disconnected", "connected"),
    ("aid", "puts in"): ("out", "in"),
    ("aid", "takes out"): ("in", "out"),
    ("cover", "takes off"): ("on", "off"),
    ("cover", "puts back"): ("off", "on"),
    ("fitted part", "takes out"): ("in", "out"),
    ("fitted part", "fits"): ("out", "in"),
    ("fluid", "drains"): ("full", "drained"),
    ("fluid", "fills"): ("drained", "full"),
    ("valve", "opens"): ("shut", "open"),
    ("valve", "shuts"): ("open", "shut"),
    ("lock", "puts on"): ("off", "on"),
    ("lock", "takes off"): ("on", "off"),
}
"""Kind and verb: from which state to which. Fasteners have more states, see `Book.after`."""


class Book:
    """Looks things up in the procedure."""

    def __init__(self, header: Data) -> None:
        self.procedure: Data = header["procedure"]
        self.proved: bool = header.get("gates", {}).get("proved", False)
        self.last_chance: Data = header.get("gates", {}).get("last_chance", {})
        self.nodes: dict[str, Data] = {node["id"]: node for node in self.procedure.get("nodes", ())}
        self.items: dict[str, Data] = {item["key"]: item for item in self.procedure.get("items", ())}
        self.conditions: dict[str, Data] = {c["name"]: c for c in self.procedure.get("conditions", ())}
        self.first: str = self.procedure.get("first", "end")

    def stages(self, item: str) -> list[Data]:
        """The tightening of an item."""
        return self.items[item].get("stages", [])

    def finals(self, item: str) -> tuple[str, ...]:
        """The states in which an item is closed."""
        kind, stages = self.items[item]["kind"], self.stages(item)
        return (WHOLE[kind], f"stage {len(stages)}") if kind == "fastener" and stages else (WHOLE[kind],)

    def rank(self, item: str, state: str) -> int:
        """How far a state is advanced; the whole one most of all."""
        if state == WHOLE[self.items[item]["kind"]]:
            return 1000
        if state.startswith("stage "):
            return 2 + int(state[6:])
        return {"loosened": 0, "out": 1, "started": 2}.get(state, 0)

    def after(self, item: str, verb: str, state: str) -> str | None:
        """The state after a verb that is no tightening; None where it cannot be done."""
        if self.items[item]["kind"] != "fastener":
            before, after = VERBS[self.items[item]["kind"], verb]
            return after if state == before else None
        tight = state == "untouched" or state.startswith("stage ")
        if verb == "loosens":
            return "loosened" if tight else None
        if verb == "takes out":
            return "out" if state != "out" else None
        if verb == "starts":
            return "started" if state in ("out", "loosened") else None
        if verb == "re-tightens":  # of a group without any torque: no number, no change
            return state if state in self.finals(item) else None
        return None

    def span(self, act: Data) -> tuple[int, int]:
        """First and last stage of an act that tightens."""
        first, last = act.get("stages") or (1, len(self.stages(act["item"])))
        return first, last

    def waits(self, node: str, acts: tuple[int, ...], *, again: bool) -> list[Data]:
        """What must hold before work owed off the plan can be done: its needs and the *only when* of its stages.

        Work owed again needs its conditions alone, and a step that was put off for a reason waits for it again.
        """
        step = self.nodes[node]
        tests = [test for test in step.get("needs", ()) if not again or test["kind"] == "condition"]
        if again and step.get("put_off"):
            tests += step["put_off"]["until"].get("tests", ())
        for index, act in enumerate(step.get("acts", ())):
            if act["verb"] == "tightens" and not (again and acts and index not in acts):
                first, last = self.span(act)
                for stage in self.stages(act["item"])[first - 1 : last]:
                    tests += stage.get("only_when", ())
        return tests

    def torque_stage(self, item: str) -> int:
        """What a re-tightening is held against: the last torque."""
        return max((n for n, s in enumerate(self.stages(item), 1) if s["kind"] == "torque"), default=0)

    def reading(self, node: str, name: str) -> Data | None:
        """One reading of a step."""
        return next((r for r in self.nodes[node].get("readings", ()) if r["name"] == name), None)

    def may_become(self, name: str, now: str, then: str) -> bool:
        """Whether the author allows the change of a condition."""
        return now == then or then in dict(self.conditions[name]["changes"]).get(now, ())

    def exits(self, node: Data) -> dict[str, Data]:
        """The ways of a step that an answer or a sorted reading chooses, by label."""
        ways = list(node.get("answers", ()))
        ways += [s["exit"] for r in node.get("readings", ()) for s in r.get("sorting", ())]
        return {way["label"]: way for way in ways}

    def asks_way(self, node: Data) -> bool:
        """Whether a step cannot be left without an answer."""
        return bool(node.get("answers")) or any(r.get("sorting") for r in node.get("readings", ()))

    def is_critical(self, node: str, subject: str) -> bool:
        """Whether a departure at this step about this subject needs a second person's word."""
        step = self.nodes.get(node, {})
        reading = self.reading(node, subject) if step else None
        if step.get("critical") or (reading and reading.get("critical")):
            return True
        return bool(subject in self.items and self.items[subject].get("critical"))


def inside(band: Data | None, value: Decimal) -> bool:
    """Whether a value lies in the band the author wrote; there is no other."""
    if band is None:
        return True
    low, high = band.get("low"), band.get("high")
    above = low is None or value > Decimal(low) or (value == Decimal(low) and not band.get("low_open"))
    below = high is None or value < Decimal(high) or (value == Decimal(high) and not band.get("high_open"))
    return above and below


def worked_out(formula: str, given: dict[str, Decimal]) -> Decimal | None:
    """A formula computed anew where every value has one unit; None where it has no value."""
    text = formula.replace("×", "*").replace("÷", "/").replace("−", "-").replace("·", "*")
    for name in sorted(given, key=len, reverse=True):
        text = text.replace(name, f"_{list(given).index(name)}_")
    try:
        return _value(ast.parse(text, mode="eval").body, list(given.values()))
    except (InvalidOperation, DivisionByZero, ZeroDivisionError):
        return None


_FUNCTIONS = {"abs": lambda v: abs(v[0]), "min": min, "max": max, "mean": lambda v: sum(v) / len(v)}


def _value(part: ast.expr, given: list[Decimal]) -> Decimal:
    match part:
        case ast.Name(id=name):
            return given[int(name.strip("_"))]
        case ast.Constant(value=number):
            return Decimal(str(number))
        case ast.UnaryOp(op=ast.USub(), operand=operand):
            return -_value(operand, given)
        case ast.Call(func=ast.Name(id=name), args=args):
            return Decimal(_FUNCTIONS[name]([_value(arg, given) for arg in args]))
        case ast.BinOp(left=left, op=op, right=right):
            one, two = _value(left, given), _value(right, given)
            signs = {
                ast.Add: one.__add__,
                ast.Sub: one.__sub__,
                ast.Mult: one.__mul__,
                ast.Div: one.__truediv__,
            }
            return signs[type(op)](two)
    raise ValueError(f"the judge cannot read {ast.dump(part)}")
