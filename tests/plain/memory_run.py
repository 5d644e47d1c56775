"""A run without a file: the real engine, entries kept in a list, recording that fails when told to."""

from pathlib import Path

from runner.job.actions import Action
from runner.job.decide import Decision, decide
from runner.job.events import Entry
from runner.job.evolve import evolve
from runner.job.state import Job, new_job
from runner.log.errors import LogError
from runner.outlook import outlook
from runner.picture import picture
from runner.procedure.linked import Procedure
from runner.proof.live import ahead
from runner.proof.prove import prove
from runner.stamp import Stamp
from runner.view import ProofLine, View


class MemoryRun:
    """What line mode needs of a run; the clock moves 10 ms a look."""

    def __init__(self, procedure: Procedure, *, rehearsal: bool = True, proved: bool = False) -> None:
        self.job: Job = new_job(procedure, prove(procedure).gates if proved else None, rehearsal=rehearsal)
        self.ask = ahead if proved else None
        self.entries: list[Entry] = []
        self.actions: list[Action] = []
        self.failures: list[LogError] = []
        self.findings: tuple[str, ...] = ()
        self.mono_ms = 0

    @property
    def path(self) -> Path | None:
        return Path("kept.jsonl") if self.entries else None

    @property
    def receipt(self) -> str:
        return "ABCDE-12345"

    @property
    def sealed(self) -> bool:
        return self.job.phase == "sealed"

    @property
    def view(self) -> View:
        return picture(self.job)

    def picture(self, stamp: Stamp) -> View:
        return picture(self.job, stamp)

    def stamp(self) -> Stamp:
        self.mono_ms += 10
        return Stamp(1_780_000_000_000 + self.mono_ms, 120, self.mono_ms, "boot")

    def decide(self, action: Action) -> Decision:
        self.actions.append(action)
        return decide(self.job, action, self.ask)

    def foresee(self, action: Action) -> tuple[ProofLine, ...]:
        decision = decide(self.job, action, self.ask)
        after = evolve(self.job, decision.entry) if decision.entry is not None else self.job
        return outlook(self.job, action, decision, after)

    def record(self, entry: Entry) -> None:
        if self.failures:
            raise self.failures.pop(0)
        self.entries.append(entry)

    def apply(self, entry: Entry) -> None:
        assert self.entries[-1] is entry
        self.job = evolve(self.job, entry)

    def summary(self) -> tuple[str, ...]:
        return (f"outcome: {self.job.outcome}",)

    def make_safe_tag(self) -> tuple[str, ...]:
        return ("UNFINISHED",)
