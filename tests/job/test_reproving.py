"""The proof's answer fits into one entry of the log, whatever the size of the job, and says what it leaves out."""

import json

import pytest

from runner.job import events as e
from runner.job.gates import Gates, Outlook
from runner.job.record import to_record
from runner.job.reproving import LONGEST, MOST_LINES, answered
from tests.job.bench_hand import Clock, Hand
from tests.procedure.procedure_text import linked

LINE_OF_A_LOG = 64 * 1024
TWO = """\
items: {lead: {kind: connection}, cap: {kind: cover}}
steps:
  - {step: off, do: Unplug it., disconnects: [lead]}
  - {step: lift, do: Take it off., takes off: [cap]}
  - {step: on, do: Plug it in., connects: [lead]}
  - {step: cover, do: Put it back., puts back: [cap]}
"""


def size(event: e.Reproved) -> int:
    return len(json.dumps(to_record(e.Entry("Ann", Clock().now(), (event,)))[1], ensure_ascii=False).encode())


def test_a_small_answer_is_kept_whole():
    gates = Gates(proved=True, last_chance={"up": ("angle",)}, allowed={"up": {"bolt": ("stage 1",)}})
    outlook = Outlook(
        gates, closes=("bolt: angle",), lost=(("lead", "open"),), until=(("angle", "before it"),)
    )
    event = answered(outlook)
    assert (event.last_chance, event.allowed) == (gates.last_chance, gates.allowed)
    assert (event.closes, event.lost, event.until) == (outlook.closes, outlook.lost, outlook.until)


def test_allowed_states_of_a_large_job_are_left_out_and_its_last_chances_kept():
    allowed = {f"chapter-{n}/step": {f"bolt-{n}": ("stage 1", "stage 2")} for n in range(2_000)}
    event = answered(Outlook(Gates(proved=True, last_chance={"up": ("angle",)}, allowed=allowed)))
    assert event.allowed == {}
    assert event.last_chance == {"up": ("angle",)}
    assert size(event) < LINE_OF_A_LOG


def test_last_chances_beyond_any_entry_are_left_out_and_that_is_said():
    chances = {f"chapter-{n}/step": (f"angle-{n}",) for n in range(2_000)}
    event = answered(Outlook(Gates(proved=True, last_chance=chances)))
    assert event.last_chance == {}
    assert event.lost == (("", "there are too many last chances ahead to keep: nothing insists on them"),)
    assert size(event) < LINE_OF_A_LOG


def test_many_long_lines_are_cut_and_counted():
    lines = tuple((f"item {n}", "ä" * 500) for n in range(MOST_LINES + 7))
    event = answered(Outlook(Gates(proved=True), closes=tuple(w for _, w in lines), lost=lines, until=lines))
    assert event.lost[-1] == ("", "and 7 more")
    assert event.closes[-1] == "and 7 more"
    assert {len(words) for _, words in event.lost[:-1]} == {LONGEST}
    assert size(event) < LINE_OF_A_LOG


@pytest.mark.parametrize(
    ("lost", "steps", "left"),
    [
        (("lead", "cap", "on", "up"), 0, ("lead", "cap", "on", "up")),
        (("lead", "cap", "on", "up"), 1, ("cap", "up")),
        (("lead", "cap", "cover", "up"), 2, ("up",)),
    ],
)
def test_what_is_done_or_closed_since_is_lost_no_more(
    lost: tuple[str, ...], steps: int, left: tuple[str, ...]
):
    """An item by its final state, a step by its being done; what nothing has to do with stands."""
    hand = Hand(linked(TWO))
    hand.go("on")
    hand.job = hand.job.but(lost=tuple((key, f"about {key}") for key in lost))
    for _ in range(steps):
        hand.answer()
    assert tuple(key for key, _ in hand.job.lost) == left
    assert hand.view.lost == tuple(f"about {key}" for key in left)


def test_what_the_proof_says_of_itself_is_nothing_lost():
    hand = Hand(linked(TWO))
    hand.job = hand.job.but(lost=(("", "it cannot be decided here"), ("lead", "lost")))
    assert hand.view.lost == ("lost",)
