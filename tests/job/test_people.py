"""Semantic 10: performers, hold points, second people, handover."""

from runner.job import actions as a
from runner.job import events as e
from tests.job.bench_hand import Hand

HOLD = """\
conditions: {support: {at start: on wheels, changes: {on wheels: [raised], raised: [on wheels]}}}
items: {bolt: {kind: fastener, tighten: [{torque: 9 N·m ±1 N·m}]}}
steps:
  - {step: open, do: Open it., loosens: [bolt], starts: [bolt]}
  - step: close
    do: Close it.
    tightens: [bolt]
    hold point: {released by: checker, asks: Is it tight?, if refused: [{step: again, do: Write it down.}]}
    sets: {support: raised}
  - {step: last, do: Go.}
"""


def _at_hold() -> Hand:
    hand = Hand(HOLD)
    hand.go("close")
    hand.tighten("9")
    return hand


def test_a_hold_point_stands_after_the_act_and_before_sets_and_names_whom_to_fetch():
    hand = _at_hold()
    hand.expect(
        "hold",
        "close",
        prompt="Is it tight?",
        lift="fetch a checker who did not do this step",
        role="checker",
    )
    assert hand.job.conditions == {"support": "on wheels"}
    hand.do(a.Release, "Bo", released=True, said="by the mark")
    assert hand.job.conditions == {"support": "raised"}
    assert hand.happened(e.HoldReleased) == [e.HoldReleased(node="close", role="checker", said="by the mark")]


def test_whoever_acted_on_the_step_does_not_release_it_whatever_the_spelling():
    hand = Hand(HOLD)
    hand.go("close")
    hand.tighten("9", who="Dee")
    for who in ("Ann", "ann", "  ANN ", "Dee", "dee"):
        hand.refuse(
            a.Release,
            who,
            released=True,
            why="cannot release its hold point",
            lift="fetch a checker who did not",
        )
    hand.do(a.Release, "Bo", released=True)


def test_a_performer_stays_one_after_take_back_and_after_a_handover():
    hand = Hand(HOLD)
    hand.go("close")
    hand.tighten("9", who="Dee")
    hand.do(a.TakeBack)
    hand.tighten("9")
    hand.do(a.HandOver, to="Cy")
    hand.do(a.AcceptHandover, "Cy")
    for who in ("Ann", "Dee", "Cy"):
        hand.refuse(a.Release, who, released=True, why="cannot release", lift="fetch a checker")
    hand.do(a.Release, "Bo", released=True)


def test_a_refused_hold_point_goes_the_authors_way_and_sets_nothing():
    hand = _at_hold()
    hand.do(a.Release, "Bo", released=False, said="not tight")
    hand.expect("confirm", "again")
    assert hand.job.conditions == {"support": "on wheels"}
    assert "close" not in hand.job.done


def test_without_a_way_a_refusal_stops_and_may_be_turned_by_the_same_people_later():
    hand = Hand(HOLD.replace(", if refused: [{step: again, do: Write it down.}]", ""))
    hand.go("close")
    hand.tighten("9")
    hand.do(a.Release, "Bo", released=False)
    hand.expect("stop", prompt="hold point refused")
    hand.refuse(a.Release, "Ann", released=True, why="cannot release", lift="fetch a checker")
    hand.do(a.Release, "Bo", released=True)
    hand.expect("confirm", "last")


def test_a_released_hold_point_is_not_taken_back():
    hand = _at_hold()
    hand.do(a.Release, "Bo", released=True)
    hand.refuse(a.TakeBack, why="nothing to take back", lift="a hold point, a handover")


def test_in_a_one_person_shop_a_hold_point_is_a_deviation():
    hand = _at_hold()
    hand.do(a.Deviate, kind="hold point", reason="alone today")
    hand.expect("confirm", "last")
    assert hand.job.deviations[0].kind == "hold point"
    hand.go("seal")
    assert hand.options() == ["finished with open points"]


def test_people_are_named_before_step_one_and_none_is_the_performer():
    hand = Hand(
        HOLD.replace("conditions:", "people: {performer: 1, checker: 2}\nconditions:", 1), begin=False
    )
    hand.do(a.Start, work_piece="T-1")
    keys = [key for key in hand.options() if key.startswith("person:")]
    assert len(keys) == 2, "two checkers are two lines"
    hand.refuse(a.MeetPrerequisite, key=keys[0], value="", why="nobody was named", lift="type the name")
    hand.refuse(
        a.MeetPrerequisite, key=keys[0], value="ANN", why="ANN is the performer", lift="name someone else"
    )
    hand.do(a.MeetPrerequisite, key=keys[0], value="Bo")
    hand.refuse(a.MeetPrerequisite, key=keys[1], value="bo", why="is named already", lift="name someone else")
    hand.do(a.MeetPrerequisite, key=keys[1], value="Cy")


def test_a_handover_is_acknowledged_by_both_and_nothing_is_done_between():
    hand = Hand(HOLD)
    hand.refuse(a.HandOver, "Dee", to="Cy", why="Ann is the performer", lift="take over alone")
    hand.refuse(a.HandOver, to=" ann", why="names someone else", lift="type the name")
    hand.refuse(a.AcceptHandover, "Cy", why="nobody was named", lift="hand over first")
    hand.do(a.HandOver, to="Cy", note="the left side is done")
    hand.expect("handover", role="Cy", prompt="Cy takes over")
    hand.refuse(a.Do, act=0, why="Cy has yet to take over", lift="fetch Cy")
    hand.refuse(a.AcceptHandover, "Dee", why="Cy was named", lift="fetch Cy")
    hand.do(a.AcceptHandover, "cy")
    assert hand.job.performer == "cy"
    hand.refuse(a.TakeBack, why="nothing to take back", lift="a handover")
    hand.expect("act", "open")


def test_where_the_outgoing_person_is_gone_the_incoming_one_takes_over_alone_with_a_reason():
    hand = Hand(HOLD)
    hand.answer()
    hand.refuse(a.TakeOverAlone, "Cy", reason="", why="has a reason", lift="say why")
    hand.refuse(a.TakeOverAlone, "Ann", reason="me", why="Ann is the performer", lift="go on")
    hand.do(a.TakeOverAlone, "Cy", reason="Ann went home")
    assert hand.job.performer == "Cy"
    hand.expect("reconfirm")
    assert hand.happened(e.TakenOver) == [e.TakenOver(by="Cy", reason="Ann went home")]


def test_a_handover_to_a_wrong_name_is_not_a_dead_end():
    hand = Hand(HOLD)
    hand.do(a.HandOver, to="Cyy")
    hand.do(a.TakeOverAlone, reason="I typed a wrong name")
    assert (hand.job.performer, hand.job.handover_to) == ("Ann", "")
    hand.go("act")


def test_the_second_reading_of_one_person_does_not_make_him_a_performer():
    hand = Hand("""\
steps:
  - step: one
    do: One.
    read: {what: Gap, name: gap, unit: mm, band: none, second reading: blind}
    hold point: {released by: checker, asks: So?}
""")
    hand.do(a.Do)
    hand.do(a.Read, name="gap", raw="1")
    hand.do(a.Read, "Bo", name="gap", raw="1")
    hand.do(a.Release, "Bo", released=True)
