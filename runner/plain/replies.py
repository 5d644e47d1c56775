"""What one typed line turns out to be, before anything is done about it."""

from dataclasses import dataclass
from typing import Any

from runner.job.actions import Action
from runner.stamp import Stamp
from runner.view import View


@dataclass(frozen=True, slots=True)
class Moment:
    """Who types, when, and what was on the screen: every action carries these."""

    view: View
    who: str
    stamp: Stamp
    by_name: bool = False
    """Whether the name was given with this line (`as NAME:`), not only assumed from before."""

    def base(self) -> dict[str, Any]:
        """What every action is made with."""
        return {"who": self.who, "stamp": self.stamp, "seen": self.view.seq}


@dataclass(frozen=True, slots=True)
class Complaint:
    """The line says nothing that can be tried; `text` says what would."""

    text: str


@dataclass(frozen=True, slots=True)
class Show:
    """Only something to be printed; nothing is recorded."""

    topic: str


@dataclass(frozen=True, slots=True)
class BeNamed:
    """From here on somebody else types."""

    name: str


@dataclass(frozen=True, slots=True)
class May:
    """A question to the proof: what an act would come to. Nothing is recorded."""

    action: Action


@dataclass(frozen=True, slots=True)
class WaitHere:
    """Stay at the prompt until the wait is over."""


@dataclass(frozen=True, slots=True)
class Leave:
    """Leave the run as it stands."""


Reply = Action | Complaint | Show | BeNamed | May | WaitHere | Leave
