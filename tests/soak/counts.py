"""What a soak counted, in numbers, and what it must have counted at least."""

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field

HELD_EACH = 500
OF_RUNS = 10_000

KINDS: Mapping[str, tuple[str, ...]] = {
    "pauses": ("paused",),
    "kills between entries": ("kills between entries",),
    "kills in mid-entry": ("kills in mid-entry",),
    "kill -9 of a process": ("kill -9 of a process",),
    "taken up again": ("opened",),
    "gone on with after a pause": ("resumed",),
    "handovers": ("handed_over", "taken_over"),
    "corrections": ("corrected", "asked_again"),
    "reopenings": ("reopened",),
    "full disks": ("full disks",),
    "failed syncs": ("failed syncs",),
}
"""Kinds of interruption, each with what of it is counted: lines of the logs, or what was done to the process."""

SEMANTICS: Mapping[str, tuple[str, ...]] = {
    "1 order": ("came_to", "answered", "loop_taken"),
    "2 gate": ("acknowledged", "acted", "confirmed", "step_done", "stopped_at", "refused"),
    "3 conditions": ("condition_set", "condition_found", "detour_began", "detour_ended"),
    "4 ledger": ("tightened", "part_confirmed"),
    "5 put off": ("listed", "window_opened", "taken_up", "passed_by", "owed_done", "put_off_unplanned"),
    "6 readings": ("reading_taken",),
    "7 four different things": ("deviated", "not_applicable", "corrected", "taken_back", "reopened",
                                "extra_work_added"),
    "8 on and off the plan": ("reproved",),
    "9 time": ("time_told", "wait_over", "too_late", "overdue"),
    "10 people": ("hold_released", "hold_refused", "handed_over", "taken_over"),
    "11 resume": ("resumed", "reconfirmed"),
    "12 end": ("close_out_confirmed", "made_safe", "abandoning", "sealed"),
}  # fmt: skip
"""The events that the judge holds against each of the twelve semantics (all against more than one)."""


@dataclass
class Tally:
    """What the runs of a range came to."""

    runs: int = 0
    outcomes: Counter[str] = field(default_factory=Counter)
    seen: Counter[str] = field(default_factory=Counter)
    faults: list[str] = field(default_factory=list)

    def add(self, other: "Tally") -> None:
        """Take in what another range came to."""
        self.runs += other.runs
        self.outcomes += other.outcomes
        self.seen += other.seen
        self.faults += other.faults

    def kinds(self) -> dict[str, int]:
        """How often each kind of interruption occurred."""
        return {kind: sum(self.seen[name] for name in names) for kind, names in KINDS.items()}

    def semantics(self) -> dict[str, int]:
        """How many events were held against each of the twelve semantics."""
        return {words: sum(self.seen[name] for name in names) for words, names in SEMANTICS.items()}

    @property
    def sealed(self) -> int:
        """Runs that came to a seal."""
        return self.runs - self.outcomes["no seal"]

    def too_few(self, *, forks: bool = True) -> list[str]:
        """Kinds of interruption that occurred too seldom for so many runs, and semantics that nothing touched."""
        least = max(1, HELD_EACH * self.runs // OF_RUNS)
        few = [f"{kind}: {number} of {least}" for kind, number in self.kinds().items() if number < least
               and (forks or kind != "kill -9 of a process")]  # fmt: skip
        return few + [f"{words}: none" for words, number in self.semantics().items() if not number]

    def text(self) -> str:
        """The counts in lines."""
        told = {name for names in (*KINDS.values(), *SEMANTICS.values()) for name in names}
        rest = {name: number for name, number in sorted(self.seen.items()) if name not in told}
        return "\n".join(
            (
                f"{self.runs} runs, {self.sealed} sealed: {dict(self.outcomes)}; {len(self.faults)} faults",
                f"interruptions: {self.kinds()}",
                f"events held against the semantics: {self.semantics()}",
                f"besides: {rest}",
            )
        )
