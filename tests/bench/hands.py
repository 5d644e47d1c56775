"""Hands at the bench: keys pressed on a `Desk` as a person would, and the answer to whatever is asked."""

from collections.abc import Callable
from dataclasses import dataclass, field
from itertools import count

from runner.bench.desk import Desk, Key, Pace
from runner.bench.engine import BenchRun
from runner.bench.page import page
from runner.bench.rows import texts
from runner.bench.theme import UNICODE, Look, Signs
from runner.bench.writer import Entry, Outcome, Saved, SaveFailed

_NAMED = {" ": "space", "\n": "enter"}


@dataclass
class Immediate:
    """Records at once, on the caller's thread; with `hold` the outcome waits until `release`."""

    record: Callable[[Entry], object]
    told: Callable[[Outcome], None] = print
    hold: bool = False
    held: list[Outcome] = field(default_factory=list)

    def put(self, entry: Entry) -> None:
        try:
            self.record(entry)
        except Exception as error:
            outcome: Outcome = SaveFailed(entry, error)
        else:
            outcome = Saved(entry)
        if self.hold:
            self.held.append(outcome)
        else:
            self.told(outcome)

    def release(self) -> None:
        while self.held:
            self.told(self.held.pop(0))

    def close(self) -> None:
        self.release()


class Hands:
    """A desk, its recorder, and a clock in which keys come one second apart unless said otherwise."""

    def __init__(
        self, run: BenchRun, *, signs: Signs = UNICODE, performer: str = "", pace: Pace | None = None
    ) -> None:
        self.recorder = Immediate(run.record)
        self.desk = Desk(run, self.recorder, Look(signs), performer=performer, pace=pace)
        self.recorder.told = self.desk.told
        self._clock = count(1)
        self.now = 0.0

    def paint(self) -> None:
        """The screen has caught up with what is asked."""
        self.now = float(next(self._clock))
        self.desk.painted(self.desk.shown, self.now)

    def press(self, *keys: str) -> None:
        """Keys, each pressed when the screen shows what it is about."""
        for key in keys:
            self.paint()
            self.now = float(next(self._clock))
            self.desk.key(Key(key, key if len(key) == 1 else " " if key == "space" else None, self.now))

    def type(self, text: str) -> None:
        """Letters."""
        self.press(*(_NAMED.get(char, char) for char in text))

    def enter(self, text: str = "") -> None:
        """Letters and Enter."""
        self.type(text)
        self.press("enter")

    def screen(self, width: int = 80, height: int = 24) -> str:
        """The screen as text."""
        return "\n".join(texts(page(self.desk.scene, width, height)))


def answer(hands: Hands, options: dict[str, str] | None = None, values: dict[str, str] | None = None) -> None:
    """Answer what is asked the plain way: the first option unless `options` names another, `values` by reading name."""
    demand = hands.desk.view.demand
    options, values = options or {}, values or {}
    kind = demand.kind
    if kind == "start":
        hands.press("ctrl+u")
        hands.enter("Ada Lind")
        hands.enter("KX-204-T")
        for _ in demand.options:
            hands.enter("81234")
    elif kind == "prepare":
        hands.enter("Bo Marsh" if demand.options[0].key.startswith("person:") else "")
    elif kind in {"choose", "question", "look"}:
        wanted = options.get(demand.prompt, options.get(demand.subject, demand.options[0].label))
        place = next(at for at, option in enumerate(demand.options) if option.label == wanted)
        hands.enter(str(place + 1))
    elif kind == "reading":
        hands.enter(values[demand.subject])
    elif kind == "second reading":
        hands.enter("Bo Marsh")
        hands.enter(values[demand.subject])
    elif kind == "hold":
        hands.enter("Bo Marsh")
        hands.enter("1")
        hands.enter()
        hands.press("y")
    elif kind == "tighten":
        hands.enter("" if {"snug", "click", "by mark"} & set(demand.methods) else demand.big.split()[0])
    elif kind == "close out":
        hands.enter("none" if not demand.options[0].key.startswith("tool:") else "")
    elif kind == "seal":
        hands.enter("1")
        hands.press("y")
    elif kind in {"reconfirm", "doubt"}:
        hands.enter("1")
    else:
        hands.enter()
