"""What is laid out before step 1 says all that the author wrote of it; open ends of a band do not belong to it."""

from runner.job import actions as a
from tests.job.bench_hand import Hand

LAID_OUT = """\
locations: {side: [left, right]}
tools: [{name: torque wrench, covers: 20 to 130 N·m}]
parts: [{name: clip, number: C-7, each: side, quantity: 2}]
documents: [Wiring sheet 4]
steps:
  - {step: look, do: Look at it.}
"""

OPEN_ENDS = """\
steps:
  - step: gap
    read: {what: Gap, name: gap, unit: mm, %s}
"""


def test_a_tool_says_what_it_covers_a_part_how_many_and_a_document_is_asked_for() -> None:
    hand = Hand(LAID_OUT, begin=False)
    hand.do(a.Start, work_piece="T-1")
    labels = {option.key: option.label for option in hand.demand.options}
    assert labels["tool:torque wrench"] == "torque wrench, covers 20 to 130 N·m"
    assert labels["part:clip"] == "4 × clip, number C-7"
    assert labels["document:Wiring sheet 4"] == "Wiring sheet 4"


def test_above_and_below_shut_the_limit_itself_out() -> None:
    for band, inside, outside in (("band: above 5 mm", "5.1", "5"), ("band: below 5 mm", "4.9", "5")):
        hand = Hand(OPEN_ENDS % band)
        hand.refuse(a.Read, name="gap", raw=outside, why="5", lift="")
        hand.do(a.Read, name="gap", raw=inside)
