"""Two answers to one question: what the proof finds, and what the brute force finds, set against each other."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field

from runner.procedure.linked import Procedure
from runner.proof.prove import prove
from runner.proof.rules import RULES
from runner.proof.verdict import Verdict
from tests.proof.brute import Broken, Fault, Unfinished, brute
from tests.proof.generate import Case

AT_RUN = frozenset(rule.name for rule in RULES.values() if rule.at_run)
"""The rules that a run can break."""
UNDECIDED = ("not-proved", "waits-for-put-off")
"""What the proof says where it leaves something undecided; such a case is counted apart, never as agreed."""


@dataclass
class Tally:
    """What many cases came to."""

    cases: int = 0
    clean: int = 0
    refuted: Counter[str] = field(default_factory=Counter)
    undecided: int = 0
    beyond: int = 0
    unfinished: int = 0
    gated: int = 0
    missed: int = 0
    states: int = 0
    faults: int = 0
    wrong: list[str] = field(default_factory=list)

    def add(self, other: "Tally") -> None:
        """What another tally counted, too."""
        for name, value in vars(other).items():
            setattr(self, name, getattr(self, name) + value)

    def text(self) -> str:
        """The counts in a few lines."""
        rules = ", ".join(
            f"{name} {self.refuted[name]}" for name in sorted(AT_RUN, key=lambda n: RULES[n].number)
        )
        return (
            f"{self.cases} cases, {self.states} places: {self.clean} clean, {self.undecided} not proved "
            f"({self.beyond} of them said more than runs show), "
            f"{self.unfinished} brute forces unfinished; {self.faults} faults; {self.gated} with last chances\n"
            f"cases that break: {rules}"
        )


def compare(tally: Tally, name: str, made: Case, found: Broken | Unfinished | None = None) -> None:
    """One case, counted; what disagrees is kept as a report. `found` where the brute force is known already."""
    tally.cases += 1
    found = found or brute(made.procedure)
    if not isinstance(found, Broken):
        tally.unfinished += 1
        return
    tally.states += found.states
    verdict = prove(made.procedure)
    proved = said(verdict)
    broken = frozenset(fault for fault in found.faults if _judged(made.procedure, fault))
    if any(finding.rule in UNDECIDED for finding in verdict.findings):
        tally.undecided += 1
        # Refused in any case. What it says besides may be more than a run shows: a time that has to pass while nobody
        # does anything, between a step done and the step right after it.
        tally.beyond += bool(proved - broken)
        return
    tally.faults += len(broken)
    tally.refuted.update({fault.rule for fault in broken})
    tally.clean += not broken
    if proved != broken:
        tally.wrong.append(report(name, made, verdict, found, "disagree"))
    elif not broken and verdict.proved:
        with_gates(tally, name, made, verdict, found)


def said(verdict: Verdict) -> frozenset[Fault]:
    """What the proof says that a run can break."""
    return frozenset(
        Fault(breach.rule, breach.node, breach.subject)
        for breach in verdict.breaches
        if breach.rule in AT_RUN
    )


def _judged(procedure: Procedure, fault: Fault) -> bool:
    """Whether the proof of this file is answerable for it: steps of a used file may be for other callers."""
    if fault.rule != "never-reached":
        return True
    return procedure.by_id[fault.node].mark.file == procedure.nodes[0].mark.file


def with_gates(tally: Tally, name: str, made: Case, verdict: Verdict, free: Broken) -> None:
    """Last chances and allowed states, held against runs without and with them."""
    gates = verdict.gates
    insisted = {key for keys in gates.last_chance.values() for key in keys}
    tally.gated += bool(insisted)
    tally.missed += bool(free.missed)
    faults = []
    for node, items in free.stands.items() if not free.missed else ():
        faults += [
            f"{node}: {item} at {sorted(items[item] - set(states))} is not allowed"
            for item, states in gates.allowed_at(made.procedure, node)
            if not items[item] <= set(states)
        ]
    if insisted - free.missed:
        faults.append(f"last chances not needed: {sorted(insisted - free.missed)}")
    if gates.last_chance or free.missed:
        held = brute(made.procedure, gates=gates)
        if not isinstance(held, Broken):
            tally.unfinished += 1
            return
        if held.missed:
            faults.append(f"missed for all the gates: {sorted(held.missed)}")
        if held.left:
            faults.append(f"outside the proof: {sorted(held.left)}")
        if held.faults:
            faults.append(f"broken with gates: {sorted(held.faults)}")
    if faults:
        tally.wrong.append(report(name, made, verdict, free, "; ".join(faults)))


def report(name: str, made: Case, verdict: Verdict, found: Broken, why: str) -> str:
    """A disagreement, as small as it can be told: both sides, how the brute force came there, the text."""
    proved, broken = said(verdict), frozenset(found.faults)
    lines = [f"{name}: {why}; planted {', '.join(made.planted) or 'nothing'}"]
    lines += [f"  only the proof: {' '.join(fault)}" for fault in sorted(proved - broken)]
    for fault in sorted(broken - proved):
        how = " > ".join(word for word in found.paths.get(fault, ()) if word)
        lines.append(f"  only the runs:  {' '.join(fault)}   by {how}")
    lines.append(f"  last chances {dict(verdict.gates.last_chance)}, missed {sorted(found.missed)}")
    lines += [f"  {name}: {text}" for name, text in (("main", made.text), *made.files.items())]
    return "\n".join(lines)


def campaign(cases: Iterable[tuple[str, Case]], *, enough: int = 5) -> Tally:
    """Many cases; stops after so many disagreements."""
    tally = Tally()
    for name, made in cases:
        compare(tally, name, made)
        if len(tally.wrong) >= enough:
            break
    return tally
