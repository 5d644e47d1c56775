"""Items and the stages of their tightening, read from a page."""

from typing import Literal, NamedTuple, cast, get_args

from runner.procedure.desk import Desk, Fields
from runner.procedure.kinds import KINDS, states_of
from runner.procedure.read_joint import JOINT_KEYS, check_joint, read_joint, read_rows
from runner.procedure.read_rounds import ROUND_KEYS, read_last_pass, read_shares
from runner.procedure.read_values import NO_BAND, NO_QUANTITY, quantity_error, read_tests, read_tolerance
from runner.procedure.source import Item, ItemKind, Method, Name, OrderName, Stage, StageKind
from runner.procedure.stages import counted
from runner.procedure.tree import Node, Row, Text
from runner.quantities import Band, Quantity, QuantityError, band_from, parse_band, parse_quantity

_ANY_KIND = ("kind", "each", "at start", "critical")
_PART_KEYS = ("new", "part")
_FASTENER_KEYS = ("count", "rows", *_PART_KEYS, *JOINT_KEYS, "tighten")
_OF_KIND: dict[str, tuple[str, ...]] = {"fastener": _FASTENER_KEYS, "fitted part": _PART_KEYS}

_STAGE_KEYS = ("snug", "torque", "angle", "tolerance", "order", "only when", "method", *ROUND_KEYS)
_ORDERS = ("star", "around", "from the middle", "in line")
MOST_FASTENERS = 200
"""Most fasteners in one group."""

Measured = Literal["torque", "angle"]


class _Group(NamedTuple):
    """The group that a stage is a round through."""

    size: int
    in_rows: bool


def read_items(desk: Desk, node: Node, what: str) -> tuple[Item, ...]:
    """Give the items of a procedure."""
    entries = desk.table(node, what).entries
    return tuple(_item(desk, Name(mark=key.mark, text=key.folded), value) for key, value in entries)


def _item(desk: Desk, name: Name, node: Node) -> Item:
    fields = desk.fields(node, f'item "{name.text}"', (*_ANY_KIND, *_FASTENER_KEYS), ("kind",))
    before = desk.count()
    kind = cast("ItemKind", fields.must("kind", lambda n, w: desk.choice(n, w, tuple(KINDS))))
    kind_known = "kind" in fields and desk.count() == before
    if kind_known:
        _check_keys(desk, fields, name, kind)
    count = fields.may("count", lambda n, w: desk.whole(n, w, 1, MOST_FASTENERS), 1)
    rows = fields.may("rows", lambda n, w: read_rows(desk, n, w, count, MOST_FASTENERS), ())
    stages = fields.may("tighten", lambda n, w: _stages(desk, n, w, _Group(count, "rows" in fields)), ())
    if kind == "fastener" and "tighten" in fields:
        check_joint(desk, fields, stages)
    item = Item(
        mark=name.mark,
        name=name,
        kind=kind,
        each=fields.may("each", desk.names, ()),
        at_start=fields.may("at start", desk.name, None),
        critical=fields.may("critical", desk.true, False),
        count=count,
        rows=rows,
        new_every_time=fields.may("new", lambda n, w: bool(desk.choice(n, w, ("every time",))), False),
        part=fields.may("part", desk.name, None),
        tighten=stages,
        **read_joint(desk, fields),
    )
    if item.at_start and item.at_start.text and kind_known:
        _check_state(desk, fields.node("at start"), item)
    return item


def _check_keys(desk: Desk, fields: Fields, name: Name, kind: ItemKind) -> None:
    """Find keys of another kind, and a fastener without its tightening."""
    own = (*_ANY_KIND, *_OF_KIND.get(kind, ()))
    others = [key for key in _FASTENER_KEYS if key not in own]
    fields.not_with(others, f'says nothing about a {kind}, and "{name.text}" is one')
    if kind == "fastener" and "tighten" not in fields:
        message = f'fastener "{name.text}" needs "tighten"'
        desk.error(fields.mark, "missing-key", message, expected="tighten: [{torque: 50 N·m}]")


def _check_state(desk: Desk, node: Node, item: Item) -> None:
    states = states_of(item.kind, len(counted(item)))
    state = item.at_start.text if item.at_start else ""
    if state not in states:
        desk.unknown(node, f'"{state}" is no state of a {item.kind}', states)


def _stages(desk: Desk, node: Node, what: str, group: _Group) -> tuple[Stage, ...]:
    return tuple(_stage(desk, item, group) for item in desk.row(node, what))


def _stage(desk: Desk, node: Node, group: _Group) -> Stage:
    fields = desk.fields(node, "a stage", _STAGE_KEYS)
    if not list(fields):
        return Stage(mark=fields.mark, kind="snug", text="")
    kind = cast("StageKind | None", fields.only_one(get_args(StageKind), "a stage", needed=True)) or "snug"
    order, given = fields.may("order", lambda n, w: _order(desk, n, w, group), ("in line", ()))
    target, band = (None, None) if kind == "snug" else _aim(desk, fields, kind)
    if kind == "snug" and "snug" in fields:
        fields.not_with(("tolerance", "method"), "has no sense for a snug stage, which takes no number")
    for key in ROUND_KEYS:
        if kind != "torque" and key in fields:
            message = f'"{key}" belongs to a stage by torque, and this one is {kind}'
            desk.error(fields.key(key), "not-here", message)
        elif group.size == 1 and key in fields:
            message = f'"{key}" says nothing about a single fastener'
            desk.error(fields.key(key), "not-here", message, expected="a group: `count:` says how many")
    return Stage(
        mark=fields.mark,
        kind=kind,
        text=fields.must(kind, desk.text),
        target=target,
        band=band,
        order=cast("OrderName", order),
        given=given,
        only_when=fields.may("only when", lambda n, w: read_tests(desk, n, w), ()),
        methods=_methods(desk, fields, kind),
        shares=fields.may("rounds", lambda n, w: read_shares(desk, n, w), ()),
        last_pass=fields.may("last pass", lambda n, w: read_last_pass(desk, n, w), False),
    )


def _methods(desk: Desk, fields: Fields, kind: StageKind) -> tuple[Method, ...]:
    if kind == "snug" or "method" not in fields:
        return ()
    names = fields.must("method", desk.names)
    for name, node in zip(names, desk.row(fields.node("method"), ""), strict=False):
        if name.text not in get_args(Method):
            desk.unknown(node, f'"method" cannot be "{name.text}"', get_args(Method))
    return tuple(cast("Method", name.text) for name in names if name.text in get_args(Method))


def _order(desk: Desk, node: Node, what: str, group: _Group) -> tuple[str, tuple[int, ...]]:
    if not isinstance(node, Row):
        word = desk.choice(node, what, _ORDERS)
        if word == "star" and group.in_rows:
            expected = f"{', '.join(_ORDERS[1:])}, or the numbers"
            message = "a star goes across a circle, and this group stands in rows"
            desk.error(node, "order", message, expected=expected)
            return "in line", ()
        return word, ()
    before = desk.count()
    numbers = tuple(
        desk.whole(item, f"an entry of {what}", 1, MOST_FASTENERS) for item in desk.row(node, what)
    )
    if sorted(numbers) != list(range(1, group.size + 1)) and desk.count() == before:
        message = f"{what} must name each fastener of the group once"
        desk.error(node, "order", message, expected=f"the numbers 1 to {group.size}, each once")
    return "given", numbers


def _aim(desk: Desk, fields: Fields, kind: Measured) -> tuple[Quantity | None, Band | None]:
    """Give what a torque or angle stage asks for: the target, and the band where the author wrote one."""
    node = fields.node(kind)
    target, band = _target_and_band(desk, node, f'"{kind}"', kind)
    if (target and target.value <= 0 and target is not NO_QUANTITY) or (
        band and band.high and band.high <= 0
    ):
        desk.error(node, "quantity", f'"{kind}" must be above zero')
    if "tolerance" not in fields:
        return target, band
    if band is not None and band is not NO_BAND:
        message = f'"{kind}" has its band already; "tolerance" says it a second time'
        desk.error(fields.key("tolerance"), "one-of", message)
        return target, band
    tolerance = fields.must("tolerance", lambda n, w: read_tolerance(desk, n, w, kind))
    if target is None or target is NO_QUANTITY:
        return target, band
    try:
        return target, band_from(target, tolerance)
    except QuantityError as error:
        quantity_error(desk, fields.node("tolerance"), '"tolerance"', error)
        return target, None


def _target_and_band(
    desk: Desk, node: Node, what: str, kind: Measured
) -> tuple[Quantity | None, Band | None]:
    text = desk.text(node, what)
    if not text or not isinstance(node, Text):
        return NO_QUANTITY, NO_BAND
    try:
        return parse_quantity(text, kind), None
    except QuantityError as no_quantity:
        try:
            band = parse_band(text, kind)
        except QuantityError as no_band:
            banded = any(sign in text for sign in ("±", "+", " to ", "at ", "up to", "above", "below"))
            quantity_error(desk, node, what, no_band if banded else no_quantity)
            return NO_QUANTITY, NO_BAND
    target = None if band.target is None else Quantity(band.target, band.unit, band.kind)
    return target, band
