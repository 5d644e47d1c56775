"""Which keys count, and what the screen says while an entry is on its way, refused or lost."""

from dataclasses import replace

import pytest

from runner.bench.desk import EXIT_NOT_RECORDED, EXIT_SEALED, EXIT_UNSEALED, Key, Pace
from runner.bench.form import Form, Reader
from runner.job import actions as a
from runner.log.errors import Latched, Unwritable
from tests.bench.hands import Hands
from tests.bench.samples import NOW, OWED, TIGHTEN, Refusal, SampleRun, disk_full, sample, view_of


def test_an_action_carries_who_when_and_which_screen() -> None:
    run = SampleRun([sample("act"), sample("look", seq=42)])
    Hands(run).press("enter")
    assert run.done == [a.Do(who="Ada Lind", stamp=NOW, seen=41, act=1)]


def test_enter_pressed_before_the_question_was_painted_confirms_nothing() -> None:
    run = SampleRun([sample("act")])
    hands = Hands(run)
    hands.desk.key(Key("enter", None, 0.5))
    assert run.tried == []
    assert "before this was on the screen" in hands.screen()


def test_type_ahead_does_not_confirm_the_next_question() -> None:
    """Two Enters in one burst: the second was pressed before the second question was there."""
    run = SampleRun([sample("act"), sample("confirm", seq=42)])
    hands = Hands(run)
    hands.paint()
    hands.desk.key(Key("enter", None, hands.now + 1))
    hands.desk.key(Key("enter", None, hands.now + 2))
    assert len(run.done) == 1


def test_a_bouncing_or_held_enter_counts_once() -> None:
    run = SampleRun([sample("act", seq=n) for n in range(9)])
    hands = Hands(run)
    for at in (10.0, 10.03, 10.06, 10.09, 10.12, 10.15, 10.18):
        hands.desk.painted(hands.desk.shown, 1.0)
        hands.desk.key(Key("enter", None, at))
    assert len(run.done) == 1


def test_a_dialog_takes_no_confirmation_in_its_first_moment_but_takes_letters() -> None:
    run = SampleRun([sample("act")])
    hands = Hands(run, pace=Pace(dialog_rest=0.25))
    hands.press("f2")
    hands.desk.painted(hands.desk.shown, 100.0)
    hands.desk.key(Key("x", "x", 100.05))
    hands.desk.key(Key("enter", None, 100.2))
    assert run.tried == []
    hands.desk.key(Key("enter", None, 100.6))
    assert run.done == [a.Note(who="Ada Lind", stamp=NOW, seen=41, text="x")]


def test_while_saving_nothing_is_confirmed_and_typing_is_kept() -> None:
    run = SampleRun([sample("act"), sample("reading", seq=42)])
    hands = Hands(run)
    hands.recorder.hold = True
    hands.press("enter")
    assert hands.desk.saving
    assert "saving" in hands.screen()
    hands.enter("1,7")
    assert len(run.tried) == 1
    assert run.done == [], "the step has not advanced"
    hands.recorder.release()
    assert "1,7" in hands.screen()
    hands.press("enter")
    hands.recorder.release()
    assert run.done[-1] == a.Read(who="Ada Lind", stamp=NOW, seen=42, name="gap", raw="1,7")


def test_a_lost_entry_is_said_in_words_and_may_be_tried_again() -> None:
    run = SampleRun([sample("act"), sample("look", seq=42)], fail=[disk_full()])
    hands = Hands(run)
    hands.press("enter")
    screen = hands.screen()
    assert "NOT RECORDED: the disk is full" in screen
    assert "The step has not advanced." in screen
    assert run.done == []
    assert hands.desk.exit_code == EXIT_NOT_RECORDED
    hands.press("f2")
    assert "Note" not in hands.screen().splitlines()[2], "no new act while one is lost"
    hands.press("enter")
    assert len(run.done) == 1
    assert "How does the car behave" in hands.screen()


def test_a_lost_entry_may_be_dropped() -> None:
    run = SampleRun([sample("act")], fail=[disk_full()])
    hands = Hands(run)
    hands.press("enter", "escape")
    assert run.done == []
    assert "dropped. It is not recorded." in hands.screen()
    hands.press("enter")
    assert len(run.done) == 1


@pytest.mark.parametrize("error", [disk_full(may_retry=False), Latched("an earlier failure")])
def test_a_latched_log_leaves_only_the_way_out(error: Exception) -> None:
    run = SampleRun([sample("act")], fail=[error])
    hands = Hands(run)
    hands.press("enter", "enter", "escape", "enter")
    assert run.done == []
    assert len(run.tried) == 1
    assert "The run must be closed and resumed: F10." in hands.screen()
    hands.press("f10")
    assert "The latest entry is NOT RECORDED." in hands.screen()
    hands.press("enter")
    assert hands.desk.left == EXIT_NOT_RECORDED


def test_an_entry_that_no_log_can_hold_is_refused_and_the_work_goes_on() -> None:
    run = SampleRun([sample("act")], fail=[Unwritable("the entry is too long")])
    hands = Hands(run)
    hands.press("enter")
    assert "NOT RECORDED: the entry is too long" in hands.screen()
    hands.press("enter")
    assert len(run.done) == 1


def test_an_error_nobody_foresaw_is_shown_and_loses_nothing() -> None:
    run = SampleRun([sample("act")], fail=[RuntimeError("odd")])
    hands = Hands(run)
    hands.press("enter")
    assert "NOT RECORDED: RuntimeError: odd" in hands.screen()
    assert run.done == []


def test_a_refusal_stands_in_its_place_with_what_lifts_it_and_keeps_what_was_typed() -> None:
    run = SampleRun(
        [sample("reading")], refuse=Refusal("25 mm is about ten times the band", "read again: 1.4 to 2.2 mm")
    )
    hands = Hands(run)
    hands.enter("25")
    rows = hands.screen().splitlines()
    assert "Refused: 25 mm is about ten times the band" in rows[21]
    assert "→ read again: 1.4 to 2.2 mm" in rows[22]
    assert "25" in rows[20]
    hands.press("backspace", "backspace")
    assert "read again: 1.4 to 2.2 mm" in hands.screen(), (
        "it is there to be read while the value is typed again"
    )
    hands.enter("1.9")
    assert "Refused" not in hands.screen()


def test_a_refusal_keeps_the_dialog_and_its_answers() -> None:
    run = SampleRun([sample("reading")], refuse=Refusal("a deviation has a reason", "say why"))
    hands = Hands(run)
    hands.press("f4")
    hands.enter("1")
    hands.enter("2.3")
    hands.enter("1")
    hands.enter("Bo Marsh")
    hands.press("y")
    assert "Refused: a deviation has a reason" in hands.screen()
    assert isinstance(hands.desk.stack[-1], Form)
    hands.press("enter", "y")
    assert run.done == [
        a.Deviate(
            who="Ada Lind",
            stamp=NOW,
            seen=41,
            kind="out of band",
            raw="2.3",
            reason="part not here yet",
            authority="Bo Marsh",
        )
    ]
    assert hands.desk.stack == []


def test_enter_never_confirms_what_needs_the_letter() -> None:
    run = SampleRun([sample("seal")])
    hands = Hands(run)
    hands.enter("1")
    hands.press("enter", "enter", "space", "n")
    assert run.tried == []
    assert "Enter does not confirm this" in hands.screen() or "Press Y to seal" in hands.screen()
    hands.press("y")
    assert run.done == [a.Seal(who="Ada Lind", stamp=NOW, seen=41, outcome="finished")]


def test_no_answer_is_picked_beforehand_where_one_is_right() -> None:
    for kind in ("look", "question", "reconfirm", "seal", "choose", "doubt"):
        run = SampleRun([sample(kind)])
        hands = Hands(run)
        hands.press("enter")
        assert run.tried == [], kind
        assert "Pick one first" in hands.screen()


def test_an_empty_line_is_never_taken_for_a_value() -> None:
    for view in (
        sample("reading"),
        view_of(replace(TIGHTEN, methods=("measured",))),
    ):
        run = SampleRun([view])
        hands = Hands(run)
        hands.press("enter")
        hands.enter("   ")
        assert run.tried == []


def test_a_cue_rings_and_shows_without_taking_the_screen_or_what_is_typed() -> None:
    run = SampleRun([sample("reading")])
    hands = Hands(run)
    hands.type("1.")
    run.timed = sample("reading", owed=(replace(OWED[0], ready=True, status="cued"), OWED[1]))
    hands.desk.tick()
    assert hands.desk.ring
    screen = hands.screen()
    assert "Cue: left: Turn the bush bolts on by 90°" in screen
    assert "Gap of the clamp" in screen
    hands.enter("7")
    assert run.done == [a.Read(who="Ada Lind", stamp=NOW, seen=41, name="gap", raw="1.7")]


def test_a_wait_counts_down_without_anything_being_recorded() -> None:
    run = SampleRun([sample("wait")])
    hands = Hands(run)
    shown = hands.desk.shown
    run.timed = view_of(replace(sample("wait").demand, until_ms=61_000, prompt="Wait: 1 min 1 s left"))
    hands.desk.tick()
    assert hands.desk.shown == shown, "the same thing is asked"
    assert "Wait: 1 min 1 s left" in hands.screen()
    assert run.done == []


def test_a_refusal_does_not_outlive_what_it_was_said_about() -> None:
    run = SampleRun([sample("wait")])
    hands = Hands(run)
    hands.press("enter")
    assert "Enter answers nothing here" in hands.screen()
    hands.desk.tick()
    assert "Enter answers nothing here" in hands.screen(), "the wait still runs"
    run.timed = sample("reading")
    hands.desk.tick()
    assert "Enter answers nothing here" not in hands.screen(), "now Enter records a value"


def test_both_answers_of_a_comparison_are_in_sight_when_the_way_on_is_shut() -> None:
    wanted = replace(
        sample("reconfirm").demand,
        prompt="Compare with the work, by paint and position. No tight fastener goes under the wrench again for this.",
        lift="what differs is said: a found condition, a reopening, another tool, or extra work",
    )
    screen = Hands(SampleRun([view_of(wanted)])).screen()
    assert "1  as recorded" in screen
    assert "2  not as recorded" in screen
    assert "more below" not in screen


def test_looking_and_explaining_change_nothing() -> None:
    run = SampleRun([sample("tighten")])
    hands = Hands(run)
    hands.press("f6")
    assert isinstance(hands.desk.stack[-1], Reader)
    assert "Back and ahead" in hands.screen()
    hands.press("down", "pageup", "end", "home", "enter", "?")
    assert "Why, and what the screen means" in hands.screen()
    assert "48 to 52 N·m" in hands.screen()
    hands.press("escape")
    assert run.tried == []
    assert hands.desk.view == sample("tighten")


def test_a_question_mark_belongs_to_free_text() -> None:
    run = SampleRun([sample("act")])
    hands = Hands(run)
    hands.press("f2")
    hands.enter("why?")
    assert run.done == [a.Note(who="Ada Lind", stamp=NOW, seen=41, text="why?")]


def test_pasted_line_breaks_confirm_nothing() -> None:
    run = SampleRun([sample("reading")])
    hands = Hands(run)
    hands.desk.paste("1.8\n\n")
    assert run.tried == []
    hands.press("enter")
    assert run.done[0] == a.Read(who="Ada Lind", stamp=NOW, seen=41, name="gap", raw="1.8")


def test_escape_goes_back_one_dialog_and_records_nothing() -> None:
    run = SampleRun([sample("act")])
    hands = Hands(run)
    hands.press("f7")
    hands.enter("3")
    assert "Extra work" in hands.screen()
    hands.press("escape")
    assert "Something is different" in hands.screen()
    hands.press("escape")
    assert hands.desk.stack == []
    assert run.tried == []


@pytest.mark.parametrize(
    ("kind", "code"), [("act", EXIT_UNSEALED), ("start", EXIT_UNSEALED), ("sealed", EXIT_SEALED)]
)
@pytest.mark.parametrize("key", ["f10", "ctrl+q", "ctrl+c"])
def test_leaving_asks_first(kind: str, code: int, key: str) -> None:
    hands = Hands(SampleRun([sample(kind)]))  # type: ignore[arg-type]
    hands.press(key)
    assert hands.desk.left is None
    if kind == "act":
        hands.enter("2")
    else:
        hands.press("enter")
    assert hands.desk.left == code


def test_leaving_can_leave_a_line_for_the_return() -> None:
    run = SampleRun([sample("act")])
    hands = Hands(run)
    hands.press("f10")
    hands.enter("1")
    hands.enter("bolt 3 is next")
    assert run.done == [a.Pause(who="Ada Lind", stamp=NOW, seen=41, note="bolt 3 is next")]


def test_the_way_on_is_never_a_plain_key_where_the_gate_is_shut() -> None:
    for kind in ("blocked", "restore", "stop", "worked out", "outside proof", "wait"):
        run = SampleRun([sample(kind)])  # type: ignore[arg-type]
        hands = Hands(run)
        hands.press("enter", "space", "y", "1", "enter")
        assert run.tried == [], kind
