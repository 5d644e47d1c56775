"""Probes put into a procedure, which the proof must feel where dominators and longest paths say (networkx)."""

from collections.abc import Callable, Mapping

import networkx as nx

from runner.procedure.linked import Act, Condition, Item, Node, Part, Procedure, Test
from tests.proof.product import STAND, Product


def dominated(made: Product, hold: str, step: str, passing: tuple[str, ...]) -> bool:
    """Whether every way to `step` has left `hold` by one of `passing` before (Cooper, Harvey and Kennedy's dominators).

    All those leavings are led through one vertex: what is wrongly joined behind it has passed it.
    """
    graph = nx.DiGraph()
    graph.add_edges_from(("root", at) for at in made.starts)
    for at, there, hows in made.graph.edges(data="hows"):
        passes = at.place == STAND and at.node == hold
        if passes and hows & set(passing):
            graph.add_edge(at, "passed")
            graph.add_edge("passed", there)
        if not passes or hows - set(passing):
            graph.add_edge(at, there)
    graph.add_edges_from((at, "step") for at in made.standing(step))
    above = nx.immediate_dominators(graph, "root")
    at = "step"
    while above.get(at, at) not in (at, None):
        at = above[at]
        if at == "passed":
            return True
    return False


def with_probe(
    procedure: Procedure, change: Callable[[Node], Mapping[str, object]], **more: object
) -> Procedure:
    """The procedure with nodes changed and declarations added."""
    nodes = tuple(node.model_copy(update=dict(change(node))) for node in procedure.nodes)
    added = {name: (*getattr(procedure, name), each) for name, each in more.items()}
    made = procedure.model_copy(update={"nodes": nodes, **added})
    for name in ("condition_by_name", "by_id", "item_by_key"):
        made.__dict__.pop(name, None)
    return made


def condition_probe(procedure: Procedure, hold: str, step: str) -> Procedure:
    """`hold` sets a condition that `step` needs."""
    condition = Condition(name="probe", at_start=("no",), changes=(("no", ("yes",)), ("yes", ())))
    need = Test(kind="condition", name="probe", values=("yes",))

    def change(node: Node) -> Mapping[str, object]:
        if node.id == hold:
            return {"sets": (*node.sets, ("probe", "yes"))}
        return {"needs": (*node.needs, need)} if node.id == step else {}

    return with_probe(procedure, change, conditions=condition)


def item_probe(procedure: Procedure, hold: str, step: str) -> Procedure:
    """`hold` takes a cover off that `step` needs off."""
    need = Test(kind="item", name="probe", values=("off",))

    def change(node: Node) -> Mapping[str, object]:
        if node.id == hold:
            return {"acts": (*node.acts, Act(verb="takes off", item="probe"))}
        return {"needs": (*node.needs, need)} if node.id == step else {}

    return with_probe(procedure, change, items=Item(key="probe", name="probe", kind="cover", at_start="on"))


def part_probe(procedure: Procedure, step: str) -> Procedure:
    """`step` uses up a part of which the list has none."""
    acts = (Act(verb="fits", item="probe"), Act(verb="takes out", item="probe"))
    item = Item(
        key="probe", name="probe", kind="fitted part", at_start="out", new_every_time=True, part="probe"
    )

    def change(node: Node) -> Mapping[str, object]:
        return {"acts": (*node.acts, *acts)} if node.id == step else {}

    return with_probe(procedure, change, items=item, parts=Part(name="probe", quantity=0))


def most_visits(made: Product, step: str) -> int:
    """How often one run can come to a step: the longest path, for no run comes to the same vertex twice."""
    graph = nx.DiGraph()
    for at, there in made.graph.edges:
        graph.add_edge(at, there, weight=int(at.place == STAND and at.node == step))
    return int(nx.dag_longest_path_length(graph)) if graph else 0


def circles(procedure: Procedure) -> set[str]:
    """The steps on a circle of the plain graph, nothing counted (Tarjan's strongly connected components)."""
    graph = nx.DiGraph()
    for node in procedure.nodes:
        ways = list(node.exits)
        graph.add_edges_from((node.id, to) for to in (node.next, node.skip))
        while ways:
            way = ways.pop()
            graph.add_edge(node.id, way.to)
            if way.limit is not None:
                ways.append(way.limit.then)
    alone = {node for node in graph if not graph.has_edge(node, node)}
    return {
        n
        for part in nx.strongly_connected_components(graph)
        if len(part) > 1 or not part & alone
        for n in part
    }
