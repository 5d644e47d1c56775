"""What an author wrote, typed: one frozen model per construct of format 1, each with its place in the file.

The reader makes these, resolving nothing across the file; the linker turns them into a state graph.
A name that refers to something elsewhere stays a `Name`, so that the linker can point at it.
Durations are whole milliseconds.
"""

from decimal import Decimal
from functools import cache
from typing import Any, Literal

from pydantic import BaseModel, ConfigDict
from pydantic_core import PydanticUndefined

from runner.procedure.finding import Mark
from runner.quantities import Band, Quantity, Tolerance

Level = Literal["danger", "warning", "caution", "notice"]
ItemKind = Literal["fastener", "connection", "aid", "cover", "fitted part", "fluid", "valve", "lock"]
StageKind = Literal["snug", "torque", "angle"]
Method = Literal["measured", "click", "by mark"]
OrderName = Literal["star", "around", "from the middle", "in line", "given"]
Surface = Literal["dry", "oiled", "anti-seize", "locker"]


@cache
def _fields(part: type[BaseModel]) -> tuple[dict[str, Any], frozenset[str]]:
    """Every field of a part with its default, in order, and the names of those that have none."""
    plain = {name: field.default for name, field in part.model_fields.items()}
    return plain, frozenset(name for name, default in plain.items() if default is PydanticUndefined)


class Written(BaseModel):
    """Anything with a place in a file.

    The reader is what checks here, with places and words that a validation could not give; a second check of the
    same values would be most of the start of a run. What leaves this room, the linked form, is validated again.
    """

    model_config = ConfigDict(frozen=True, extra="forbid", defer_build=True)
    mark: Mark

    def __init__(self, **values: Any) -> None:
        plain, needed = _fields(type(self))
        state = {**plain, **values}
        if len(state) != len(plain):
            raise TypeError(f"{type(self).__name__} has no {', '.join(sorted(values.keys() - plain.keys()))}")
        if not needed <= values.keys():
            lacking = [name for name in plain if name in needed - values.keys()]
            raise TypeError(f"{type(self).__name__} lacks {', '.join(lacking)}")
        object.__setattr__(self, "__dict__", state)
        object.__setattr__(self, "__pydantic_fields_set__", set(values))
        object.__setattr__(self, "__pydantic_extra__", None)
        object.__setattr__(self, "__pydantic_private__", None)


class Name(Written):
    """A word that names something: a step, an item, a value, a role, a tool."""

    text: str


class Test(Written):
    """`{support: [raised, on wheels]}`: the named thing must be at one of the values."""

    name: Name
    values: tuple[Name, ...]


class Notice(Written):
    """A hazard notice; danger, warning and caution are injury, notice is damage (ANSI Z535.6)."""

    level: Level
    hazard: str
    consequence: str
    avoid: str


class StandingNotice(Written):
    """A notice that stands over a range of steps."""

    notice: Notice
    first: Name
    last: Name


class Condition(Written):
    """A named state of the work piece; its values are the keys of `changes`."""

    name: Name
    at_start: tuple[Name, ...]
    changes: tuple[tuple[Name, tuple[Name, ...]], ...]
    hazardous: tuple[Name, ...] = ()
    getting_there: tuple[tuple[Name, Name], ...] = ()


class Location(Written):
    """Where a repeated part is done; `choose` means that one value is picked at the start."""

    name: Name
    values: tuple[Name, ...]
    choose: bool = False


class Variant(Written):
    """A choice about the work piece made at the start."""

    name: Name
    values: tuple[Name, ...]


class Tool(Written):
    """A tool to lay out; `covers` is the range it can be set to or read over."""

    name: str
    covers: Band | None = None


class Part(Written):
    """A part to lay out, `quantity` of it for every value of location `each`."""

    name: str
    number: str | None = None
    each: Name | None = None
    quantity: int = 1


class Counter(Written):
    """A counter of the work piece asked at the start."""

    name: str
    unit: str


class Stage(Written):
    """One stage of a tightening; for a group it is a round.

    `band` is the interval the author wrote (inline, as a range or by `tolerance:`), None if none was written.
    `shares` are the rounds in per cent of the torque and `last_pass` the pass behind them: such a stage stands for
    several (see `runner.procedure.stages`).
    """

    kind: StageKind
    text: str
    target: Quantity | None = None
    band: Band | None = None
    order: OrderName = "in line"
    given: tuple[int, ...] = ()
    only_when: tuple[Test, ...] = ()
    methods: tuple[Method, ...] = ()
    shares: tuple[Decimal, ...] = ()
    last_pass: bool = False


class Item(Written):
    """Something the procedure opens and must close; `friction` is a band of a ratio with both limits.

    `prevailing` is the drag of a self-locking nut, to be added to every torque where `drag_added`, else in it already.
    """

    name: Name
    kind: ItemKind
    each: tuple[Name, ...] = ()
    at_start: Name | None = None
    critical: bool = False
    count: int = 1
    new_every_time: bool = False
    part: Name | None = None
    thread: Name | None = None
    strength: Name | None = None
    number_one: str | None = None
    rows: tuple[int, ...] = ()
    friction: Band | None = None
    surface: Surface | None = None
    given_for: Surface | None = None
    prevailing: Quantity | None = None
    drag_added: bool = False
    grip: Quantity | None = None
    tighten: tuple[Stage, ...] = ()


class Act(Written):
    """One verb on one item; `stages` is (first, last) counted from 1, or None for all not yet done."""

    verb: str
    item: Name
    stages: tuple[int, int] | None = None


class Sorting(Written):
    """One named band of a sorted reading and the way it leads; the last may be `above` (no band)."""

    label: str
    band: Band | None
    way: "Way"


class Reading(Written):
    """Something entered at the bench: a number with its unit, a text, or a photo by path and hash.

    A number is judged by `band`, sorted by `sorting`, or by neither where the author wrote `band: none`.
    """

    name: Name
    what: str
    kind: Literal["number", "text", "photo"] = "number"
    unit: str | None = None
    text_kind: str | None = None
    times: int = 1
    band: Band | None = None
    sorting: tuple[Sorting, ...] = ()
    blind_second: bool = False
    critical: bool = False


class WorkOut(Written):
    """A value computed from earlier readings by `formula` (as typed; parsed by runner.procedure.formula)."""

    name: Name
    what: str
    formula: str
    unit: str
    band: Band | None = None
    sorting: tuple[Sorting, ...] = ()


class GoOn(Written):
    """The way straight on."""


class Stop(Written):
    """Work stops here."""


class Again(Written):
    """A way back to an earlier step, at most so often, then another way."""

    step: Name
    at_most: int
    then: "Way"


class Nested(Written):
    """Steps of their own that rejoin after the step, unless they end with again or stop."""

    entries: "tuple[Entry, ...]"


Way = GoOn | Stop | Again | Nested


class Answer(Written):
    """One answer to a look-for or question and the way it leads."""

    label: str
    way: Way


class HoldPoint(Written):
    """Work stops until a named role, not the performer, releases it; refused means stop unless a way is given."""

    released_by: Name
    asks: str
    if_refused: Way | None = None


class InTime(Written):
    """The step must be done within a time from the end of another step; too late means stop by default."""

    start: Name
    within: int
    warn_at: int | None = None
    too_late: Way | None = None


class Window(Written):
    """When a put-off step can be done: by condition, a step done, a time after a step, or at a step (one is set)."""

    tests: tuple[Test, ...] = ()
    step: Name | None = None
    time: int | None = None
    after: Name | None = None
    at: Name | None = None


class Due(Written):
    """What a put-off step must come before: a step, a change of condition, or the end (both None)."""

    step: Name | None = None
    condition: Test | None = None


class PutOff(Written):
    """A planned put-off; `no_later` is (milliseconds, step it counts from)."""

    until: Window
    before: Due
    because: str
    no_later: tuple[int, Name] | None = None


class Step(Written):
    """One thing to do, with its gate."""

    name: Name
    do: str | None = None
    ask: str | None = None
    notices: tuple[Notice, ...] = ()
    needs: tuple[Test, ...] = ()
    acts: tuple[Act, ...] = ()
    tools: tuple[Name, ...] = ()
    wait: int | None = None
    readings: tuple[Reading, ...] = ()
    worked_out: tuple[WorkOut, ...] = ()
    look_for: str | None = None
    answers: tuple[Answer, ...] = ()
    hold: HoldPoint | None = None
    sets: tuple[tuple[Name, Name], ...] = ()
    in_time: InTime | None = None
    put_off: PutOff | None = None
    only_if: tuple[Test, ...] = ()
    only_for: tuple[Test, ...] = ()
    expect: str | None = None
    because: str | None = None
    sketch: str | None = None
    helper: str | None = None
    omission_likely: bool = False
    critical: bool = False
    takes: int | None = None


class Repeat(Written):
    """Entries done at every value of location `each`."""

    each: Name
    entries: "tuple[Entry, ...]"
    only_if: tuple[Test, ...] = ()
    only_for: tuple[Test, ...] = ()


class Portion(Written):
    """Entries that some jobs do not have."""

    entries: "tuple[Entry, ...]"
    only_if: tuple[Test, ...] = ()
    only_for: tuple[Test, ...] = ()


class Call(Written):
    """A sub-procedure used here, by a path relative to this file."""

    path: Name
    only_if: tuple[Test, ...] = ()
    only_for: tuple[Test, ...] = ()


Entry = Step | Repeat | Portion | Call | Again | Stop


class FollowUp(Written):
    """Due after the job: `after` a distance or time, or `within` a time, as the author wrote it in `text`."""

    what: str
    text: str
    after: Quantity | None = None
    within: int | None = None


class Contract(Written):
    """What a sub-procedure takes over, leaves open, and how it ends."""

    takes_over: tuple[tuple[Name, Name], ...] = ()
    leaves_open: tuple[tuple[Name, Name], ...] = ()
    ends_with: tuple[tuple[Name, Name], ...] = ()


class Source(Written):
    """One procedure file, whole."""

    procedure: Name
    title: str
    revision: str
    fits: str
    sources: tuple[str, ...]
    people: tuple[tuple[Name, int], ...]
    conditions: tuple[Condition, ...] = ()
    locations: tuple[Location, ...] = ()
    variants: tuple[Variant, ...] = ()
    tolerance: tuple[tuple[str, Tolerance], ...] = ()
    counters: tuple[Counter, ...] = ()
    tools: tuple[Tool, ...] = ()
    parts: tuple[Part, ...] = ()
    supplies: tuple[str, ...] = ()
    documents: tuple[str, ...] = ()
    standing: tuple[StandingNotice, ...] = ()
    items: tuple[Item, ...] = ()
    entries: tuple[Entry, ...] = ()
    follow_up: tuple[FollowUp, ...] = ()
    close_out: tuple[str, ...] = ()
    make_safe: tuple[tuple[Name, tuple[str, ...]], ...] = ()
    contract: Contract | None = None
