"""Hostile shapes: small or large procedures made to explode a proof, built in the linked form that the proof reads.

All of it is invented. They are those that a trial version of the proof was measured on: what is optional, put off or
remembered many times over, conditions moved independently, loops inside loops, and graphs that no author would write.
"""

import random
from collections.abc import Callable, Iterable, Iterator, Sequence

from runner.procedure.finding import Mark
from runner.procedure.linked import (
    END,
    STOP,
    Act,
    Condition,
    Due,
    Exit,
    Item,
    Limit,
    Node,
    Procedure,
    PutOff,
    Test,
    Verb,
    Window,
)

STEPS = 10_000
ITEMS = 500
_OFF: Verb = "takes off"
_ON: Verb = "puts back"


def shapes() -> Iterator[tuple[str, Callable[[], Procedure]]]:
    """Every shape by its name."""
    for degree in (2, 4):
        yield f"random graph, {degree} ways on", lambda d=degree: digraph(d)  # type: ignore[misc]
    yield "loops inside loops, 5,000 deep", loops
    yield "130 branches of distinct length", branches
    yield "16 optional items", lambda: optional(16)
    yield "12 put off at once", lambda: put_off(12)
    for number in (12, 16, 100, 200):
        yield f"{number} answers remembered", lambda n=number: answers(n)  # type: ignore[misc]
    for number in (6, 10, 16):
        yield f"{number} conditions moved alone", lambda n=number: conditions(n)  # type: ignore[misc]
    for number in (3, 30, 300):
        yield f"chain of {number} put off", lambda n=number: chain(n)  # type: ignore[misc]


class _Line:
    """Nodes in the making, one after the other; `more` are the other fields of a node."""

    def __init__(self) -> None:
        self._made: list[tuple[str, dict[str, object]]] = []

    def add(self, name: str, **more: object) -> None:
        self._made.append((name, more))

    def nodes(self) -> tuple[Node, ...]:
        follow = [name for name, _ in self._made[1:]] + [END]
        return tuple(
            _node(name, number, **{"next": after, "skip": after, **more})
            for number, ((name, more), after) in enumerate(zip(self._made, follow, strict=True))
        )


def _node(name: str, number: int, **more: object) -> Node:
    mark = Mark("hostile.yaml", number + 1, 1)
    return Node.model_validate({"id": name, "step": name, "mark": mark, "do": "Do it.", **more})


def _procedure(nodes: Sequence[Node], covers: int = 0, stands: Iterable[Condition] = ()) -> Procedure:
    return Procedure(
        procedure="hostile",
        title="A hostile shape",
        revision="1",
        fits="nothing (invented for a measurement)",
        sources=("Invented data.",),
        people=(("performer", 1),),
        items=tuple(Item(key=f"i{n}", name=f"i{n}", kind="cover", at_start="on") for n in range(covers)),
        conditions=tuple(stands),
        nodes=tuple(nodes),
        first=nodes[0].id,
    )


def _act(verb: Verb, number: int) -> tuple[Act, ...]:
    return (Act(verb=verb, item=f"i{number}"),)


def _back(name: str, to: str) -> Exit:
    """A way back as the format has it: counted, and then a stop."""
    limit = Limit(id=name, at_most=3, then=Exit(label=name, to=STOP))
    return Exit(label=name, to=to, limit=limit)


def _yes_or_no(yes: str, no: str) -> tuple[Exit, Exit]:
    return Exit(label="yes", to=yes), Exit(label="no", to=no)


def digraph(degree: int, steps: int = STEPS, items: int = ITEMS) -> Procedure:
    """Every step leads to `degree` others at random; half of them act on an item at random."""
    chance = random.Random(degree)
    nodes = []
    for here in range(steps):
        ways = []
        for number in range(degree):
            there = chance.randrange(steps)
            if there <= here:
                ways.append(_back(f"w{here}.{number}", f"s{there}"))
            else:
                ways.append(Exit(label=f"w{here}.{number}", to=f"s{there}"))
        if chance.random() < 0.01:
            ways[-1] = Exit(label="out", to=END)
        acts = _act(chance.choice((_OFF, _ON)), chance.randrange(items)) if chance.random() < 0.5 else ()
        nodes.append(_node(f"s{here}", here, answers=tuple(ways), acts=acts))
    return _procedure(nodes, items)


def loops(depth: int = STEPS // 2, items: int = ITEMS) -> Procedure:
    """Rework inside rework: the n-th step from the end goes back to the n-th. Half of the items are never closed."""
    line = _Line()
    every = depth // items
    for n in range(depth):
        line.add(f"down{n}", acts=_act(_OFF, n // every) if n % every == 0 else ())
    for n in reversed(range(depth)):
        closes = n % every == 0 and n // every % 2 == 0
        up = f"up{n - 1}" if n else END
        ways = (Exit(label="good", to=up), _back(f"again{n}", f"down{n}"))
        line.add(f"up{n}", acts=_act(_ON, n // every) if closes else (), answers=ways)
    return _procedure(line.nodes(), items)


def branches(number: int = 130, items: int = ITEMS) -> Procedure:
    """Items opened and never closed, before branches of which no two are equally long."""
    line = _Line()
    for n in range(items):
        line.add(f"open{n}", acts=_act(_OFF, n))
    for n in range(number):
        after = f"ask{n + 1}" if n + 1 < number else END
        line.add(f"ask{n}", answers=_yes_or_no(f"b{n}.0", after))
        for place in range(n + 1):
            line.add(f"b{n}.{place}")
    return _procedure(line.nodes(), items)


def optional(number: int) -> Procedure:
    """Items that may be opened, and later may be closed, whether they were opened or not."""
    line = _Line()
    for verb, word in ((_OFF, "open"), (_ON, "close")):
        for n in range(number):
            later = f"ask-{word}{n + 1}" if n + 1 < number else ("ask-close0" if verb == _OFF else END)
            line.add(f"ask-{word}{n}", answers=_yes_or_no(f"{word}{n}", later))
            line.add(f"{word}{n}", acts=_act(verb, n))
    return _procedure(line.nodes(), number)


def put_off(number: int) -> Procedure:
    """Closings that all wait for the same height, which comes and goes, and comes at last."""
    line = _Line()
    window = Window(kind="condition", tests=(_stands("height", "high"),), text="height is high")
    off = PutOff(until=window, before=Due(kind="end", text="the end"), because="invented")
    for n in range(number):
        line.add(f"open{n}", acts=_act(_OFF, n))
        line.add(f"close{n}", acts=_act(_ON, n), put_off=off)
        line.add(f"ask{n}", answers=_yes_or_no(f"high{n}", f"next{n}"))
        line.add(f"high{n}", sets=(("height", "high"),))
        line.add(f"next{n}", sets=(("height", "low"),))
    line.add("at-last", sets=(("height", "high"),))
    line.add("last")
    return _procedure(line.nodes(), number, [_condition("height", ("low", "high"))])


def answers(number: int) -> Procedure:
    """Answers all given before the first of them is used: one opens an item, and the same one closes it."""
    line = _Line()
    for n in range(number):
        line.add(f"ask{n}", answers=_yes_or_no(f"open{n}", f"fill{n}.0"))
        line.add(f"open{n}", acts=_act(_OFF, n))
        for place in range(14):
            line.add(f"fill{n}.{place}")
    for n in range(number):
        guard = (Test(kind="answer", name=f"ask{n}", values=("yes",)),)
        line.add(f"close{n}", acts=_act(_ON, n), guard=guard)
    line.add("last")
    return _procedure(line.nodes(), number)


def conditions(number: int) -> Procedure:
    """Conditions of three values, each brought to any of them, before the first of them is read."""
    line = _Line()
    values = ("low", "middle", "high")
    for n in range(number):
        after = f"ask{n + 1}" if n + 1 < number else "open0"
        line.add(f"ask{n}", answers=tuple(Exit(label=value, to=f"{value}{n}") for value in values))
        for value in values:
            line.add(f"{value}{n}", sets=((f"c{n}", value),), next=after)
    for verb, word in ((_OFF, "open"), (_ON, "close")):
        for n in range(number):
            line.add(f"{word}{n}", acts=_act(verb, n), guard=(_stands(f"c{n}", "high"),))
    line.add("last")
    return _procedure(line.nodes(), number, [_condition(f"c{n}", values) for n in range(number)])


def chain(number: int) -> Procedure:
    """Closings of which each waits for the one before."""
    line = _Line()
    for n in range(number):
        line.add(f"open{n}", acts=_act(_OFF, n))
        waited = f"close{n - 1}" if n else "dry"
        window = Window(kind="done", nodes=(waited,), text=f"{waited} is done")
        due = Due(kind="end", text="the end")
        line.add(f"close{n}", acts=_act(_ON, n), put_off=PutOff(until=window, before=due, because="invented"))
    line.add("dry")
    line.add("last")
    return _procedure(line.nodes(), number)


def _stands(name: str, value: str) -> Test:
    return Test(kind="condition", name=name, values=(value,))


def _condition(name: str, values: Sequence[str]) -> Condition:
    """A condition that may go from any value to any other."""
    changes = tuple((value, tuple(to for to in values if to != value)) for value in values)
    return Condition(name=name, at_start=(values[0],), changes=changes)
