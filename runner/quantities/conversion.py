"""Conversion between two units of one kind: the only place of the program where pint is loaded."""

import functools
from decimal import ROUND_HALF_EVEN, Context, Decimal, localcontext
from typing import TYPE_CHECKING, Any

from runner.quantities import units
from runner.quantities.errors import QuantityError
from runner.quantities.number import tidy

if TYPE_CHECKING:
    import pint

CONVERTED_DIGITS = 12
_ROUND = Context(prec=CONVERTED_DIGITS, rounding=ROUND_HALF_EVEN)
_LARGEST_POWER = 40


def convert(value: Decimal, unit: str, to: str) -> Decimal:
    """Return `value`, given in `unit`, in the unit `to`, rounded to 12 significant digits, half to even.

    The same unit gives the value unchanged. Temperatures are converted as points of a scale, offset included.
    Raises QuantityError for an unknown unit, units of different kinds, and a value that is not finite or is
    beyond 1e40.
    """
    source, target = units.find(unit), units.find(to)
    return _converted(value, source, target, source.pint, target.pint)


def convert_difference(value: Decimal, unit: str, to: str) -> Decimal:
    """As `convert`, for a difference of two values: 9 °F are 5 °C. Raises QuantityError as `convert`."""
    source, target = units.find(unit), units.find(to)
    return _converted(
        value, source, target, source.difference or source.pint, target.difference or target.pint
    )


def _converted(
    value: Decimal, source: units.Unit, target: units.Unit, from_pint: str, to_pint: str
) -> Decimal:
    if source.kind != target.kind:
        raise QuantityError(source.name, f"is {units.named(source.kind)}", units.example(target.kind))
    check_size(value)
    if source == target:
        return value
    with localcontext(Context(prec=40)):
        converted = Decimal(_registry().convert(value, _unit(from_pint), _unit(to_pint)))
    return tidy(_ROUND.plus(converted))


def check_size(value: Decimal) -> None:
    """Raise QuantityError for a value that is not finite or beyond 1e40 either way."""
    if not value.is_finite() or (value != 0 and abs(value.adjusted()) > _LARGEST_POWER):
        raise QuantityError(f"{value:.6g}", "is out of all proportion", "a finite number below 1e40")


@functools.cache
def _unit(expression: str) -> Any:
    """Return pint's unit for an expression that units.py wrote."""
    return _registry().Unit(expression)


@functools.cache
def _registry() -> "pint.UnitRegistry[Any]":
    """Return the registry, built once; its parsed definitions are kept in the user's cache folder.

    Decimal throughout: Python refuses a Decimal value times a float factor, and a float is inexact.
    """
    import pint  # noqa: PLC0415 - 200 ms that most starts need not pay
    import platformdirs  # noqa: PLC0415 - as above

    # The definitions hold factors worked out while loading; they must not depend on the caller's context.
    with localcontext(Context(prec=40)):
        try:
            folder = platformdirs.user_cache_path("witnessmark") / f"pint-{pint.__version__}"
            return pint.UnitRegistry(non_int_type=Decimal, cache_folder=folder)
        except Exception:
            # A cache that is read-only, full, damaged or half written by another process costs time, never
            # the work: the definitions inside pint are enough. An error in those is raised again here.
            return pint.UnitRegistry(non_int_type=Decimal)
