"""Many runs, each judged; what was seen is counted, so that a test which sees too little fails."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path

from runner.job.gates import Gates
from runner.procedure.linked import Procedure
from runner.proof.prove import prove
from tests.job.properties.dice import Dice
from tests.job.properties.player import Player
from tests.job.properties.writing import linked, written
from tests.judge import judge

RUNS_EACH = 4


@cache
def procedure_of(seed: int, motif: str = "") -> Procedure:
    """The generated procedure of a seed."""
    return linked(*written(Dice(seed), motif))


_GATES: dict[int, tuple[Procedure, Gates]] = {}


def gates_of(procedure: Procedure) -> Gates:
    """The proof's gates of a procedure; those of a run without a proof where it does not prove."""
    if id(procedure) not in _GATES:
        _GATES[id(procedure)] = (procedure, prove(procedure).gates)
    return _GATES[id(procedure)][1]


@dataclass
class Tally:
    """What many runs came to."""

    outcomes: Counter[str] = field(default_factory=Counter)
    seen: Counter[str] = field(default_factory=Counter)
    entries: int = 0
    refusals: int = 0
    interruptions: int = 0
    proved: int = 0
    faults: list[str] = field(default_factory=list)

    @property
    def sealed(self) -> int:
        """Runs that came to a seal."""
        return sum(self.outcomes.values()) - self.outcomes["no seal"]

    def text(self) -> str:
        """The counts in a few lines."""
        return (
            f"{sum(self.outcomes.values())} runs, {self.proved} proved, {self.sealed} sealed: "
            f"{dict(self.outcomes)}; {self.entries} entries, "
            f"{self.refusals} refusals, {self.interruptions} interruptions; {len(self.seen)} kinds of event"
        )


def play(tally: Tally, procedure: Procedure, dice: Dice, folder: Path, name: str, wrong: int = 15) -> None:
    """One run, judged and counted."""
    gates = gates_of(procedure)
    player = Player(procedure, dice, folder, wrong=wrong, gates=gates)
    tally.proved += gates.proved
    try:
        player.play()
        data = player.data
    except Exception as error:
        tally.faults.append(f"{name}: {type(error).__name__} {error} ({player.run.path})")
        return
    finally:
        player.run.close()
    tally.entries += len(player.history)
    tally.refusals += player.refusals
    tally.interruptions += player.interruptions
    if not data:
        tally.outcomes["no seal"] += 1
        return
    verdict = judge(data)
    tally.outcomes[verdict.outcome or "no seal"] += 1
    tally.seen += verdict.seen
    tally.faults += [f"{name}: {fault} ({player.run.path})" for fault in verdict.faults[:3]]


def campaign(
    seeds: Iterable[int], folder: Path, *, enough: int = 0, wrong: int = 15, motif: str = ""
) -> Tally:
    """Runs of generated procedures, `RUNS_EACH` of each; stops after `enough` faults where that is given."""
    tally = Tally()
    for seed in seeds:
        play(
            tally,
            procedure_of(seed // RUNS_EACH, motif),
            Dice(seed),
            folder / str(seed),
            f"seed {seed}",
            wrong,
        )
        if enough and len(tally.faults) >= enough:
            break
    return tally
