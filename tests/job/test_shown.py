"""What an author writes for a person to read reaches the picture: nothing is parsed and then ignored."""

from runner.picture import picture
from tests.job.bench_hand import Hand

SHOWN = """\
sources: [The maker's sheet 12]
tools: [{name: torque wrench, covers: 20 to 130 N·m}, {name: soft brush}]
items:
  bolts:
    {kind: fastener, at start: started, count: 2, thread: M12x1.5, class: 10.9, number one: the front one,
     tighten: [{torque: 50 N·m ±4 %}]}
steps:
  - step: brush
    do: Brush the seat.
    tools: [soft brush]
    expect: The seat shines.
    because: Dirt settles later.
    helper: Hold the lamp.
    sketch: |
      [ seat ]
        |  |
  - {step: tight, tightens: [bolts]}
"""


def test_texts_and_tools_of_a_step_are_in_the_picture():
    hand = Hand(SHOWN)
    step = picture(hand.job).step
    assert step is not None
    assert (step.expect, step.because, step.helper) == (
        "The seat shines.",
        "Dirt settles later.",
        "Hold the lamp.",
    )
    assert step.tools == ("soft brush soft brush no. 1",), "the tool and what is written on it"
    assert step.sketch == "[ seat ]\n  |  |"


def test_what_is_known_of_a_fastener_stands_beside_its_value():
    hand = Hand(SHOWN)
    hand.go("tighten")
    demand = picture(hand.job).demand
    assert demand.about == "M12x1.5, class 10.9, number 1 is the front one"
    assert (demand.big, demand.band, demand.tool) == (
        "50 N·m",
        "48 to 52 N·m",
        "torque wrench torque wrench no. 1",
    )


def test_what_a_procedure_goes_by_is_named():
    assert picture(Hand(SHOWN, begin=False).job).identity.sources == ("The maker's sheet 12",)
