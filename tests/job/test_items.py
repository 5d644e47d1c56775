"""Every state of every item kind under every verb, against an expectation written here by hand."""

import pytest

from runner.job import actions as a
from runner.job.items import Fault, table
from tests.job.bench_hand import Hand

NO = None
"""This verb is refused in this state."""

TWO_STATES = {
    # kind: (states, least advanced first or whole first, whole), {verb: {state: the state after}}
    "connection": ("connected", {
        "disconnects": {"connected": "disconnected", "disconnected": NO},
        "connects": {"connected": NO, "disconnected": "connected"},
    }),
    "aid": ("out", {
        "puts in": {"out": "in", "in": NO},
        "takes out": {"out": NO, "in": "out"},
    }),
    "cover": ("on", {
        "takes off": {"on": "off", "off": NO},
        "puts back": {"on": NO, "off": "on"},
    }),
    "fitted part": ("in", {
        "takes out": {"in": "out", "out": NO},
        "fits": {"in": NO, "out": "in"},
    }),
    "fluid": ("full", {
        "drains": {"full": "drained", "drained": NO},
        "fills": {"full": NO, "drained": "full"},
    }),
    "valve": ("shut", {
        "opens": {"shut": "open", "open": NO},
        "shuts": {"shut": NO, "open": "shut"},
    }),
    "lock": ("off", {
        "puts on": {"off": "on", "on": NO},
        "takes off": {"off": NO, "on": "off"},
    }),
}  # fmt: skip

FASTENER_OF_TWO = {
    #            loosens     takes out  starts     tightens 1  tightens 2  re-tightens
    "untouched": ("loosened", "out",    NO,        NO,         NO,         "untouched"),
    "loosened":  (NO,         "out",    "started", NO,         NO,         NO),
    "out":       (NO,         NO,       "started", NO,         NO,         NO),
    "started":   (NO,         "out",    NO,        "stage 1",  NO,         NO),
    "stage 1":   ("loosened", "out",    NO,        NO,         "stage 2",  NO),
    "stage 2":   ("loosened", "out",    NO,        NO,         NO,         "stage 2"),
}  # fmt: skip
VERBS = ("loosens", "takes out", "starts", "tightens 1", "tightens 2", "re-tightens")


def _held(machine, state, verb, after):
    move = machine.move(state, verb)
    if after is NO:
        assert isinstance(move, Fault), (state, verb, move)
        assert move.why
        assert move.lift
    else:
        assert move == after, (state, verb)


@pytest.mark.parametrize("kind", TWO_STATES)
def test_items_of_two_states_move_as_said_and_nothing_is_left_unsaid(kind):
    whole, verbs = TWO_STATES[kind]
    machine = table(kind)
    states = {state for moves in verbs.values() for state in moves}
    assert set(machine.states) == states
    assert (machine.whole, machine.finals) == (whole, (whole,))
    assert set(machine.operations) == set(verbs)
    for verb, moves in verbs.items():
        for state in states:
            _held(machine, state, verb, moves[state])


def test_a_fastener_moves_as_said_in_every_state():
    machine = table("fastener", 2)
    assert machine.states == tuple(FASTENER_OF_TWO)
    assert machine.finals == ("untouched", "stage 2")
    assert set(machine.operations) == set(VERBS)
    for state, row in FASTENER_OF_TWO.items():
        for verb, after in zip(VERBS, row, strict=True):
            _held(machine, state, verb, after)


@pytest.mark.parametrize("stages", range(1, 7))
def test_every_kind_is_total_however_many_stages(stages):
    for kind in (*TWO_STATES, "fastener"):
        machine = table(kind, stages if kind == "fastener" else 0)
        for state in machine.states:
            for verb in machine.operations:
                move = machine.move(state, verb)
                assert isinstance(move, Fault) or move in machine.states
            assert isinstance(machine.move(state, "polishes"), Fault)


@pytest.mark.parametrize("stages", range(1, 7))
def test_final_is_the_last_stage_and_no_stage_can_be_left_out(stages):
    machine = table("fastener", stages)
    assert machine.finals == ("untouched", f"stage {stages}")
    state = "started"
    for number in range(1, stages + 1):
        for later in range(number + 1, stages + 1):
            assert isinstance(machine.move(state, f"tightens {later}"), Fault)
        state = machine.move(state, f"tightens {number}")
    assert state == f"stage {stages}"


def test_a_group_is_as_far_as_its_least_member_and_untouched_counts_as_furthest():
    machine = table("fastener", 2)
    order = sorted(machine.states, key=machine.rank)
    assert order == ["loosened", "out", "started", "stage 1", "stage 2", "untouched"]


KINDS = """\
items:
  bolt: {kind: fastener, tighten: [{snug: hand tight}]}
  plug: {kind: connection}
  wedge: {kind: aid}
  lid: {kind: cover}
  filter: {kind: fitted part}
  oil: {kind: fluid}
  tap: {kind: valve}
  padlock: {kind: lock}
steps:
  - {step: open, do: Open everything., loosens: [bolt], disconnects: [plug], puts in: [wedge], takes off: [lid],
     takes out: [filter], drains: [oil], opens: [tap], puts on: [padlock]}
  - {step: shut, do: Close everything., starts: [bolt], tightens: [bolt], connects: [plug], takes out: [wedge],
     puts back: [lid], fits: [filter], fills: [oil], shuts: [tap], takes off: [padlock]}
"""


def test_every_kind_is_opened_and_closed_by_its_own_verbs_in_the_order_written():
    hand = Hand(KINDS)
    hand.go("shut")
    assert {key: hand.state(key) for key in hand.job.ledger} == {
        "bolt": "loosened", "plug": "disconnected", "wedge": "in", "lid": "off", "filter": "out",
        "oil": "drained", "tap": "open", "padlock": "on",
    }  # fmt: skip
    assert not any(hand.job.is_final(key) for key in hand.job.ledger)
    hand.go("sealed")
    assert all(hand.job.is_final(key) for key in hand.job.ledger)
    assert hand.job.outcome == "finished"
    opened, shut = list(hand.job.ledger), ["bolt", *hand.job.ledger]
    assert [event.item for event in hand.entries_acts()] == opened + shut


def test_a_verb_in_the_wrong_state_shuts_the_gate_and_says_what_would_lift_it():
    hand = Hand("""\
items:
  lid: {kind: cover}
steps:
  - {step: off, do: Take the lid off., takes off: [lid]}
  - {step: again, do: Take it off again., takes off: [lid]}
""")
    hand.go("again")
    hand.expect("blocked", prompt="it is already off", lift="it would have to be on first")
    hand.refuse(a.Do, act=0, why="is already off", lift="on first")


def test_an_item_that_does_not_begin_whole_is_a_debt_from_step_one():
    hand = Hand("""\
items:
  lid: {kind: cover, at start: off}
steps:
  - {step: look, do: Look at the hole.}
""")
    assert hand.state("lid") == "off"
    hand.go("seal")
    hand.refuse(a.Seal, outcome="finished", why="still open: lid", lift="")


RETIGHTEN = """\
items:
  nuts: {kind: fastener, count: 2, tighten: [{torque: 20 N·m ±2 N·m}]}
steps:
  - {step: check, do: Re-tighten the nuts., re-tightens: [nuts]}
  - {step: open, do: Open them., loosens: [nuts]}
  - {step: again, do: Re-tighten them., re-tightens: [nuts]}
"""


def test_re_tightening_acts_on_a_final_or_untouched_fastener_and_leaves_it_so():
    hand = Hand(RETIGHTEN)
    hand.expect("tighten", member=1, big="20 N·m")
    hand.tighten("20")
    hand.expect("tighten", member=2)
    hand.tighten("21")
    assert hand.job.ledger["nuts"].members == ("untouched", "untouched")
    hand.go("again")
    hand.expect("blocked", prompt="loosened, not final", lift="only a final or untouched")
