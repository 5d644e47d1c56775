"""Hand-made views of an invented job, one for every kind of demand, and a run that serves them."""

from dataclasses import dataclass, field, replace
from typing import Any

from runner.job.actions import Action, LetTimePass
from runner.job.demand import Demand, DemandKind, Option
from runner.joint.wrench import Certificate, Wrench
from runner.log.errors import NotRecorded
from runner.stamp import Stamp
from runner.view import (
    ConditionLine,
    GateLine,
    Identity,
    ItemLine,
    NoticeLine,
    Offer,
    OpenPoint,
    OwedLine,
    ProofLine,
    ShopTool,
    StepLine,
    StepView,
    View,
    WrenchLine,
)

NOW = Stamp(1_780_000_000_000, 120, 5_000, "b" * 32)

DANGER = NoticeLine(
    "danger",
    "The car can fall",
    "crushing",
    "Never work under a car that stands on a jack alone.",
    acknowledged=True,
)
NOTICE = NoticeLine(
    "notice",
    "Twisted rubber",
    "the bush tears within weeks",
    "Tighten only at ride height.",
    acknowledged=None,
)

IDENTITY = Identity(
    "Front lower arm, both sides",
    "lower-arm",
    "3",
    "Tarn 1.6 hatchback",
    "KX-204-T",
    "Ada Lind",
    rehearsal=True,
    unproved="",
)

CONDITIONS = (
    ConditionLine("support", "raised", hazardous=True, others=("on wheels", "at ride height")),
    ConditionLine("battery", "connected", others=("disconnected",)),
)

OWED = (
    OwedLine(
        "put off bush-angle@left",
        "Turn the bush bolts on by 90°",
        "left",
        "the rubber must sit untwisted at rest",
        "support is at ride height",
        "road-ready",
        "waiting",
        ready=False,
    ),
    OwedLine(
        "put off bush-angle@right",
        "Turn the bush bolts on by 90°",
        "right",
        "the rubber must sit untwisted at rest",
        "support is at ride height",
        "road-ready",
        "waiting",
        ready=False,
    ),
)

ITEMS = (
    ItemLine(
        "pinch bolt@left",
        "pinch bolt, left",
        "fastener",
        "stage 2",
        "final",
        off_plan=False,
        reopens=("loosened", "out", "started", "stage 1"),
    ),
    ItemLine("bush bolts@left", "bush bolts, left", "fastener", "stage 1", "part", off_plan=False),
    ItemLine("wheel bolts@left", "wheel bolts, left", "fastener", "out", "open", off_plan=False),
    ItemLine("sensor lead@left", "sensor lead, left", "connection", "connected", "final", off_plan=False),
    ItemLine("knuckle wedge@left", "knuckle wedge, left", "aid", "out", "final", off_plan=False),
    ItemLine("undertray", "undertray", "cover", "off", "open", off_plan=True),
    ItemLine("pinch bolt@right", "pinch bolt, right", "fastener", "untouched", "whole", off_plan=False),
    ItemLine("bush bolts@right", "bush bolts, right", "fastener", "untouched", "whole", off_plan=False),
    ItemLine("wheel bolts@right", "wheel bolts, right", "fastener", "untouched", "whole", off_plan=False),
    ItemLine("sensor lead@right", "sensor lead, right", "connection", "connected", "whole", off_plan=False),
    ItemLine("knuckle wedge@right", "knuckle wedge, right", "aid", "out", "whole", off_plan=False),
)

STEP = StepView(
    id="left/pinch-torque",
    step="pinch-torque",
    place="left",
    title="Tighten the pinch bolt",
    question=False,
    notices=(DANGER, NOTICE),
    gate=(
        GateLine("DANGER read", "done"),
        GateLine("Start by hand: pinch bolt, left", "done"),
        GateLine("Tighten pinch bolt, left", "now"),
        GateLine("Gap of the clamp (1.4 to 2.2 mm)", "later"),
        GateLine("Hold point: checker", "later"),
    ),
    expect="The slot closes to about 2 mm; the ball stud does not turn.",
    because="The clamp holds the ball stud by friction alone.",
    sketch="",
    helper="",
    omission_likely=False,
    critical=True,
    put_off=False,
    detour=False,
    limit_ms=None,
    warn=False,
)

TRAIL = (
    StepLine("raise", "Raise the front and set it on stands at the marked points.", "", "it stays still"),
    StepLine("left/wedge-in", "Open the knuckle slot with the wedge and leave it there.", "left"),
    StepLine("left/joint-in", "Push the ball stud home.", "left"),
    StepLine("left/wedge-out", "Take the wedge out.", "left"),
)
AHEAD = (
    StepLine("left/boot", "The ball-joint boot is", "left"),
    StepLine("left/lead", "Connect the sensor lead.", "left"),
    StepLine("right/wedge-in", "Open the knuckle slot with the wedge and leave it there.", "right"),
)

OFFERS = (
    Offer("PutOff", "Put this step off"),
    Offer("Deviate", "Deviate: out of band, by feel, other value, not done"),
    Offer("TakeBack", "Take back the latest act"),
    Offer("Correct", "Correct an earlier entry"),
    Offer("TakeUp", "Take up something owed", "nothing can be taken up now"),
    Offer("Reopen", "Reopen an item"),
)

TIGHTEN = Demand(
    "tighten",
    "Tighten pinch bolt, left",
    subject="pinch bolt@left",
    big="50 N·m",
    band="48 to 52 N·m",
    unit="N·m",
    tool="torque wrench",
    methods=("measured", "click"),
    stage=1,
    stages=2,
    member=1,
    sequence=(1,),
    critical=True,
)
STAR = Demand(
    "tighten",
    "Tighten wheel bolts, left, number 3 of 5, round 1 of 2",
    subject="wheel bolts@left",
    big="120 N·m",
    band="115 to 125 N·m",
    unit="N·m",
    tool="torque wrench",
    methods=("measured", "click"),
    stage=2,
    stages=2,
    member=5,
    sequence=(1, 3, 5, 2, 4),
    members_done=(1, 3),
)

IN_POUNDS = Wrench(
    name="TW", serial="0051", kind="click", low="10", high="150", unit="lbf·ft", graduation="1", length="400"
)
GAUGED = Wrench(
    name="EW",
    serial="0060",
    kind="electronic",
    low="7",
    high="135",
    unit="N·m",
    graduation="0.1",
    length="430",
    certificate=Certificate(uncertainty="1", number="INVENTED-131"),
)
LAPSED = Wrench(name="Beam", serial="0007", kind="beam", low="10", high="90", unit="N·m", due_on="2024-06-30")
SHOP: dict[str, Any] = {
    "tools": (("torque wrench", "TW 0051"), ("18 mm socket", "")),
    "wrenches": (WrenchLine("torque wrench", IN_POUNDS),),
    "shop_tools": (
        ShopTool("torque wrench", IN_POUNDS, "60 N·m: set 44 lbf·ft; 140 N·m: set 103 lbf·ft"),
        ShopTool("torque wrench", GAUGED, "60 N·m; not 140 N·m"),
        ShopTool("torque wrench", LAPSED, "overdue since 2024-06-30; 60 N·m", against=True),
    ),
}
"""A toolbox with three wrenches, and the first of them in hand."""
FITTED: dict[str, Any] = {
    **SHOP, "wrenches": (WrenchLine("torque wrench", IN_POUNDS, "50 mm extension at 0°"),)
}  # fmt: skip

_OPTIONS = (Option("it stays still", "it stays still"), Option("it rocks", "it rocks"))

DEMANDS: dict[DemandKind, Demand] = {
    "start": Demand(
        "start", "Who does this work, and on what?", options=(Option("odometer", "odometer in km"),)
    ),
    "choose": Demand(
        "choose",
        "Which location: side?",
        subject="side",
        options=(Option("left", "left"), Option("right", "right")),
    ),
    "prepare": Demand(
        "prepare",
        "Lay out and confirm one by one.",
        options=(
            Option("tool:torque wrench", "torque wrench, covers 20 to 130 N·m"),
            Option("tool:18 mm socket", "18 mm socket"),
            Option("part:pinch bolt", "2 × pinch bolt, number T-1042"),
            Option("person:checker", "checker, by name"),
            Option("condition:support", "support is on wheels"),
        ),
    ),
    "acknowledge": Demand("acknowledge", "The car can fall. Never work under it.", index=0, subject="danger"),
    "blocked": Demand(
        "blocked", "Tighten bush bolts, left: it cannot get 90° now", lift="support must be at ride height"
    ),
    "new part": Demand(
        "new part", "Take a new pinch bolt, part number T-1042: single use", subject="pinch bolt@left"
    ),
    "act": Demand("act", "Start by hand: pinch bolt, left", subject="pinch bolt@left", index=1),
    "confirm": Demand("confirm", "Tighten the pinch bolt"),
    "tighten": TIGHTEN,
    "wait": Demand("wait", "Wait: 9 min 5 s left of 10 min", until_ms=545_000),
    "reading": Demand(
        "reading", "Gap of the clamp", subject="gap", band="1.4 to 2.2 mm", unit="mm", tool="feeler gauge"
    ),
    "second reading": Demand(
        "second reading",
        "Gap of the clamp",
        subject="gap",
        band="1.4 to 2.2 mm",
        unit="mm",
        role="a second person",
    ),
    "worked out": Demand(
        "worked out",
        "Difference is outside at most 0.5 mm",
        lift="correct a reading, or deviate",
        subject="diff",
    ),
    "question": Demand(
        "question", "The ball-joint boot is", options=(Option("whole", "whole"), Option("torn", "torn"))
    ),
    "look": Demand("look", "How does the car behave when pushed at the corner?", options=_OPTIONS),
    "hold": Demand(
        "hold",
        "Is the pinch bolt through the groove of the stud?",
        lift="fetch a checker who did not do this step",
        role="checker",
    ),
    "cue": Demand(
        "cue",
        "Now is the time: left: Turn the bush bolts on by 90°",
        options=(Option("put off bush-angle@left", "left: Turn the bush bolts on by 90°"),),
    ),
    "due": Demand(
        "due",
        "First, before Lower it: left: Turn the bush bolts on by 90°",
        lift="it waits for: support at ride height",
        subject="put off bush-angle@left",
    ),
    "restore": Demand(
        "restore",
        "support is on wheels, the record says raised",
        lift="bring support back to raised and say so",
        subject="support",
    ),
    "doubt": Demand(
        "doubt",
        "The clocks disagree: has the time passed?",
        subject="wait x",
        options=(Option("passed", "it has passed"), Option("not yet", "not yet")),
    ),
    "resume": Demand("resume", "Paused: about to torque the pinch bolt"),
    "reconfirm": Demand(
        "reconfirm",
        "Compare with the work, by paint and position.",
        options=(
            Option("condition:support", "support is raised"),
            Option("aid:wedge", "In place: knuckle wedge, left"),
        ),
    ),
    "handover": Demand("handover", "Bo Marsh takes over: read the record, then say so.", role="Bo Marsh"),
    "stop": Demand(
        "stop",
        "Stopped at: Raise the front (it rocks)",
        lift="look again, take back, reopen, note, hand over, make safe and abandon",
    ),
    "close out": Demand(
        "close out",
        "Look round once more and confirm one by one.",
        options=(
            Option("tool:torque wrench", "torque wrench is back"),
            Option("line:0", "All covers back"),
            Option("line:1", "Anything abnormal?"),
        ),
    ),
    "make safe": Demand(
        "make safe",
        "Make the work safe before it is left.",
        options=(Option("line:0", "Leave it on stands"), Option("line:1", "Tag the keys")),
    ),
    "seal": Demand("seal", "Everything is done. Seal the log?", options=(Option("finished", "finished"),)),
    "sealed": Demand("sealed", "This run is sealed: finished."),
    "outside proof": Demand(
        "outside proof",
        "The program found the work in a state that its proof excludes.",
        lift="make the work safe",
    ),
}
"""One demand of every kind."""


def view_of(demand: Demand, **changes: Any) -> View:
    """A view in the middle of the invented job that asks `demand`."""
    view = View(
        seq=41,
        identity=IDENTITY,
        conditions=CONDITIONS,
        step=replace(STEP, title=demand.prompt) if demand.kind == "confirm" else STEP,
        demand=demand,
        owed=OWED,
        items=ITEMS,
        trail=TRAIL,
        ahead=AHEAD,
        open_points=(OpenPoint(1, "by feel: drain plug, torque wrench away (Bo Marsh)"),),
        offers=OFFERS,
        tools=(("torque wrench", "TW-3"), ("18 mm socket", "")),
        done_steps=14,
        all_steps=41,
        pause_note="",
        outcome="finished" if demand.kind == "sealed" else "",
        recorded=(("tighten pinch bolt@left|1|1", "pinch bolt, left number 1, stage 1: 50 N·m click"),),
        reasons=("part not here yet", "tool not here"),
    )
    return replace(view, **changes)


def sample(kind: DemandKind, **changes: Any) -> View:
    """A view that asks for one kind of demand."""
    if kind in {"start", "choose", "prepare", "close out", "seal", "sealed", "resume", "handover"}:
        changes = {"step": None, **changes}
    return view_of(DEMANDS[kind], **changes)


@dataclass
class Entry:
    """What the sample run records."""

    action: Action


@dataclass
class Refusal:
    text: str
    lift: str = ""


@dataclass
class Decision:
    entry: Entry | None = None
    refusal: Refusal | None = None


@dataclass
class SampleRun:
    """Serves views one after another: each recorded entry leads to the next. `refuse` is said once to an action."""

    views: list[View]
    refuse: Refusal | None = None
    fail: list[Exception] = field(default_factory=list)
    findings: tuple[str, ...] = ()
    done: list[Action] = field(default_factory=list)
    tried: list[Action] = field(default_factory=list)
    now: Stamp = NOW
    timed: View | None = None
    answer: tuple[ProofLine, ...] = ()
    foreseen: list[Action] = field(default_factory=list)

    def foresee(self, action: Action) -> tuple[ProofLine, ...]:
        self.foreseen.append(action)
        return self.answer

    @property
    def view(self) -> View:
        return self.views[0]

    def picture(self, stamp: Stamp) -> View:
        return self.timed or self.view

    def stamp(self) -> Stamp:
        return self.now

    def decide(self, action: Action) -> Decision:
        if isinstance(action, LetTimePass) and action.says is None:
            return Decision()
        self.tried.append(action)
        if self.refuse is not None:
            refusal, self.refuse = self.refuse, None
            return Decision(None, refusal)
        return Decision(Entry(action))

    def record(self, entry: Entry) -> None:
        if self.fail:
            raise self.fail.pop(0)

    def apply(self, entry: Entry) -> None:
        self.done.append(entry.action)
        if len(self.views) > 1:
            self.views.pop(0)
        else:
            self.views[0] = replace(self.view, seq=self.view.seq + 1)

    def summary(self) -> tuple[str, ...]:
        return (
            "Front lower arm, KX-204-T: finished",
            "Receipt code, for the job sheet: 7QK3-M2",
            "Follow up: alignment",
        )


def disk_full(*, may_retry: bool = True) -> NotRecorded:
    return NotRecorded("the disk is full", may_retry=may_retry)
