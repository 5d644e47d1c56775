"""Worked-out values: what is read, which dimensions fit, what comes out."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from runner.procedure.formula import FormulaError, parse
from runner.quantities import units_of

VALUES = {
    "gap": (Decimal("0.31"), "mm"),
    "shim": (Decimal("2.45"), "mm"),
    "gap-front": (Decimal(1), "in"),
    "zero": (Decimal(0), "mm"),
    "pull": (Decimal(100), "N"),
    "bolts": (Decimal(4), "count"),
    "oil": (Decimal(20), "°C"),
    "coil": (Decimal(120), "Ω"),
    "drain": (Decimal(50), "mA"),
    "worn": (Decimal(50), "%"),
    "set": (Decimal(60), "N·m"),
}
UNITS = {name: unit for name, (_, unit) in VALUES.items()}


@pytest.mark.parametrize(
    ("text", "unit", "result"),
    [
        ("1 + 2 × 3", "ratio", "7"),
        ("(1 + 2) * 3", "ratio", "9"),
        ("10 − 4 - 3", "ratio", "3"),
        ("24 / 4 ÷ 3", "ratio", "2"),
        ("-2 × -3", "ratio", "6"),
        ("1/3 × 3", "ratio", "1"),
        ("0.1 + 0.2", "ratio", "0.3"),
        ("shim + gap - 0.25 mm", "mm", "2.51"),
        ("gap-front - shim", "mm", "22.95"),
        ("gap-front + zero", "in", "1"),
        ("(shim + gap) / 2", "mm", "1.38"),
        ("mean(gap, shim, 0.5mm)", "mm", "1.08666666667"),
        ("max(gap, shim) - min(gap, shim)", "mm", "2.14"),
        ("abs(gap − shim)", "mm", "2.14"),
        ("abs(gap − shim)", "thou", "84.251968504"),
        ("gap / shim", "%", "12.6530612245"),
        ("1 + gap / shim", "ratio", "1.12653061224"),
        ("worn × shim", "mm", "1.225"),
        ("bolts × 3 + 1", "count", "13"),
        ("bolts × gap", "mm", "1.24"),
        ("pull × gap-front", "N·m", "2.54"),  # a force at an arm is a torque
        ("pull × gap-front", "lbf·in", "22.4808943100"),
        ("set / pull", "mm", "600"),
        ("drain × coil", "V", "6"),
        ("pull × gap / pull", "mm", "0.31"),
        ("max(oil, 25 °C)", "°F", "77"),
        ("mean(oil, 30 °C)", "°C", "25"),
        ("-gap", "mm", "-0.31"),
        ("gap\n + shim", "mm", "2.76"),
    ],
)
def test_worked_values(text: str, unit: str, result: str) -> None:
    assert parse(text).value(VALUES, unit) == Decimal(result)


def test_names_are_said_once_in_order_and_keep_their_hyphens() -> None:
    assert parse("max(gap-front, shim) - gap-front + b_2").names == ("gap-front", "shim", "b_2")
    assert parse("1 + 2").names == ()


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("gap + shim", "length"),
        ("gap / shim", "ratio"),
        ("bolts + 1", "count"),
        ("bolts / 2", "ratio"),
        ("mean(bolts, 2)", "ratio"),
        ("bolts × 0.5", "ratio"),
        ("2 × set", "torque"),
        ("set / gap", "force"),
        ("pull × gap", "torque"),
        ("gap × pull", "torque"),
    ],
)
def test_dimensions(text: str, kind: str) -> None:
    assert parse(text).dimension(UNITS) == kind


@pytest.mark.parametrize(
    ("text", "column", "words"),
    [
        ("gap + 1", 5, "a length and a plain number cannot be added"),
        ("gap − set", 5, "a length and a torque cannot be subtracted"),
        ("min(gap, pull)", 1, "a length and a force cannot be compared"),
        ("pull × pull", 6, "a force multiplied by a force is nothing known here"),
        ("1 / gap", 3, "a plain number divided by a length is nothing known here"),
        ("gap × shim", 5, "a length multiplied by a length"),
        ("oil - oil", 5, "a temperature has no natural zero"),
        ("2 × oil", 3, "a temperature has no natural zero"),
        ("oil / oil", 5, "a temperature has no natural zero"),
        ("nope + 1", 1, 'no reading is named "nope"'),
        ("gap-shim", 1, "a minus needs a blank on both sides"),
    ],
)
def test_dimensions_that_do_not_fit(text: str, column: int, words: str) -> None:
    with pytest.raises(FormulaError, match="expected") as refusal:
        parse(text).dimension(UNITS)
    assert (refusal.value.column, words in refusal.value.found) == (column, True)


@pytest.mark.parametrize(
    ("text", "column"),
    [
        ("", 1),
        ("   ", 4),
        ("(gap", 5),
        ("gap)", 4),
        ("gap shim", 5),
        ("gap +", 6),
        ("+ * gap", 3),
        ("gap ; shim", 5),
        ("gap ** 2", 6),
        ("gap // 2", 6),
        ("Gap", 1),
        ("min", 4),
        ("min()", 5),
        ("min(gap,)", 9),
        ("abs(gap, shim)", 8),
        ("(gap, shim)", 5),
        ("sqrt(gap)", 1),
        ("__import__(gap)", 1),
        ("gap.real", 4),
        ("max(1,5)", 6),
        ("1.2.3", 4),
        ("1e5", 1),
        ("2 x", 1),
        ("5 J", 1),
        ("0x10", 1),
        ("1234567890123456", 1),
        ("٣ + 1", 1),
        ("(" * 21 + "gap" + ")" * 21, 21),
        ("1 + " * 101 + "1", 401),
    ],
)
def test_text_that_is_no_formula(text: str, column: int) -> None:
    with pytest.raises(FormulaError) as refusal:
        parse(text)
    assert refusal.value.column == column
    assert str(refusal.value).isprintable()


@pytest.mark.parametrize(
    ("text", "unit", "words"),
    [
        ("gap / zero", "ratio", "a division by zero"),
        ("gap / (shim - shim)", "ratio", "a division by zero"),
        ("bolts / 3", "count", "is not whole"),
        ("gap", "N·m", "the result is a length"),
        ("bolts", "mm", "the result is a plain number"),
        ("gap", "furlong", "names no unit known here"),
        ("999999999999999 × 999999999999999 × 999999999999999 × gap", "mm", "out of all proportion"),
    ],
)
def test_formulas_without_a_value(text: str, unit: str, words: str) -> None:
    with pytest.raises(FormulaError) as refusal:
        parse(text).value(VALUES, unit)
    assert words in refusal.value.found


@pytest.mark.parametrize("odd", ["NaN", "sNaN", "Infinity", "1E+9999", "1E-9999"])
def test_values_out_of_all_proportion_are_refused(odd: str) -> None:
    with pytest.raises(FormulaError):
        parse("gap + gap").value({"gap": (Decimal(odd), "mm")}, "mm")
    with pytest.raises(FormulaError):
        parse("gap").dimension({"gap": "furlong"})


def test_the_deepest_and_longest_formulas_are_still_worked() -> None:
    assert parse("(" * 20 + "gap" + ")" * 20).value(VALUES, "mm") == Decimal("0.31")
    assert parse("+".join(["1"] * 199)).value({}, "count") == 199


PIECES = [
    "gap",
    "shim",
    "bolts",
    "oil",
    "1",
    "0.5",
    "2 mm",
    "+",
    "-",
    "−",
    "×",
    "÷",
    "/",
    "(",
    ")",
    ",",
    "max(",
    "abs(",
]


@given(
    st.lists(st.sampled_from(PIECES), max_size=12).map(" ".join) | st.text(max_size=40),
    st.sampled_from(["mm", "%", "count"]),
)
def test_any_text_is_worked_or_refused(text: str, unit: str) -> None:
    refusal, column = "", 1
    try:
        assert parse(text).value(VALUES, unit).is_finite()
    except FormulaError as error:
        refusal, column = str(error), error.column
    assert refusal.isprintable()
    assert 1 <= column <= len(text) + 1


LENGTHS = st.decimals(allow_nan=False, allow_infinity=False, min_value=-1000, max_value=1000, places=2)


@given(LENGTHS, LENGTHS, LENGTHS)
def test_sums_are_exact_and_means_lie_between(a: Decimal, b: Decimal, c: Decimal) -> None:
    values = {"a": (a, "mm"), "b": (b, "mm"), "c": (c, "mm")}
    assert parse("a - b + c × 2").value(values, "mm") == a - b + c * 2
    assert parse("abs(a - b)").value(values, "mm") == abs(a - b)
    assert parse("max(a, b, c)").value(values, "mm") == max(a, b, c)
    low, high = (parse(f"{name}(a, b, c)").value(values, "mm") for name in ("min", "max"))
    assert low <= parse("mean(a, b, c)").value(values, "mm") <= high


@given(LENGTHS, st.sampled_from(units_of("length")), st.sampled_from(units_of("length")))
def test_the_units_of_the_readings_do_not_change_the_result(size: Decimal, one: str, other: str) -> None:
    mixed = parse("a + 0 mm").value({"a": (size, one)}, other)
    alone = parse("a").value({"a": (size, one)}, other)
    assert abs(mixed - alone) <= abs(alone) * Decimal("1e-10")
