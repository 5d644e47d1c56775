"""Every procedure that is shipped, spoiled at one place after the other: what a run breaks, the proof must report.

The brute force over the engine judges; it imports nothing of the proof. A mutant that it cannot finish is unjudged, and
printed as that. One that breaks nothing is harmless, and then the proof must say nothing of a run either.
"""

import os
import random
from collections import Counter
from collections.abc import Iterable, Iterator
from concurrent.futures import ProcessPoolExecutor
from functools import cache
from typing import NamedTuple

import pytest

from runner.procedure.kinds import final_states
from runner.procedure.linked import Procedure
from runner.proof.prove import prove
from tests.proof.agreement import AT_RUN, UNDECIDED, said
from tests.proof.bases import bases, whole_demonstration
from tests.proof.brute import Broken, Fault, brute
from tests.proof.mutating import Base, Mutant, changes, linked, mutant

BUDGET, LOW_BUDGET = 6_000, 150
"""Places that the brute force looks at: in general, and of the whole demonstration, which it never finishes."""
CHUNK = 20
QUICK_SEED, QUICK = 20_261, 60
# Undecided (P26, P15) is an error of the proof's own: the procedure is refused, and neither side is held to the other.
OUTCOMES = (
    "linker",
    "reported",
    "undecided",
    "harmless",
    "SURVIVED",
    "FALSE ALARM",
    "unjudged",
    "unjudged, reported",
)


class Judged(NamedTuple):
    """One mutant and what became of it; `how` is for what went wrong."""

    base: str
    kind: str
    what: str
    outcome: str
    how: str = ""


@cache
def every_base() -> tuple[Base, ...]:
    return (*bases(), whole_demonstration())


def judge(spoiled: Mutant, budget: int) -> Judged:
    """What became of a mutant."""
    procedure = spoiled.procedure
    if procedure is None:
        return Judged(*spoiled[:3], "linker")
    verdict, found = prove(procedure), brute(procedure, budget)
    if not isinstance(found, Broken):
        return Judged(*spoiled[:3], "unjudged" if verdict.proved else "unjudged, reported")
    broken = {fault for fault in found.faults if _judged(procedure, fault)}
    proved = said(verdict)
    if any(finding.rule in UNDECIDED for finding in verdict.findings):
        return Judged(
            *spoiled[:3], "undecided", f"too much said: {sorted(proved - broken)}" if proved - broken else ""
        )
    if broken - proved:
        return Judged(*spoiled[:3], "SURVIVED", f"not reported: {sorted(broken - proved)}")
    if proved - broken:
        return Judged(*spoiled[:3], "FALSE ALARM", f"no run breaks {sorted(proved - broken)}")
    assert bool(broken) <= (not verdict.proved), spoiled
    return Judged(*spoiled[:3], "reported" if broken else "harmless")


def _judged(procedure: Procedure, fault: Fault) -> bool:
    """Whether the proof of the file answers for it: not for a used file's steps, nor for what is agreed to be open."""
    if fault.rule == "never-reached":
        return procedure.by_id[fault.node].mark.file == "mutant.yaml"
    end = procedure.by_id.get(":end")
    if fault.rule == "left-open" and end is not None:
        item = procedure.item_by_key[fault.subject]
        final = set(final_states(item.kind, len(item.stages)))
        return not any(test.name == item.key and not final & set(test.values) for test in end.needs)
    return fault.rule in AT_RUN


def tasks(among: Iterable[Base]) -> Iterator[tuple[int, int]]:
    """(number of a base, number of its first change) for every chunk of mutants."""
    for number, base in enumerate(among):
        for first in range(0, len(list(changes(base.data))), CHUNK):
            yield number, first


def work(task: tuple[int, int]) -> list[Judged]:
    """One chunk."""
    number, first = task
    base = every_base()[number]
    budget = LOW_BUDGET if base.name == "lower-arm.yaml" else BUDGET
    return [judge(mutant(base, found), budget) for found in list(changes(base.data))[first : first + CHUNK]]


def table(judged: Iterable[Judged], by: str) -> str:
    """The kill table."""
    counted: dict[str, Counter[str]] = {}
    for one in judged:
        counted.setdefault(getattr(one, by), Counter())[one.outcome] += 1
    rows = [*counted.items(), ("all", sum(counted.values(), Counter()))]
    lines = [f"{by:28}" + "".join(f"{name:>20}" for name in ("mutants", *OUTCOMES))]
    lines += [
        f"{name:28}" + "".join(f"{number:>20}" for number in (sum(row.values()), *(row[o] for o in OUTCOMES)))
        for name, row in rows
    ]
    return "\n".join(lines)


def failures(judged: Iterable[Judged]) -> list[str]:
    """What must not be."""
    return [
        f"{one.base}: {one.what}: {one.outcome}: {one.how}"
        for one in judged
        if one.outcome in ("SURVIVED", "FALSE ALARM")
    ]


def test_the_procedures_are_clean_before_they_are_spoiled() -> None:
    for base in every_base():
        procedure = linked(base.data, base.files)
        assert procedure is not None, base.name
        assert not said(prove(procedure)), base.name


def test_a_sample_of_mutants_is_reported() -> None:
    small = [base for base in every_base() if base.name.startswith("guide") or "-height" in base.name]
    among = [(base, found) for base in small for found in changes(base.data)]
    judged = [judge(mutant(*one), BUDGET) for one in random.Random(QUICK_SEED).sample(among, QUICK)]
    assert not failures(judged), "\n".join(failures(judged))
    counted = Counter(one.outcome for one in judged)
    assert len(judged) == QUICK
    assert counted["reported"] >= 12, counted
    assert counted["linker"] >= 5, counted


@pytest.mark.deep
def test_every_faulty_mutant_is_reported() -> None:
    judged: list[Judged] = []
    with ProcessPoolExecutor(os.cpu_count()) as pool:
        for part in pool.map(work, list(tasks(every_base()))):
            judged += part
    print(f"\n{table(judged, 'base')}\n\n{table(judged, 'kind')}")
    for one in judged:
        if (one.outcome.startswith("unjudged") and one.base != "lower-arm.yaml") or one.how:
            print(f"{one.outcome}: {one.base}: {one.what} {one.how}")
    assert not failures(judged), "\n".join(failures(judged))
    counted = Counter(one.outcome for one in judged)
    assert counted["reported"] >= 370, counted
    assert counted["reported"] + counted["harmless"] >= 800, counted
    pieces = [one for one in judged if one.base != "lower-arm.yaml"]
    assert sum(one.outcome.startswith("unjudged") for one in pieces) <= 0.02 * len(pieces)
