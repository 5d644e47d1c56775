"""Small linked procedures by a seed, written without reader and linker, for the formulas of `tests.proof.bounded`."""

from collections.abc import Sequence
from typing import TypeVar

from runner.procedure.finding import Mark
from runner.procedure.linked import (
    END,
    STOP,
    Act,
    Condition,
    Due,
    Exit,
    Hold,
    Item,
    Limit,
    Node,
    Procedure,
    PutOff,
    Stage,
    Test,
    Window,
)
from tests.job.properties.dice import Dice
from tests.proof.items_again import closed, deed, one_move
from tests.proof.product import STAND, At

T = TypeVar("T")
VALUES = ("down", "up", "half")


def small(dice: Dice) -> Procedure:
    """Four to eight steps with a condition, two items, some answers, at most one way back and one put-off step."""
    count = dice.number(4, 8)
    names = [f"n{number}" for number in range(count)]
    off = dice.number(0, count - 2) if dice.chance(80) else -1
    lid = Item(key="lid", name="lid", kind="cover", at_start="on")
    only = (Test(kind="condition", name="support", values=(dice.pick(VALUES),)),) if dice.chance(40) else ()
    stages = (Stage(kind="snug", text="hand tight"), Stage(kind="snug", text="tight", only_when=only))
    bolt = Item(key="bolt", name="bolt", kind="fastener", at_start="untouched", stages=stages)
    back = dice.number(1, count - 1) if dice.chance(35) else -1
    now = {"lid": "on", "bolt": "untouched"}
    items = [lid, bolt]
    if dice.chance(60):
        dice, back = _Calm(dice), back if dice.chance(20) else -1
    nodes: list[Node] = []
    for place in range(count):
        waiting = [item for item in items if now[item.key] not in closed(item)]
        if place == off and waiting and isinstance(dice, _Calm):
            item = dice.pick(waiting)
            acts = _closing(now, item)
            now[item.key] = closed(item)[-1]
            items.remove(item)  # nobody touches it in the meantime
        else:
            acts = _acts(dice, now, tuple(items)) if items else ()
        nodes.append(_node(dice, names, place, off, back, acts))
    if dice.chance(85):
        mending = (*_closing(now, lid), *_closing(now, bolt))
        nodes[-1] = nodes[-1].model_copy(update={"acts": (*nodes[-1].acts, *mending)})
    every = tuple((value, tuple(v for v in VALUES if v != value)) for value in VALUES)
    start = VALUES[:2] if dice.chance(20) else VALUES[:1]
    return Procedure(
        procedure="small", title="A small job", revision="1", fits="an invented car", sources=("Invented data",),
        people=(("performer", 1),), conditions=(Condition(name="support", at_start=start, changes=every),),
        items=(lid, bolt), nodes=tuple(nodes), first=names[0],
    )  # fmt: skip


class _Calm(Dice):
    """Dice that branch off, guard and need nothing, so that some procedures are clean."""

    def __init__(self, dice: Dice) -> None:
        self._dice = dice

    def chance(self, percent: int) -> bool:
        """What is rare does not happen; what is frequent does."""
        return percent > 80 or (percent > 20 and self._dice.chance(percent))

    def pick(self, among: Sequence[T]) -> T:
        """One of several."""
        return self._dice.pick(among)

    def number(self, low: int, high: int) -> int:
        """A whole number between limits."""
        return self._dice.number(low, high)


def _node(dice: Dice, names: list[str], place: int, off: int, back: int, acts: tuple[Act, ...]) -> Node:
    name, follow = names[place], [*names, END][place + 1]
    mark = Mark("small.yaml", place + 1, 1)
    if place == off:
        until, before = _window(dice, names, place)
        return Node(
            id=name, step=name, mark=mark, next=follow, do=name, acts=acts,
            put_off=PutOff(until=until, before=before, because="it must rest"),
        )  # fmt: skip
    later = [*names[place + 1 :], END]
    answers: tuple[Exit, ...] = ()
    if place == back:
        then = Exit(label="again", to=follow)
        limit = Limit(id="way", at_most=dice.number(1, 2), then=then)
        answers = (Exit(label="on", to=follow), Exit(label="again", to=dice.pick(names[:place]), limit=limit))
    elif dice.chance(20):
        answers = (Exit(label="on", to=follow), Exit(label="other", to=dice.pick([*later, *later, STOP])))
    hold = None
    if dice.chance(12):
        hold = Hold(
            role="checker", asks="Is it?", refused=Exit(label="refused", to=dice.pick([*later, STOP]))
        )
    guard = (_support(dice),) if dice.chance(12) else ()
    needs = (_support(dice),) if dice.chance(5) else ()
    if dice.chance(6):
        needs = (*needs, Test(kind="item", name="lid", values=(dice.pick(("on", "off")),)))
    return Node(
        id=name, step=name, mark=mark, next=follow, skip=follow, do=name, acts=acts, answers=answers, hold=hold,
        guard=guard, needs=needs, sets=(("support", dice.pick(VALUES)),) if dice.chance(35) else (),
    )  # fmt: skip


def _acts(dice: Dice, now: dict[str, str], items: tuple[Item, ...]) -> tuple[Act, ...]:
    """An act or none, mostly one that is lawful where nobody branches off; `now` is kept up."""
    if dice.chance(45):
        return ()
    item = dice.pick(items)
    verbs = (
        ("takes off", "puts back") if item.key == "lid" else ("loosens", "takes out", "starts", "tightens")
    )
    lawful = [verb for verb in verbs if _after(item, now[item.key], verb) is not None]
    verb = dice.pick(lawful if lawful and dice.chance(90) else verbs)
    stages = dice.pick((None, None, (1, 1), (2, 2))) if verb == "tightens" and dice.chance(50) else None
    act = Act(verb=verb, item=item.key, stages=stages)
    now[item.key] = deed(
        Node(id="", step="", mark=Mark("", 1, 1), acts=(act,)), _ANYWHERE, item, now[item.key]
    )[0]
    return (act,)


_ANYWHERE = At(STAND, "", (("condition:support", "down"),))


def _after(item: Item, state: str, verb: str) -> str | None:
    stage = int(state.split()[1]) + 1 if state.startswith("stage") else 1
    return None if stage > len(item.stages) and verb == "tightens" else one_move(item, state, verb, stage)


def _closing(now: dict[str, str], item: Item) -> tuple[Act, ...]:
    state = now[item.key]
    if state in closed(item):
        return ()
    if item.key == "lid":
        return (Act(verb="puts back", item="lid"),)
    first = (Act(verb="starts", item="bolt"),) if state in ("loosened", "out") else ()
    return (*first, Act(verb="tightens", item="bolt"))


def _support(dice: Dice) -> Test:
    return Test(kind="condition", name="support", values=(dice.pick(VALUES),))


def _window(dice: Dice, names: list[str], place: int) -> tuple[Window, Due]:
    later = names[place + 1 :]
    if dice.chance(15) or (not isinstance(dice, _Calm) and dice.chance(50)):
        until = Window(kind="condition", tests=(_support(dice),), text="support is so")
    else:
        until = Window(kind="done", nodes=(dice.pick(later),), text="it is done")
        if isinstance(dice, _Calm):
            later = [*later[later.index(until.nodes[0]) + 1 :]] or later
    kind = dice.pick(("step", "condition", "end", "end"))
    if kind == "step":
        due = Due(kind="step", nodes=(dice.pick(later),), text="a step")
    elif kind == "condition":
        due = Due(kind="condition", test=_support(dice), text="support changes")
    else:
        due = Due(kind="end", text="the end")
    return until, due
