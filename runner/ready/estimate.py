"""How long a job takes by its author's estimates: the shortest and the longest way to the end, and what nobody said.

The ways are those that the proof explores, with every way back taken as often as it may be. Where they are too many,
the sums are bounds and the sheet says so. A step without an estimate adds nothing and is counted. Put-off work is
reckoned in where it is listed; that other work can fill the time until its window opens is not.
"""

from collections.abc import Callable

from runner.frozen import Frozen
from runner.procedure.linked import Node, Procedure
from runner.proof.control import Control, How, Place
from runner.proof.variables import variables_of
from runner.proof.visits import NO_BOUND, Visits
from runner.proof.world import World, main_line
from runner.ready.ways import Ways

_MOST_LOOKED_AT = 2_000_000
"""Ways back times steps with a time: beyond it the longest way is not told."""


class Span(Frozen):
    """The time of one way: work as estimated and waits as written, in milliseconds; how many steps, how many unsaid."""

    work: int
    wait: int
    steps: int
    unsaid: int


class Estimate(Frozen):
    """The times of a job. `exact`: of single ways; else `shortest` is "at least" and `longest` "at most".

    `longest` is None where nothing bounds it, `shortest` where no way leads to the end. `unsaid` names the steps
    without an estimate, `said` counts the others.
    """

    shortest: Span | None
    longest: Span | None
    exact: bool
    said: int
    unsaid: tuple[str, ...]


def estimate(procedure: Procedure, ways: Ways, world: World | None) -> Estimate:
    """The times of a procedure; `world` is what `exploring.explored_whole` gave."""
    line = main_line(procedure) if procedure.nodes else set()
    steps = [node for node in procedure.nodes if node.joint is None and node.id in line]
    unsaid = tuple(dict.fromkeys(node.step for node in steps if node.takes is None))
    said = len({node.step for node in steps if node.takes is not None})
    if world is not None:
        shortest, longest = _along(world, _less), _along(world, _more)
        if longest is not None or shortest is None:
            return Estimate(shortest, longest, exact=True, said=said, unsaid=unsaid)
    return _bounds(procedure, steps, ways).but(said=said, unsaid=unsaid)


def _along(world: World, better: Callable[[Span, Span], bool]) -> Span | None:
    """The best of all ways to the end; None where there is none, or one leads in a circle."""
    control, order = world.control, world.ledger.order
    rank = {state: place for place, state in enumerate(order)}
    best = {state: Span(0, 0, 0, 0) for state, _ in control.starts}
    found: Span | None = None
    for state in order:
        here = best.pop(state, None)
        if here is None:
            continue
        if control.places[state] is Place.FINISH and (found is None or better(here, found)):
            found = here
        for edge in control.edges[state]:
            if rank[edge.target] <= rank[state]:
                return None
            then = _after(here, control, state, edge.how, better)
            if edge.target not in best or better(then, best[edge.target]):
                best[edge.target] = then
    return found


def _after(here: Span, control: Control, state: int, how: How, better: Callable[[Span, Span], bool]) -> Span:
    """The time after a state is left. A step whose time was over may have been left as soon as it was begun."""
    node, place = control.nodes[state], control.places[state]
    if node is None or not (place is Place.STAND or how is How.LISTED):
        return here
    done = _with(here, node)
    if how is How.LATE and better is _less:
        return here.but(steps=done.steps)
    return done


def _with(here: Span, node: Node) -> Span:
    return Span(
        here.work + (node.takes or 0),
        here.wait + (node.wait or 0),
        here.steps + 1,
        here.unsaid + (node.takes is None),
    )


def _less(one: Span, other: Span) -> bool:
    return _weight(one) < _weight(other)


def _more(one: Span, other: Span) -> bool:
    return _weight(one) > _weight(other)


def _weight(span: Span) -> tuple[int, int, int, int]:
    return span.work + span.wait, span.unsaid, span.steps, span.wait


def _bounds(procedure: Procedure, steps: list[Node], ways: Ways) -> Estimate:
    """What every way takes at least, and at most where each step is done as often as the ways back allow."""
    work = ways.least({node.id: node.takes or 0 for node in steps})
    wait = ways.least({node.id: node.wait or 0 for node in steps})
    few = ways.least(dict.fromkeys((node.id for node in steps), 1))
    unsaid = ways.least({node.id: 1 for node in steps if node.takes is None})
    least = None if None in (work, wait, few, unsaid) else Span(work or 0, wait or 0, few or 0, unsaid or 0)
    return Estimate(least, _most(procedure, steps), exact=False, said=0, unsaid=())


def _most(procedure: Procedure, steps: list[Node]) -> Span | None:
    """The time of every step together, each as often as it may be done; None where that is not bounded, or would take
    too long to work out. Steps are counted once.
    """
    timed = [node for node in steps if node.takes or node.wait]
    backs = sum(kind == "loop" for kind, _ in variables_of(procedure))
    if len(timed) * backs > _MOST_LOOKED_AT:
        return None
    visits = Visits(procedure)
    often = {node.id: visits.most(node.id) for node in timed}
    if any(times >= NO_BOUND for times in often.values()):
        return None
    return Span(
        sum((node.takes or 0) * often[node.id] for node in timed),
        sum((node.wait or 0) * often[node.id] for node in timed),
        len(steps),
        sum(node.takes is None for node in steps),
    )
