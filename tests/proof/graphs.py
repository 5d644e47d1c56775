"""What textbook graph algorithms say of a procedure's product: the same rules as the proof's, judged another way.

networkx gives reachability, dominators, strongly connected components and longest paths (https://networkx.org, 3.x:
`descendants`, `immediate_dominators`, `strongly_connected_components`, `dag_longest_path_length`).
"""

from collections.abc import Iterator
from typing import NamedTuple

import networkx as nx

from runner.procedure.linked import Item, Node, Procedure, PutOff, Test
from tests.proof.items_again import closed, deed, states
from tests.proof.product import (
    ARRIVE,
    DONE,
    FINISH,
    HERE,
    JOINT,
    LATE,
    REFUSED,
    STAND,
    STOPPED,
    At,
    Product,
    reached,
)


class Said(NamedTuple):
    """One rule broken: comparable with the proof's breaches."""

    rule: str
    node: str
    subject: str = ""


NOT, SHUT, SEEN = "not owed", "shut so far", "seen open"


def main_steps(procedure: Procedure) -> list[Node]:
    """The steps that are done where they stand, of the main file and the main line."""
    main = procedure.nodes[0].mark.file
    return [
        node for node in procedure.nodes
        if node.joint is None and node.put_off is None and node.mark.file == main
        and not node.id.startswith("detour:")
    ]  # fmt: skip


# Reachability (P1), co-reachability (P2)


def never_reached(made: Product) -> set[Said]:
    stood = {at.node for at in made.places(STAND)}
    return {Said("never-reached", node.id) for node in main_steps(made.procedure) if node.id not in stood}


def no_way_out(made: Product) -> set[Said]:
    back = made.graph.reverse(copy=False)
    to_end = reached(back, made.places(FINISH))
    to_stop = reached(back, made.places(FINISH, STOPPED))
    trapped = any(start not in to_end for start in made.starts) or any(at not in to_stop for at in made.graph)
    return {Said("no-way-out", "")} if trapped else set()


# Conditions (P3, P5, P11) and hazards (P13)


def on_conditions(made: Product) -> set[Said]:
    found: set[Said] = set()
    for at in made.places(STAND, JOINT):
        node = made.node(at)
        assert node is not None
        rule = "agreement-broken" if at.place == JOINT else "wrong-condition"
        if node.put_off is None:
            found |= {Said(rule, node.id, test.name) for test in unmet(node, at)}
        for name, value in node.sets:
            now = at.value("condition", name)
            changes = dict(made.procedure.condition_by_name[name].changes)
            if now != value and value not in changes.get(str(now), ()):
                found.add(Said("forbidden-change", node.id, name))
    return found


def unmet(node: Node, at: At) -> list[Test]:
    return [t for t in node.needs if t.kind == "condition" and at.value("condition", t.name) not in t.values]


def unannounced(made: Product) -> set[Said]:
    """Cut every way behind a step that warns: what is still reached was not warned of."""
    unwarned = nx.DiGraph(made.graph)
    for at in made.places(STAND):
        node = made.node(at)
        if node is not None and node.warns and node.put_off is None:
            unwarned.remove_edges_from(list(made.graph.out_edges(at)))
    found = set()
    for at in made.from_starts(unwarned):
        node = made.node(at)
        if node and at.place == STAND and node.put_off is None and not node.warns and made.hazardous(at):
            found.add(Said("hazard-unannounced", node.id))
    return found


# Items that nothing put off acts on (P4, P6, P7, P8, P11): the graph times one item


def plain_items(procedure: Procedure) -> list[Item]:
    waited = {act.item for node in procedure.nodes if node.put_off for act in node.acts}
    return [item for item in procedure.items if item.key not in waited]


def on_item(made: Product, item: Item) -> set[Said]:
    graph, found = nx.DiGraph(), set[Said]()
    starts = [(at, item.at_start) for at in made.starts]
    for at in made.graph:
        for state in states(item):
            done, partly, _ = deed(made.node(at), at, item, state)
            for _, there, hows in made.graph.out_edges(at, data="hows"):
                for how in hows:
                    afters = {done} if how in (DONE, REFUSED) else partly if how == LATE else {state}
                    graph.add_edges_from(((at, state), (there, after)) for after in afters)
    for at, state in reached(graph, starts) | set(starts):
        node = made.node(at)
        if at.place == FINISH and left_open(made.procedure, item, at) and state not in closed(item):
            found.add(Said("left-open", "end", item.key))
        if node is None or node.put_off is not None or at.place == ARRIVE:
            continue
        rule = "agreement-broken" if at.place == JOINT else "not-as-needed"
        needs = [test for test in node.needs if test.kind == "item" and test.name == item.key]
        if any(state not in test.values for test in needs):
            found.add(Said(rule, node.id, item.key))
        found |= {Said(rule, node.id, item.key) for rule in deed(node, at, item, state)[2]}
    return found


def left_open(procedure: Procedure, item: Item, at: At) -> bool:
    """Whether it must be closed: it is there in this job, and no agreement of the file leaves it open."""
    if any(at.value(test.kind, test.name) not in test.values for test in item.exists):
        return False
    end = procedure.by_id.get(":end")
    agreed = [test for test in (end.needs if end else ()) if test.kind == "item" and test.name == item.key]
    return all(set(test.values) & set(closed(item)) for test in agreed)


# Windows by condition (P9, P10, P3 and P1 of what is put off): the graph times not owed, shut, seen


def by_condition(procedure: Procedure) -> Iterator[tuple[Node, PutOff]]:
    for node in procedure.nodes:
        if node.put_off is not None and node.put_off.until.kind == "condition":
            yield node, node.put_off


def open_at(put_off: PutOff, at: At) -> bool:
    return all(at.value("condition", test.name) in test.values for test in put_off.until.tests)


def due_at(made: Product, put_off: PutOff, at: At) -> bool:
    node, test = made.node(at), put_off.before.test
    if node is None:
        return at.place == FINISH
    if put_off.before.kind == "step":
        return node.id in put_off.before.nodes
    return test is not None and any(
        name == test.name and value in test.values and at.value("condition", name) != value
        for name, value in node.sets
    )


def on_window(made: Product, node: Node, put_off: PutOff) -> set[Said]:
    graph = nx.DiGraph()
    starts = [(at, NOT) for at in made.starts]
    graph.add_nodes_from(starts)
    for at in made.graph:
        for off in (NOT, SHUT, SEEN):
            for _, there, hows in made.graph.out_edges(at, data="hows"):
                for how in hows:
                    afters = _owed_after(made, node, put_off, at, off, how)
                    graph.add_edges_from(((at, off), (there, after)) for after in afters)
    found, done = set[Said](), False
    for at, off in reached(graph, starts):
        if at.place == STAND and at.node == node.id:
            done = True
            found |= {Said("wrong-condition", node.id, test.name) for test in unmet(node, at)}
        if at.place not in (STAND, FINISH) or off == NOT:
            continue
        if open_at(put_off, at):
            done = True
            found |= {Said("wrong-condition", node.id, test.name) for test in unmet(node, at)}
        elif off == SHUT and due_at(made, put_off, at):
            found.add(Said(_missed(put_off), node.id))
    if not done and node.mark.file == made.procedure.nodes[0].mark.file:
        found.add(Said("never-reached", node.id))
    return found


def _missed(put_off: PutOff) -> str:
    return "change-too-soon" if put_off.before.kind == "condition" else "missed-window"


def _owed_after(made: Product, node: Node, put_off: PutOff, at: At, off: str, how: str) -> set[str]:
    """How the step can stand behind an edge that leaves a vertex where it stands as `off`."""
    opened = open_at(put_off, at)
    if at.place == ARRIVE and at.node == node.id:
        here = off == NOT and opened and put_off.no_later is None
        if how == HERE:
            return {NOT} if here else set()
        return set() if here else {SHUT if off == NOT else off}
    if at.place != STAND or off == NOT:
        return {off}
    seen = SEEN if opened else off
    if not due_at(made, put_off, at):
        early = {SHUT} if how == LATE else set[str]()  # the clock was quicker than whoever could choose
        return {seen, NOT} | early if opened else {seen}
    if opened:
        return {NOT, SHUT} if how == LATE else {NOT}
    # Flagged and dropped where it was never open; the clock goes on all the same.
    return ({off} if how == LATE else set()) | ({NOT} if off == SHUT else set())


def uncut(made: Product, node: Node, put_off: PutOff) -> bool | None:
    """Whether some way from where the step is put off to where it is due meets no place at which its window is open:
    whether those places are no cut set between the two. None where a time limit makes more of it than that.
    """
    if any(each.in_time for each in made.procedure.nodes):
        return None
    graph, sources = nx.DiGraph(made.graph), set[At]()
    for at in made.places(ARRIVE):
        if at.node == node.id and not (open_at(put_off, at) and put_off.no_later is None):
            sources |= {there for _, there, hows in made.graph.out_edges(at, data="hows") if hows != {HERE}}
    goals = {
        at for at in made.places(STAND, FINISH) if due_at(made, put_off, at) and not open_at(put_off, at)
    }
    graph.remove_nodes_from([at for at in made.places(STAND, FINISH) if open_at(put_off, at)])
    return bool(reached(graph, sources) & goals)
