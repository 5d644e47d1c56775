"""Whether every step is done somewhere, and every node can be reached, whatever is answered or holds."""

from collections.abc import Iterable, Iterator

from runner.procedure.link_frame import Draft, Unit
from runner.procedure.link_report import Report
from runner.procedure.linked import Exit, Node


def check_made(units: Iterable[Unit], drafts: Iterable[Draft], called: set[int], report: Report) -> None:
    """Report every step and every used file that `only for` leaves without a place."""
    made = {id(draft.step) for draft in drafts}
    for unit in units:
        for declared in unit.outline.steps.values():
            if id(declared.step) not in made:
                name = declared.step.name
                report.at(name, "never-done", f'"{name.text}" is done at no place: `only for` excludes each')
        for call in unit.outline.calls:
            if id(call) not in called:
                message = f'"{call.path.text}" is used at no place: `only for` excludes each'
                report.at(call.path, "never-done", message)


def check_reach(nodes: tuple[Node, ...], heads: Iterable[str], report: Report) -> None:
    """Report the first node of every stretch that nothing leads to."""
    by_id = {node.id: node for node in nodes}
    reached: set[str] = set()
    waiting = list(heads)
    while waiting:
        here = waiting.pop()
        if here in by_id and here not in reached:
            reached.add(here)
            waiting += _onward(by_id[here])
    missed = [node for node in nodes if node.id not in reached]
    led_to = {onward for node in missed for onward in _onward(node) if onward != node.id}
    firsts = [node for node in missed if node.id not in led_to]
    for node in firsts or missed[:1]:
        what = f'"{node.step}"' if node.joint is None else "this"
        report.error(
            node.mark, "not-reached", f"{what} can never be reached: every way before it leads elsewhere"
        )


def _onward(node: Node) -> Iterator[str]:
    """The ids that a node can lead to."""
    if node.guard:
        yield node.skip
    chosen = [*node.answers, *(sorting.exit for reading in node.readings for sorting in reading.sorting)]
    if not chosen:
        yield node.next
    for way in node.exits:
        yield from _along(way)


def _along(way: Exit) -> Iterator[str]:
    yield way.to
    if way.limit:
        yield from _along(way.limit.then)
