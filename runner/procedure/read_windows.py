"""Put-offs: from when a step can be done, and what it must come before, read from a page."""

from runner.procedure.desk import Desk, Fields
from runner.procedure.read_values import read_duration, read_pair, read_tests
from runner.procedure.source import Due, Name, PutOff, Window
from runner.procedure.tree import Node, Table, Text

WINDOW_WORDS = ("step", "time", "after", "at")
"""Words that begin a window, and so cannot name a condition."""


def read_put_off(desk: Desk, node: Node) -> PutOff:
    """Give a planned put-off."""
    known = ("until", "before", "because", "no later than")
    fields = desk.fields(node, '"put off"', known, known[:3])
    return PutOff(
        mark=fields.mark,
        until=fields.must("until", lambda n, w: _window(desk, n, w)),
        before=fields.must("before", lambda n, w: _due(desk, n, w)),
        because=fields.must("because", desk.text),
        no_later=fields.may("no later than", lambda n, w: _no_later(desk, n, w), None),
    )


def _window(desk: Desk, node: Node, what: str) -> Window:
    table = desk.table(node, what)
    words = [key.folded for key, _ in table.entries if key.folded in WINDOW_WORDS]
    if not words:
        return Window(mark=table.mark, tests=read_tests(desk, table, what) if table.entries else ())
    form = "time" if words[0] == "after" else words[0]
    if form == "time":
        time, after = _timed(desk, table, what)
        return Window(mark=table.mark, time=time, after=after)
    fields = desk.fields(table, f"a window with {form}", (form,), (form,))
    name = fields.must(form, desk.name)
    return Window(mark=table.mark, step=name) if form == "step" else Window(mark=table.mark, at=name)


def _timed(desk: Desk, node: Node, what: str) -> tuple[int, Name]:
    fields: Fields = desk.fields(node, f"the time of {what}", ("time", "after"), ("time", "after"))
    return fields.must("time", lambda n, w: read_duration(desk, n, w)), fields.must("after", desk.name)


def _no_later(desk: Desk, node: Node, what: str) -> tuple[int, Name]:
    return _timed(desk, node, what)


def _due(desk: Desk, node: Node, what: str) -> Due:
    if isinstance(node, Table):
        return Due(mark=node.mark, condition=read_pair(desk, node, what))
    if isinstance(node, Text) and node.folded == "end":
        return Due(mark=node.mark)
    return Due(mark=node.mark, step=desk.name(node, what))
