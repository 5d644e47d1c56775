"""What became true of the way: conditions, steps done and come to, work put off, its windows, and time."""

from runner.job.events.base import Event


class ConditionSet(Event, frozen=True, tag="condition_set"):
    """A condition has a new value."""

    name: str
    value: str


class StepDone(Event, frozen=True, tag="step_done"):
    """Everything the gate of the step asks was there."""

    node: str
    to: str


class LoopTaken(Event, frozen=True, tag="loop_taken"):
    """A way back was taken once more."""

    limit: str


class CameTo(Event, frozen=True, tag="came_to"):
    """The main line (or a detour) stands at another step."""

    node: str


class StoppedAt(Event, frozen=True, tag="stopped_at"):
    """Work stopped at a step, along the way that `label` names."""

    node: str
    label: str


class ClosingBegan(Event, frozen=True, tag="closing_began"):
    """The last step is done; close-out begins."""


class Listed(Event, frozen=True, tag="listed"):
    """A planned put-off step was reached with its window shut and is owed from now on."""

    node: str


class PutOffUnplanned(Event, frozen=True, tag="put_off_unplanned"):
    """The performer put a step off outside the plan."""

    node: str
    reason: str


class WindowOpened(Event, frozen=True, tag="window_opened"):
    """Something owed can be done now. `basis` names the clock where time opened it."""

    key: str
    basis: str = ""


class WindowClosed(Event, frozen=True, tag="window_closed"):
    """Something owed can no longer be done for now."""

    key: str


class Overdue(Event, frozen=True, tag="overdue"):
    """The time a put-off step had is over."""

    key: str
    basis: str = ""


class TakenUp(Event, frozen=True, tag="taken_up"):
    """Something owed is in hand."""

    key: str


class OwedDone(Event, frozen=True, tag="owed_done"):
    """Something owed is done; the step in hand before goes on."""

    key: str


class OwedDropped(Event, frozen=True, tag="owed_dropped"):
    """A debt fell away: what it was about is not applicable, or it was replaced by a later one."""

    key: str


class PassedBy(Event, frozen=True, tag="passed_by"):
    """A cue was passed by for now, or what was taken up was put down; `done` are the owed acts done of it by then."""

    key: str
    reason: str = ""
    done: tuple[int, ...] = ()


class OwedAgain(Event, frozen=True, tag="owed_again"):
    """A done step (or a part of it) is owed once more. `what`: acts, reading NAME, member …, hold."""

    key: str
    node: str
    why: str
    what: str
    item: str = ""
    acts: tuple[int, ...] = ()


class WaitOver(Event, frozen=True, tag="wait_over"):
    """The wait of a step is over, on the clock named."""

    node: str
    basis: str


class TooLate(Event, frozen=True, tag="too_late"):
    """The time limit of a step has passed; the answer is *too late*."""

    node: str
    basis: str


class TimeTold(Event, frozen=True, tag="time_told"):
    """Where the clocks disagree, a person said whether the time has passed."""

    subject: str
    has_passed: bool
