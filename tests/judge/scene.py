"""What is true at one moment of the story that a log tells, as far as the judge needs it."""

from copy import copy
from dataclasses import dataclass, field
from typing import Any

from tests.judge.book import Book, Data
from tests.judge.chain import Moment


def person(name: str) -> str:
    """A name as it counts: case and blanks do not."""
    return " ".join(name.split()).casefold()


@dataclass
class Visit:
    """One pass through the gate of one step."""

    node: str
    acked: set[int] = field(default_factory=set)
    acts: set[int] = field(default_factory=set)
    taken: dict[str, int] = field(default_factory=dict)
    seconds: set[str] = field(default_factory=set)
    within: dict[str, bool] = field(default_factory=dict)
    turned: set[tuple[int, int, int]] = field(default_factory=set)
    anew: set[int] = field(default_factory=set)
    """Acts that were reopened and of which nothing has been turned since."""
    answer: str = ""
    hold: str = ""
    confirmed: bool = False
    waited: bool = False
    acted_at: Moment | None = None
    waived: set[str] = field(default_factory=set)
    first_member: int = 0
    late: bool = False
    begun: bool = False

    def clone(self) -> "Visit":
        """A copy that can be kept."""
        other = copy(self)
        for name in ("acked", "acts", "taken", "seconds", "within", "turned", "anew", "waived"):
            setattr(other, name, getattr(self, name).copy())
        return other


@dataclass(frozen=True)
class Debt:
    """Something owed."""

    key: str
    kind: str
    node: str = ""
    what: str = ""
    item: str = ""
    acts: tuple[int, ...] = ()
    passed_by: bool = False
    listed_at: int = 0
    cued: bool = False
    late_allowed: bool = False


_KEPT = (
    "choices", "met", "tools", "back", "conditions", "found", "members", "absent", "fresh", "undone", "owed", "done",
    "wrenches", "extensions", "answers", "values", "released", "loops", "told", "closed_out", "safe", "touched",
    "skipped", "acked_ever",
)  # fmt: skip


class Scene:
    """The state of the story. `performers` outlives taking back: who recorded an act did it, for good."""

    def __init__(self, book: Book) -> None:
        self.book = book
        self.phase = "new"
        self.performer = ""
        self.choices: dict[str, str] = {}
        self.met: set[str] = set()
        self.tools: set[str] = set()
        self.back: set[str] = set()
        self.wrenches: dict[str, Data] = {}
        self.extensions: dict[str, Data] = {}
        self.conditions = {
            c["name"]: c["at_start"][0] for c in book.conditions.values() if len(c["at_start"]) == 1
        }
        self.found: dict[str, str] = {}
        self.members = {k: [item["at_start"]] * item.get("count", 1) for k, item in book.items.items()}
        self.absent: set[str] = set()
        self.fresh: set[str] = set()
        self.undone: set[str] = set()
        self.touched: set[str] = set()
        self.skipped: set[str] = set()
        self.owed: dict[str, Debt] = {}
        self.done: dict[str, Moment] = {}
        self.trail: list[str] = []
        self.came: Moment | None = None
        self.answers: dict[str, str] = {}
        self.values: dict[str, Data] = {}
        self.released: dict[str, int] = {}
        self.loops: dict[str, int] = {}
        self.told: set[str] = set()
        self.acked_ever: set[tuple[str, int]] = set()
        self.deviations: list[Data] = []
        self.performers: dict[str, set[str]] = {}
        self.at = ""
        self.hand = ""
        self.detour = ""
        self.visit = Visit("")
        self.aside: list[tuple[str, str, Visit]] = []
        self.to_confirm: set[str] = set()
        self.last_chance: Data = book.last_chance
        self.paused = False
        self.handover = ""
        self.closed_out: set[int] = set()
        self.safe: set[int] = set()
        self.safe_lines = 0

    def clone(self) -> "Scene":
        """A copy that can be kept."""
        other = copy(self)
        for name in _KEPT:
            setattr(other, name, getattr(self, name).copy())
        other.members = {key: list(states) for key, states in self.members.items()}
        other.trail, other.deviations = list(self.trail), list(self.deviations)
        other.visit = self.visit.clone()
        other.aside = [(kind, name, visit.clone()) for kind, name, visit in self.aside]
        other.to_confirm = set(self.to_confirm)
        return other

    @property
    def node(self) -> str:
        """The step in hand; empty where it is none (the end, extra work)."""
        if self.detour:
            return self.detour
        if self.hand:
            return self.owed[self.hand].node if self.hand in self.owed else ""
        return self.at if self.at in self.book.nodes else ""

    @property
    def scope(self) -> Debt | None:
        """What a step owed again is narrowed to."""
        debt = self.owed.get(self.hand) if self.hand and not self.detour else None
        return debt if debt and debt.kind == "again" else None

    def state(self, item: str) -> str:
        """An item is as far as its least advanced member."""
        return min(self.members[item], key=lambda state: self.book.rank(item, state))

    def exists(self, item: str) -> bool:
        """Whether the location of the item was chosen."""
        return all(
            self.choices.get(t["name"]) in t["values"] for t in self.book.items[item].get("exists", ())
        )

    def is_final(self, item: str) -> bool:
        """Whether the item is closed or not there."""
        return item in self.absent or self.state(item) in self.book.finals(item)

    def holds(self, test: Data) -> bool:
        """Whether one test holds. A condition found to differ holds only on the way back; an item not done never."""
        name, values = test["name"], test["values"]
        if test["kind"] == "condition":
            if name in self.found and not self.detour:
                return False
            return self.found.get(name, self.conditions.get(name)) in values
        if test["kind"] == "choice":
            return self.choices.get(name) in values
        if test["kind"] == "answer":
            return self.answers.get(name) in values
        return name in self.absent or (self.state(name) in values and name not in self.undone)

    def unmet(self, tests: Any) -> Data | None:
        """The first test that does not hold."""
        return next((test for test in tests if not self.holds(test)), None)

    def latest(self, nodes: Any) -> Moment | None:
        """When the last of some steps was done."""
        moments = [self.done[node] for node in nodes if node in self.done]
        return max(moments, key=lambda moment: moment.wall) if moments else None

    def surely_not_passed(self, start: Moment | None, now: Moment, limit: int) -> bool:
        """Whether every clock says that the time has not passed."""
        return start is None or all(elapsed < limit for elapsed in now.since(start))

    def surely_passed(self, start: Moment | None, now: Moment, limit: int) -> bool:
        """Whether every clock says that the time has passed."""
        return start is not None and all(elapsed >= limit for elapsed in now.since(start))

    def window_shut(self, node: str, now: Moment, *, arriving: bool = False) -> str:
        """Why the window of a planned put-off is shut; empty where it may be open."""
        until = self.book.nodes[node]["put_off"]["until"]
        kind = until["kind"]
        if kind == "condition":
            test = self.unmet(until.get("tests", ()))
            return (
                f"{test['name']} is {self.found.get(test['name']) or self.conditions.get(test['name'])}"
                if test
                else ""
            )
        if kind == "done":
            missing = [n for n in until["nodes"] if n not in self.done]
            return f"{', '.join(missing)} not done" if missing else ""
        if kind == "at":
            return f"the work is at {self.at}" if arriving or self.at not in until["nodes"] else ""
        debt = self.owed.get(node)
        if debt and (debt.cued or debt.passed_by):
            return ""  # time opened it once, which is decided once; a clock set back shuts it no more
        if node in self.told or not self.surely_not_passed(self.latest(until["nodes"]), now, until["time"]):
            return ""
        return "the time has not passed"

    def _open(self, debt: Debt) -> bool:
        """Whether something owed can be done here; time opens a window in an entry of its own."""
        if debt.kind == "extra":
            return True
        step = self.book.nodes[debt.node]
        if debt.kind == "put off":
            until = step["put_off"]["until"]
            if until["kind"] == "time":
                return debt.cued or debt.passed_by
            if until["kind"] == "at":
                return self.at in until["nodes"]
            tests = until.get("tests", ())
            return self.unmet(tests) is None and all(n in self.done for n in until.get("nodes", ()))
        return self.unmet(self.book.waits(debt.node, debt.acts, again=debt.kind == "again")) is None

    def due_now(self) -> list[Debt]:
        """What must be done before the main line's present step."""
        node = self.book.nodes.get(self.at)
        return [debt for debt in self.owed.values() if node is None or self._due(debt, node)]

    def _due(self, debt: Debt, node: Data) -> bool:
        if debt.key in self.last_chance.get(node["id"], ()) and self._open(debt):
            return True
        if debt.kind == "put off":
            before = self.book.nodes[debt.node]["put_off"]["before"]
            if before["kind"] == "step":
                return node["id"] in before.get("nodes", ())
            return before["kind"] == "condition" and any(
                name == before["test"]["name"] and value in before["test"]["values"]
                and self.conditions.get(name) != value for name, value in node.get("sets", ())
            )  # fmt: skip
        if debt.kind != "again":
            return False
        names = debt.what.removeprefix("reading ")
        used = any(
            (n, name) == (debt.node, names)
            for r in node.get("readings", ())
            for name, n, _ in r.get("inputs", ())
        )
        touched = debt.item and (
            any(act["item"] == debt.item for act in node.get("acts", ()))
            or any(t["kind"] == "item" and t["name"] == debt.item for t in node.get("needs", ()))
        )
        held = node.get("hold") and debt.what.startswith(("reading", "member", "hold"))
        return bool(used or touched or held)
