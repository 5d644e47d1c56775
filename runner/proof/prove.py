"""The front of the proof: a linked procedure in, a verdict out."""

import gc
from collections.abc import Iterable

from runner.job.gates import Gates
from runner.procedure.finding import Finding
from runner.procedure.linked import Node, Procedure
from runner.proof.chances import gates_of
from runner.proof.control import Place
from runner.proof.deciding import Decided, decide, starts_without_end, surely_reached
from runner.proof.deeds import Breach
from runner.proof.local import local_findings
from runner.proof.missed import how_missed
from runner.proof.parts import Endless, shortages
from runner.proof.report import Words
from runner.proof.search import Stop
from runner.proof.trail import shown_at, stations
from runner.proof.units import TooEntangled, units_of
from runner.proof.verdict import Verdict
from runner.proof.world import World, main_line


def prove(procedure: Procedure) -> Verdict:
    """Prove a linked procedure over every path. Never raises for anything that links."""
    # Nothing that the proof makes is a circle until it is done: collecting meanwhile only looks at it again and again.
    collecting = gc.isenabled()
    gc.disable()
    try:
        return _proved(procedure)
    finally:
        if collecting:
            gc.enable()


def _proved(procedure: Procedure) -> Verdict:
    words = Words(procedure)
    findings = list(local_findings(procedure))
    if not procedure.nodes:
        return Verdict(tuple(findings), Gates(proved=True))
    line = main_line(procedure)
    try:
        decided = decide(procedure, units_of(procedure, line))
    except TooEntangled as tangle:
        names = ", ".join(tangle.names[:6])
        return _undecided(
            words, findings, f"too much hangs together to be decided: {names}", len(procedure.items)
        )
    if decided is None:
        more = "conditions and time limits can stand in too many ways at once"
        return _undecided(words, findings, more, len(procedure.items))
    breaches: set[Breach] = set(decided.breaches)
    for breach, (world, path) in decided.shown.items():
        findings.append(_finding(words, world, breach, path))
    findings += [
        words.finding(breach, (), more=how_missed(decided.world, breach, shown=False))
        for breach in decided.counted
    ]
    breaches |= _ways(procedure, decided, line, words, findings)
    breaches |= _parts(decided, words, findings)
    findings += [
        words.finding(Breach("not-proved", procedure.first), (), more=f": {what}")
        for what in decided.undecided
    ]
    if decided.left:
        more = f": {decided.left} more that may be broken were not looked into; mend these first"
        findings.append(words.finding(Breach("not-proved", words.first), (), more=more))
    findings += _never_put_off(procedure, decided, words)
    ordered = _in_order(procedure, findings)
    clean = all(finding.grade != "error" for finding in ordered)
    world = decided.world
    gates = gates_of(world) if clean else Gates()
    return Verdict(ordered, gates, len(world.control.nodes), len(procedure.items), frozenset(breaches))


def _undecided(words: Words, findings: list[Finding], more: str, items: int) -> Verdict:
    breach = Breach("not-proved", words.first)
    return Verdict(
        (*findings, words.finding(breach, (), more=f": {more}")), Gates(), 0, items, frozenset({breach})
    )


def _finding(words: Words, world: World, breach: Breach, path: list[Stop]) -> Finding:
    ledger = world.ledger
    state = ""
    unit = ledger.unit_of.get(breach.subject)
    if unit is not None and path[-1].local >= 0 and breach.subject in unit.items:
        place = ledger.control.places[path[-1].state]
        local = path[-1].local
        if place in (Place.STAND, Place.FINISH):
            local = shown_at(ledger, breach, path[-1], unit)[2]
        state = unit.item_state(local, breach.subject)
    return words.finding(
        breach, stations(ledger, breach, path), state=state, more=how_missed(world, breach, shown=True)
    )


def _ways(
    procedure: Procedure, decided: Decided, line: set[str], words: Words, findings: list[Finding]
) -> set[Breach]:
    """Steps that nothing reaches, and starts without an end."""
    reached, doubtful = surely_reached(procedure, decided)
    missed = [
        node for node in procedure.nodes if node.id not in reached and node.id not in doubtful
        and node.joint is None and node.id in line and _own(procedure, node)
    ]  # fmt: skip
    names = {node.id for node in missed}
    led = {to for node in missed for to in node.onward if to != node.id}
    findings += [
        words.finding(Breach("never-reached", node.id), ())
        for node in missed
        if node.id not in led or not names - {node.id}
    ] or [words.finding(Breach("never-reached", node.id), ()) for node in missed[:1]]
    findings += [
        words.finding(Breach("not-proved", name), (), more=": whether this step can be reached")
        for name in sorted(doubtful)
    ]
    found = {Breach("never-reached", node.id) for node in missed}
    for start in starts_without_end(decided):
        how = " from " + ", ".join(f"{name}: {value}" for name, value in start.items()) if start else ""
        found.add(Breach("no-way-out", ""))
        findings.append(words.finding(Breach("no-way-out", ""), (), more=how))
    return found


def _own(procedure: Procedure, node: Node) -> bool:
    """Whether a step is written in the main file: a used file has steps for other callers too, and is checked alone."""
    return node.mark.file == main_file(procedure)


def main_file(procedure: Procedure) -> str:
    """The file that the procedure is written in. Whatever comes first is called from it."""
    return procedure.files[0][0] if procedure.files else procedure.nodes[0].mark.file


def _parts(decided: Decided, words: Words, findings: list[Finding]) -> set[Breach]:
    try:
        short = shortages(decided.world, decided.counting)
    except Endless:
        first = words.first
        more = ": how many single-use parts can be used up on its ways back"
        findings.append(words.finding(Breach("not-proved", first), (), more=more))
        return {Breach("not-proved", first)}
    found = {Breach("too-few-parts", "", part): shortage for part, shortage in short.items()}
    findings += [words.finding(breach, each.way, more=str(each.most)) for breach, each in found.items()]
    return set(found)


def _never_put_off(procedure: Procedure, decided: Decided, words: Words) -> Iterable[Finding]:
    listed = decided.world.listed()
    reached = decided.world.reached
    for node in procedure.nodes:
        if node.put_off is not None and node.id in reached and node.id not in listed:
            yield words.finding(Breach("never-put-off", node.id), ())


def _in_order(procedure: Procedure, findings: list[Finding]) -> tuple[Finding, ...]:
    """The main file first, then in the order of each file; each finding once."""
    main = main_file(procedure)
    return tuple(
        sorted(
            dict.fromkeys(findings),
            key=lambda f: (f.file != main, f.file, f.line, f.column, f.rule, f.node, f.subject),
        )
    )
