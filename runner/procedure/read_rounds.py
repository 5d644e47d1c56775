"""The rounds of a torque stage and its last pass, read from a page."""

from decimal import Decimal

from runner.joint.rounds import RoundsError, rounds
from runner.procedure.desk import Desk
from runner.procedure.read_values import NO_QUANTITY, read_quantity
from runner.procedure.tree import Node

ROUND_KEYS = ("rounds", "last pass")
"""Keys of a torque stage that make it several rounds."""

_EXPECTED = "shares of the whole torque that rise to 100 %, as in [30 %, 60 %, 100 %]"


def read_shares(desk: Desk, node: Node, what: str) -> tuple[Decimal, ...]:
    """Give the share of each round, in per cent of the whole torque; the last one is 100."""
    before = desk.count()
    entries = desk.row(node, what)
    shares = tuple(_share(desk, entry, f"an entry of {what}") for entry in entries)
    if not shares or desk.count() > before:
        return ()
    try:
        rounds(Decimal(1), shares)
    except RoundsError as error:
        desk.error(entries[error.at], "rounds", f"{what}: {error}", expected=_EXPECTED)
        return ()
    return shares


def _share(desk: Desk, node: Node, what: str) -> Decimal:
    quantity = read_quantity(desk, node, what, "ratio")
    if quantity is not NO_QUANTITY and quantity.unit != "%":
        desk.error(node, "rounds", f"{what} must be in per cent of the whole torque", expected="30 %")
    return quantity.value


def read_last_pass(desk: Desk, node: Node, what: str) -> bool:
    """Give whether a pass at the whole torque follows; it goes around, the only way there is."""
    return bool(desk.choice(node, what, ("around",)))
