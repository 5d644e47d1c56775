"""Work that waits, and work against the clock."""

from pathlib import Path

from runner.job import actions as a
from runner.job import events as e
from tests.guides.seen import at_keys, log_of, review, screen, shows
from tests.job.bench_hand import Hand

BUSH = """\
locations: {side: [left, right]}
conditions: {support: {at start: raised, changes: {raised: [on wheels], on wheels: [raised]}}}
items: {bush bolt: {kind: fastener, each: side, at start: started, tighten: [{angle: 90°, method: by mark}]}}
steps:
  - each: side
    steps:
      - step: angle
        do: Turn the bush bolt by the mark.
        tightens: [bush bolt]
        put off: {until: {support: on wheels}, before: drive, because: the rubber must sit untwisted}
  - {step: tidy, do: Tidy up.}
  - {step: lower, do: Lower the car., sets: {support: on wheels}}
  - {step: wash, do: Wash it.}
  - {step: drive, do: Drive once round the yard.}
"""

SEALANT = """\
items: {cover: {kind: cover, at start: 'off'}}
steps:
  - {step: glue, do: Put the sealant on.}
  - step: shut
    do: Put the cover back.
    puts back: [cover]
    put off: {until: {time: 4 h, after: glue}, before: end, because: it must dry}
  - step: tidy
    do: Tidy the bench.
    hold point: {released by: checker, asks: Is it tidy?}
  - {step: wash, do: Wash up.}
"""


def test_t1_what_is_not_current_is_watched_and_rings_without_taking_the_screen() -> None:
    """NUREG-0700, 8.2.2-6 (S)."""
    hand = Hand(SEALANT)
    hand.go("tidy")
    hand.do(a.Do)
    hands, run = at_keys(hand)
    hands.press("escape")
    hand.clock.wait(h=5)
    hands.desk.tick()
    assert hands.desk.ring
    shown = hands.screen()
    assert "Cue: Put the cover back." in shown
    assert "Tidy the bench." in shown
    assert run.job.node is not None
    assert run.job.node.id == "tidy"
    assert run.view.demand.kind == "hold"


LIMIT = """\
steps:
  - {step: mix, do: Mix it.}
  - step: join
    do: Join them.
    in time: {from: mix, within: 10 min, warn at: 7 min, too late: [{step: scrape, do: Scrape it off.}]}
  - {step: last, do: Close.}
"""


def test_t2_a_timed_step_warns_beforehand_and_its_start_and_due_time_are_in_the_record(
    tmp_path: Path,
) -> None:
    """DOE-STD-1029-92, section 4 (S)."""
    hand = Hand(LIMIT)
    hand.do(a.Do)
    begun = hand.clock.now().mono_ms
    assert shows(hand, "10:00 left")
    assert not shows(hand, "HURRY")
    hand.wait(min=7, s=1)
    hand.do(a.Note, text="still stirring")
    assert shows(hand, "HURRY: 2:59 left")
    (done,) = (
        entry for entry in hand.entries if any(isinstance(event, e.StepDone) for event in entry.events)
    )
    limit = hand.procedure.by_id["join"].in_time
    assert limit is not None
    assert done.stamp.mono_ms == begun
    assert hand.wait(min=2, s=58) == ()
    assert hand.wait(s=1)[0] == e.TooLate(node="join", basis="running clock")
    assert hand.entries[-1].stamp.mono_ms == begun + limit.within
    assert "TOO LATE" in review(log_of(hand, tmp_path))


def test_t3_what_to_do_when_the_time_was_missed_is_said_beforehand_or_the_work_stops() -> None:
    """DOE-STD-1029-92, section 4 (S)."""
    for text, kind in (
        (LIMIT, "confirm"),
        (LIMIT.replace(", too late: [{step: scrape, do: Scrape it off.}]", ""), "stop"),
    ):
        hand = Hand(text)
        hand.do(a.Do)
        hand.wait(min=11)
        assert hand.demand.kind == kind
        assert hand.at == ("scrape" if kind == "confirm" else "join")


def test_t4_each_time_a_cue_is_passed_by_is_logged_and_the_list_says_until_when(tmp_path: Path) -> None:
    """DOE-STD-1029-92, section 4 (S)."""
    hand = Hand(BUSH)
    hand.go("cue")
    for key in ("angle@left", "angle@right"):
        hand.do(a.PassBy, key=key, reason="wash first")
        assert shows(hand, "before Drive once round the yard.", 120, 40)
    hand.do(a.Do)
    hand.refuse(a.PassBy, key="angle@left", why="due now", lift="take it up")
    told = review(log_of(hand, tmp_path))
    assert told.partition("Everything in its order")[2].count("cue passed by") == 2
    assert "REFUSED pass by" in told


def test_t5_what_is_put_off_its_trigger_and_by_whom_are_kept(tmp_path: Path) -> None:
    """Dismukes 2006, on concurrent tasks and prospective memory (S)."""
    hand = Hand(BUSH)
    hand.go("tidy")
    listed = [line for line in hand.view.owed if line.where == "left"]
    assert [(line.what, line.trigger, line.before, line.why) for line in listed] == [
        ("Turn the bush bolt by the mark.", "support is on wheels", "Drive once round the yard.",
         "the rubber must sit untwisted"),
    ]  # fmt: skip
    hand.do(a.PutOff, "Dee", reason="the broom is away")
    assert hand.entries[-1].who == "Dee"
    assert " Dee: put off outside the plan: Tidy up.: the broom is away" in review(log_of(hand, tmp_path))


def test_t6_what_is_put_off_is_counted_in_its_own_place_with_what_where_and_when() -> None:
    """Reason 2002, Combating omission errors through task analysis and good reminders (S)."""
    hand = Hand(BUSH)
    counts = []
    hand.go("tidy")
    while hand.job.phase == "working":
        rows = screen(hand)
        place = next(at for at, row in enumerate(rows) if "Put off: " in row)
        counts.append((place, rows[place].split("Put off: ")[1].split(" ")[0].rstrip(",")))
        if not hand.job.hand and counts[-1][1] == "2":
            assert "left: Turn the bush bolt by the mark." in rows[place + 1]
            assert "support is on wheels" in rows[place + 1] or "NOW" in rows[place + 1], (
                "when, until it is now"
            )
            assert "right: Turn the bush bolt by the mark." in rows[place + 2]
        hand.answer()
    assert [count for _, count in counts] == ["2", "2", "2", "2", "1", "1", "nothing", "nothing"], (
        "in hand it is still owed"
    )
    assert len({place for place, _ in counts}) == 1


def test_t7_the_cue_names_the_act_and_the_place_and_comes_just_when_it_can_be_done() -> None:
    """Chung & Byrne 2008, Cue effectiveness in mitigating postcompletion errors (S)."""
    hand = Hand(BUSH)
    asked = []
    while len(asked) < 5:
        asked.append((hand.demand.kind, hand.demand.prompt))
        hand.answer()
    assert asked[:3] == [
        ("confirm", "Tidy up."),
        ("confirm", "Lower the car."),
        ("cue", "Now is the time: left: Turn the bush bolt by the mark."),
    ]


def test_t8_the_job_is_not_finished_while_anything_put_off_is_open() -> None:
    """Wilson 2019, on deferred work (our inference, not the paper's words)."""
    hand = Hand(BUSH.replace("before: drive", "before: end"))
    hand.go("cue")
    for key in ("angle@left", "angle@right"):
        hand.do(a.PassBy, key=key)
    hand.do(a.Do)
    hand.do(a.Do)
    hand.refuse(a.Seal, outcome="finished", why="Turn the bush bolt by the mark.", lift="take it up now")
    hand.refuse(a.CloseOut, line=0, why="Turn the bush bolt by the mark.", lift="take it up now")
    hand.go("sealed")
    assert hand.job.outcome == "finished"
