"""Wrenches at the bench: which one lies ready, what is set on it, what `?` says of it, and one swapped in mid-round."""

from decimal import Decimal

import pytest

from runner.bench.dialogs.reading import explain
from runner.bench.theme import ASCII, UNICODE
from runner.job import actions as a
from runner.joint.setting import setting
from runner.joint.sourced import FROM_MEMORY
from runner.joint.wrench import Extension
from runner.toolwords import named
from runner.view import ShopTool, View, WrenchLine
from tests.bench.hands import Hands
from tests.bench.samples import (
    DEMANDS,
    FITTED,
    GAUGED,
    IN_POUNDS,
    LAPSED,
    SHOP,
    TIGHTEN,
    SampleRun,
    sample,
    view_of,
)

HELD = TIGHTEN.but(tool="torque wrench TW 0051")


def _explained(view: View) -> str:
    return "\n".join(f"{label} {text}" for label, text in explain(view, UNICODE).lines)


def test_the_best_wrench_counts_only_after_it_was_shown_as_picked() -> None:
    run = SampleRun([sample("prepare", **SHOP)])
    hands = Hands(run)
    assert "pick from the toolbox (3), or type its serial number" in hands.screen()
    hands.press("enter")
    assert run.tried == []
    assert "▶ 1  TW 0051: 60 N·m: set 44 lbf·ft" in hands.screen()
    assert "3  Beam 0007 UNFIT: overdue since 2024-06-30" in hands.screen()
    hands.press("enter")
    assert [act.wrench for act in run.done if isinstance(act, a.CountIn)] == [IN_POUNDS]


def test_what_is_fitted_to_a_wrench_is_shown_when_work_is_taken_up_again() -> None:
    screen = Hands(SampleRun([sample("resume", **FITTED)])).screen()
    assert "torque wrench TW 0051 with 50 mm extension at 0°" in " ".join(screen.split())


def test_where_everything_is_unfit_nothing_is_picked_beforehand() -> None:
    unfit = (ShopTool("torque wrench", LAPSED, "overdue since 2024-06-30", against=True),)
    run = SampleRun([sample("prepare", shop_tools=unfit)])
    hands = Hands(run)
    hands.press("enter", "enter", "enter")
    assert run.tried == []
    hands.press("1", "enter")
    assert "Deviation: unfit tool" in hands.screen()
    assert "Against Beam 0007 as torque wrench: overdue since 2024-06-30" in hands.screen()


def test_escape_from_the_choice_leads_back_to_the_list() -> None:
    run = SampleRun([sample("prepare", **SHOP)])
    hands = Hands(run)
    hands.press("enter", "escape", "down", "enter")
    assert [act.tool for act in run.done if isinstance(act, a.CountIn)] == ["18 mm socket"]


@pytest.mark.parametrize("count", [1, 20])
@pytest.mark.parametrize("signs", [UNICODE, ASCII], ids=["unicode", "ascii"])
def test_one_wrench_or_twenty_are_listed_readably(count: int, signs: object) -> None:
    many = tuple(
        ShopTool("torque wrench", GAUGED.model_copy(update={"serial": f"{n:04}"}), "60 N·m")
        for n in range(count)
    )
    hands = Hands(SampleRun([sample("prepare", shop_tools=many)]), signs=signs)  # type: ignore[arg-type]
    hands.press("enter")
    assert "EW 0000: 60 N" in hands.screen()
    hands.press("end")
    assert "another one: you type what is written on it" in hands.screen()
    if count == 20:
        assert "more above" in hands.screen()
        hands.press("1", "5", "enter")
        run = hands.desk.run
        assert isinstance(run, SampleRun)
        assert [act.wrench.serial for act in run.done if isinstance(act, a.CountIn) and act.wrench] == [
            "0014"
        ]


def test_a_number_written_on_two_wrenches_names_neither() -> None:
    twins = tuple(
        ShopTool("torque wrench", wrench.model_copy(update={"serial": "7"}), "")
        for wrench in (IN_POUNDS, GAUGED)
    )
    assert named(twins, "7") is None
    assert named(twins, " tw  7 ") is twins[0]
    assert named(twins, "") is None


def test_the_circle_goes_on_with_the_wrench_swapped_in_by_two_picks() -> None:
    after = view_of(HELD.but(tool="torque wrench EW 0060"), seq=42)
    run = SampleRun([view_of(HELD, **SHOP), after])
    hands = Hands(run)
    assert "F12 wrench" in hands.screen().splitlines()[-1]
    hands.press("f12", "enter", "enter", "1", "enter")
    assert [act.reason for act in run.done if isinstance(act, a.ChangeTool)] == ["mine stops there"]
    assert "EW 0060" in hands.screen()


def test_the_wrench_in_hand_is_marked_and_never_offered_as_the_other_one() -> None:
    hands = Hands(SampleRun([view_of(HELD, **SHOP)]))
    hands.press("f12", "enter")
    assert "▶ 2  EW 0060" in hands.screen()
    assert "TW 0051 (in hand)" in hands.screen()


def test_a_wrench_that_does_not_fit_says_which_keys_lead_on() -> None:
    blocked = DEMANDS["blocked"].but(
        prompt="Tighten stud: 140 N·m is outside the marked range of SW", tool="TW 0051",
        lift="change the wrench, or deviate with a reason (unfit tool)",
    )  # fmt: skip
    screen = Hands(SampleRun([view_of(blocked, **SHOP)])).screen()
    assert "F12 another wrench or extension   F4 deviate: use this one all the same" in screen


def test_a_length_that_is_none_is_said_with_what_is_expected_and_asked_again() -> None:
    run = SampleRun([view_of(HELD, **SHOP)])
    hands = Hands(run)
    hands.press("f7", "8", "enter")
    hands.enter("5 N·m")
    assert "expected a length" in " ".join(hands.screen().split())
    hands.press("ctrl+u")
    hands.enter("-5")
    assert "is below 0; expected a length" in " ".join(hands.screen().split())
    hands.press("ctrl+u")
    hands.enter("50,5")
    hands.press("ctrl+u")
    hands.enter("north")
    assert "expected an angle" in " ".join(hands.screen().split())
    hands.press("ctrl+u")
    hands.enter("1/8 turn")
    assert [act.extension for act in run.done if isinstance(act, a.FitExtension)] == [
        Extension(length="50.5", angle="45")
    ]


def test_without_a_wrench_of_the_toolbox_no_extension_is_corrected_for() -> None:
    hands = Hands(SampleRun([sample("act")]))
    hands.press("f7", "8", "enter")
    assert "No wrench of the toolbox is in hand" in hands.screen()


def test_a_wrench_that_clicks_takes_no_number_and_one_key_for_each_fastener() -> None:
    views = [view_of(HELD.but(methods=("click",), member=n), seq=40 + n) for n in (1, 2, 3)]
    run = SampleRun(views)
    hands = Hands(run)
    hands.press("4", "4")
    assert "Nothing is typed here: 44 is not taken." in hands.screen()
    hands.press("enter")
    assert not run.done, "whoever typed a value meant it: Enter does not say something else at once"
    assert "What was typed is not taken." in hands.screen()
    hands.press("enter", "enter")
    assert [(act.method, act.raw, act.member) for act in run.done if isinstance(act, a.Tighten)] == [
        ("click", "", 1), ("click", "", 2),
    ]  # fmt: skip


def test_the_explanation_shows_how_the_setting_came_about() -> None:
    # S = T·L/(L + E·cos θ), US Army TM 9-254 (reference.md section 5, TS): 60 × 430/530 N·m is set for 60 N·m.
    given = setting(Decimal(60), "N·m", GAUGED, Extension(length="100"))
    demand = HELD.but(
        tool="torque wrench EW 0060", big=given.text, specified="60 N·m", band="57.6 to 62.4 N·m",
        correction="100 mm extension at 0°", working=given.working,
    )  # fmt: skip
    line = WrenchLine("torque wrench", GAUGED, "100 mm extension at 0°")
    text = _explained(view_of(demand, **{**SHOP, "wrenches": (line,)}))
    assert "To set 48.7 N·m" in text
    assert "For 60 N·m" in text
    assert "Formula S = T · L / (L + E · cos θ)" in text
    assert "E, square drive to fastener: 100 mm" in text
    assert "US Army TM 9-254" in text


@pytest.mark.provisional
def test_the_explanation_says_what_the_certificate_leaves_of_the_band() -> None:
    # U = 1 % of the reading, w = U (JCGM 106 with r = 1, from memory, M): 57.6/0.99 to 62.4/1.01 N·m.
    demand = HELD.but(tool="torque wrench EW 0060", band="57.6 to 62.4 N·m = 45.3 lbf·ft")
    view = view_of(
        demand, **{**SHOP, "wrenches": (WrenchLine("torque wrench", GAUGED),)},
        recorded=(("k", "bolts number 1, stage 1: 57.7 N·m, too close to tell with this wrench"),),
    )  # fmt: skip
    text = _explained(view)
    assert "Uncertainty 1 % at k = 2, certificate INVENTED-131" in text
    assert "U here 0.5818 N·m near 57.6 N·m and 0.6178 N·m near 62.4 N·m" in text
    assert "Surely in 58.182 N·m to 61.782 N·m" in text
    assert FROM_MEMORY in text
    assert "Too close bolts number 1, stage 1: 57.7 N·m" in text


def test_without_a_certificate_it_says_that_the_bare_band_decides() -> None:
    text = _explained(view_of(HELD, **FITTED))
    assert "no certificate of this tool is known, so the bare band decided" in text
    assert "Surely in" not in text


def test_a_band_narrower_than_the_uncertainty_leaves_nothing() -> None:
    demand = HELD.but(tool="torque wrench EW 0060", band="59.9 to 60.1 N·m")
    text = _explained(view_of(demand, **{**SHOP, "wrenches": (WrenchLine("torque wrench", GAUGED),)}))
    assert "Surely in nothing: the band is narrower" in text
