"""A job: what is true of one run so far. Immutable; `Job.but` gives the next one.

Everything here follows from the procedure and the entries of the log, in order, through `evolve`.
"""

from collections.abc import Mapping
from dataclasses import field
from typing import Any, Literal

from runner.frozen import Frozen, Slim
from runner.job.events import Held
from runner.job.gates import Gates
from runner.job.items import Table, table
from runner.job.trail import Trail
from runner.joint.wrench import Extension, Wrench
from runner.procedure.linked import END, Node, Procedure
from runner.stamp import Stamp

Phase = Literal["new", "preparing", "working", "stopped", "closing", "making safe", "sealed", "outside proof"]
OwedKind = Literal["put off", "unplanned", "again", "extra"]
OwedStatus = Literal["waiting", "cued", "passed by"]


def same_person(one: str, other: str) -> bool:
    """Whether two typed names mean one person: case and blanks do not count."""
    return " ".join(one.split()).casefold() == " ".join(other.split()).casefold()


class ItemState(Slim, frozen=True):
    """An item in the ledger: the state of each fastener of a group (one for other kinds).

    `fresh` when a new single-use part is at hand; `lacking` are the stages a deviation left undone.
    """

    members: tuple[str, ...]
    fresh: bool = False
    not_applicable: bool = False
    not_done: bool = False
    off_plan: bool = False


class Progress(Slim, frozen=True):
    """How far the gate of the step in hand is through."""

    acknowledged: frozenset[int] = frozenset()
    acts: frozenset[int] = frozenset()
    confirmed: bool = False
    acted_at: Stamp | None = None
    wait_over: bool = False
    taken: Mapping[str, int] = {}
    seconds: frozenset[str] = frozenset()
    out_of_band: str = ""
    answer: str = ""
    hold: Literal["", "released", "refused", "waived"] = ""
    late: bool = False
    waived: frozenset[str] = frozenset()
    first_member: int = 0
    begun: bool = False


FRESH = Progress()
NOWHERE = Trail()


class Owed(Slim, frozen=True):
    """Something that must still be done. `what` narrows a step that is owed again."""

    key: str
    kind: OwedKind
    node: str = ""
    status: OwedStatus = "waiting"
    why: str = ""
    what: str = ""
    item: str = ""
    acts: tuple[int, ...] = ()
    overdue: bool = False
    late_allowed: bool = False
    listed_at: int = 0


class Deviation(Frozen):
    """An open point. `which` says more exactly what it is about: the number of a fastener, a wrench."""

    number: int
    kind: str
    node: str
    subject: str
    reason: str
    authority: str
    raw: str
    which: str = ""


class Recorded(Slim, frozen=True):
    """An entry that `Correct` may name: its key, the step, the value and who entered it."""

    key: str
    node: str
    held: Held
    who: str


class Job(Frozen):
    """The state of a run. `at` is the main line's node, `came` when work came to it; `hand` is the key of something
    owed that is taken up.

    `tools` are those counted in, by the procedure's name for them; `wrenches` which of the toolbox they are, and
    `extensions` what stands between them and the fastener.

    `cut_off`: the log was opened again although nobody had paused, so the program ended in the middle of the work.

    `seq` counts entries. `before` is the job before the latest act, for *take back*.
    """

    procedure: Procedure
    gates: Gates
    rehearsal: bool = False
    unproved: str = ""
    seq: int = 0
    phase: Phase = "new"
    performer: str = ""
    work_piece: str = ""
    counters: tuple[tuple[str, str], ...] = ()
    earlier: tuple[str, ...] = ()
    choices: Mapping[str, str] = field(default_factory=dict)
    met: Mapping[str, str] = field(default_factory=dict)
    tools: Mapping[str, str] = field(default_factory=dict)
    wrenches: Mapping[str, Wrench] = field(default_factory=dict)
    extensions: Mapping[str, Extension] = field(default_factory=dict)
    counted_out: frozenset[str] = frozenset()
    conditions: Mapping[str, str] = field(default_factory=dict)
    found: Mapping[str, str] = field(default_factory=dict)
    ledger: Mapping[str, ItemState] = field(default_factory=dict)
    at: str = END
    came: Stamp | None = None
    progress: Progress = FRESH
    hand: str = ""
    detour: str = ""
    set_aside: tuple[tuple[str, str, Progress], ...] = ()
    owed: Mapping[str, Owed] = field(default_factory=dict)
    done: Mapping[str, Stamp] = field(default_factory=dict)
    trail: Trail = NOWHERE
    performed: Mapping[str, frozenset[str]] = field(default_factory=dict)
    answers: Mapping[str, str] = field(default_factory=dict)
    recorded: Mapping[str, Recorded] = field(default_factory=dict)
    released: frozenset[str] = frozenset()
    not_applicable: frozenset[str] = frozenset()
    loops: Mapping[str, int] = field(default_factory=dict)
    deviations: tuple[Deviation, ...] = ()
    told: Mapping[str, bool] = field(default_factory=dict)
    stopped_label: str = ""
    extra: int = 0
    lost: tuple[tuple[str, str], ...] = ()
    until: tuple[tuple[str, str], ...] = ()
    confirmed_lines: frozenset[int] = frozenset()
    safe_lines: tuple[str, ...] = ()
    safe_done: frozenset[int] = frozenset()
    abandon_reason: str = ""
    paused: bool = False
    pause_note: str = ""
    cut_off: bool = False
    to_confirm: tuple[str, ...] = ()
    differs: frozenset[str] = frozenset()
    handover_to: str = ""
    handover_note: str = ""
    outcome: str = ""
    last: Stamp | None = None
    before: "Job | None" = field(default=None, compare=False, repr=False)

    def put(self, field: str, key: str, value: Any) -> "Job":
        """The job with one entry of one of its mappings set."""
        return self.but(**{field: {**getattr(self, field), key: value}})

    def without(self, field: str, key: str) -> "Job":
        """The job without an entry of one of its mappings, which may have none of that key."""
        mapping = getattr(self, field)
        if key not in mapping:
            return self
        return self.but(**{field: {name: value for name, value in mapping.items() if name != key}})

    @property
    def node(self) -> Node | None:
        """The step in hand: of a detour, of something taken up, or of the main line; None at the end."""
        if self.detour:
            return self.procedure.by_id[self.detour]
        if self.hand:
            owed = self.owed[self.hand]
            return self.procedure.by_id[owed.node] if owed.node else None
        return self.procedure.by_id.get(self.at)

    @property
    def scope(self) -> Owed | None:
        """The narrowed part of the step in hand, where it is owed again."""
        owed = self.owed.get(self.hand) if self.hand and not self.detour else None
        return owed if owed and owed.kind == "again" else None

    def table_of(self, key: str) -> Table:
        """The state machine of an item."""
        item = self.procedure.item_by_key[key]
        return table(item.kind, len(item.stages))

    def state_of(self, key: str) -> str:
        """The state of an item; a group is as far as its least advanced member."""
        machine = self.table_of(key)
        return min(self.ledger[key].members, key=machine.rank)

    def is_final(self, key: str) -> bool:
        """Whether an item is closed (or this work piece does not have it)."""
        return self.ledger[key].not_applicable or self.state_of(key) in self.table_of(key).finals

    def exists(self, key: str) -> bool:
        """Whether the item belongs to this run: its location was not passed over at the start."""
        return all(
            self.choices.get(test.name) in test.values for test in self.procedure.item_by_key[key].exists
        )

    def hazardous(self, name: str) -> bool:
        """Whether the condition stands at a value the author marked hazardous."""
        return self.conditions.get(name) in self.procedure.condition_by_name[name].hazardous


def progress_but(progress: Progress, **changes: Any) -> Progress:
    """The same progress with other values, begun."""
    return progress.but(begun=True, **changes)


def new_job(
    procedure: Procedure, gates: Gates | None = None, *, rehearsal: bool = False, unproved: str = ""
) -> Job:
    """A job before its first entry: conditions known from the start are set, every item stands as declared."""
    return Job(
        procedure=procedure,
        gates=gates or Gates(),
        rehearsal=rehearsal,
        unproved=unproved,
        at=procedure.first,
        conditions={c.name: c.at_start[0] for c in procedure.conditions if len(c.at_start) == 1},
        ledger={item.key: ItemState((item.at_start,) * item.count) for item in procedure.items},
    )
