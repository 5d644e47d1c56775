"""What is said of the joint of a fastener: its rows, friction, surfaces, self-locking thread and clamped length."""

from collections.abc import Iterable
from typing import TypedDict, cast, get_args

from runner.procedure.desk import Desk, Fields
from runner.procedure.read_values import NO_BAND, NO_QUANTITY, read_quantity
from runner.procedure.source import Name, Stage, Surface
from runner.procedure.tree import Node
from runner.quantities import Band, Kind, Quantity, QuantityError, parse_band, parse_quantity
from runner.quantities.errors import quoted

JOINT_KEYS = (
    "thread", "class", "number one", "friction", "surface", "given for", "prevailing", "prevailing included", "grip",
)  # fmt: skip
"""Keys of a fastener about its joint."""

_FRICTION = "a band such as 0.10 to 0.16"
_NEEDS = (
    ("friction", ("thread", "class")),
    ("grip", ("thread", "class")),
    ("given for", ("surface",)),
)
_EXAMPLES = {"thread": "thread: M10x1.5", "class": "class: 8.8", "surface": "surface: dry"}
_OF_STAGES = (
    ("friction", "torque"), ("given for", "torque"), ("prevailing", "torque"), ("prevailing included", "torque"),
    ("grip", "angle"),
)  # fmt: skip


class Joint(TypedDict):
    """The fields of an item that are about its joint."""

    thread: Name | None
    strength: Name | None
    number_one: str | None
    friction: Band | None
    surface: Surface | None
    given_for: Surface | None
    prevailing: Quantity | None
    drag_added: bool
    grip: Quantity | None


def read_joint(desk: Desk, fields: Fields) -> Joint:
    """Give what is said of the joint, None for what is not."""
    return {
        "thread": fields.may("thread", desk.name, None),
        "strength": fields.may("class", desk.name, None),
        "number_one": fields.may("number one", desk.text, None),
        "friction": fields.may("friction", lambda n, w: _friction(desk, n, w), None),
        "surface": fields.may("surface", lambda n, w: _surface(desk, n, w), None),
        "given_for": fields.may("given for", lambda n, w: _surface(desk, n, w), None),
        "prevailing": _prevailing(desk, fields),
        "drag_added": "prevailing" in fields,
        "grip": fields.may("grip", lambda n, w: _above_zero(desk, n, w, "length"), None),
    }


def check_joint(desk: Desk, fields: Fields, stages: Iterable[Stage]) -> None:
    """Find what would say nothing as it stands: every key here is for something, and that must be there."""
    for key, others in _NEEDS:
        for other in others:
            if key in fields and other not in fields:
                message = f'"{key}" says nothing without "{other}"'
                desk.error(fields.key(key), "missing-key", message, expected=_EXAMPLES[other])
    kinds = {stage.kind for stage in stages}
    for key, kind in _OF_STAGES:
        if key in fields and kind not in kinds:
            desk.error(fields.key(key), "not-here", f'"{key}" says nothing where no stage is by {kind}')


def _prevailing(desk: Desk, fields: Fields) -> Quantity | None:
    """The drag of a self-locking nut, by either key; both would say two things of one torque."""
    if "prevailing" in fields:
        fields.not_with(
            ("prevailing included",), 'cannot stand with "prevailing", which is added to the torques'
        )
    found: Quantity | None = None
    for key in ("prevailing included", "prevailing"):
        found = fields.may(key, lambda n, w: _above_zero(desk, n, w, "torque"), found)
    return found


def read_rows(desk: Desk, node: Node, what: str, count: int, most: int) -> tuple[int, ...]:
    """Give how many fasteners stand in each row; together they are the group."""
    before = desk.count()
    rows = tuple(desk.whole(item, f"an entry of {what}", 1, most) for item in desk.row(node, what))
    if not rows or desk.count() > before:
        return ()
    if count == 1:
        message = f"{what} says nothing about a single fastener"
        desk.error(node, "rows", message, expected=f"count: {sum(rows)}" if sum(rows) > 1 else "a group")
        return ()
    if sum(rows) != count:
        message = f"{what} hold {sum(rows)} fasteners, and the group has {count}"
        desk.error(node, "rows", message, expected=f"rows with {count} together")
        return ()
    return rows


def _surface(desk: Desk, node: Node, what: str) -> Surface:
    return cast("Surface", desk.choice(node, what, get_args(Surface)))


def _above_zero(desk: Desk, node: Node, what: str, kind: Kind) -> Quantity:
    quantity = read_quantity(desk, node, what, kind)
    if quantity is not NO_QUANTITY and quantity.value <= 0:
        desk.error(node, "quantity", f"{what} must be above zero")
    return quantity


def _friction(desk: Desk, node: Node, what: str) -> Band:
    text = desk.text(node, what)
    if not text:
        return NO_BAND
    try:
        band = parse_band(text, unit="ratio")
    except QuantityError as error:
        if _is_number(text):
            message = (
                f'{what} cannot be one number: friction is known only between limits, and "{text}" has none'
            )
            desk.error(node, "friction", message, expected=_FRICTION)
        else:
            message = f"{what}: {quoted(error.found)} {error.because}"
            # What is wrong with one of the numbers is told with an example of both.
            expected = _FRICTION if error.expected.startswith("a ratio") else error.expected
            desk.error(node, "friction", message, expected=expected, near=error.near)
        return NO_BAND
    if band.low is None or band.high is None:
        desk.error(node, "friction", f"{what} needs both limits", expected=_FRICTION)
    elif not 0 < band.low <= band.high <= 1:
        message = f"{what} must lie above 0 and not above 1"
        desk.error(node, "friction", message, expected=_FRICTION)
    return band


def _is_number(text: str) -> bool:
    try:
        parse_quantity(text, "ratio")
    except QuantityError:
        return False
    return True
