"""Quantities, bands, times, tests and paths as fields of a procedure file."""

from collections.abc import Callable
from decimal import Decimal
from typing import TypeVar

from runner.procedure.desk import Desk
from runner.procedure.source import Name, Test
from runner.procedure.tree import Node, Table
from runner.quantities import (
    Band,
    Kind,
    Quantity,
    QuantityError,
    Tolerance,
    parse_band,
    parse_duration,
    parse_quantity,
    parse_tolerance,
    unit_named,
)
from runner.quantities.errors import quoted

T = TypeVar("T")

NO_QUANTITY = Quantity(Decimal(0), "count", "count")
NO_BAND = Band(Decimal(0), None, None, "count", "count")
_NO_TOLERANCE = Tolerance(Decimal(0), Decimal(0), "%")


def quantity_error(desk: Desk, node: Node, what: str, error: QuantityError) -> None:
    """Keep what a quantity was refused for."""
    message = f"{what}: {quoted(error.found)} {error.because}"
    desk.error(node, "quantity", message, expected=error.expected, near=error.near)


def _parsed(desk: Desk, node: Node, what: str, parse: Callable[[str], T], stand_in: T) -> T:
    text = desk.text(node, what)
    if not text:
        return stand_in
    try:
        return parse(text)
    except QuantityError as error:
        quantity_error(desk, node, what, error)
        return stand_in


def read_quantity(desk: Desk, node: Node, what: str, kind: Kind | None = None) -> Quantity:
    """Give a number with its unit, of `kind` where one is asked."""
    return _parsed(desk, node, what, lambda text: parse_quantity(text, kind), NO_QUANTITY)


def read_band(
    desk: Desk, node: Node, what: str, *, kind: Kind | None = None, unit: str | None = None, words: str = ""
) -> Band:
    """Give a band; `words` (`at most`) stand before the limit where the key says them."""
    return _parsed(desk, node, what, lambda text: parse_band(f"{words} {text}".strip(), kind, unit), NO_BAND)


def read_tolerance(desk: Desk, node: Node, what: str, kind: Kind) -> Tolerance:
    """Give a tolerance for quantities of `kind`."""
    return _parsed(desk, node, what, lambda text: parse_tolerance(text, kind), _NO_TOLERANCE)


def read_unit(desk: Desk, node: Node, what: str) -> str:
    """Give the display form of a unit; "" is the stand-in."""
    return _parsed(desk, node, what, unit_named, "")


def read_duration(desk: Desk, node: Node, what: str) -> int:
    """Give a time above zero in whole milliseconds."""
    duration = _parsed(desk, node, what, parse_duration, 1)
    if duration <= 0:
        desk.error(
            node, "quantity", f"{what} must be longer than nothing", expected="a duration such as 10 min"
        )
    return duration


def read_tests(desk: Desk, node: Node, what: str) -> tuple[Test, ...]:
    """Give `{support: [raised, on wheels]}` as tests."""
    pairs = desk.pairs(node, what, desk.names)
    return tuple(Test(mark=name.mark, name=name, values=values) for name, values in pairs)


def read_assignments(desk: Desk, node: Node, what: str) -> tuple[tuple[Name, Name], ...]:
    """Give `{support: raised}` as pairs of names."""
    return desk.pairs(node, what, desk.name)


def read_path(desk: Desk, node: Node, what: str) -> Name:
    """Give the path of a sub-procedure, relative to this file; the linker opens it and checks it again."""
    path = desk.name(node, what)
    parts = path.text.split("/")
    if not path.text:
        return path
    if path.text.startswith("/") or "\\" in path.text or ":" in path.text:
        expected = "a path relative to this file, with / between folders"
        desk.error(node, "path", f'{what} cannot be "{path.text}"', expected=expected)
    elif ".." in parts:
        message = f"{what} leads out of the folder of this procedure"
        desk.error(node, "path", message, expected="a file beside this one or in a folder below")
    elif not path.text.endswith(".yaml"):
        desk.error(node, "path", f"{what} must name a .yaml file", expected="part.yaml")
    return path


def read_pair(desk: Desk, node: Node, what: str) -> Test | None:
    """Give the one test of a mapping that may hold only one."""
    tests = read_tests(desk, node, what)
    if isinstance(node, Table) and len(tests) > 1:
        desk.error(tests[1].mark, "one-of", f"{what} has a second key; only one can be meant")
    return tests[0] if tests else None
