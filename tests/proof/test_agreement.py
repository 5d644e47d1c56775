"""The proof and the brute force over the engine agree, case by case, and every path the proof reports shows its fault.

The brute force is the outside check here: it runs `runner.job` as a bench would, without the proof's gates, over every
lawful choice (`tests.proof.brute`). It imports nothing of `runner.proof`.
"""

import os
from collections import Counter
from concurrent.futures import ProcessPoolExecutor

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from runner.proof.prove import prove
from tests.job.properties.dice import Script
from tests.proof.agreement import AT_RUN, Tally, campaign, compare
from tests.proof.generate import case, seeded
from tests.proof.replay import shows

QUICK = range(7000, 7080)
DEEP = range(20_000)
SCRIPTS = 400
CHUNK = 250


def test_they_agree_on_a_few_dozen() -> None:
    tally = campaign((f"seed {seed}", seeded(seed)) for seed in QUICK)
    assert not tally.wrong, "\n\n".join(tally.wrong)
    assert tally.cases == len(QUICK)
    assert tally.clean >= 0.3 * len(QUICK), tally.text()
    assert tally.undecided <= 0.05 * len(QUICK), tally.text()
    assert len(tally.refuted) >= 10, tally.text()


def test_paths_show_their_fault() -> None:
    replayed, told = paths(range(7160, 7200))
    assert not told, "\n".join(told)
    assert sum(replayed.values()) >= 25, replayed


def paths(seeds: range) -> tuple[Counter[str], list[str]]:
    """Every path that the proof reports for these seeds, walked in the engine; those that do not show their fault."""
    replayed: Counter[str] = Counter()
    told: list[str] = []
    for seed in seeds:
        made = seeded(seed)
        for finding in prove(made.procedure).findings:
            if finding.rule in AT_RUN and finding.path:
                replayed[finding.rule] += 1
                if not shows(made.procedure, finding):
                    way = "; ".join(f"{s.node}: {s.does} [{s.move}]" for s in finding.path)
                    told.append(f"seed {seed}: {finding.rule} at {finding.node} {finding.subject}: {way}")
    return replayed, told


@given(st.lists(st.integers(0, 99), min_size=10, max_size=120))
@settings(max_examples=30, deadline=None, suppress_health_check=list(HealthCheck))
def test_they_agree_on_scripts(numbers: list[int]) -> None:
    tally = Tally()
    compare(tally, f"script {numbers}", case(Script(numbers)))
    assert not tally.wrong, tally.wrong[0]


def chunk(first: int) -> Tally:
    """So many seeds from one on."""
    return campaign((f"seed {seed}", seeded(seed)) for seed in range(first, first + CHUNK))


@pytest.mark.deep
def test_they_agree_on_twenty_thousand() -> None:
    whole = Tally()
    with ProcessPoolExecutor(os.cpu_count()) as pool:
        for tally in pool.map(chunk, range(DEEP.start, DEEP.stop, CHUNK)):
            whole.add(tally)
    print(f"\nseeds {DEEP.start} to {DEEP.stop - 1}: {whole.text()}")
    assert not whole.wrong, "\n\n".join(whole.wrong[:5])
    assert whole.cases == len(DEEP)
    assert whole.clean >= 0.3 * whole.cases
    assert whole.undecided <= 0.05 * whole.cases
    assert whole.beyond <= 10
    assert whole.unfinished <= 0.01 * whole.cases
    assert whole.gated >= 100
    few = {rule: whole.refuted[rule] for rule in AT_RUN if whole.refuted[rule] < 200}
    assert not few, few


@pytest.mark.deep
@given(st.lists(st.integers(0, 99), min_size=20, max_size=160))
@settings(max_examples=SCRIPTS, deadline=None, suppress_health_check=list(HealthCheck))
def test_they_agree_on_many_scripts(numbers: list[int]) -> None:
    tally = Tally()
    compare(tally, f"script {numbers}", case(Script(numbers)))
    assert not tally.wrong, tally.wrong[0]


@pytest.mark.deep
def test_many_paths_show_their_fault() -> None:
    replayed: Counter[str] = Counter()
    told: list[str] = []
    with ProcessPoolExecutor(os.cpu_count()) as pool:
        for counted, failed in pool.map(paths, [range(n, n + 100) for n in range(0, 4000, 100)]):
            replayed += counted
            told += failed
    print(f"\npaths of seeds 0 to 3999 replayed: {dict(replayed)}")
    assert not told, "\n".join(told[:10])
    assert sum(replayed.values()) >= 2000
