"""How a refused value is said: the slip once and short, a converted value as it was typed."""

from decimal import Decimal

from runner.job.values import Value, outside, parse
from runner.procedure.linked import Interval

BAND = Interval(unit="N·m", low="48", high="52", target="50", text="48 to 52 N·m")


def test_a_slip_is_said_once_and_short() -> None:
    refused = outside(Value("500", "500", "N·m"), BAND)
    assert refused is not None
    assert (
        refused.text
        == "500 N·m is outside 48 to 52 N·m: about ten times 50 N·m, or what 50 N·m reads in kgf·cm"
    )


def test_a_converted_value_is_shown_as_it_was_typed_and_not_to_twelve_figures() -> None:
    """44 lbf·ft = 59.66 N·m (NIST SP 811, app. B.8: 1 lbf·ft = 1.355818 N·m)."""
    value = parse("44 lbf·ft", "N·m")
    assert isinstance(value, Value)
    assert round(value.number, 2) == Decimal("59.66")
    refused = outside(value, BAND)
    assert refused is not None
    assert refused.text == "44 lbf·ft (about 59.66 N·m) is outside 48 to 52 N·m"


def test_the_number_that_is_asked_in_another_unit_is_named_as_that() -> None:
    value = parse("50 lbf·ft", "N·m")
    assert isinstance(value, Value)
    refused = outside(value, BAND)
    assert refused is not None
    assert refused.text == (
        "50 lbf·ft (about 67.79 N·m) is outside 48 to 52 N·m: the number of 50 N·m, in lbf·ft"
    )


def test_a_click_has_nothing_typed_and_is_refused_all_the_same() -> None:
    refused = outside(Value("", "60", "N·m"), BAND)
    assert refused is not None
    assert refused.text == "60 N·m is outside 48 to 52 N·m"
