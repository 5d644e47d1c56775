"""One frozen picture of a job: what is current, what is owed, what may be done and why not.

Bench, line mode and replay draw this and nothing else. All text in it is data as the author or the technician
wrote it; whoever draws it makes it safe for its surface.
"""

from typing import Literal

from runner.frozen import Frozen
from runner.job.demand import Demand
from runner.joint.wrench import Wrench

UNPROVED_MEANS = (
    "no last-chance gates and no free order: nothing insists on put-off work while it can still be done"
)
"""What a run without a proof lacks, said wherever the reason for running it stands."""

NO_WAY = "NO WAY LEFT"
"""Before what the proof says that nothing closes any more, on every surface."""

MarkState = Literal["whole", "open", "part", "final", "not done", "not applicable"]


class Identity(Frozen):
    """Who and what: always on the screen."""

    title: str
    procedure: str
    revision: str
    fits: str
    work_piece: str
    performer: str
    rehearsal: bool
    unproved: str
    sources: tuple[str, ...] = ()


class ConditionLine(Frozen):
    """A condition and its value; `becoming` is set while it is being changed; `found` where it differs.

    `others` are the values it might be found at instead.
    """

    name: str
    value: str
    becoming: str = ""
    found: str = ""
    hazardous: bool = False
    others: tuple[str, ...] = ()


class NoticeLine(Frozen):
    """A notice in force; `acknowledged` is None where it simply stands."""

    level: str
    hazard: str
    consequence: str
    avoid: str
    acknowledged: bool | None


class GateLine(Frozen):
    """One thing within the step's gate, in order: `state` done, now, later or waived."""

    text: str
    state: Literal["done", "now", "later", "waived"]


class StepView(Frozen):
    """The step in hand."""

    id: str
    step: str
    place: str
    title: str
    question: bool
    notices: tuple[NoticeLine, ...]
    gate: tuple[GateLine, ...]
    expect: str
    because: str
    sketch: str
    helper: str
    omission_likely: bool
    critical: bool
    put_off: bool
    detour: bool
    limit_ms: int | None
    warn: bool
    tools: tuple[str, ...] = ()


class ProofLine(Frozen):
    """One line of what the proof answers to an act that leaves the plan: what holds, what is owed until where, what
    nothing closes any more, that the act is refused, what still closes what is open, or that it could not be decided.
    """

    kind: Literal["holds", "owed", "lost", "refused", "closes", "unsure"]
    text: str


class OwedLine(Frozen):
    """Something owed. `status`: waiting, cued, passed by, overdue; `ready` when it can be taken up now.

    `last_chance` is the step ahead, if any, after which its window opens no more before it is due.
    """

    key: str
    what: str
    where: str
    why: str
    trigger: str
    before: str
    status: str
    ready: bool
    last_chance: str = ""

    @property
    def until(self) -> str:
        """Before what it is done at the latest, with the last chance first: the work insists on it there."""
        words = [f"last chance before {self.last_chance}"] if self.last_chance else []
        if self.before and self.before != self.last_chance:
            words.append(f"before {self.before}")
        return "; ".join(words)


class ItemLine(Frozen):
    """An item of the ledger; `state` in words, `mark` for the stripe, `off_plan` where the proof no longer vouches."""

    key: str
    label: str
    kind: str
    state: str
    mark: MarkState
    off_plan: bool
    members: tuple[str, ...] = ()
    reopens: tuple[str, ...] = ()
    """The open states it may be found in, less advanced than the recorded one."""


class StepLine(Frozen):
    """A step of the trail or ahead."""

    id: str
    title: str
    place: str
    note: str = ""


class OpenPoint(Frozen):
    """A deviation that stays open to the end of the report."""

    number: int
    text: str


class ShopTool(Frozen):
    """A tool of the shop's toolbox that would do for `tool` of the procedure, the best first.

    `words` say what it would be set to, or what speaks against it; where `against`, it needs a deviation (unfit tool).
    """

    tool: str
    wrench: Wrench
    words: str
    against: bool = False


class WrenchLine(Frozen):
    """A tool of the toolbox in hand, as `tool` of the procedure, and what is fitted to it, in words."""

    tool: str
    wrench: Wrench
    extension: str = ""


class Offer(Frozen):
    """Something that may be done besides answering the demand; `why_not` is empty where it may."""

    action: str
    label: str
    why_not: str = ""


class View(Frozen):
    """The whole picture. `seq` goes back in every action's `seen`."""

    seq: int
    identity: Identity
    conditions: tuple[ConditionLine, ...]
    step: StepView | None
    demand: Demand
    owed: tuple[OwedLine, ...]
    items: tuple[ItemLine, ...]
    trail: tuple[StepLine, ...]
    ahead: tuple[StepLine, ...]
    open_points: tuple[OpenPoint, ...]
    offers: tuple[Offer, ...]
    tools: tuple[tuple[str, str], ...]
    done_steps: int
    all_steps: int
    pause_note: str
    outcome: str
    recorded: tuple[tuple[str, str], ...]
    """Keys and words of readings, tightenings and answers that `Correct` may name, newest first (at most 50)."""
    reasons: tuple[str, ...]
    """Stock reasons for a put-off or deviation here."""
    lost: tuple[str, ...] = ()
    """What nothing ahead closes any more, as the proof said last and as far as it is still so."""
    wrenches: tuple[WrenchLine, ...] = ()
    """The tools of the toolbox that are in hand."""
    shop_tools: tuple[ShopTool, ...] = ()
    """What the shop's toolbox has for the tools that the procedure asks for."""
    receipt: str = ""
    """At a hold point the receipt code of the record so far, for the job sheet of who releases it."""
