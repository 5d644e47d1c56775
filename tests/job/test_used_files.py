"""Sub-procedures: called, unfolded, and held to their contract by the joints at both ends."""

from runner.job import actions as a
from runner.job import events as e
from tests.job.bench_hand import Hand

CALLER = """\
conditions: {support: {at start: on wheels, changes: {on wheels: [raised], raised: [on wheels]}}}
items: {lid: {kind: cover}, hose: {kind: connection}}
steps:
  - {step: begin, do: Begin., takes off: [lid]}
  - {use: lifting.yaml}
  - {step: finish, do: Finish., puts back: [lid]}
  - {step: plug, do: Plug it in., connects: [hose]}
  - {step: lower, do: Lower it., sets: {support: on wheels}}
"""
LIFTING = """\
procedure: lifting
title: Lift it
conditions: {support: {at start: on wheels, changes: {on wheels: [raised], raised: [on wheels]}}}
items: {lid: {kind: cover}, hose: {kind: connection}, pin: {kind: aid}}
takes over: {lid: off}
leaves open: {lid: off, hose: disconnected}
ends with: {support: raised}
steps:
  - {step: unplug, do: Unplug it., disconnects: [hose]}
  - {step: pin-in, do: Pin in., puts in: [pin]}
  - {step: raise, do: Raise it., sets: {support: raised}}
  - {step: pin-out, do: Pin out., takes out: [pin]}
"""


def test_a_used_file_is_done_at_its_place_with_its_own_items_and_the_callers():
    hand = Hand(CALLER, lifting=LIFTING)
    hand.go("sealed")
    done = [event.node for event in hand.happened(e.StepDone)]
    assert done == [
        "begin", "lifting/unplug", "lifting/pin-in", "lifting/raise", "lifting/pin-out", "finish", "plug", "lower",
    ]  # fmt: skip
    assert [act.item for act in hand.entries_acts()] == [
        "lid",
        "hose",
        "lifting/pin",
        "lifting/pin",
        "lid",
        "hose",
    ]
    assert hand.job.outcome == "finished"


def test_where_what_it_takes_over_is_not_so_the_call_does_not_begin():
    hand = Hand(CALLER, lifting=LIFTING)
    hand.do(a.Deviate, kind="not done", reason="stuck")
    hand.expect("blocked", prompt="lid is on", lift="lid must be off")
    hand.refuse(a.Do, why="cannot be done yet", lift="lid must be off")
    hand.do(a.Deviate, kind="different order", reason="it reaches past the lid", authority="Bo")
    hand.expect("act", "lifting/unplug")


def test_where_it_does_not_end_as_it_says_the_caller_does_not_go_on():
    hand = Hand(CALLER, lifting=LIFTING)
    hand.go("lifting/unplug")
    hand.do(a.Deviate, kind="not done", reason="no plug here")
    hand.go("blocked")
    hand.expect("blocked", prompt="hose is connected", lift="hose must be disconnected")


def test_a_call_only_for_one_variant():
    text = "variants: {engine: [petrol, diesel]}\n" + CALLER.replace(
        "{use: lifting.yaml}", "{use: lifting.yaml, only for: {engine: diesel}}"
    ).replace("  - {step: plug, do: Plug it in., connects: [hose]}\n", "")
    hand = Hand(text, lifting=LIFTING, choose={"engine": "petrol"})
    hand.answer()
    hand.expect("act", "finish")


def test_a_call_inside_a_repeat_is_done_at_each_place():
    hand = Hand("""\
locations: {side: [left, right]}
items: {lid: {kind: cover, each: side}}
steps:
  - each: side
    steps:
      - {step: open, do: Open., takes off: [lid]}
      - {use: wiping.yaml}
      - {step: shut, do: Shut., puts back: [lid]}
""", wiping="""\
procedure: wiping
steps:
  - {step: wipe, do: Wipe it.}
""")  # fmt: skip
    hand.go("sealed")
    assert [event.node for event in hand.happened(e.StepDone)] == [
        "open@left", "wiping/wipe@left", "shut@left", "open@right", "wiping/wipe@right", "shut@right",
    ]  # fmt: skip
