"""What the bench needs of a run: the picture, what an action comes to, and a record that lasts."""

from typing import Protocol

from runner.bench.writer import Entry
from runner.job.actions import Action
from runner.stamp import Stamp
from runner.view import ProofLine, View


class Refused(Protocol):
    """A refusal, as the engine words it."""

    @property
    def text(self) -> str:
        """What is refused."""

    @property
    def lift(self) -> str:
        """What would lift it."""


class Decided(Protocol):
    """What the engine says to an action: an entry to record, a refusal, both, or neither."""

    @property
    def entry(self) -> Entry | None:
        """What is to be recorded."""

    @property
    def refusal(self) -> Refused | None:
        """Why the action does not count."""


class BenchRun(Protocol):
    """The part of `runner.run.Run` that the bench needs."""

    @property
    def view(self) -> View:
        """The picture as recorded."""

    @property
    def findings(self) -> tuple[str, ...]:
        """Remarks of a resume."""

    def picture(self, stamp: Stamp) -> View:
        """The picture with times judged at a moment."""

    def stamp(self) -> Stamp:
        """Now."""

    def decide(self, action: Action) -> Decided:
        """What an action comes to."""

    def foresee(self, action: Action) -> tuple[ProofLine, ...]:
        """What the proof answers to an action before it is recorded."""

    def record(self, entry: Entry) -> object:
        """Make an entry durable; blocks."""

    def apply(self, entry: Entry) -> None:
        """Take a durable entry into the picture."""

    def summary(self) -> tuple[str, ...]:
        """Lines for the end."""
