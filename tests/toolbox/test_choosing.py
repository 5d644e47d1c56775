"""Which tool is proposed for a torque, and what is said against one."""

import subprocess
import sys
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from runner.joint.wrench import Extension, Wrench
from runner.quantities import QuantityError
from runner.toolbox.choosing import best_for, fit_for
from runner.toolbox.model import Toolbox

D = Decimal
DAY = "2026-06-01"


def tool(
    name: str, low: str, high: str, graduation: str | None = "1", unit: str = "N·m", **other: str
) -> Wrench:
    kind = other.pop("kind", "click")
    return Wrench(name=name, kind=kind, low=low, high=high, unit=unit, graduation=graduation, **other)  # type: ignore[arg-type]


def order(*tools: Wrench, torque: str = "60", unit: str = "N·m") -> list[str]:
    return [each.wrench.name for each in best_for(Toolbox(wrenches=tools), D(torque), unit, DAY)]


RANKED = [
    tool("fine and narrow", "20", "130"),
    tool("fine and wide", "20", "200"),
    tool("coarse", "20", "130", "9"),
    tool("low share", "20", "340"),
    tool("overdue", "20", "130", due_on="2026-05-31"),
    tool("too small", "5", "25"),
]


def test_each_reason_comes_before_those_that_follow():
    names = [each.name for each in RANKED]
    assert order(*reversed(RANKED)) == names
    assert order(*RANKED[3:], *RANKED[:3]) == names


def test_the_day_it_is_due_it_is_not_overdue_yet():
    last = tool("last day", "20", "130", due_on=DAY)
    assert fit_for(last, D(60), "N·m", DAY) == ()
    assert fit_for(last, D(60), "N·m", "2026-06-02") == ("overdue since 2026-06-01",)


def test_a_smaller_rounding_error_beats_a_narrower_range():
    assert order(tool("feet", "10", "80", unit="lbf·ft"), tool("metres", "20", "300")) == ["metres", "feet"]


def test_ranges_in_different_units_are_compared_as_they_are():
    """150 lbf·ft are 203 N·m: the smaller number is the wider range."""
    feet = tool("feet", "1", "150", None, "lbf·ft")
    assert order(tool("metres", "1", "200", None), feet, torque="100") == ["metres", "feet"]


def test_what_is_against_a_tool_is_said_with_its_range_and_what_would_have_to_be_set():
    small = tool("small", "5", "25", due_on="2026-01-01")
    assert fit_for(small, D(60), "N·m", DAY) == (
        "covers 5 to 25 N·m only (60 N·m would have to be set)",
        "overdue since 2026-01-01",
    )
    assert (
        "measures in °" in fit_for(tool("g", "0", "360", unit="°", kind="angle gauge"), D(60), "N·m", DAY)[0]
    )
    assert "no length" in fit_for(tool("w", "20", "130"), D(60), "N·m", DAY, Extension(length="50"))[0]


def test_an_extension_decides_what_is_in_range():
    long = tool("long", "20", "130", length="400")
    (choice,) = best_for(Toolbox(wrenches=(long,)), D(140), "N·m", DAY, extension=Extension(length="100"))
    assert choice.fits
    assert choice.setting is not None
    assert choice.setting.set_to == 112


def test_reasons_are_words_with_the_numbers():
    best, *_, overdue, small = best_for(Toolbox(wrenches=tuple(RANKED)), D(60), "N·m", DAY)
    assert best.reason == "set 60 N·m; no rounding; 46 % of its maximum"
    assert overdue.reason.startswith("overdue since 2026-05-31; set 60 N·m")
    assert small.reason == "covers 5 to 25 N·m only (60 N·m would have to be set)"
    assert [best.fits, overdue.fits, small.fits] == [True, False, False]
    low = best_for(Toolbox(wrenches=(RANKED[3],)), D(60), "N·m", DAY)[0]
    assert "under 20 %" in low.reason
    assert low.fits
    rounded = best_for(Toolbox(wrenches=(tool("f", "10", "150", unit="lbf·ft"),)), D(60), "N·m", DAY)[0]
    assert "−0.57 % by rounding" in rounded.reason


def test_only_tools_that_show_torque_and_of_the_kinds_asked():
    gauge = tool("g", "0", "360", unit="°", kind="angle gauge")
    dial = tool("d", "0", "100", kind="dial")
    box = Toolbox(wrenches=(gauge, dial, RANKED[0]))
    assert {each.wrench.name for each in best_for(box, D(60), "N·m", DAY)} == {"d", "fine and narrow"}
    assert [each.wrench.name for each in best_for(box, D(60), "N·m", DAY, ("dial",))] == ["d"]


def test_a_unit_of_no_torque_is_refused_also_for_an_empty_toolbox():
    for box in (Toolbox(), Toolbox(wrenches=tuple(RANKED))):
        with pytest.raises(QuantityError):
            best_for(box, D(60), "mm", DAY)


@given(
    st.lists(
        st.tuples(st.integers(1, 50), st.integers(1, 300), st.sampled_from(["1", "5", "0.1", None])),
        max_size=6,
    ),
    st.decimals("1", "400", places=1),
)
def test_no_tool_is_lost_and_no_unfit_one_stands_before_a_fit_one(tools, torque):
    box = Toolbox(
        wrenches=tuple(
            tool(str(at), str(low), str(low + span), step, due_on="2026-01-01" if at % 2 else "")
            for at, (low, span, step) in enumerate(tools)
        )
    )
    ranked = best_for(box, torque, "N·m", DAY)
    assert sorted(each.wrench.name for each in ranked) == sorted(each.name for each in box.wrenches)
    fits = [each.fits for each in ranked]
    assert fits == sorted(fits, reverse=True)
    for each in ranked:
        assert each.against == fit_for(each.wrench, torque, "N·m", DAY)


def test_choosing_loads_neither_yaml_nor_units():
    """The engine that asks it must start without them."""
    code = "import sys, runner.toolbox.choosing; print('\\n'.join(sys.modules))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert not {"yaml", "pint", "textual"} & set(done.stdout.split())
