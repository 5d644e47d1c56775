"""The gate of one step, walked through in every lawful way, from its first demand until work stands elsewhere."""

from collections.abc import Iterator
from decimal import Decimal

from runner.job import actions as a
from runner.job.asking import demand, wait_start
from runner.job.demand import Demand
from runner.job.gate import _still_needed
from runner.job.holding import unmet
from runner.job.items import Fault as Wrong
from runner.job.state import Job, progress_but
from runner.job.windows import latest
from runner.procedure.linked import Interval, Node, Reading, Test
from tests.proof.brute.bench import EARLY, INSIDE, Bench, Moved
from tests.proof.brute.found import Place

PHOTO = "front.jpg " + "ab" * 32
MOST_TURNS = 5000
Moves = tuple[str, ...]
LATE, REFUSED = "late", "refused"
CHANGING = frozenset({"act", "tighten", "new part", "reading", "second reading", "worked out"})
"""Demands whose answer leaves something behind; only then is a time limit worth another try."""


def walk(
    bench: Bench, place: Place, only: frozenset[str] | None = None
) -> Iterator[tuple[Place, str, Moves]]:
    """Every way through the gate of the step in hand: where it leads, how (`Moved.to`), and what was chosen.

    With `only`, nothing but these moves is chosen.
    """
    waiting: list[tuple[Place, Moves, bool]] = [(place, (), True)]
    turns = 0
    while waiting:
        turns += 1
        assert turns < MOST_TURNS, "a gate that never comes through"
        here, said, fresh = waiting.pop()
        node = here.job.node
        assert node is not None
        if fresh and (only is None or LATE in only):
            for moved in late(bench, here, node):
                yield moved.place, moved.to, (*said, LATE)
        asked = demand(here.job, EARLY)
        for moved, word in answers(bench, here, node, asked, only):
            words = (*said, word) if word else said
            if moved.to == INSIDE:
                waiting.append((moved.place, words, asked.kind in CHANGING))
            else:
                yield moved.place, moved.to, words


def late(bench: Bench, place: Place, node: Node) -> Iterator[Moved]:
    """The time limit of the step passes now, where it runs."""
    job = place.job
    if node.in_time is None or job.hand or job.progress.late or latest(job, node.in_time.start) is None:
        return
    yield from bench.act(place, a.LetTimePass("Ann", EARLY), f"in time {node.id}")


def answers(
    bench: Bench, place: Place, node: Node, asked: Demand, only: frozenset[str] | None = None
) -> Iterator[tuple[Moved, str]]:
    """Every lawful answer to a demand of the gate; what is blocked is flagged and let go."""
    job, who = place.job, "Ann"
    match asked.kind:
        case "acknowledge":
            actions: list[tuple[a.Action, str]] = [(a.Acknowledge(who, EARLY, asked.index), "")]
        case "new part":
            actions = [(a.ConfirmPart(who, EARLY, asked.subject), "")]
        case "act":
            actions = [(a.Do(who, EARLY, asked.index), "")]
        case "confirm":
            actions = [(a.Do(who, EARLY), "")]
        case "tighten":
            actions = [(_tightening(job, asked), "")]
        case "cue":
            actions = [(a.PassBy(who, EARLY, asked.options[0].key, "later"), "")]
        case "wait":
            # A wait at the very first step counts from an act; where that was let go it counts from nothing.
            over = place._replace(job=job.but(progress=progress_but(job.progress, wait_over=True)))
            runs = wait_start(job) is not None
            action = a.LetTimePass(who, EARLY) if runs else None
            for moved in bench.act(place if runs else over, action, *[f"wait {node.id}"] * runs):
                yield moved, ""
            return
        case "reading" | "second reading":
            actions = _readings(node, asked)
        case "question":
            actions = [(a.Answer(who, EARLY, o.key), f"answer {o.key}") for o in asked.options]
        case "look":
            actions = [(a.Look(who, EARLY, o.key), f"answer {o.key}") for o in asked.options]
        case "hold":
            actions = [(a.Release("Bo", EARLY, False), REFUSED)]
            if only is None or REFUSED not in only:
                actions.append((a.Release("Bo", EARLY, True), ""))
        case "worked out":
            for moved in let_go(bench, place, f"reading {asked.subject}"):
                yield moved, ""
            return
        case "blocked":
            for moved in _blocked(bench, place, node, asked):
                yield moved, ""
            return
        case _:
            raise AssertionError(f"{asked.kind} at {node.id}: {asked.prompt}")
    for action, word in actions:
        if word and only is not None and LATE not in only and word not in only:
            continue
        for moved in bench.act(place, action):
            yield moved, word


def let_go(bench: Bench, place: Place, what: str) -> Iterator[Moved]:
    """What cannot be met is let go, and the gate goes on."""
    progress = place.job.progress
    waived = progress_but(progress, waived=progress.waived | {what}, out_of_band="")
    yield from bench.act(place._replace(job=place.job.but(progress=waived)), None)


def unmet_needs(job: Job, node: Node) -> list[Test]:
    """Every need of a step that does not hold now."""
    return [test for test in _still_needed(job, node) if unmet(job, (test,)) is not None]


def _blocked(bench: Bench, place: Place, node: Node, asked: Demand) -> Iterator[Moved]:
    job = place.job
    if asked.subject == "need":
        for test in unmet_needs(job, node):
            rule = "not-as-needed" if test.kind == "item" else "wrong-condition"
            bench.flag(place, rule, node.id, test.name)
        yield from let_go(bench, place, "need")
        return
    assert asked.subject != "change", node.id
    act = node.acts[asked.index]
    operation = f"tightens {asked.stage or 1}" if act.verb == "tightens" else act.verb
    members = job.ledger[act.item].members
    state = members[asked.member - 1] if asked.member else job.state_of(act.item)
    wrong = isinstance(job.table_of(act.item).move(state, operation), Wrong)
    bench.flag(place, "wrong-state" if wrong else "wrong-moment", node.id, act.item)
    progress = progress_but(job.progress, acts=job.progress.acts | {asked.index})
    yield from bench.act(place._replace(job=job.but(progress=progress)), None)


def _tightening(job: Job, asked: Demand) -> a.Tighten:
    method = next((m for m in asked.methods if m != "measured"), "measured")
    stage = job.procedure.item_by_key[asked.subject].stages[asked.stage - 1]
    raw = _inside(stage.band) if method == "measured" else ""
    return a.Tighten("Ann", EARLY, asked.subject, asked.stage, asked.member, method, raw)  # type: ignore[arg-type]


def _readings(node: Node, asked: Demand) -> list[tuple[a.Action, str]]:
    reading = next(r for r in node.readings if r.name == asked.subject)
    who = "Cy" if asked.kind == "second reading" else "Ann"
    if reading.sorting and asked.time_index == reading.times and asked.kind == "reading":
        return [
            (a.Read(who, EARLY, reading.name, raw), f"answer {label}")
            for label, raw in sorted_values(reading)
        ]
    return [(a.Read(who, EARLY, reading.name, _raw(reading)), "")]


def sorted_values(reading: Reading) -> list[tuple[str, str]]:
    """For each named band a value that falls into it and into none before it."""
    made: list[tuple[str, str]] = []
    for number, sorting in enumerate(reading.sorting):
        earlier = [s.band for s in reading.sorting[:number] if s.band is not None]
        limits = [Decimal(x) for s in reading.sorting if s.band for x in (s.band.low, s.band.high) if x]
        tries = sorted({x + d for x in limits for d in (Decimal("-0.01"), Decimal(0), Decimal("0.01"))})
        fit = next(
            (x for x in tries
             if (sorting.band is None or sorting.band.holds(x)) and not any(b.holds(x) for b in earlier)),
            None,
        )  # fmt: skip
        assert fit is not None, f"no value for {sorting.exit.label}"
        made.append((sorting.exit.label, format(fit, "f")))
    return made


def _raw(reading: Reading) -> str:
    if reading.kind != "number":
        return PHOTO if reading.kind == "photo" else "B-1042"
    return _inside(reading.band)


def _inside(band: Interval | None) -> str:
    if band is None:
        return "1"
    if band.target is not None:
        return band.target
    low, high = (Decimal(x) if x is not None else None for x in (band.low, band.high))
    if low is not None and high is not None:
        return format((low + high) / 2, "f")
    if high is not None:
        return format(high - 1 if band.high_open else high, "f")
    return "1" if low is None else format(low + 1 if band.low_open else low, "f")
