"""One procedure against the graph algorithms: what they say and the proof does not, or the other way round, counted."""

from collections import Counter
from dataclasses import dataclass, field

from runner.procedure.linked import Procedure
from runner.proof.prove import prove
from tests.job.properties.dice import Dice
from tests.proof import graphs, probing
from tests.proof.agreement import UNDECIDED
from tests.proof.generate import seeded
from tests.proof.graphs import Said
from tests.proof.product import DONE, REFUSED, Product, TooLarge

PROBES = 2
"""So many pairs of steps of each procedure are probed."""


@dataclass
class Reach:
    """What the checks met: how many procedures, vertices, rules broken, probes by outcome."""

    counted: Counter[str] = field(default_factory=Counter)
    broken: Counter[str] = field(default_factory=Counter)
    wrong: list[str] = field(default_factory=list)

    def add(self, other: "Reach") -> None:
        """What another counted, too."""
        self.counted += other.counted
        self.broken += other.broken
        self.wrong += other.wrong

    def text(self) -> str:
        """The counts in two lines."""
        counts = ", ".join(f"{name} {number}" for name, number in sorted(self.counted.items()))
        return f"{counts}\nrules broken: {dict(sorted(self.broken.items()))}"


def against(seed: int, into: Reach) -> None:
    """The procedure of one seed."""
    procedure = seeded(seed).procedure
    verdict = prove(procedure)
    into.counted["procedures"] += 1
    if any(finding.rule in UNDECIDED for finding in verdict.findings):
        into.counted["left out, not proved"] += 1
        return
    try:
        made = Product(procedure)
    except TooLarge:
        into.counted["left out, too large"] += 1
        return
    into.counted["vertices"] += len(made.graph)
    proved = {Said(*breach) for breach in verdict.breaches}
    said = whole(made, into)
    for each in sorted(said ^ {one for one in proved if answerable(procedure, one)}):
        side = "only the graph says" if each in said else "only the proof says"
        into.wrong.append(f"seed {seed}: {side} {' '.join(each)}")
    into.broken.update(each.rule for each in said)
    into.counted["clean"] += not said
    for node, put_off in graphs.by_condition(procedure):
        uncut = graphs.uncut(made, node, put_off)
        if uncut is not None:
            into.counted["windows not cut" if uncut else "windows cut"] += 1
            missed = any(
                each.rule in ("missed-window", "change-too-soon") for each in proved if each.node == node.id
            )
            if uncut != missed:
                into.wrong.append(f"seed {seed}: cut set of {node.id}: {not uncut}, missed {missed}")
    probe(seed, made, into)


def whole(made: Product, into: Reach) -> set[Said]:
    """Everything that the graph algorithms judge."""
    said = graphs.never_reached(made) | graphs.no_way_out(made)
    said |= graphs.on_conditions(made) | graphs.unannounced(made)
    for item in graphs.plain_items(made.procedure):
        into.counted["items"] += 1
        said |= graphs.on_item(made, item)
    for node, put_off in graphs.by_condition(made.procedure):
        into.counted["windows by condition"] += 1
        said |= graphs.on_window(made, node, put_off)
    return said


def answerable(procedure: Procedure, breach: Said) -> bool:
    """Whether the graphs judge that breach of the proof's."""
    node = procedure.by_id.get(breach.node)
    put_off = node.put_off if node else None
    items = {item.key for item in graphs.plain_items(procedure)}
    windows = {node.id for node, _ in graphs.by_condition(procedure)}
    match breach.rule:
        case "never-reached" | "wrong-condition":
            return put_off is None or breach.node in windows
        case "no-way-out" | "forbidden-change" | "hazard-unannounced":
            return True
        case "not-as-needed" | "wrong-state" | "wrong-moment" | "left-open":
            return breach.subject in items and put_off is None
        case "agreement-broken":
            return breach.subject in items or breach.subject in procedure.condition_by_name
        case "missed-window" | "change-too-soon":
            return breach.node in windows
        case _:
            return False


def probe(seed: int, made: Product, into: Reach) -> None:
    """Probes put into the procedure, which the proof must feel where dominators and longest paths say."""
    procedure, dice = made.procedure, Dice(seed)
    steps = [node.id for node in graphs.main_steps(procedure)]
    circles = probing.circles(procedure)
    into.counted["with circles"] += bool(circles)
    for _ in range(PROBES if len(steps) > 1 else 0):
        hold, step = dice.pick(steps), dice.pick(steps)
        if hold != step and made.standing(step):
            for kind, probed, passing in (
                ("wrong-condition", probing.condition_probe(procedure, hold, step), (DONE,)),
                ("not-as-needed", probing.item_probe(procedure, hold, step), (DONE, REFUSED)),
            ):
                before = probing.dominated(made, hold, step, passing)
                felt = (kind, step, "probe") not in prove(probed).breaches
                into.counted["probes dominated" if before else "probes not dominated"] += 1
                if before != felt:
                    into.wrong.append(
                        f"seed {seed}: {hold} dominates {step}: {before}, {kind} absent: {felt}"
                    )
        if procedure.by_id[hold].in_time is None:
            most = probing.most_visits(made, hold)
            found = prove(probing.part_probe(procedure, hold)).findings
            told = [
                each.message for each in found if each.subject == "probe" and each.rule == "too-few-parts"
            ]
            wanted = [f"up to {most} of probe are used up, but the parts list has 0"] if most else []
            into.counted[f"steps visited {'often' if most > 1 else 'once' if most else 'never'}"] += 1
            if told != wanted or (most > 1 and hold not in circles):
                into.wrong.append(f"seed {seed}: {hold} is visited {most} times at most, told {told}")
