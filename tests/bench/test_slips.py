"""Slips of cold hands: words where a number picks, numbers where a word is meant, refusals longer than their rows."""

from dataclasses import replace

from runner.bench.keys import BY_KEY, Here
from runner.bench.page import page
from runner.bench.rows import text_of
from runner.bench.scene import Message, Scene
from runner.bench.theme import UNICODE, Look
from runner.job import actions as a
from tests.bench.hands import Hands
from tests.bench.samples import DEMANDS, OWED, STAR, Refusal, SampleRun, disk_full, sample, view_of


def test_a_word_with_a_digit_typed_at_a_question_picks_nothing() -> None:
    """A scanned part number at a look-for must not answer it."""
    run = SampleRun([sample("look")])
    hands = Hands(run)
    hands.press("1")
    hands.enter("BJ")
    assert run.tried == []
    assert "pick" in hands.screen()


def test_lines_whose_typed_word_belongs_to_them_have_no_numbers_to_pick_by() -> None:
    hands = Hands(SampleRun([sample("prepare")]))
    assert "1  torque wrench" not in hands.screen()
    assert "18 mm socket" in hands.screen()


def test_a_menu_closed_from_below_asks_again_and_offers_no_letter() -> None:
    hands = Hands(SampleRun([sample("act")]))
    hands.press("f7", "1", "enter", "escape")
    assert "Something is different" in hands.screen()
    assert "record it" not in hands.screen()


def test_a_refusal_longer_than_its_rows_flows_on_with_what_lifts_it() -> None:
    text = "a critical point is departed from only on the word of someone other than the performer"
    lift = "name that person as authority, or make safe and abandon"
    view = sample("act")
    lines = [
        text_of(line)
        for line in page(Scene(view=view, look=Look(), message=Message("refused", text, lift)), 80, 24)
    ]
    shown = " ".join(" ".join(line[5:].split()) for line in lines[-3:-1])
    assert text in shown
    assert lift.split(",", maxsplit=1)[0] in shown


def test_an_old_refusal_does_not_stand_under_a_new_dialog() -> None:
    run = SampleRun([sample("reading")])
    hands = Hands(run)
    hands.press("enter")
    assert "Nothing is typed yet" in hands.screen()
    hands.press("f2")
    assert "Refused" not in hands.screen()


def test_what_cannot_be_put_off_is_said_before_a_reason_is_asked() -> None:
    view = replace(
        sample("act"),
        offers=(replace(sample("act").offers[0], action="PutOff", why_not="it sets a condition"),),
    )
    assert "it sets a condition" in str(BY_KEY["f3"].open(Here(view, UNICODE)))


def test_an_angle_by_the_mark_takes_no_number_and_names_no_wrench() -> None:
    demand = replace(STAR, methods=("by mark",), unit="°", big="90°", band="")
    run = SampleRun([view_of(demand)])
    hands = Hands(run)
    hands.enter("9")
    assert "torque wrench" not in hands.screen()
    assert all(not isinstance(act, a.Tighten) or act.method == "by mark" for act in run.tried)


def test_a_long_fact_of_a_fastener_leaves_room_for_the_order_of_its_group() -> None:
    demand = replace(STAR, about="M12x1.5, class 8.8, number 1 is front left, seen from below")
    lines = [text_of(line) for line in page(Scene(view=view_of(demand), look=Look()), 80, 24)]
    members = next(line for line in lines if f"{UNICODE.prompt} 5" in line)
    assert f"{UNICODE.member_done} 3" in members
    assert any("seen from below" in line for line in lines)


def test_one_step_is_one_step() -> None:
    view = replace(sample("act"), done_steps=1)
    assert text_of(page(Scene(view=view, look=Look()), 80, 24)[-1]).rstrip().endswith("1 step done")


def test_at_a_stop_what_was_seen_is_looked_at_again_by_its_number() -> None:
    demand = DEMANDS["stop"].but(subject="look", options=DEMANDS["look"].options)
    run = SampleRun([view_of(demand), sample("act", seq=42)])
    Hands(run).press("1", "enter")
    assert [type(act) for act in run.done] == [a.Look]


def test_at_a_stop_who_refused_may_release() -> None:
    run = SampleRun([view_of(DEMANDS["stop"].but(role="checker")), sample("act", seq=42)])
    hands = Hands(run)
    hands.enter("Cy")
    hands.press("1", "enter", "enter", "y")
    assert [(act.who, act.released) for act in run.done if isinstance(act, a.Release)] == [("Cy", True)]


def test_at_a_stop_a_reading_may_be_taken_again() -> None:
    run = SampleRun([view_of(DEMANDS["stop"].but(subject="gap", unit="mm")), sample("act", seq=42)])
    Hands(run).enter("1,7")
    assert [(act.name, act.raw) for act in run.done if isinstance(act, a.Read)] == [("gap", "1,7")]


def test_a_dialog_whose_entry_is_on_its_way_is_not_answered_twice() -> None:
    run = SampleRun([sample("act"), sample("act", seq=42)])
    hands = Hands(run)
    hands.recorder.hold = True
    hands.press("f2")
    hands.enter("seal looks dry")
    hands.press("enter", "enter")
    hands.recorder.release()
    assert len(run.done) == 1


def test_a_dialog_whose_entry_is_lost_tries_again_on_enter_and_drops_it_on_escape() -> None:
    run = SampleRun([sample("act"), sample("look", seq=42)], fail=[disk_full(), disk_full()])
    hands = Hands(run)
    hands.press("f2")
    hands.enter("seal looks dry")
    assert "NOT RECORDED" in hands.screen()
    hands.press("f1", "escape", "x", "enter")
    assert "NOT RECORDED" in hands.screen()
    hands.press("enter")
    assert [act.text for act in run.done if isinstance(act, a.Note)] == ["seal looks dry"]
    assert "NOT RECORDED" not in hands.screen()


def test_a_dropped_entry_of_a_dialog_leaves_its_words_on_the_line() -> None:
    run = SampleRun([sample("act"), sample("look", seq=42)], fail=[disk_full()])
    hands = Hands(run)
    hands.press("f2")
    hands.enter("seal looks dry")
    hands.press("escape")
    assert "seal looks dry" in hands.screen()
    assert "dropped" in hands.screen()


def test_a_hold_point_refused_for_its_name_asks_the_name_again() -> None:
    run = SampleRun([sample("hold")], refuse=Refusal("Ada does this work", "fetch a checker"))
    hands = Hands(run)
    hands.enter("Ada")
    hands.press("1", "enter", "enter", "y")
    assert "Refused: Ada does this work" in hands.screen()
    hands.press("backspace", "backspace", "backspace")
    hands.enter("Cy")
    assert "Name of the checker: Cy" in hands.screen()


def test_one_thing_put_off_stands_in_full_in_its_three_rows() -> None:
    line = replace(OWED[0], where="", what="Take the lamp out.", trigger="the step: " + "lower it " * 6)
    lines = [text_of(each) for each in page(Scene(view=sample("act").but(owed=(line,)), look=Look()), 80, 24)]
    shown = " ".join(" ".join(each[5:].split()) for each in lines[16:19])
    assert shown.endswith("before road-ready")
    assert "lower it lower it lower it lower it lower it lower it" in shown


def test_before_step_1_enter_says_what_it_does_for_the_line_at_hand() -> None:
    demand = DEMANDS["prepare"]
    said = {}
    for option in demand.options:
        hands = Hands(SampleRun([view_of(demand.but(options=(option,)))]))
        said[option.key.partition(":")[0]] = hands.screen()
    assert "Enter: it is here" in said["tool"]
    assert "Enter: the name typed here" in said["person"]
    assert "Enter: it is so" in said["condition"]


def test_a_tool_named_beside_the_value_is_not_named_twice() -> None:
    step = sample("tighten").step
    assert step is not None
    view = sample("tighten").but(step=step.but(tools=("torque wrench",), because="", expect=""))
    shown = "\n".join(text_of(line) for line in page(Scene(view=view, look=Look()), 80, 24))
    assert shown.count("torque wrench") == 1


def test_extra_work_just_named_is_no_cue_and_was_passed_by_by_nobody() -> None:
    extra = OWED[0].but(key="extra 1", what="stud broken off", where="", status="passed by", ready=True)
    run = SampleRun([sample("act"), sample("act", seq=42).but(owed=(extra,))])
    hands = Hands(run)
    hands.press("enter")
    assert "Cue:" not in hands.screen()
    assert "passed by" not in hands.screen()
    assert "extra work" in hands.screen()
    assert not hands.desk.ring
