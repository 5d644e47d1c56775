"""What stands around the steps of a procedure: conditions, locations, tools, follow-ups; read from a page."""

from runner.procedure.desk import Desk
from runner.procedure.read_values import (
    NO_BAND,
    NO_QUANTITY,
    read_band,
    read_duration,
    read_path,
    read_quantity,
    read_tolerance,
    read_unit,
)
from runner.procedure.read_windows import WINDOW_WORDS
from runner.procedure.source import (
    Condition,
    Counter,
    FollowUp,
    Location,
    Name,
    Part,
    Tool,
    Variant,
)
from runner.procedure.tree import Node, Row, Table, Text
from runner.quantities import KINDS, Band, Tolerance

MOST_PEOPLE = 100
MOST_PARTS = 10_000
_CHOOSE = "choose at start"


def read_people(desk: Desk, node: Node, what: str) -> tuple[tuple[Name, int], ...]:
    """Give how many people of each role are needed; the performer is one of them."""
    people = desk.pairs(node, what, lambda n, w: desk.whole(n, w, 1, MOST_PEOPLE))
    if isinstance(node, Table) and node.get("performer") is None:
        desk.error(node, "missing-key", f'{what} needs "performer"', expected="performer: 1")
    return people


def read_conditions(desk: Desk, node: Node, what: str) -> tuple[Condition, ...]:
    """Give the conditions of the work piece."""
    entries = desk.table(node, what).entries
    return tuple(_condition(desk, key, value) for key, value in entries)


def _condition(desk: Desk, key: Text, node: Node) -> Condition:
    if key.folded in WINDOW_WORDS:
        message = f'a condition cannot be named "{key.folded}": the word begins a window'
        desk.error(key, "kept-word", message, expected="another name")
    known = ("at start", "changes", "hazardous", "getting there")
    fields = desk.fields(node, f'condition "{key.folded}"', known, known[:2])
    changes = fields.must("changes", lambda n, w: desk.pairs(n, w, lambda m, v: desk.names(m, v, least=0)))
    condition = Condition(
        mark=key.mark,
        name=Name(mark=key.mark, text=key.folded),
        at_start=fields.must("at start", desk.names),
        changes=changes,
        hazardous=fields.may("hazardous", desk.names, ()),
        getting_there=fields.may(
            "getting there", lambda n, w: desk.pairs(n, w, lambda m, v: _detour(desk, m, v)), ()
        ),
    )
    if changes:
        _check_values(desk, condition)
    return condition


def _detour(desk: Desk, node: Node, what: str) -> Name:
    if isinstance(node, Text) and ("/" in node.value or "." in node.value):
        return read_path(desk, node, what)
    return desk.name(node, what)


def _check_values(desk: Desk, condition: Condition) -> None:
    """Find values that are not among the keys of `changes`, and a change of a value into itself."""
    values = [name.text for name, _ in condition.changes]
    used = [*condition.at_start, *condition.hazardous, *(name for name, _ in condition.getting_there)]
    for name, others in condition.changes:
        used += others
        for other in others:
            if other.text == name.text:
                message = f'"{name.text}" changes into itself'
                desk.error(other, "value", message, expected="another value")
    for name in used:
        if name.text and name.text not in values:
            message = f'"{name.text}" is no value of "{condition.name.text}": it is no key of its "changes"'
            desk.unknown(name, message, values)


def read_locations(desk: Desk, node: Node, what: str) -> tuple[Location, ...]:
    """Give the locations; each value once."""
    locations = []
    for key, value in desk.table(node, what).entries:
        name = Name(mark=key.mark, text=key.folded)
        whole = f'location "{key.folded}"'
        choose = isinstance(value, Table)
        if choose:
            value = desk.fields(value, whole, (_CHOOSE,), (_CHOOSE,)).node(_CHOOSE)  # noqa: PLW2901
        values = desk.names(value, whole)
        if choose and len(values) == 1:
            desk.error(
                value, "one-choice", f'"{_CHOOSE}" gives one value only', expected="at least two values"
            )
        locations.append(Location(mark=key.mark, name=name, values=values, choose=choose))
    return tuple(locations)


def read_variants(desk: Desk, node: Node, what: str) -> tuple[Variant, ...]:
    """Give the choices about the work piece, each with at least two values."""
    variants = []
    for key, value in desk.table(node, what).entries:
        values = desk.names(value, f'variant "{key.folded}"')
        if len(values) == 1 and isinstance(value, Row | Text):
            message = f'variant "{key.folded}" has one value only'
            desk.error(value, "one-choice", message, expected="at least two values")
        variants.append(Variant(mark=key.mark, name=Name(mark=key.mark, text=key.folded), values=values))
    return tuple(variants)


def read_tolerances(desk: Desk, node: Node, what: str) -> tuple[tuple[str, Tolerance], ...]:
    """Give the tolerances by the kind of what is measured."""
    tolerances = []
    for key, value in desk.table(node, what).entries:
        if key.folded in KINDS:
            tolerances.append((key.folded, read_tolerance(desk, value, f'"{key.folded}"', key.folded)))
        else:
            desk.unknown(key, f'"{key.folded}" is nothing that is measured', KINDS, "unknown-key")
    return tuple(tolerances)


def read_counters(desk: Desk, node: Node, what: str) -> tuple[Counter, ...]:
    """Give the counters asked at the start."""
    return tuple(_counter(desk, item) for item in desk.row(node, what))


def _counter(desk: Desk, node: Node) -> Counter:
    fields = desk.fields(node, "a counter", ("name", "unit"), ("name", "unit"))
    unit = fields.must("unit", lambda n, w: read_unit(desk, n, w))
    return Counter(mark=fields.mark, name=fields.must("name", desk.text), unit=unit)


def read_tools(desk: Desk, node: Node, what: str) -> tuple[Tool, ...]:
    """Give the tools to lay out."""
    return desk.none_or(node, what, lambda n, w: tuple(_tool(desk, item) for item in desk.row(n, w)))


def _tool(desk: Desk, node: Node) -> Tool:
    fields = desk.fields(node, "a tool", ("name", "covers"), ("name",))
    covers = fields.may("covers", lambda n, w: _range(desk, n, w), None)
    return Tool(mark=fields.mark, name=fields.must("name", desk.text), covers=covers)


def _range(desk: Desk, node: Node, what: str) -> Band:
    band = read_band(desk, node, what)
    if band is not NO_BAND and (band.low is None or band.high is None or band.low == band.high):
        desk.error(node, "quantity", f"{what} must have two limits", expected="a range such as 20 to 130 N·m")
    return band


def read_parts(desk: Desk, node: Node, what: str) -> tuple[Part, ...]:
    """Give the parts to lay out."""
    return desk.none_or(node, what, lambda n, w: tuple(_part(desk, item) for item in desk.row(n, w)))


def _part(desk: Desk, node: Node) -> Part:
    fields = desk.fields(node, "a part", ("name", "number", "each", "quantity"), ("name",))
    return Part(
        mark=fields.mark,
        name=fields.must("name", desk.text),
        number=fields.may("number", desk.text, None),
        each=fields.may("each", desk.name, None),
        quantity=fields.may("quantity", lambda n, w: desk.whole(n, w, 1, MOST_PARTS), 1),
    )


def read_list_or_none(desk: Desk, node: Node, what: str) -> tuple[str, ...]:
    """Give a list of texts, or nothing where `none` is written."""
    return desk.none_or(node, what, desk.texts)


def read_follow_ups(desk: Desk, node: Node, what: str) -> tuple[FollowUp, ...]:
    """Give what is due after the job."""
    return desk.none_or(node, what, lambda n, w: tuple(_follow_up(desk, item) for item in desk.row(n, w)))


def _follow_up(desk: Desk, node: Node) -> FollowUp:
    fields = desk.fields(node, "a follow-up", ("what", "after", "within"), ("what",))
    form = fields.only_one(("after", "within"), "a follow-up", needed=bool(list(fields)))
    after = None
    if form == "after":
        after = fields.must("after", lambda n, w: read_quantity(desk, n, w))
        if after is not NO_QUANTITY and after.kind not in ("distance", "time"):
            message = '"after" must be a distance or a time'
            desk.error(fields.node("after"), "quantity", message, expected="50 km, or 7 days")
    return FollowUp(
        mark=fields.mark,
        what=fields.must("what", desk.text),
        text=fields.must(form, desk.text) if form else "",
        after=after,
        within=fields.must("within", lambda n, w: read_duration(desk, n, w)) if form == "within" else None,
    )
