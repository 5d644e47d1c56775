"""Worked-out values: arithmetic over earlier readings, its dimensions checked before the job.

The grammar is in `formula_text`. Arithmetic is decimal, to 50 digits; the result is rounded to 12 significant
digits, like a conversion.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Context, Decimal, localcontext

from runner.procedure.formula_text import Code, FormulaError, Op, read
from runner.quantities import Kind, QuantityError, convert, kind_of
from runner.quantities.errors import quoted
from runner.quantities.number import tidy
from runner.quantities.units import named

__all__ = ["Formula", "FormulaError", "check_result", "parse"]

_WORK = Context(prec=50)
_RESULT = Context(prec=12)
_LARGEST_POWER = 40

_DONE: dict[Code, str] = {"+": "added", "-": "subtracted", "*": "multiplied", "/": "divided"}
# The units in which a product of two kinds needs no factor, and the products that are a kind again.
_COHERENT: dict[Kind, str] = {
    "torque": "N·m",
    "force": "N",
    "length": "m",
    "voltage": "V",
    "current": "A",
    "resistance": "Ω",
}
_PRODUCTS: dict[tuple[Kind, Kind], Kind] = {
    ("force", "length"): "torque",
    ("length", "force"): "torque",
    ("current", "resistance"): "voltage",
    ("resistance", "current"): "voltage",
}
_QUOTIENTS: dict[tuple[Kind, Kind], Kind] = {(whole, one): other for (one, other), whole in _PRODUCTS.items()}
_PLAIN: tuple[Kind, ...] = ("count", "ratio")


@dataclass(frozen=True)
class Formula:
    """A formula that was read: its text, and its operations in the order of working (made by `parse`)."""

    text: str
    ops: tuple[Op, ...]

    @property
    def names(self) -> tuple[str, ...]:
        """The names of readings it uses, each once, in order of appearance."""
        return tuple(dict.fromkeys(op.name for op in self.ops if op.code == "name"))

    def dimension(self, kinds: Mapping[str, str]) -> Kind:
        """Return the kind of the result; `kinds` gives the unit of each name.

        Plain numbers, counts and ratios mix freely: the result is `count` where only counts and whole numbers
        were added or multiplied, else `ratio`. Raises FormulaError where a name or its unit is unknown,
        unlike kinds are added or compared, a product is of no known kind, or temperatures (whose zero is
        arbitrary) are put to anything but min, max and mean.
        """
        stack: list[Kind] = []
        for op in self.ops:
            first = len(stack) - op.size
            stack[first:] = [_kind(op, stack[first:], kinds)]
        return stack[0]

    def value(self, values: Mapping[str, tuple[Decimal, str]], unit: str) -> Decimal:
        """Return the result in `unit`; `values` gives value and unit of each name.

        Each kind is worked in one unit: that of the result, else the first that appears. Raises FormulaError
        as `dimension` does, where the result is not of the unit's kind, for a division by zero, for a number
        out of all proportion, and for a count that is not whole.
        """
        units = {name: given for name, (_, given) in values.items()}
        kind = self.dimension(units)
        check_result(kind, unit)
        work: dict[Kind, str] = {}
        for one in (
            unit,
            *(op.name if op.code == "number" else units[op.name] for op in self.ops if not op.size),
        ):
            work.setdefault(kind_of(one or "ratio"), one)
        work = {**_COHERENT, **work, "count": "ratio", "ratio": "ratio"}
        with localcontext(_WORK):
            result = _RESULT.plus(_converted(self.ops[-1], self._worked(values, work), work[kind], unit))
        if kind_of(unit) == "count" and result != result.to_integral_value():
            raise FormulaError(1, f"the result {result:.6g} is not whole", "a count")
        return tidy(result)

    def _worked(self, values: Mapping[str, tuple[Decimal, str]], work: Mapping[Kind, str]) -> Decimal:
        """Return the result in the unit of work of its kind; the dimensions are known to fit."""
        units = {name: given for name, (_, given) in values.items()}
        stack: list[tuple[Decimal, Kind]] = []
        for op in self.ops:
            first = len(stack) - op.size
            operands = stack[first:]
            kind = _kind(op, [one for _, one in operands], units)
            if op.size:
                number = _worked_op(op, operands, kind, work)
            else:
                number, unit = (op.number, op.name) if op.code == "number" else values[op.name]
                number = _converted(op, number, unit or "ratio", work[kind])
            if not number.is_finite() or (number and abs(number.adjusted()) > _LARGEST_POWER):
                raise FormulaError(op.column, "a number is out of all proportion", "numbers below 1e40")
            stack[first:] = [(number, kind)]
        return stack[0][0]


def parse(text: str) -> Formula:
    """Read a formula. Raises FormulaError with column, what was found, what was expected."""
    return Formula(text, read(text))


def check_result(kind: Kind, unit: str) -> None:
    """Raise FormulaError where a result of this kind cannot be given in `unit`; plain numbers fit."""
    try:
        wanted = kind_of(unit)
    except QuantityError as error:
        raise FormulaError(1, f"{quoted(unit)} {error.because}", error.expected) from None
    if kind != wanted and not (kind in _PLAIN and wanted in _PLAIN):
        raise FormulaError(1, f"the result is {_named(kind)}", f"{_named(wanted)}, in {unit}")


def _named(kind: Kind) -> str:
    return "a plain number" if kind in _PLAIN else named(kind)


def _kind(op: Op, operands: list[Kind], kinds: Mapping[str, str]) -> Kind:
    """Return the kind of the result of one operation."""
    if not op.size:
        return _kind_of_operand(op, kinds)
    if op.code in ("*", "/"):
        return _kind_of_product(op, operands[0], operands[1])
    if all(one in _PLAIN for one in operands):
        return "ratio" if op.code == "mean" or "ratio" in operands else "count"
    for one in operands[1:]:
        if one != operands[0]:
            pair = f"{_named(operands[0])} and {_named(one)}"
            raise FormulaError(op.column, f"{pair} cannot be {_DONE.get(op.code, 'compared')}", "one kind")
    if operands[0] == "temperature" and op.code not in ("min", "max", "mean"):
        raise FormulaError(
            op.column, "a temperature has no natural zero to reckon from", "min, max or mean of it"
        )
    return operands[0]


def _kind_of_operand(op: Op, kinds: Mapping[str, str]) -> Kind:
    if op.code == "number" and not op.name:
        return "count" if op.number == op.number.to_integral_value() else "ratio"
    unit = op.name if op.code == "number" else kinds.get(op.name)
    if unit is None:
        hint = " (a minus needs a blank on both sides)" if "-" in op.name else ""
        known = f"one of {', '.join(kinds)}" if kinds else "no name, since nothing was read before"
        raise FormulaError(op.column, f"no reading is named {quoted(op.name)}{hint}", known)
    try:
        return kind_of(unit)
    except QuantityError as error:
        raise FormulaError(
            op.column, f"the unit {quoted(unit)} of {quoted(op.name)}", error.expected
        ) from None


def _kind_of_product(op: Op, left: Kind, right: Kind) -> Kind:
    """Return the kind of a product or quotient."""
    kind: Kind | None
    if left in _PLAIN and right in _PLAIN:
        return "count" if op.code == "*" and left == right == "count" else "ratio"
    if "temperature" in (left, right):
        raise FormulaError(
            op.column, "a temperature has no natural zero to reckon from", "min, max or mean of it"
        )
    if right in _PLAIN:
        return left
    if op.code == "*":
        kind = right if left in _PLAIN else _PRODUCTS.get((left, right))
    else:
        kind = "ratio" if left == right else _QUOTIENTS.get((left, right))
    if kind is None:
        by = f"{_named(left)} {_DONE[op.code]} by {_named(right)}"
        raise FormulaError(op.column, f"{by} is nothing known here", "a product or share with a meaning")
    return kind


def _worked_op(op: Op, operands: list[tuple[Decimal, Kind]], kind: Kind, work: Mapping[Kind, str]) -> Decimal:
    """Return the number that one operation gives, in the unit of work of its kind."""
    numbers = [number for number, _ in operands]
    if op.code == "/" and numbers[1] == 0:
        raise FormulaError(op.column, "a division by zero", "a divisor other than zero")
    if op.code in ("*", "/"):
        kinds = {one for _, one in operands if one not in _PLAIN}
        mixed = len(kinds) > 1
        if mixed:
            numbers = [_converted(op, number, work[one], _COHERENT[one]) for number, one in operands]
        result = numbers[0] * numbers[1] if op.code == "*" else numbers[0] / numbers[1]
        return _converted(op, result, _COHERENT[kind], work[kind]) if mixed else result
    match op.code:
        case "neg":
            return -numbers[0]
        case "+":
            return numbers[0] + numbers[1]
        case "-":
            return numbers[0] - numbers[1]
        case "abs":
            return abs(numbers[0])
        case "min":
            return min(numbers)
        case "max":
            return max(numbers)
        case _:
            return sum(numbers, Decimal(0)) / len(numbers)


def _converted(op: Op, number: Decimal, unit: str, to: str) -> Decimal:
    """Convert; a count is reckoned as the ratio it equals."""
    unit, to = ("ratio" if kind_of(one) == "count" else one for one in (unit, to))
    try:
        return convert(number, unit, to)
    except QuantityError as error:
        raise FormulaError(op.column, f"{quoted(error.found)} {error.because}", error.expected) from None
