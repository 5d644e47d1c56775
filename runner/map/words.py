"""The words and marks of a map: guards, targets, what a step opens and closes, what is put off until when."""

from collections.abc import Iterable

from runner.frozen import Frozen
from runner.procedure.linked import Act, Item, Node, Procedure, PutOff, Test

_OPENING = frozenset(
    {
        ("connection", "disconnects"),
        ("aid", "puts in"),
        ("cover", "takes off"),
        ("fitted part", "takes out"),
        ("fluid", "drains"),
        ("valve", "opens"),
        ("lock", "puts on"),
        ("fastener", "loosens"),
        ("fastener", "takes out"),
    }
)


class Marks(Frozen):
    """How many items a step opens, brings part of the way and closes."""

    opened: int = 0
    partly: int = 0
    closed: int = 0


def marks_of(node: Node, procedure: Procedure) -> Marks:
    """What a step does to items, counted; checking a closed fastener counts as nothing."""
    # One step may start and tighten the same item: its last act says how far it comes.
    kinds = list({act.item: _does(act, procedure.item_by_key[act.item]) for act in node.acts}.values())
    return Marks(kinds.count("opens"), kinds.count("partly"), kinds.count("closes"))


def _does(act: Act, item: Item) -> str:
    if act.verb == "re-tightens":
        return "checks"
    if (item.kind, act.verb) in _OPENING:
        return "opens"
    if act.verb == "starts":
        return "partly"
    if act.verb == "tightens" and act.stages is not None and act.stages[1] < len(item.stages):
        return "partly"
    return "closes"


def test_words(test: Test) -> str:
    """A test in words: `support is raised or at ride height`."""
    name = test.name.rpartition("/")[2].partition("@")[0] if test.kind == "answer" else test.name
    return f"{name} is {' or '.join(test.values)}"


def guard_words(tests: Iterable[Test]) -> str:
    """Tests that must all hold, in words; empty for none."""
    return " and ".join(test_words(test) for test in tests)


def choice_words(tests: Iterable[Test]) -> str:
    """Choices made at the start, in words: `headlamps self-levelling`."""
    return ", ".join(f"{test.name} {' or '.join(test.values)}" for test in tests)


def put_off_words(put_off: PutOff) -> str:
    """Until when a step is put off and before what it is due."""
    before = f"before {put_off.before.text}" if put_off.before.kind != "end" else "before the end"
    return f"until {put_off.until.text}, {before}"


def letter(index: int) -> str:
    """The letter of the put-off step number `index` from 0: A … Z, AA, AB …"""
    made = ""
    index += 1
    while index:
        index, rest = divmod(index - 1, 26)
        made = chr(ord("A") + rest) + made
    return made
