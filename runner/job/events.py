"""What became true: frozen, past tense, carrying everything replay needs (states, bands, settings, ways).

One action gives one `Entry`: who, when, and its events, the act first and its consequences after it. An entry is
one line of the log, so that it is there whole or not at all. `evolve` applies events and decides nothing again.
Every event kind has a version (`v`); an unknown kind or version is refused by name (`record.from_record`).
"""

from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field

from runner.frozen import Frozen
from runner.stamp import Stamp


class Event(BaseModel):
    """The base of all events."""

    model_config = ConfigDict(frozen=True, extra="forbid", defer_build=True)

    v: Literal[1] = 1


class Started(Event):
    """The run began."""

    kind: Literal["started"] = "started"
    work_piece: str
    counters: tuple[tuple[str, str], ...] = ()


class PrerequisiteMet(Event):
    """A prerequisite is ready; `value` is the person's name or the condition's value."""

    kind: Literal["prerequisite_met"] = "prerequisite_met"
    key: str
    value: str = ""


class CountedIn(Event):
    """A tool lies ready."""

    kind: Literal["counted_in"] = "counted_in"
    tool: str
    identity: str = ""


class CountedOut(Event):
    """A tool is back."""

    kind: Literal["counted_out"] = "counted_out"
    tool: str


class Chosen(Event):
    """A variant or location was picked."""

    kind: Literal["chosen"] = "chosen"
    name: str
    value: str


class Acknowledged(Event):
    """An injury notice was read."""

    kind: Literal["acknowledged"] = "acknowledged"
    node: str
    notice: int


class PartConfirmed(Event):
    """A new single-use part is at hand."""

    kind: Literal["part_confirmed"] = "part_confirmed"
    node: str
    item: str
    number: str = ""


class Acted(Event):
    """An act was done; the item is now at `state`."""

    kind: Literal["acted"] = "acted"
    node: str
    act: int
    item: str
    verb: str
    state: str


class Confirmed(Event):
    """A step without acts on items was done."""

    kind: Literal["confirmed"] = "confirmed"
    node: str


class Held(Event):
    """A value as entered: `raw` typed, `value` in `unit`, the method and tool, the band it was held against."""

    raw: str = ""
    value: str = ""
    unit: str = ""
    method: str = ""
    tool: str = ""
    low: str | None = None
    high: str | None = None


class Tightened(Held):
    """One fastener reached one stage; `last` when it was the last of the act."""

    kind: Literal["tightened"] = "tightened"
    node: str
    act: int
    item: str
    stage: int
    member: int
    state: str
    target: str = ""
    last: bool = False


class ReadingTaken(Held):
    """A reading, time number `index`; `second` for a second person's blind reading."""

    kind: Literal["reading_taken"] = "reading_taken"
    node: str
    name: str
    index: int = 1
    second: bool = False


class WorkedOut(Event):
    """A value computed from earlier readings; `within` is False where it lies outside its band."""

    kind: Literal["worked_out"] = "worked_out"
    node: str
    name: str
    value: str
    unit: str
    inputs: tuple[tuple[str, str], ...] = ()
    low: str | None = None
    high: str | None = None
    within: bool = True


class Answered(Event):
    """A look-for or question was answered, or a reading fell into a named band; the way is the label's."""

    kind: Literal["answered"] = "answered"
    node: str
    label: str
    by: Literal["look", "question", "sorted"] = "question"


class HoldReleased(Event):
    """A hold point was released by `who` of the entry, in `role`."""

    kind: Literal["hold_released"] = "hold_released"
    node: str
    role: str
    said: str = ""


class HoldRefused(Event):
    """A hold point was refused."""

    kind: Literal["hold_refused"] = "hold_refused"
    node: str
    role: str
    said: str = ""


class Waived(Event):
    """A deviation let the gate pass without `what` (`act 0`, `member 0|1|3`, `confirm`, `reading NAME`, `hold`…)."""

    kind: Literal["waived"] = "waived"
    node: str
    what: str


class Deviated(Event):
    """Work departed from the procedure: an open point to the end of the report."""

    kind: Literal["deviated"] = "deviated"
    deviation: str
    node: str
    subject: str = ""
    reason: str
    authority: str = ""
    raw: str = ""


class NotApplicableSaid(Event):
    """This work piece does not have the item, or the step (then `item` is empty)."""

    kind: Literal["not_applicable"] = "not_applicable"
    node: str
    item: str = ""
    reason: str


class OrderChanged(Event):
    """Fastener `member` comes first in the rest of the round."""

    kind: Literal["order_changed"] = "order_changed"
    node: str
    item: str
    member: int


class ConditionSet(Event):
    """A condition has a new value."""

    kind: Literal["condition_set"] = "condition_set"
    name: str
    value: str


class StepDone(Event):
    """Everything the gate of the step asks was there."""

    kind: Literal["step_done"] = "step_done"
    node: str
    to: str


class LoopTaken(Event):
    """A way back was taken once more."""

    kind: Literal["loop_taken"] = "loop_taken"
    limit: str


class CameTo(Event):
    """The main line (or a detour) stands at another step."""

    kind: Literal["came_to"] = "came_to"
    node: str


class StoppedAt(Event):
    """Work stopped at a step, along the way that `label` names."""

    kind: Literal["stopped_at"] = "stopped_at"
    node: str
    label: str


class ClosingBegan(Event):
    """The last step is done; close-out begins."""

    kind: Literal["closing_began"] = "closing_began"


class Listed(Event):
    """A planned put-off step was reached with its window shut and is owed from now on."""

    kind: Literal["listed"] = "listed"
    node: str


class PutOffUnplanned(Event):
    """The performer put a step off outside the plan."""

    kind: Literal["put_off_unplanned"] = "put_off_unplanned"
    node: str
    reason: str


class WindowOpened(Event):
    """Something owed can be done now. `basis` names the clock where time opened it."""

    kind: Literal["window_opened"] = "window_opened"
    key: str
    basis: str = ""


class WindowClosed(Event):
    """Something owed can no longer be done for now."""

    kind: Literal["window_closed"] = "window_closed"
    key: str


class Overdue(Event):
    """The time a put-off step had is over."""

    kind: Literal["overdue"] = "overdue"
    key: str
    basis: str = ""


class TakenUp(Event):
    """Something owed is in hand."""

    kind: Literal["taken_up"] = "taken_up"
    key: str


class OwedDone(Event):
    """Something owed is done; the step in hand before goes on."""

    kind: Literal["owed_done"] = "owed_done"
    key: str


class OwedDropped(Event):
    """A debt fell away: what it was about is not applicable, or it was replaced by a later one."""

    kind: Literal["owed_dropped"] = "owed_dropped"
    key: str


class PassedBy(Event):
    """A cue was passed by for now."""

    kind: Literal["passed_by"] = "passed_by"
    key: str
    reason: str = ""


class OwedAgain(Event):
    """A done step (or a part of it) is owed once more. `what`: acts, reading NAME, member …, hold."""

    kind: Literal["owed_again"] = "owed_again"
    key: str
    node: str
    why: str
    what: str
    item: str = ""
    acts: tuple[int, ...] = ()


class WaitOver(Event):
    """The wait of a step is over, on the clock named."""

    kind: Literal["wait_over"] = "wait_over"
    node: str
    basis: str


class TooLate(Event):
    """The time limit of a step has passed; the answer is *too late*."""

    kind: Literal["too_late"] = "too_late"
    node: str
    basis: str


class TimeTold(Event):
    """Where the clocks disagree, a person said whether the time has passed."""

    kind: Literal["time_told"] = "time_told"
    subject: str
    has_passed: bool


class Corrected(Held):
    """A later value for an earlier entry; both stay. `stands` is False where the gate would now refuse it."""

    kind: Literal["corrected"] = "corrected"
    key: str
    reason: str
    stands: bool = True


class AskedAgain(Event):
    """An answer was withdrawn; its question stands again."""

    kind: Literal["asked_again"] = "asked_again"
    node: str
    reason: str


class HoldLapsed(Event):
    """A release given earlier no longer counts."""

    kind: Literal["hold_lapsed"] = "hold_lapsed"
    node: str


class TakenBack(Event):
    """The latest act was undone in the record."""

    kind: Literal["taken_back"] = "taken_back"
    reason: str = ""


class Reopened(Event):
    """An item is open again outside the plan; `acts` of the step in hand are to be done again."""

    kind: Literal["reopened"] = "reopened"
    item: str
    state: str
    reason: str
    acts: tuple[int, ...] = ()


class ExtraWorkAdded(Event):
    """Something the procedure does not name is open."""

    kind: Literal["extra_work_added"] = "extra_work_added"
    key: str
    text: str


class ExtraWorkFinished(Event):
    """The extra work is closed."""

    kind: Literal["extra_work_done"] = "extra_work_done"
    key: str
    said: str = ""


class ConditionFound(Event):
    """A condition was seen to differ from the record (or to agree with it again)."""

    kind: Literal["condition_found"] = "condition_found"
    name: str
    value: str


class DetourBegan(Event):
    """The way back to the recorded condition begins."""

    kind: Literal["detour_began"] = "detour_began"
    node: str


class DetourEnded(Event):
    """The detour is over; the main line goes on where it stood."""

    kind: Literal["detour_ended"] = "detour_ended"


class Noted(Event):
    """A remark."""

    kind: Literal["noted"] = "noted"
    node: str
    text: str


class ToolChanged(Event):
    """From here on the tool is another one."""

    kind: Literal["tool_changed"] = "tool_changed"
    tool: str
    identity: str
    reason: str


class Paused(Event):
    """The bench was left."""

    kind: Literal["paused"] = "paused"
    note: str


class Resumed(Event):
    """Work goes on after the keys named are confirmed against the hardware."""

    kind: Literal["resumed"] = "resumed"
    confirm: tuple[str, ...] = ()


class Reconfirmed(Event):
    """One thing was compared with the record."""

    kind: Literal["reconfirmed"] = "reconfirmed"
    key: str
    as_recorded: bool


class HandoverOffered(Event):
    """The outgoing person hands over."""

    kind: Literal["handover_offered"] = "handover_offered"
    to: str
    note: str = ""


class HandedOver(Event):
    """The incoming person took over; both have acknowledged."""

    kind: Literal["handed_over"] = "handed_over"
    to: str


class TakenOver(Event):
    """The incoming person took over alone."""

    kind: Literal["taken_over"] = "taken_over"
    by: str
    reason: str


class CloseOutConfirmed(Event):
    """A close-out line holds."""

    kind: Literal["close_out_confirmed"] = "close_out_confirmed"
    line: int
    said: str = ""
    text: str = ""


class Abandoning(Event):
    """The run is being abandoned; the make-safe lines come first."""

    kind: Literal["abandoning"] = "abandoning"
    reason: str
    lines: tuple[str, ...] = ()


class MadeSafe(Event):
    """A make-safe line is done."""

    kind: Literal["made_safe"] = "made_safe"
    line: int
    said: str


class Sealed(Event):
    """The run has ended. Lists what stays open, by name, so that the seal can be read alone."""

    kind: Literal["sealed"] = "sealed"
    outcome: Literal["finished", "finished with open points", "abandoned"]
    reason: str = ""
    open_points: tuple[str, ...] = ()
    open_items: tuple[str, ...] = ()
    owed: tuple[str, ...] = ()
    conditions: tuple[tuple[str, str], ...] = ()
    follow_ups: tuple[str, ...] = ()
    steps_done: int = 0


class LeftProof(Event):
    """An item stands where the proof says it cannot: a program error; the run stops safely."""

    kind: Literal["left_proof"] = "left_proof"
    node: str
    item: str
    state: str


class Refused(Event):
    """An action was refused; nothing else changed."""

    kind: Literal["refused"] = "refused"
    action: str
    node: str = ""
    subject: str = ""
    raw: str = ""
    why: str


AnyEvent = Annotated[
    Started
    | PrerequisiteMet
    | CountedIn
    | CountedOut
    | Chosen
    | Acknowledged
    | PartConfirmed
    | Acted
    | Confirmed
    | Tightened
    | ReadingTaken
    | WorkedOut
    | Answered
    | HoldReleased
    | HoldRefused
    | Waived
    | Deviated
    | NotApplicableSaid
    | OrderChanged
    | ConditionSet
    | StepDone
    | LoopTaken
    | CameTo
    | StoppedAt
    | ClosingBegan
    | Listed
    | PutOffUnplanned
    | WindowOpened
    | WindowClosed
    | Overdue
    | TakenUp
    | OwedDone
    | OwedDropped
    | PassedBy
    | OwedAgain
    | WaitOver
    | TooLate
    | TimeTold
    | Corrected
    | AskedAgain
    | HoldLapsed
    | TakenBack
    | Reopened
    | ExtraWorkAdded
    | ExtraWorkFinished
    | ConditionFound
    | DetourBegan
    | DetourEnded
    | Noted
    | ToolChanged
    | Paused
    | Resumed
    | Reconfirmed
    | HandoverOffered
    | HandedOver
    | TakenOver
    | CloseOutConfirmed
    | Abandoning
    | MadeSafe
    | Sealed
    | LeftProof
    | Refused,
    Field(discriminator="kind"),
]


class Entry(Frozen):
    """One line of the log: who, when, and what became true, the act first."""

    who: str
    stamp: Stamp
    events: tuple[Event, ...]

    @property
    def kind(self) -> str:
        """The kind of the act."""
        return str(self.events[0].kind)  # type: ignore[attr-defined]
