"""Two outside checkers from the package registry agree with the proof on seeded random procedures.

- networkx (https://networkx.org): reachability, co-reachability, dominators, cuts, strongly connected components and
  longest paths of a product graph that `tests.proof.product` makes anew from the linked form.
- z3 (https://github.com/Z3Prover/z3): bounded model checking of windows and ledgers, and the length of shortest runs.
"""

import os
from collections import Counter
from concurrent.futures import ProcessPoolExecutor

import pytest

from runner.procedure.linked import Procedure
from runner.proof.control import How
from runner.proof.deciding import decide
from runner.proof.prove import prove
from runner.proof.units import units_of
from runner.proof.world import main_line
from tests.job.properties.dice import Dice
from tests.proof.against import Reach, against
from tests.proof.agreement import UNDECIDED
from tests.proof.bounded import bounded
from tests.proof.graphs import Said
from tests.proof.small import small

QUICK_GRAPHS, DEEP_GRAPHS = range(50_000, 50_024), range(50_000, 53_000)
QUICK_RUNS, DEEP_RUNS = range(6), range(1_000, 1_200)
BY_RUNS = frozenset(
    (
        "missed-window",
        "change-too-soon",
        "left-open",
        "wrong-state",
        "wrong-moment",
        "not-as-needed",
        "wrong-condition",
    )
)
"""The rules that the formulas speak of, besides what is never reached."""


def graphs(seeds: range) -> Reach:
    """The procedures of these seeds against networkx."""
    reach = Reach()
    for seed in seeds:
        against(seed, reach)
    return reach


def runs(seeds: range) -> tuple[Counter[str], list[str]]:
    """The procedures of these seeds against z3: what was counted, and where they disagree."""
    counted: Counter[str] = Counter()
    wrong: list[str] = []
    for seed in seeds:
        procedure = small(Dice(seed))
        verdict, found = prove(procedure), bounded(procedure)
        assert not any(finding.rule in UNDECIDED for finding in verdict.findings), seed
        proved = {Said(*breach) for breach in verdict.breaches if breach.rule in BY_RUNS}
        never = {breach.node for breach in verdict.breaches if breach.rule == "never-reached"}
        lengths = path_lengths(procedure)
        counted.update(
            procedures=1, clean=int(not found.broken and not never), lengths=len(lengths), breaches=len(found.broken),
            exact=sum(least == most for least, most in lengths.values()),
        )  # fmt: skip
        counted.update(said.rule for said in found.broken)
        counted["longest run"] = max(counted["longest run"], found.longest)
        if proved != set(found.broken):
            wrong.append(f"seed {seed}: proof and not z3 {proved - set(found.broken)}, z3 and not the proof "
                         f"{set(found.broken) - proved}")  # fmt: skip
        wrong += [
            f"seed {seed}: {' '.join(said)} shows after {least} to {most} moves, by z3 after {found.broken[said]}"
            for said, (least, most) in lengths.items()
            if said in found.broken and not least <= found.broken[said] <= most
        ]
        if never != {node.id for node in procedure.nodes} - set(found.reached):
            wrong.append(f"seed {seed}: never reached {never}, by z3 reached {sorted(found.reached)}")
    return counted, wrong


def path_lengths(procedure: Procedure) -> dict[Said, tuple[int, int]]:
    """How many moves a run takes to each breach by the proof's shortest path: at least, and at most.

    Where the path comes past a put-off step that has nothing to do with the breach, the proof does not ask whether that
    is listed or done there and then; the latter is one move more.
    """
    decided = decide(procedure, units_of(procedure, main_line(procedure)))
    assert decided is not None
    found: dict[Said, tuple[int, int]] = {}
    for breach, (world, path) in decided.shown.items():
        if breach.rule not in BY_RUNS:
            continue
        ledger, control = world.ledger, world.control
        number, past = ledger.unit_for(breach), 0
        for stop in path[:-1]:
            node = control.nodes[stop.state]
            other = (
                node is not None
                and node.put_off is not None
                and ledger.unit_of["off", node.id].number != number
            )
            past += other and control.edges[stop.state][stop.edge].how is How.LISTED
        found[Said(*breach)] = (len(path) - 1, len(path) - 1 + past)
    return found


def test_graph_algorithms_agree() -> None:
    reach = graphs(QUICK_GRAPHS)
    assert not reach.wrong, "\n".join(reach.wrong)
    assert reach.counted["procedures"] == len(QUICK_GRAPHS)
    assert reach.counted["clean"] >= 6, reach.text()
    assert reach.counted["probes dominated"] >= 20, reach.text()
    assert reach.counted["probes not dominated"] >= 20, reach.text()
    assert len(reach.broken) >= 4, reach.text()


def test_shortest_runs_are_as_long_as_the_paths() -> None:
    counted, wrong = runs(QUICK_RUNS)
    assert not wrong, "\n".join(wrong)
    assert counted["exact"] >= 5, counted
    assert counted["clean"] >= 1, counted


@pytest.mark.deep
def test_graph_algorithms_agree_on_three_thousand() -> None:
    reach = Reach()
    with ProcessPoolExecutor(os.cpu_count()) as pool:
        for part in pool.map(graphs, [range(n, n + 100) for n in DEEP_GRAPHS[::100]]):
            reach.add(part)
    print(f"\nnetworkx, seeds {DEEP_GRAPHS.start} to {DEEP_GRAPHS.stop - 1}: {reach.text()}")
    assert not reach.wrong, "\n".join(reach.wrong[:10])
    assert reach.counted["procedures"] == len(DEEP_GRAPHS)
    left_out = reach.counted["left out, not proved"] + reach.counted["left out, too large"]
    assert left_out <= 0.05 * len(DEEP_GRAPHS)
    for name, least in (
        ("clean", 1_500), ("probes dominated", 3_000), ("probes not dominated", 4_000), ("with circles", 700),
        ("steps visited often", 700), ("windows cut", 250), ("windows not cut", 25), ("items", 4_500),
    ):  # fmt: skip
        assert reach.counted[name] >= least, (name, reach.text())
    few = {
        rule: reach.broken[rule]
        for rule in (
            "never-reached", "no-way-out", "wrong-condition", "not-as-needed", "forbidden-change", "wrong-state",
            "wrong-moment", "left-open", "missed-window", "agreement-broken", "hazard-unannounced",
        )
        if reach.broken[rule] < 20
    }  # fmt: skip
    assert not few, few


@pytest.mark.deep
def test_shortest_runs_are_as_long_as_the_paths_of_two_hundred() -> None:
    counted: Counter[str] = Counter()
    wrong: list[str] = []
    with ProcessPoolExecutor(os.cpu_count()) as pool:
        for part, said in pool.map(runs, [range(n, n + 10) for n in DEEP_RUNS[::10]]):
            longest = max(counted["longest run"], part["longest run"])
            counted += part
            counted["longest run"] = longest
            wrong += said
    print(f"\nz3, seeds {DEEP_RUNS.start} to {DEEP_RUNS.stop - 1}: {dict(counted)}")
    assert not wrong, "\n".join(wrong[:10])
    assert counted["procedures"] == len(DEEP_RUNS)
    assert counted["clean"] >= 30
    assert counted["exact"] >= 240
    few = {rule: counted[rule] for rule in BY_RUNS if counted[rule] < 5}
    assert not few, few
