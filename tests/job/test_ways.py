"""Semantic 1: one step is current, and the way ahead is decided by answers, choices, conditions and limits only."""

from runner.job import actions as a
from runner.job import events as e
from tests.job.bench_hand import Hand


def _steps(hand: Hand, end: str = "sealed") -> list[str]:
    hand.go(end)
    return [event.node for event in hand.happened(e.StepDone)]


SIDES = """\
locations: {side: [left, right]}
items: {lid: {kind: cover, each: side}}
steps:
  - {step: begin, do: Begin.}
  - each: side
    steps:
      - {step: open, do: Open it., takes off: [lid]}
      - {step: shut, do: Shut it., puts back: [lid]}
  - {step: finish, do: Finish.}
"""


def test_a_repeated_block_is_done_at_every_location_in_the_order_written_and_entered_and_left_at_its_ends():
    hand = Hand(SIDES)
    assert _steps(hand) == ["begin", "open@left", "shut@left", "open@right", "shut@right", "finish"]
    assert [act.item for act in hand.entries_acts()] == ["lid@left", "lid@left", "lid@right", "lid@right"]


def test_only_the_current_step_can_be_done():
    hand = Hand(SIDES)
    hand.go("open@left")
    hand.expect("act", "open@left", subject="lid@left")
    hand.refuse(a.Do, act=1, why="not now", lift="answer what is asked")
    hand.refuse(a.Do, why="not now: Take off lid, left", lift="answer what is asked first")
    assert hand.view.step.place == "left"


CHOSEN = SIDES.replace("{side: [left, right]}", "{side: {choose at start: [left, right]}}")


def test_choose_at_start_picks_the_one_location_that_is_done_and_the_items_that_exist():
    hand = Hand(CHOSEN, choose={"side": "right"})
    assert _steps(hand) == ["begin", "open@right", "shut@right", "finish"]
    assert [item.key for item in hand.view.items] == ["lid@right"]


def test_the_location_is_asked_before_step_one_and_is_one_of_those_written():
    hand = Hand(CHOSEN, begin=False)
    hand.do(a.Start, work_piece="T-1")
    hand.expect("choose", subject="side", prompt="Which location: side?")
    hand.refuse(
        a.ChooseLocation, name="side", value="middle", why="'middle' is not one of them", lift="left, right"
    )
    hand.refuse(a.ChooseLocation, name="door", value="left", why="not now", lift="answer what is asked")
    hand.refuse(a.MeetPrerequisite, key="person:checker", value="Bo", why="not now", lift="answer")
    hand.do(a.ChooseLocation, name="side", value="left")
    assert hand.demand.kind == "prepare"


VARIANT = """\
variants: {engine: [petrol, diesel]}
locations: {side: [left, right]}
steps:
  - {step: plugs, do: Look at the plugs., only for: {engine: petrol}}
  - only for: {engine: diesel}
    steps:
      - {step: glow, do: Look at the glow plugs.}
      - {step: rail, do: Look at the rail.}
  - each: side
    steps:
      - {step: hard, do: Mind the pipe on this side., only for: {side: right}}
      - {step: both, do: Look at both.}
"""


def test_only_for_a_variant_chosen_at_the_start():
    assert _steps(Hand(VARIANT, choose={"engine": "petrol"})) == [
        "plugs",
        "both@left",
        "hard@right",
        "both@right",
    ]
    assert _steps(Hand(VARIANT, choose={"engine": "diesel"}))[:2] == ["glow", "rail"]
    assert "plugs" not in _steps(Hand(VARIANT, choose={"engine": "diesel"}))


def test_only_for_one_location_because_one_side_is_harder_than_the_other():
    done = _steps(Hand(VARIANT, choose={"engine": "petrol"}))
    assert "hard@right" in done
    assert "hard@left" not in done


ANSWERS = """\
steps:
  - step: boot
    ask: The boot is
    answers:
      whole: go on
      cut: [{step: tape, do: Tape it.}]
      torn:
        - {step: order, do: Order a joint.}
        - step: stock
          ask: In stock?
          answers: {here: go on, gone: [{step: wait-for, do: Write the order number down.}]}
  - {step: grease, do: Grease it., only if: {boot: [whole, cut]}}
  - {step: tag, do: Tag it., only if: {boot: torn}}
  - {step: last, do: Look once more.}
"""


def test_ways_nest_and_rejoin():
    def way(**answers: str) -> list[str]:
        hand = Hand(ANSWERS)
        hand.answers = answers
        return _steps(hand)

    assert way(boot="whole") == ["boot", "grease", "last"]
    assert way(boot="cut") == ["boot", "tape", "grease", "last"]
    assert way(boot="torn", stock="here") == ["boot", "order", "stock", "tag", "last"]
    assert way(boot="torn", stock="gone") == ["boot", "order", "stock", "wait-for", "tag", "last"]


def test_a_question_takes_only_its_own_answers_and_is_not_looked_at():
    hand = Hand(ANSWERS)
    hand.expect("question", "boot", prompt="The boot is")
    hand.refuse(a.Answer, label="fine", why="'fine' is not one of the answers", lift="whole, cut, torn")
    hand.refuse(a.Look, label="whole", why="not now", lift="answer what is asked")
    hand.do(a.Answer, label="torn")
    assert hand.job.answers == {"boot": "torn"}


def test_only_if_on_a_part_is_read_once_at_its_head():
    text = """\
conditions: {lid: {at start: shut, changes: {shut: [open], open: [shut]}}}
steps:
  - only if: {lid: shut}
    steps:
      - {step: open, do: Open the lid., sets: {lid: open}}
      - {step: inside, do: Look inside.}
  - {step: last, do: Look once more., only if: {lid: shut}}
  - {step: end-of-it, do: Done.}
"""
    assert [name for name in _steps(Hand(text)) if ":" not in name] == ["open", "inside", "end-of-it"]


LOOP = """\
items: {plug: {kind: connection}}
steps:
  - {step: wipe, do: Wipe the face.}
  - step: check
    do: Look at the face.
    danger: {hazard: Sharp edge., consequence: cuts, avoid: gloves}
    look for: What does the face look like?
    answers: {clean: go on, dirty: {again: wipe, at most: 2, then: stop}}
  - {step: last, do: Close up.}
"""


def test_a_way_back_says_how_often_and_then_stops():
    hand = Hand(LOOP)
    for _ in range(3):
        hand.expect("confirm", "wipe")
        hand.go("look")
        hand.do(a.Look, label="dirty")
    assert [event.limit for event in hand.happened(e.LoopTaken)] == ["check:dirty", "check:dirty"]
    hand.expect("stop", "check", prompt="dirty")
    assert [event.node for event in hand.happened(e.StepDone)].count("check") == 2


def test_at_the_stop_of_a_used_up_way_back_the_face_can_be_looked_at_again_without_redoing_the_step():
    hand = Hand(LOOP)
    for _ in range(3):
        hand.go("look")
        hand.do(a.Look, label="dirty")
    hand.do(a.Look, label="clean")
    hand.expect("confirm", "last")


def test_a_stop_behind_a_used_up_way_back_sets_nothing():
    hand = Hand("""\
conditions: {support: {at start: raised, changes: {raised: [on wheels], on wheels: [raised]}}}
steps:
  - {step: wipe, do: Wipe it.}
  - step: check
    ask: Does it stand?
    answers: {"yes": go on, "no": {again: wipe, at most: 1, then: stop}}
    sets: {support: on wheels}
  - {step: last, do: Close.}
""")
    hand.answers = {"check": "no"}
    hand.go("question")
    hand.job = hand.job.but(loops={"check:no": 1})
    hand.do(a.Answer, label="no")
    hand.expect("stop", "check")
    assert hand.job.conditions == {"support": "raised"}


LOOP_THEN = LOOP.replace("then: stop", "then: [{step: send, do: Send it out.}]")


def test_then_may_be_any_way():
    hand = Hand(LOOP_THEN)
    hand.answers = {"check": "dirty"}
    assert _steps(hand)[-3:] == ["check", "send", "last"]


NESTED_AGAIN = """\
steps:
  - {step: wipe, do: Wipe.}
  - step: check
    ask: It is
    answers:
      clean: go on
      dirty:
        - {step: solvent, do: Use solvent.}
        - {again: wipe, at most: 1, then: go on}
  - {step: last, do: Close.}
"""


def test_a_way_back_at_the_end_of_a_nested_list():
    hand = Hand(NESTED_AGAIN)
    hand.answers = {"check": "dirty"}
    done = [name for name in _steps(hand) if ":" not in name]
    assert done == ["wipe", "check", "solvent", "wipe", "check", "solvent", "last"]


def test_the_answer_of_the_second_pass_of_a_loop_is_the_one_that_counts():
    hand = Hand("""\
steps:
  - {step: wipe, do: Wipe.}
  - {step: colour, ask: The rag is, answers: {white: go on, black: go on}}
  - {step: check, ask: It is, answers: {clean: go on, dirty: {again: wipe, at most: 2, then: stop}}}
  - {step: oil, do: Oil it., only if: {colour: white}}
  - {step: last, do: Close.}
""")
    hand.answers = {"colour": "black", "check": "dirty"}
    hand.go("check")
    hand.answer()
    hand.answers = {"colour": "white", "check": "clean"}
    assert _steps(hand)[-3:] == ["check", "oil", "last"]


SORTED = """\
steps:
  - step: runout
    do: Put the gauge on.
    read:
      what: Runout
      name: runout
      unit: mm
      sorted: {at most 0.05 mm: go on, up to 0.10 mm: [{step: skim, do: Skim it.}], above: stop}
  - {step: last, do: Close., only if: {runout: ["at most 0.05 mm", "up to 0.10 mm"]}}
"""


def test_a_reading_sorted_into_named_bands_decides_the_way():
    for raw, steps in (("0.05", ["runout", "last"]), ("0,051", ["runout", "skim", "last"]),
                       ("0.10", ["runout", "skim", "last"])):  # fmt: skip
        hand = Hand(SORTED)
        hand.values = {"runout": raw}
        assert _steps(hand) == steps, raw
    hand = Hand(SORTED)
    hand.values = {"runout": "0.101"}
    hand.go("stop")
    hand.expect("stop", "runout", prompt="above")


def test_at_a_stop_of_a_sorted_reading_it_is_measured_again():
    hand = Hand(SORTED)
    hand.values = {"runout": "0.3"}
    hand.go("stop")
    hand.refuse(a.Read, name="runout", raw="much", why="much", lift="type")
    hand.do(a.Read, name="runout", raw="0.04")
    hand.expect("confirm", "last")
    assert [event.raw for event in hand.happened(e.ReadingTaken)] == ["0.3", "0.04"]


STOPS = """\
conditions: {support: {at start: raised, changes: {raised: [on wheels], on wheels: [raised]}}}
items: {lid: {kind: cover}}
steps:
  - {step: open, do: Open it., takes off: [lid]}
  - step: rock
    do: Push the car.
    look for: What does it do?
    answers:
      it rocks: stop
      it stays still: go on
      it tips:
        - {step: lower, do: Lower it., sets: {support: on wheels}}
        - stop
    sets: {support: on wheels}
  - {step: last, do: Shut it., puts back: [lid]}
make safe: {raised: [Leave the stands], on wheels: [Chock the wheels], always: [Tag the keys]}
"""


def _stopped(label: str = "it rocks") -> Hand:
    hand = Hand(STOPS)
    hand.go("look")
    hand.do(a.Look, label=label)
    return hand


def test_at_stop_nothing_is_set_and_the_gate_takes_nothing_but_what_the_stop_allows():
    hand = _stopped()
    hand.expect("stop", "rock", lift="look again")
    assert hand.job.conditions == {"support": "raised"}
    hand.refuse(a.Do, why="not now: Stopped at", lift="look again")
    hand.refuse(a.PutOff, reason="later", why="no step in hand", lift="take up")
    hand.refuse(a.NotApplicable, subject="", reason="no", why="not now", lift="")
    hand.refuse(a.Seal, outcome="finished", why="not now: Stopped", lift="look again")


def test_at_stop_one_looks_again():
    hand = _stopped()
    hand.do(a.Look, label="it stays still")
    hand.expect("act", "last")
    assert hand.job.conditions == {"support": "on wheels"}


def test_at_stop_one_takes_back():
    hand = _stopped()
    hand.do(a.TakeBack, reason="wrong key")
    hand.expect("look", "rock")


def test_at_stop_one_reopens_notes_and_hands_over():
    hand = Hand(STOPS.replace("{step: open, do: Open it., takes off: [lid]}",
                              "{step: open, do: Open it., takes off: [lid]}\n"
                              "  - {step: shut, do: Shut it., puts back: [lid]}\n"
                              "  - {step: open-2, do: Look.}"))  # fmt: skip
    hand.go("look")
    hand.do(a.Look, label="it rocks")
    hand.do(a.Note, text="the stand sinks")
    hand.do(a.Reopen, item="lid", state="off", reason="to see inside")
    hand.expect("stop", "rock")
    hand.do(a.TakeUp, key=hand.owed()[0])
    hand.expect("act", "shut", subject="lid")
    hand.answer()
    hand.expect("stop", "rock", prompt="it rocks")
    hand.do(a.HandOver, to="Cy")
    hand.expect("handover")
    hand.do(a.AcceptHandover, "Cy")
    hand.expect("stop", "rock")


def test_at_stop_one_goes_on_only_by_the_word_of_someone_else():
    hand = _stopped()
    hand.refuse(a.Deviate, kind="go on", reason="it holds", why="someone other than", lift="name that person")
    hand.refuse(
        a.Deviate,
        kind="go on",
        reason="it holds",
        authority="ann",
        why="someone other than",
        lift="name that",
    )
    hand.do(a.Deviate, kind="go on", reason="it holds", authority="Bo")
    hand.expect("act", "last")
    assert hand.job.conditions == {"support": "on wheels"}
    assert hand.view.open_points[0].text.startswith("go on")


def test_at_stop_one_makes_safe_and_abandons():
    hand = _stopped()
    hand.do(a.Seal, outcome="abandoned", reason="it rocks")
    assert [option.label for option in hand.demand.options] == ["Leave the stands", "Tag the keys"]


def test_a_step_before_a_written_stop_is_done_and_sets_what_it_sets():
    hand = _stopped("it tips")
    hand.expect("confirm", "lower")
    hand.do(a.Do)
    hand.expect("stop", "lower")
    assert hand.job.conditions == {"support": "on wheels"}
    hand.do(a.Seal, outcome="abandoned", reason="it tips")
    assert [option.label for option in hand.demand.options] == ["Chock the wheels", "Tag the keys"]


def test_a_stop_comes_behind_the_hold_point_of_its_step():
    hand = Hand("""\
steps:
  - step: rock
    do: Push the car.
    look for: What does it do?
    answers: {it rocks: stop, it stays still: go on}
    hold point: {released by: checker, asks: Does it stand?}
  - {step: last, do: Go on.}
""")
    hand.go("look")
    hand.do(a.Look, label="it rocks")
    hand.expect("hold", "rock")
    hand.do(a.Release, "Bo", released=True)
    hand.expect("stop", "rock")
    hand.do(a.Deviate, kind="go on", reason="only the door", authority="Bo")
    hand.expect("confirm", "last")


def test_a_stop_offers_what_may_be_given_once_more():
    hand = _stopped()
    assert [option.key for option in hand.demand.options] == ["it rocks", "it stays still", "it tips"]
    hand = Hand(SORTED)
    hand.values = {"runout": "0.3"}
    hand.go("stop")
    assert (hand.demand.subject, hand.demand.unit) == ("runout", "mm")
    hand.expect("stop", lift="measure again")


BACK_AND_STOP = """\
steps:
  - {step: push-test, do: Push the car., look for: How does it stand?, answers: {
      it rocks: [{step: set-again, do: Set the stands anew.}, {again: push-test, at most: 1, then: stop}],
      it stands: go on}}
"""


def test_a_way_back_that_is_used_up_is_told_by_what_was_done_not_by_a_name():
    hand = Hand(BACK_AND_STOP)
    hand.go("look")
    hand.do(a.Look, label="it rocks")
    hand.go("look")
    hand.do(a.Look, label="it rocks")
    hand.go("stop")
    hand.expect("stop", prompt="Push the car. (done again as often as it may be)")
    assert "look again" not in hand.demand.lift
