"""A value that a wrench was set to or showed is read aloud with what it gives the fastener, in digits people use."""

import pytest
from msgspec.structs import replace

from runner.job import events as e
from runner.job.words import value_words
from runner.joint.wrench import Extension, Wrench
from runner.review.held import held_words
from runner.review.wording import Names, sentence
from tests.procedure.procedure_text import linked

NAMES = Names(linked("steps: [{step: one, do: One.}]\n"))
TW = Wrench(name="TW", serial="7", kind="click", low="10", high="110", unit="lbf·ft", due_on="2027-01-31")
LIMITS = {"low": "57.6", "high": "62.4", "unit": "N·m"}


def test_a_click_says_the_setting_and_what_it_gave_the_fastener():
    # 44 lbf·ft in N·m: the exact factor 1.355 817 948 331 4 (its definition); four digits are shown.
    held = e.Held(
        value="59.6559897266",
        unit="N·m",
        method="click",
        wrench_value="44",
        wrench_unit="lbf·ft",
        tool="TW 7",
    )
    assert held_words(held) == "set 44 lbf·ft by click: 59.66 N·m with TW 7"


@pytest.mark.parametrize(
    ("correction", "between"),
    [
        ("", ""),
        ("100 mm extension at 0°", " with a 100 mm extension at 0°"),
        ("80 mm extension at 90°", " with an 80 mm extension at 90°"),
        ("110 mm extension at 0°", " with a 110 mm extension at 0°"),
    ],
)
def test_a_number_read_says_what_stood_between_it_and_the_fastener(correction, between):
    held = e.Held(raw="48.4", value="60.5", method="measured", wrench_value="48.4", wrench_unit="N·m",
                  correction=correction, **LIMITS)  # fmt: skip
    assert held_words(held) == f"read 48.4 N·m{between}: 60.5 N·m (band 57.6 to 62.4 N·m)"


@pytest.mark.parametrize("method", ["click", "measured"])
def test_what_uncertainty_leaves_open_is_said_with_it_and_the_band(method):
    held = e.Held(value="58.5", method=method, expanded="1.17", conformity="too close", **LIMITS)
    assert held_words(held).endswith(
        "58.5 N·m (band 57.6 to 62.4 N·m); too close to tell with this wrench (U = 1.17 N·m, k = 2)"
    )
    out = e.Held(value="50", method="measured", expanded="1.00123456", conformity="out", **LIMITS)
    assert held_words(out).endswith("; surely out of its band (U = 1.001 N·m, k = 2)")


@pytest.mark.parametrize("conformity", ["in", "bare band", ""])
def test_what_is_in_its_band_needs_no_words(conformity):
    held = e.Held(raw="60", value="60", method="measured", conformity=conformity, expanded="1", **LIMITS)
    assert held_words(held) == "60 N·m (band 57.6 to 62.4 N·m)"


def test_what_was_done_by_feel_has_no_number_and_no_unit_alone():
    felt = e.Held(unit="N·m", method="by feel", low="57.6", high="62.4", tool="TW 7")
    assert held_words(felt) == "by feel with TW 7"
    assert held_words(replace(felt, tool="")) == "by feel"
    assert value_words(felt) == "by feel"


def test_only_what_was_worked_out_is_shown_in_fewer_digits():
    assert held_words(e.Held(raw="12,345678", value="12.345678", unit="mm")) == "12.345678 mm"
    assert (
        held_words(e.Held(raw="44 ft-lb", value="59.6559897266", unit="N·m")) == "59.66 N·m (typed 44 ft-lb)"
    )
    assert held_words(e.Held(raw="0012345678", value="0012345678", unit="batch number", method="text")) == (
        "0012345678 batch number"
    )
    corrected = e.Corrected(key="read one|gap|1", raw="61", value="61", unit="N·m", reason="misread",
                            was="59.6559897266 N·m")  # fmt: skip
    assert "61 N·m instead of 59.66 N·m: misread" in sentence(corrected, NAMES)


def test_a_tool_of_the_toolbox_is_told_with_what_it_is():
    words = "click, 10 to 110 lbf·ft, calibration due 2027-01-31"
    assert sentence(e.CountedIn(tool="torque wrench", identity="TW 7", wrench=TW), NAMES) == (
        f"tool ready: torque wrench (TW 7), {words}"
    )
    changed = e.ToolChanged(tool="torque wrench", identity="TW 7", reason="mine stops at 110", wrench=TW)
    assert sentence(changed, NAMES) == f"torque wrench is from here on TW 7, {words}: mine stops at 110"
    assert sentence(e.CountedIn(tool="torque wrench"), NAMES) == "tool ready: torque wrench"


def test_an_extension_is_told_on_and_off():
    on = e.ExtensionFitted(tool="torque wrench", extension=Extension(length="100"))
    assert sentence(on, NAMES) == "torque wrench: from here on with a 100 mm extension at 0°"
    off = e.ExtensionFitted(tool="torque wrench", extension=None)
    assert sentence(off, NAMES) == "torque wrench: from here on without extension"


def test_a_wrench_that_no_toolbox_would_let_in_is_told_as_it_stands():
    odd = Wrench(name="X", kind="dial", low="-1", high="1e99", unit="cubits")
    assert sentence(e.CountedIn(tool="w", identity="X", wrench=odd), NAMES) == (
        "tool ready: w (X), dial, -1 to 1e99 cubits"
    )
