"""P23: every way back to a recorded condition, from every value that may be found."""

import pytest

from runner.job import actions as a
from runner.proof.local import walk
from tests.job.bench_hand import Hand
from tests.proof.local_text import lines, told

THREE = """\
conditions:
  support:
    at start: low
    changes: {low: [middle, high], middle: [low, high], high: [%s]}
    getting there: {low: lower}
"""
LOWER = """\
steps:
  - {step: raise, do: Raise it., sets: {support: high}}
  - step: lower
    do: Lower it.
%s    sets: {support: low}
"""


def test_every_value_found_can_change_back():
    assert lines(THREE % "middle, low" + LOWER % "") == []
    assert lines(THREE % "middle" + LOWER % "") == [
        "8:11 way-back-broken: on the way back to support low, where it is found high:"
        " support may not go from high to low"
    ]
    assert [(one.grade, one.node) for one in told(THREE % "middle" + LOWER % "")] == [
        ("warning", "detour:support=low/lower")
    ]


def test_the_need_of_a_step_on_the_way_back():
    needs = "    needs: {support: [%s]}\n"
    assert lines(THREE % "low" + LOWER % (needs % "high, middle")) == []
    assert lines(THREE % "low" + LOWER % (needs % "high")) == [
        "8:11 way-back-broken: on the way back to support low, where it is found middle:"
        " support must be high here, and it is middle"
    ]


def test_the_first_step_of_a_way_back_is_done_whatever_its_guard_says():
    body = THREE % "low" + LOWER % "    only if: {support: high}\n"
    hand = Hand(body)
    hand.do(a.FoundCondition, name="support", value="middle")
    assert hand.at == "detour:support=low/lower"
    assert lines(body) == []


def test_other_conditions_and_items_are_taken_to_be_as_needed():
    power = "conditions:\n  power: {at start: on, changes: {on: [off], off: [on]}}\n"
    items = "items: {pin: {kind: aid}}\n"
    needs = "    needs: {power: off, pin: in}\n"
    body = THREE.replace("conditions:\n", power) % "low" + items + LOWER % needs
    assert lines(body) == []


FILE = """\
conditions:
  support: {at start: %s, changes: {low: [middle], middle: [low, high], high: [middle]}}
ends with: {support: low}
"""
CALLER = """\
conditions:
  support:
    at start: low
    changes: {low: [middle], middle: [low, high], high: [middle]}
    getting there: {low: lower.yaml}
steps:
  - {step: up, do: Raise it., sets: {support: middle}}
  - {step: higher, do: Raise it., sets: {support: high}}
"""
ONE_STEP = "steps: [{step: down, do: Lower it., sets: {support: low}}]"
TWO_STEPS = """\
steps:
  - {step: half, do: Lower it half., only if: {support: high}, sets: {support: middle}}
  - {step: down, do: Lower it., sets: {support: low}}
"""
ON_THE_WAY = "5:26 way-back-broken: on the way back to support low, where it is found "


def test_a_file_is_walked_from_its_joint_to_its_end():
    assert lines(CALLER, lower=FILE % "[middle, high]" + TWO_STEPS) == []
    assert lines(CALLER, lower=FILE % "[middle, high]" + ONE_STEP) == [
        "lower.yaml 4:16 way-back-broken: on the way back to support low, where it is found high:"
        " support may not go from high to low"
    ]
    assert lines(CALLER, lower=FILE % "middle" + TWO_STEPS) == [
        ON_THE_WAY + "high: support must be middle here, and it is high"
    ]


def test_an_answer_that_leads_past_the_change():
    asks = """\
steps:
  - step: look
    ask: Does it stand low already?
    answers:
      it does: %s
      it does not:
        - {step: half, do: Lower it half., only if: {support: high}, sets: {support: middle}}
        - {step: down, do: Lower it., sets: {support: low}}
"""
    assert lines(CALLER, lower=FILE % "[middle, high]" + asks % "stop") == []
    assert lines(CALLER, lower=FILE % "[middle, high]" + asks % "go on") == [
        ON_THE_WAY + "middle: support must be low here, and it is middle",
        ON_THE_WAY + "high: support must be low here, and it is high",
    ]


def test_an_earlier_answer_of_the_way_back_is_remembered():
    asks = """\
steps:
  - {step: look, ask: How high?, answers: {very: go on, half: go on}}
  - {step: half, do: Lower it half., only if: {look: very}, sets: {support: middle}}
  - {step: down, do: Lower it., only if: {look: %s}, sets: {support: low}}
"""
    used = FILE % "middle" + asks % "half"
    assert lines(CALLER, lower=used.replace("at start: middle", "at start: [middle, high]")) == [
        ON_THE_WAY + "middle or high: support must be low here, and it is middle",
        "lower.yaml 7:12 way-back-broken: on the way back to support low, where it is found high:"
        " support may not go from high to low",
    ]


STOPS = """\
steps: [{step: look, only if: {support: [middle, high]}, ask: How is it?, answers: {high: stop, low: stop}}]
"""


def test_a_way_that_nobody_comes_back_by():
    used = FILE % "[middle, high]" + STOPS
    assert lines(CALLER, lower=used) == [ON_THE_WAY + "middle or high: every way ends in a stop"]


def test_a_refused_hold_point_and_a_late_step_change_nothing():
    hold = "hold point: {released by: checker, asks: Is it low?, if refused: %s}"
    used = FILE % "middle" + "steps: [{step: down, do: Lower it., %s, sets: {support: low}}]"
    caller = CALLER.replace("low, high], high: [middle]", "low]").replace(
        "  - {step: higher, do: Raise it., sets: {support: high}}\n", ""
    )
    used = used.replace("low, high], high: [middle]", "low]")
    people = "people: {performer: 1, checker: 1}\n"
    refused = "[{step: note, do: Write it down.}]"
    assert lines(caller, lower=people + used % (hold % "stop")) == []
    assert lines(caller, lower=people + used % (hold % refused)) == [
        ON_THE_WAY + "middle: support must be low here, and it is middle"
    ]
    late = """\
steps:
  - {step: begin, do: Begin.}
  - step: down
    do: Lower it.
    in time: {from: begin, within: 1 min, too late: [{step: note, do: Write it down.}]}
    sets: {support: low}
"""
    assert lines(caller, lower=used[: used.index("steps:")] + late) == [
        ON_THE_WAY + "middle: support must be low here, and it is middle"
    ]


def by_step(acts: str, item: str = "{kind: cover}") -> list[str]:
    """A way back by one step with some acts on the item `lid`, the last step of the job."""
    return lines(
        f"""\
conditions:
  support: {{at start: low, changes: {{low: [high], high: [low]}}, getting there: {{low: lower}}}}
items: {{lid: {item}}}
steps:
  - {{step: raise, do: Raise it., sets: {{support: high}}}}
  - {{step: lower, do: Lower it., {acts}sets: {{support: low}}}}
"""
    )


LEFT = "6:12 way-back-broken: on the way back to support low, where it is found high: "


def test_an_item_is_left_as_it_was_found():
    assert by_step("takes off: [lid], puts back: [lid], ") == []
    assert by_step("puts back: [lid], takes off: [lid], ") == []
    assert by_step("takes off: [lid], ") == [
        LEFT + '"lid" is not left as it was found: it is off where it was on'
    ]


def test_an_act_that_cannot_follow_the_one_before():
    acts = """\
items: {lid: {kind: cover}}
steps:
  - {step: open, do: Open it., takes off: [lid]}
  - {step: down, do: Lower it., only if: {support: high}, sets: {support: middle}}
  - {step: again, do: Look again., takes off: [lid]}
  - {step: shut, do: Shut it., puts back: [lid], sets: {support: low}}
"""
    assert lines(CALLER, lower=FILE % "[middle, high]" + acts) == [
        "lower.yaml 8:12 way-back-broken: on the way back to support low, where it is found middle or high:"
        ' takes off "lid": it is already off'
    ]


@pytest.mark.parametrize(
    ("tighten", "told_of"),
    [
        ("[{torque: 50 N·m}]", ""),
        ("[{snug: by hand}, {torque: 50 N·m}]", "it is stage 2 where it was stage 1"),
        ("[{torque: 50 N·m, only when: {support: low}}]", '"lid" cannot get 50 N·m, 48 to 52 N·m here'),
    ],
)
def test_a_fastener_is_final_again_or_as_far_as_it_was(tighten: str, told_of: str):
    tolerance = tighten.replace("50 N·m", "50 N·m ±4 %")
    found = by_step(
        "loosens: [lid], starts: [lid], tightens: [lid], ", f"{{kind: fastener, tighten: {tolerance}}}"
    )
    found = [line for line in found if "no-tool" not in line]
    assert len(found) == bool(told_of)
    assert told_of in "".join(found)


def test_walking_is_given_up_in_words(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(walk.Strength.__init__, "__defaults__", (1,))
    assert lines(CALLER, lower=FILE % "[middle, high]" + TWO_STEPS) == [
        ON_THE_WAY + "middle or high: there are too many ways through it to look at each"
    ]
