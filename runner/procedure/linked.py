"""The linked procedure: steps joined into a state graph, locations expanded, quantities as decimal text.

This is what the engine runs, the proof explores and the header of a log keeps. It knows no file and no pint:
bands are decimal text in one unit, orders of bolts are written out, sub-procedures are unfolded. It travels
through JSON unchanged (`to_data`, `from_data`); `VERSION` is raised when its meaning changes, and `from_data`
refuses a version it does not know by name. A field that is only added has a default that means "not said", so
that older stored forms read as before and the version stays.
"""

from collections.abc import Mapping
from functools import cached_property
from typing import Any, Literal

from pydantic import ValidationError

from runner.procedure.finding import Mark
from runner.procedure.linked_head import Choice, Condition, Counter, FollowUp, Interval, Linked, Part, Tool
from runner.procedure.source import ItemKind, Level, Method, OrderName, StageKind, Surface

__all__ = [
    "Choice",
    "Condition",
    "Counter",
    "FollowUp",
    "Interval",
    "Linked",
    "Part",
    "Tool",
]  # those of linked_head, which belong to the linked form

VERSION = 1
END = "end"
"""Where the main line leads when the last step is done."""
STOP = "stop"
"""Where a way leads that says stop."""
BACK = "back"
"""Where a detour leads: back to the main line."""
DETOUR = "detour:"
"""The beginning of the id of every step of a detour."""

Verb = Literal[
    "loosens", "takes out", "starts", "tightens", "re-tightens", "disconnects", "connects", "puts in",
    "takes off", "puts back", "fits", "drains", "fills", "opens", "shuts", "puts on",
]  # fmt: skip


class LinkedError(ValueError):
    """The stored form of a procedure cannot be read; the message says what was found."""


class Test(Linked):
    """Something that must hold: the named thing is at one of `values`.

    kind condition: name of the condition. answer: id of the step that asked. choice: a variant or a location
    chosen at the start. item: ledger key, values are states (of the least advanced member).
    """

    kind: Literal["condition", "answer", "choice", "item"]
    name: str
    values: tuple[str, ...]


class Notice(Linked):
    """A hazard notice, see `source.Notice`."""

    level: Level
    hazard: str
    consequence: str
    avoid: str

    @property
    def injury(self) -> bool:
        """Whether it must be acknowledged (danger, warning, caution); NOTICE is damage only."""
        return self.level != "notice"


class Stage(Linked):
    """One stage (a round, for a group). `sequence` is the order of the fasteners by number, written out.

    `target` and `unit` are what is asked; `band` judges a measured value and is None where only click or mark
    are allowed or the stage is snug. A stage that `rounds` made has its `share` of the whole torque in per cent,
    as decimal text, and its own target and band; `final_pass` marks the pass at the whole torque that `last pass`
    adds behind them, which ends when no fastener turns any more.
    """

    kind: StageKind
    text: str
    target: str | None = None
    unit: str | None = None
    band: Interval | None = None
    order: OrderName = "in line"
    sequence: tuple[int, ...] = (1,)
    only_when: tuple[Test, ...] = ()
    methods: tuple[Method, ...] = ()
    share: str | None = None
    final_pass: bool = False


class Item(Linked):
    """One item at one location; `key` is its place in the ledger (`bush bolts@left`).

    Of a group in rows, `rows` are the fasteners in each; they are numbered along the rows. `friction` is
    (low, high) as decimal text; `surface` is the state of thread and bearing face as assembled, `given_for` the
    one the torques are given for; `prevailing` is the torque of a self-locking thread as (decimal text, unit): the
    targets and bands of the torque stages hold it, whether it was added to what the author wrote (`drag_added`) or the
    author's torques had it already; `grip` is the clamped length in mm as decimal text.
    """

    key: str
    name: str
    place: str = ""
    kind: ItemKind
    at_start: str
    critical: bool = False
    count: int = 1
    new_every_time: bool = False
    part: str | None = None
    thread: str | None = None
    strength: str | None = None
    number_one: str | None = None
    rows: tuple[int, ...] = ()
    friction: tuple[str, str] | None = None
    surface: Surface | None = None
    given_for: Surface | None = None
    prevailing: tuple[str, str] | None = None
    drag_added: bool = False
    grip: str | None = None
    stages: tuple[Stage, ...] = ()
    exists: tuple[Test, ...] = ()

    @property
    def label(self) -> str:
        """Name and place as a person says them."""
        return f"{self.name}, {self.place}" if self.place else self.name

    @property
    def in_circle(self) -> bool:
        """Whether the group stands round a circle: it is not in rows, and some round goes across or around."""
        return not self.rows and any(stage.order in ("star", "around") for stage in self.stages)


class Act(Linked):
    """One verb on one item. `stages` (first, last) from 1 for `tightens`, None for all not yet done."""

    verb: Verb
    item: str
    stages: tuple[int, int] | None = None
    tool: str | None = None


class Limit(Linked):
    """How often a way back may be taken, counted under `id` over the whole run, and then which way."""

    id: str
    at_most: int
    then: "Exit"


class Exit(Linked):
    """A way out of a step: its answer and the node it leads to (END, STOP or BACK among them)."""

    label: str
    to: str
    limit: Limit | None = None


class Sorting(Linked):
    """One named band of a sorted reading; `band` None takes all that no band before it took."""

    band: Interval | None
    exit: Exit


class Reading(Linked):
    """Something entered; a worked-out value has a `formula` and `inputs`.

    An input is (name of the reading, its node, which time from 1); a reading that is taken several times is
    called `name-1`, `name-2` … in the formula.
    """

    name: str
    what: str
    kind: Literal["number", "text", "photo", "worked out"] = "number"
    unit: str | None = None
    text_kind: str | None = None
    times: int = 1
    band: Interval | None = None
    sorting: tuple[Sorting, ...] = ()
    blind_second: bool = False
    critical: bool = False
    formula: str | None = None
    inputs: tuple[tuple[str, str, int], ...] = ()


class Hold(Linked):
    """A hold point; refused leads along `refused`."""

    role: str
    asks: str
    refused: Exit


class InTime(Linked):
    """A time limit counted from the end of any of `start`; milliseconds."""

    start: tuple[str, ...]
    within: int
    warn_at: int | None
    late: Exit


class Window(Linked):
    """When a put-off node can be done, by kind: `nodes` all done, `time` after the latest, at any of them."""

    kind: Literal["condition", "done", "time", "at"]
    tests: tuple[Test, ...] = ()
    nodes: tuple[str, ...] = ()
    time: int = 0
    text: str


class Due(Linked):
    """What a put-off node comes before: any of `nodes`, a condition taking one of the values, or the end."""

    kind: Literal["step", "condition", "end"]
    nodes: tuple[str, ...] = ()
    test: Test | None = None
    text: str


class PutOff(Linked):
    """A planned put-off. `no_later` is (milliseconds, nodes it counts from)."""

    until: Window
    before: Due
    because: str
    no_later: tuple[int, tuple[str, ...]] | None = None


class Node(Linked):
    """One state of the graph: a step at its location.

    Passed over when `guard` does not hold (then `skip` is next). `answers` carry the ways; with none, `next`
    is the way on. A node with `joint` set asks nothing of a person: it checks a sub-procedure's contract in
    its `needs` (the head of a part that some jobs do not have has none), and where it has one answer (the way
    back or the stop at the end of nested steps) that way is taken at once; `next` is what follows those steps.
    `takes` is the author's estimate of the time for it, in milliseconds; nothing at the bench waits for it.
    """

    id: str
    step: str
    place: str = ""
    mark: Mark
    guard: tuple[Test, ...] = ()
    skip: str = END
    next: str = END
    joint: str | None = None
    do: str = ""
    ask: str | None = None
    notices: tuple[Notice, ...] = ()
    standing: tuple[int, ...] = ()
    needs: tuple[Test, ...] = ()
    acts: tuple[Act, ...] = ()
    tools: tuple[str, ...] = ()
    wait: int | None = None
    readings: tuple[Reading, ...] = ()
    look_for: str | None = None
    answers: tuple[Exit, ...] = ()
    hold: Hold | None = None
    sets: tuple[tuple[str, str], ...] = ()
    in_time: InTime | None = None
    put_off: PutOff | None = None
    expect: str | None = None
    because: str | None = None
    sketch: str | None = None
    helper: str | None = None
    omission_likely: bool = False
    critical: bool = False
    takes: int | None = None

    @property
    def title(self) -> str:
        """The sentence a person reads first: what to do or what is asked."""
        return self.do or self.ask or self.joint or self.step

    @property
    def warns(self) -> bool:
        """Whether an injury notice is acknowledged here."""
        return any(notice.injury for notice in self.notices)

    @property
    def may_choose(self) -> bool:
        """Whether it may have other ways out than `next` and `skip`."""
        return bool(self.answers or self.readings or self.hold or self.in_time)

    @cached_property
    def exits(self) -> tuple[Exit, ...]:
        """Every way out that a person, a reading or the clock can choose, besides `next` and `skip`."""
        ways = [*self.answers, *(s.exit for r in self.readings for s in r.sorting)]
        if self.hold:
            ways.append(self.hold.refused)
        if self.in_time:
            ways.append(self.in_time.late)
        return tuple(ways)

    @cached_property
    def onward(self) -> tuple[str, ...]:
        """Every node it can lead to, whatever is answered and however often."""
        found = [self.next, self.skip] if self.guard else [self.next]
        for first in self.exits:
            way = first
            found.append(way.to)
            while way.limit is not None:
                way = way.limit.then
                found.append(way.to)
        return tuple(dict.fromkeys(found))


class Procedure(Linked):
    """A whole procedure, linked. `files` are (name, SHA-256 hex) of every source file, the main one first."""

    version: int = VERSION
    procedure: str
    title: str
    revision: str
    fits: str
    sources: tuple[str, ...]
    files: tuple[tuple[str, str], ...] = ()
    people: tuple[tuple[str, int], ...]
    conditions: tuple[Condition, ...] = ()
    choices: tuple[Choice, ...] = ()
    counters: tuple[Counter, ...] = ()
    tools: tuple[Tool, ...] = ()
    parts: tuple[Part, ...] = ()
    supplies: tuple[str, ...] = ()
    documents: tuple[str, ...] = ()
    standing: tuple[Notice, ...] = ()
    items: tuple[Item, ...] = ()
    nodes: tuple[Node, ...] = ()
    first: str = END
    follow_up: tuple[FollowUp, ...] = ()
    close_out: tuple[str, ...] = ()
    make_safe: tuple[tuple[str, tuple[str, ...]], ...] = ()

    @cached_property
    def by_id(self) -> Mapping[str, Node]:
        """Nodes by id."""
        return {node.id: node for node in self.nodes}

    @cached_property
    def places(self) -> Mapping[str, int]:
        """Where each node stands in `nodes`, and END behind the last."""
        return {**{node.id: place for place, node in enumerate(self.nodes)}, END: len(self.nodes)}

    @cached_property
    def ahead(self) -> tuple[tuple[int, ...], ...]:
        """By place, the places that a node can lead to, whatever is answered and however often."""
        places = self.places
        return tuple(
            tuple(
                places[name]
                for name in (node.onward if node.guard or node.may_choose else (node.next,))
                if name in places
            )
            for node in self.nodes
        )

    @cached_property
    def item_by_key(self) -> Mapping[str, Item]:
        """Items by ledger key."""
        return {item.key: item for item in self.items}

    @cached_property
    def condition_by_name(self) -> Mapping[str, Condition]:
        """Conditions by name."""
        return {condition.name: condition for condition in self.conditions}

    def to_data(self) -> dict[str, Any]:
        """JSON data with nothing but text, whole numbers, lists and tables; defaults are left out."""
        return {"version": self.version, **self.model_dump(mode="json", exclude_defaults=True)}

    @classmethod
    def from_data(cls, data: Mapping[str, Any]) -> "Procedure":
        """Read stored data, raising older versions step by step; LinkedError says what is wrong."""
        version = data.get("version")
        if version != VERSION:
            raise LinkedError(
                f"linked form version {repr(version)[:40]} is not known; this program reads version {VERSION}"
            )
        try:
            return cls.model_validate(data)
        except ValidationError as error:
            first = error.errors()[0]
            where = ".".join(str(part) for part in first["loc"])
            raise LinkedError(f"linked form: {where}: {first['msg']}") from error
