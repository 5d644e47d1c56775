"""The grammar of worked-out values: text becomes operations in the order of working.

    formula  = product, then any of:  + product,  - product
    product  = signed,  then any of:  * signed,   / signed        (also × and ÷, also − for minus)
    signed   = an optional + or -, then one of:
               a number, with its unit where it has one (0.25 mm)
               the name of a reading (gap-front)
               ( formula )
               abs( formula ),  min, max or mean( formula, formula, ... )

A hyphen inside a word belongs to the name: `gap-front - shim` is one minus and two names. Numbers take
a decimal point; a decimal comma is refused, since `max(1,5)` would have two meanings.
"""

import re
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from runner.quantities import QuantityError, parse_number, unit_named
from runner.quantities.errors import quoted

MOST_CHARACTERS = 400
MOST_NESTING = 20

Code = Literal["number", "name", "neg", "+", "-", "*", "/", "abs", "min", "max", "mean"]

_FUNCTIONS: dict[str, Code] = {"abs": "abs", "min": "min", "max": "max", "mean": "mean"}
_OPERATORS: dict[str, Code] = {"+": "+", "-": "-", "−": "-", "*": "*", "×": "*", "/": "/", "÷": "/"}
_TOKEN = re.compile(
    r"(?P<number>[0-9]+(?:\.[0-9]+)?)|(?P<word>[^\W\d_][^\W_]*(?:[-_][^\W_]+)*)|(?P<mark>[-+−*×/÷(),])|(?P<end>\Z)"
)
_UNIT = re.compile(r"[ \t]*((?:[°%]|[^\W\d_])(?:[^\W\d_]|·)*)")
_OPERAND = "a number, a name, abs, min, max, mean or ("


class FormulaError(ValueError):
    """A formula that cannot be read, whose dimensions do not fit, or that has no value.

    column: where in the text, counted from 1. found, expected: in words. The message is one sentence.
    """

    def __init__(self, column: int, found: str, expected: str) -> None:
        self.column = column
        self.found = found
        self.expected = expected
        super().__init__(f"column {column}: {found}; expected {expected}")


@dataclass(frozen=True)
class Op:
    """One operation; `size` operands come from the stack. A number has its unit in `name`, or "" for none."""

    code: Code
    column: int
    size: int = 0
    name: str = ""
    number: Decimal = Decimal(0)


def read(text: str) -> tuple[Op, ...]:
    """Return the operations of a formula. Raises FormulaError (column, found, expected)."""
    if len(text) > MOST_CHARACTERS:
        raise FormulaError(
            MOST_CHARACTERS + 1, "the formula goes on", f"at most {MOST_CHARACTERS} characters"
        )
    reader = _Reader(text)
    reader.formula()
    reader.expect("end", "an operator (+ − × ÷) or the end")
    return tuple(reader.ops)


class _Reader:
    """Recursive descent over one text; emits operations in the order of working."""

    def __init__(self, text: str) -> None:
        self.ops: list[Op] = []
        self._text = text
        self._nesting = 0
        self._at = 0
        self._advance()

    def _advance(self) -> None:
        """Move on to the next token: its sort, its text, its column."""
        while self._text[self._at : self._at + 1] in (" ", "\t", "\n"):
            self._at += 1
        match = _TOKEN.match(self._text, self._at)
        self._column = self._at + 1
        if match is None:
            raise self._error(_OPERAND, self._text[self._at])
        self._sort, self._lexeme = str(match.lastgroup), match[0]
        self._at = match.end()

    def _error(self, expected: str, found: str | None = None) -> FormulaError:
        text = self._lexeme if found is None else found
        return FormulaError(self._column, quoted(text) if text else "the end", expected)

    def expect(self, lexeme: str, expected: str) -> None:
        """Take this token (or the end) or refuse."""
        if lexeme not in (self._lexeme, self._sort):
            raise self._error(expected)
        if lexeme != "end":
            self._advance()

    def _emit(
        self, code: Code, column: int, size: int = 0, name: str = "", number: Decimal | None = None
    ) -> None:
        self.ops.append(Op(code, column, size, name, number or Decimal(0)))

    def formula(self) -> None:
        """Read a formula: products, added and subtracted."""
        self._product()
        while self._lexeme in ("+", "-", "−"):
            code, column = _OPERATORS[self._lexeme], self._column
            self._advance()
            self._product()
            self._emit(code, column, 2)

    def _product(self) -> None:
        self._signed()
        while self._lexeme in ("*", "×", "/", "÷"):
            code, column = _OPERATORS[self._lexeme], self._column
            self._advance()
            self._signed()
            self._emit(code, column, 2)

    def _signed(self) -> None:
        sign, column = self._lexeme, self._column
        if sign in ("+", "-", "−"):
            self._advance()
        self._operand()
        if sign in ("-", "−"):
            self._emit("neg", column, 1)

    def _operand(self) -> None:
        if self._sort == "number":
            self._number()
        elif self._sort == "word":
            self._word()
        elif self._lexeme == "(":
            self._bracketed()
        else:
            raise self._error(_OPERAND)

    def _number(self) -> None:
        column, rest = self._column, self._text[self._at :]
        if re.match(r",[0-9]", rest):
            raise FormulaError(
                self._at + 1, "a comma between digits", "a decimal point, or a blank after the comma"
            )
        try:
            number = parse_number(self._lexeme)
            unit = ""
            if written := _UNIT.match(rest):
                unit = unit_named(written[1])
                self._at += written.end()
        except QuantityError as error:
            expected = "a unit, or an operator such as ×" if "unit" in error.because else error.expected
            raise FormulaError(column, f"{quoted(error.found)} {error.because}", expected) from None
        self._advance()
        self._emit("number", column, name=unit, number=number)

    def _word(self) -> None:
        word, column = self._lexeme, self._column
        if word != word.lower():
            raise self._error("a name in lower case")
        self._advance()
        if self._lexeme == "(" and word not in _FUNCTIONS:
            raise FormulaError(column, f"no function {quoted(word)}", "abs, min, max or mean before (")
        if word in _FUNCTIONS:
            if self._lexeme != "(":
                raise self._error(f"( after {word}")
            self._emit(_FUNCTIONS[word], column, self._bracketed(only_one=word == "abs"))
        else:
            self._emit("name", column, name=word)

    def _bracketed(self, *, only_one: bool | None = None) -> int:
        """Read ( formula ), with several by commas for a function but abs; return how many."""
        self._nesting += 1
        if self._nesting > MOST_NESTING:
            raise FormulaError(
                self._column, "one bracket too many", f"at most {MOST_NESTING} inside each other"
            )
        self._advance()
        self.formula()
        count = 1
        while only_one is False and self._lexeme == ",":
            self._advance()
            self.formula()
            count += 1
        self.expect(")", "an operator, a comma or )" if only_one is False else "an operator or )")
        self._nesting -= 1
        return count
