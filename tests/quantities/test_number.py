"""Numbers as typed: what is read, what is refused, and in which words."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from runner.quantities import QuantityError, parse_number
from runner.quantities.number import exact_number, tidy


@pytest.mark.parametrize(
    ("text", "number"),
    [
        ("60", "60"),
        (" 60\u00a0", "60"),
        ("2.5", "2.5"),
        ("2,5", "2.5"),
        ("1,234", "1.234"),  # the comma is the decimal mark, whatever follows
        ("-3", "-3"),
        ("−3", "-3"),
        ("+3", "3"),
        ("010", "10"),
        ("0.10", "0.1"),
        ("1/4", "0.25"),
        ("1 1/2", "1.5"),
        ("-1 1/2", "-1.5"),
        ("1/3", "0.333333333333333"),
        ("123456789012345", "123456789012345"),
        ("0.000000000000000123", "0.000000000000000123"),
    ],
)
def test_numbers_that_people_write(text: str, number: str) -> None:
    assert parse_number(text) == Decimal(number)


@pytest.mark.parametrize(
    ("text", "because"),
    [
        ("", "is empty"),
        ("   ", "is empty"),
        ("1,234.5", "has both a comma and a point"),
        ("1.234,5", "has both a comma and a point"),
        ("1,234,567", "has more than one decimal mark"),
        ("5..5", "has more than one decimal mark"),
        ("1 234", "has a blank between its digits"),
        ("1'234", "has a mark between its digits"),
        ("1_000", "has a mark between its digits"),
        ("1e5", "has an exponent"),
        ("1E-5", "has an exponent"),
        ("0x10", "is not written in tens"),
        ("nan", "is not finite"),
        ("-inf", "is not finite"),
        ("Infinity", "is not finite"),
        ("１２", "has digits other than 0 to 9"),
        ("٣", "has digits other than 0 to 9"),
        ("1½", "has digits other than 0 to 9"),
        (".5", "needs a digit on both sides of the decimal mark"),
        ("5.", "needs a digit on both sides of the decimal mark"),
        ("1/0", "divides by zero"),
        ("1/2/3", "is not a number"),
        ("1.5/2", "is not a number"),
        ("--3", "is not a number"),
        ("- 3", "is not a number"),
        ("2**3", "is not a number"),
        ("5\n", "is not a number"),
        ("1234567890123456", "has too many digits"),
        ("1.234567890123456", "has too many digits"),
        ("1" * 50, "is too long"),
    ],
)
def test_refusals_name_what_is_wrong(text: str, because: str) -> None:
    with pytest.raises(QuantityError) as refusal:
        parse_number(text)
    assert refusal.value.because == because
    assert refusal.value.found == text


@given(
    st.text(alphabet=st.sampled_from("0123456789.,/ +-−eEx_'½٣nañ\t\n"), max_size=50) | st.text(max_size=50)
)
def test_any_text_is_a_finite_number_or_refused(text: str) -> None:
    try:
        number = parse_number(text)
    except QuantityError:
        return
    assert number.is_finite()
    assert len(number.as_tuple().digits) <= 40


@given(st.decimals(allow_nan=False, allow_infinity=False, min_value=-(10**9), max_value=10**9, places=5))
def test_a_number_written_out_is_read_back_with_either_mark(number: Decimal) -> None:
    written = f"{number:f}"
    assert parse_number(written) == number
    assert parse_number(written.replace(".", ",")) == number
    assert exact_number(written) == number


@pytest.mark.parametrize(
    ("value", "plain"), [("1E+3", "1000"), ("-0", "0"), ("0E+9", "0"), ("60.00", "60"), ("-1.50", "-1.5")]
)
def test_equal_numbers_look_equal(value: str, plain: str) -> None:
    assert str(tidy(Decimal(value))) == plain
