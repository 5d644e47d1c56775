"""What became true of the way: conditions, steps done and come to, work put off, its windows, and time."""

from typing import Literal

from runner.job.events.base import Event


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
