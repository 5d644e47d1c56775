"""Numbers as typed: strict, because a number that was read otherwise than it was meant tightens a bolt."""

import re
from decimal import Context, Decimal
from fractions import Fraction

from runner.quantities.errors import QuantityError

SIGNIFICANT_DIGITS = 15
_MOST_CHARACTERS = 40
_EXPECTED = "a number such as 60, 2.5, 2,5 or 1 1/2"

# Decimal arithmetic without rounding, for anything this package lets in (15 digits, 40 characters each).
EXACT = Context(prec=150)

# Blanks that text from a word processor puts between a number and its unit.
_BLANKS = dict.fromkeys(map(ord, "\t\u00a0\u2007\u2009\u202f"), " ")

_NUMBER = re.compile(
    r"(?P<sign>[+\-−]?)"
    r"(?:(?:(?P<whole>\d+) +)?(?P<top>\d+)/(?P<bottom>\d+)|(?P<int>\d+)(?:[.,](?P<part>\d+))?)",
    re.ASCII,
)


def plain_blanks(text: str) -> str:
    """Return `text` with every accepted kind of blank made a space, and none at its ends."""
    return text.translate(_BLANKS).strip(" ")


def why_no_number(text: str) -> str | None:
    """Return what keeps `text` from being a number, as a predicate; None where no usual reason is seen."""
    if not text:
        return "is empty"
    if any(ch.isnumeric() and not ch.isascii() for ch in text):
        return "has digits other than 0 to 9"
    if "," in text and "." in text:
        return "has both a comma and a point"
    if len(re.findall(r"[.,]", text)) > 1:
        return "has more than one decimal mark"
    if re.match(r"[+\-−]?0[xXbBoO]\w", text):
        return "is not written in tens"
    if re.search(r"\d[eE][+\-]?\d", text):
        return "has an exponent"
    if re.match(r"[+\-−]?(nan|inf)", text, re.IGNORECASE):
        return "is not finite"
    if re.search(r"\d['’_]\d", text):
        return "has a mark between its digits"
    if re.search(r"\d +\d", text) and "/" not in text:
        return "has a blank between its digits"
    if re.match(r"[+\-−]?[.,]\d", text) or re.search(r"\d[.,](\D|$)", text):
        return "needs a digit on both sides of the decimal mark"
    return None


def exact_number(text: str) -> Fraction:
    """Return the number that `text` states, exactly. Raises QuantityError as `parse_number` does."""
    plain = plain_blanks(text)
    match = _NUMBER.fullmatch(plain) if len(plain) <= _MOST_CHARACTERS else None
    if match is None:
        because = (
            "is too long" if len(plain) > _MOST_CHARACTERS else why_no_number(plain) or "is not a number"
        )
        raise QuantityError(text, because, _EXPECTED)
    parts = [part for name, part in match.groupdict().items() if name != "sign" and part]
    digits = "".join(parts) if match["int"] else max(parts, key=len)
    if len(digits.lstrip("0")) > SIGNIFICANT_DIGITS:
        raise QuantityError(text, "has too many digits", f"at most {SIGNIFICANT_DIGITS} significant digits")
    if match["int"]:
        size = Fraction(f"{match['int']}.{match['part'] or 0}")
    elif int(match["bottom"]) == 0:
        raise QuantityError(text, "divides by zero", _EXPECTED)
    else:
        size = int(match["whole"] or 0) + Fraction(int(match["top"]), int(match["bottom"]))
    return -size if match["sign"] in ("-", "−") else size


def parse_number(text: str) -> Decimal:
    """Return the number that `text` states.

    Accepted: an optional sign, digits 0 to 9, one decimal mark (comma or point) between digits, or
    a simple fraction (`1/4`, `1 1/2`), at most 15 significant digits; blanks at the ends. A comma is always
    the decimal mark, never a thousands mark. A fraction that does not end is rounded to 15 digits.
    Raises QuantityError for everything else, with the reason.
    """
    number = exact_number(text)
    return tidy(
        Context(prec=SIGNIFICANT_DIGITS).divide(Decimal(number.numerator), Decimal(number.denominator))
    )


def tidy(value: Decimal) -> Decimal:
    """Return the same number without trailing zeros, exponent or minus zero: equal numbers look equal."""
    if value == 0:
        return Decimal(0)
    plain = value.normalize(EXACT)
    return plain.quantize(Decimal(1), context=EXACT) if plain == plain.to_integral_value() else plain
