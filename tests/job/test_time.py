"""Semantic 9: waits, limits and windows by the clock; decided once, replayed; clocks that disagree; across boots."""

import pytest

from runner.job import actions as a
from runner.job import events as e
from runner.job.elapsed import passed
from runner.stamp import Stamp
from tests.job.bench_hand import Hand

WAIT = """\
steps:
  - {step: pour, do: Pour it., wait: 10 min}
  - {step: last, do: Close.}
"""


def test_a_wait_counts_from_the_act_and_is_over_by_itself():
    hand = Hand(WAIT)
    hand.wait(min=30)
    hand.do(a.Do)
    hand.expect("wait", "pour", prompt="10 min left of 10 min")
    hand.refuse(a.Do, why="not now: Wait", lift="answer what is asked first")
    assert hand.wait(min=9, s=59) == ()
    hand.expect("wait", prompt="1 s left", until_ms=1000)
    assert [event.kind for event in hand.wait(s=1)] == ["wait_over", "step_done", "came_to"]
    assert hand.happened(e.WaitOver) == [e.WaitOver(node="pour", basis="running clock")]
    hand.expect("confirm", "last")


def test_a_wait_goes_on_over_a_pause():
    hand = Hand(WAIT)
    hand.do(a.Do)
    hand.do(a.Pause, note="coffee")
    hand.wait(min=20)
    hand.expect("resume")
    assert hand.happened(e.WaitOver) == []
    hand.do(a.Resume)
    hand.go("confirm")
    hand.expect("confirm", "last")


def test_across_boots_the_wall_clock_counts_and_the_record_says_so():
    hand = Hand(WAIT)
    hand.do(a.Do)
    hand.clock.reboot()
    hand.clock.set_wall(h=1)
    hand.tick()
    assert hand.happened(e.WaitOver) == [e.WaitOver(node="pour", basis="wall clock")]


def test_across_boots_a_wall_clock_set_back_is_doubtful_and_a_person_says():
    hand = Hand(WAIT)
    hand.do(a.Do)
    hand.clock.reboot()
    hand.clock.set_wall(h=-1)
    hand.tick()
    hand.expect("doubt", prompt="The clocks disagree", lift="by your own watch")
    hand.refuse(a.Do, why="The clocks disagree", lift="by your own watch")
    hand.tick(says="passed")
    assert hand.happened(e.TimeTold) == [e.TimeTold(subject="wait pour", has_passed=True)]
    assert hand.happened(e.WaitOver) == [e.WaitOver(node="pour", basis="person")]


def test_where_the_clocks_disagree_the_person_may_say_not_yet_and_later_passed():
    hand = Hand(WAIT)
    hand.do(a.Do)
    hand.clock.set_wall(h=2)
    hand.expect("doubt", subject="wait pour")
    assert hand.options() == ["passed", "not yet"]
    hand.tick(says="not yet")
    hand.expect("wait", "pour")
    hand.tick(says="passed")
    hand.expect("confirm", "last")


def test_a_small_step_of_the_wall_clock_is_not_worth_a_question():
    hand = Hand(WAIT)
    hand.do(a.Do)
    hand.clock.wait(min=9, s=59)
    hand.clock.wall_ms += 1500
    hand.expect("wait")


def test_a_word_about_the_clocks_where_they_agree_is_refused():
    hand = Hand(WAIT)
    hand.do(a.Do)
    hand.refuse(a.LetTimePass, says="passed", why="the clocks agree", lift="let the time pass")


@pytest.mark.parametrize(
    ("wall", "mono", "boot", "verdict"),
    [
        (60_000, 60_000, "a", ("passed", "running clock")),
        (59_999, 59_999, "a", ("not yet", "running clock")),
        (61_999, 59_999, "a", ("not yet", "running clock")),
        (62_001, 59_999, "a", ("doubtful", "running clock")),
        (-5, 61_000, "a", ("doubtful", "running clock")),
        (90_000, 61_000, "a", ("passed", "running clock")),
        (60_000, 3, "b", ("passed", "wall clock")),
        (59_999, 3, "b", ("not yet", "wall clock")),
        (-1, 3, "b", ("doubtful", "wall clock")),
    ],
)
def test_whether_a_minute_has_passed(wall, mono, boot, verdict):
    start = Stamp(1_000_000, 0, 1_000, "a")
    now = Stamp(1_000_000 + wall, 0, 1_000 + mono if boot == "a" else mono, boot)
    assert passed(start, now, 60_000) == verdict


LIMIT = """\
items: {lid: {kind: cover}}
steps:
  - {step: mix, do: Mix it.}
  - {step: wipe, do: Wipe the face.}
  - step: join
    do: Join them.
    takes off: [lid]
    in time: {from: mix, within: 10 min, warn at: 7 min, too late: [{step: scrape, do: Scrape it off.}]}
  - {step: shut, do: Shut it., puts back: [lid], only if: {join: too late}}
  - {step: last, do: Close.}
"""
LIMIT = LIMIT.replace("  - {step: shut, do: Shut it., puts back: [lid], only if: {join: too late}}\n", "")


def test_a_time_limit_warns_and_then_becomes_the_answer_too_late():
    hand = Hand(LIMIT)
    hand.go("wipe")
    hand.clock.wait(min=1)
    hand.go("join")
    assert (hand.view.step.limit_ms, hand.view.step.warn) == (9 * 60_000, False)
    hand.wait(min=6)
    assert (hand.view.step.limit_ms, hand.view.step.warn) == (3 * 60_000, True)
    assert hand.wait(min=2, s=59) == ()
    events = hand.wait(s=1)
    assert events[0] == e.TooLate(node="join", basis="running clock")
    assert hand.job.answers == {"join": "too late"}
    hand.expect("confirm", "scrape")
    assert hand.state("lid") == "on"


def test_in_time_it_is_simply_done():
    hand = Hand(LIMIT)
    hand.go("join")
    hand.do(a.Do, act=0)
    hand.expect("confirm", "last")
    hand.wait(h=1)
    assert hand.happened(e.TooLate) == []


STOP_LATE = LIMIT.replace(", too late: [{step: scrape, do: Scrape it off.}]", "").replace(
    "  - {step: last, do: Close.}", "  - {step: shut, do: Shut it., puts back: [lid]}"
)


def test_too_late_stops_where_the_author_says_nothing_and_nothing_takes_the_clocks_word_back():
    hand = Hand(STOP_LATE)
    hand.go("join")
    hand.wait(min=11)
    hand.expect("stop", "join", prompt="too late")
    hand.refuse(a.TakeBack, why="nothing to take back", lift="correct, reopen or note")
    hand.refuse(a.Correct, key="answer join", raw="", reason="the clock is wrong", why="", lift="")
    hand.refuse(a.Do, act=0, why="not now: Stopped", lift="someone other than the performer")
    assert hand.state("lid") == "on"


def test_too_late_in_the_middle_of_the_step_leaves_what_was_done_as_it_is():
    hand = Hand(
        LIMIT.replace(
            "takes off: [lid]", "takes off: [lid]\n    read: {what: Gap, name: gap, unit: mm, band: none}"
        )
    )
    hand.go("join")
    hand.do(a.Do, act=0)
    hand.wait(min=11)
    hand.expect("confirm", "scrape")
    assert hand.state("lid") == "off"
    assert "join" not in hand.job.done


LOOPED = """\
steps:
  - {step: mix, do: Mix it.}
  - {step: cure, do: Let it cure., wait: 10 min}
  - {step: check, ask: Is it hard?, answers: {hard: go on, soft: {again: mix, at most: 1, then: stop}}}
"""


def test_what_a_person_said_of_one_wait_does_not_count_for_the_next_pass_of_a_loop():
    hand = Hand(LOOPED)
    hand.go("cure")
    hand.do(a.Do)
    hand.clock.set_wall(h=2)
    hand.tick()
    hand.tick(says="passed")
    hand.do(a.Answer, label="soft")
    hand.do(a.Do)
    hand.do(a.Do)
    hand.clock.set_wall(h=2)
    hand.tick()
    hand.expect("doubt", "cure", subject="wait cure")


def test_what_the_clock_decided_is_replayed_not_decided_again():
    hand = Hand(WAIT)
    hand.do(a.Do)
    hand.wait(min=11)
    from runner.job.evolve import evolve

    job = hand.first
    for entry in hand.entries:
        job = evolve(job, entry)
    assert job == hand.job


def test_a_wall_clock_set_back_over_a_boot_never_makes_a_wait_longer_than_it_is():
    hand = Hand(WAIT)
    hand.do(a.Do)
    hand.clock.reboot()
    hand.clock.set_wall(h=-1)
    hand.tick(says="not yet")
    hand.expect("wait", "pour", prompt="10 min left of 10 min", until_ms=600_000)
