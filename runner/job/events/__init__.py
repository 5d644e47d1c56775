"""What became true: frozen, past tense, carrying everything replay needs (states, bands, settings, ways).

One action gives one `Entry`: who, when, and its events, the act first and its consequences after it. An entry is
one line of the log, so that it is there whole or not at all. `evolve` applies events and decides nothing again.
Every event kind has a version (`v`); an unknown kind or version is refused by name (`record.from_record`).
"""

from typing import get_args

from runner.frozen import Slim
from runner.job.events.base import Event, Held
from runner.job.events.ends import (
    Abandoning,
    Chosen,
    CloseOutConfirmed,
    CountedIn,
    CountedOut,
    HandedOver,
    HandoverOffered,
    LeftProof,
    MadeSafe,
    Paused,
    PrerequisiteMet,
    Reconfirmed,
    Refused,
    Resumed,
    Sealed,
    Started,
    TakenOver,
)
from runner.job.events.gate import (
    Acknowledged,
    Acted,
    Answered,
    Confirmed,
    Deviated,
    HoldRefused,
    HoldReleased,
    NotApplicableSaid,
    OrderChanged,
    PartConfirmed,
    ReadingTaken,
    Tightened,
    Waived,
    WorkedOut,
)
from runner.job.events.later import (
    AskedAgain,
    ConditionFound,
    Corrected,
    DetourBegan,
    DetourEnded,
    ExtensionFitted,
    ExtraWorkAdded,
    ExtraWorkFinished,
    HoldLapsed,
    Noted,
    Reopened,
    Reproved,
    TakenBack,
    ToolChanged,
)
from runner.job.events.ways import (
    CameTo,
    ClosingBegan,
    ConditionSet,
    Listed,
    LoopTaken,
    Overdue,
    OwedAgain,
    OwedDone,
    OwedDropped,
    PassedBy,
    PutOffUnplanned,
    StepDone,
    StoppedAt,
    TakenUp,
    TimeTold,
    TooLate,
    WaitOver,
    WindowClosed,
    WindowOpened,
)
from runner.stamp import Stamp

AnyEvent = (
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
    | Reproved
    | ExtraWorkAdded
    | ExtraWorkFinished
    | ConditionFound
    | DetourBegan
    | DetourEnded
    | Noted
    | ToolChanged
    | ExtensionFitted
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
    | Refused
)


for _kind in get_args(AnyEvent):
    _kind.kind = (
        _kind.__struct_config__.tag
    )  # looked up at every event; asking the class for its tag takes a call


class Entry(Slim, frozen=True):
    """One line of the log: who, when, and what became true, the act first."""

    who: str
    stamp: Stamp
    events: tuple[Event, ...]

    @property
    def kind(self) -> str:
        """The kind of the act."""
        return self.events[0].kind


__all__ = [
    "Abandoning",
    "Acknowledged",
    "Acted",
    "Answered",
    "AnyEvent",
    "AskedAgain",
    "CameTo",
    "Chosen",
    "CloseOutConfirmed",
    "ClosingBegan",
    "ConditionFound",
    "ConditionSet",
    "Confirmed",
    "Corrected",
    "CountedIn",
    "CountedOut",
    "DetourBegan",
    "DetourEnded",
    "Deviated",
    "Entry",
    "Event",
    "ExtensionFitted",
    "ExtraWorkAdded",
    "ExtraWorkFinished",
    "HandedOver",
    "HandoverOffered",
    "Held",
    "HoldLapsed",
    "HoldRefused",
    "HoldReleased",
    "LeftProof",
    "Listed",
    "LoopTaken",
    "MadeSafe",
    "NotApplicableSaid",
    "Noted",
    "OrderChanged",
    "Overdue",
    "OwedAgain",
    "OwedDone",
    "OwedDropped",
    "PartConfirmed",
    "PassedBy",
    "Paused",
    "PrerequisiteMet",
    "PutOffUnplanned",
    "ReadingTaken",
    "Reconfirmed",
    "Refused",
    "Reopened",
    "Reproved",
    "Resumed",
    "Sealed",
    "Started",
    "StepDone",
    "StoppedAt",
    "TakenBack",
    "TakenOver",
    "TakenUp",
    "Tightened",
    "TimeTold",
    "TooLate",
    "ToolChanged",
    "WaitOver",
    "Waived",
    "WindowClosed",
    "WindowOpened",
    "WorkedOut",
]
