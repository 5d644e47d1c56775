"""Issue 4 at the gate: the number to set on the wrench in hand, what is recorded of it, and wrenches not fit for it."""

import pytest

from runner.job import actions as a
from runner.job import events as e
from runner.job.beginning_and_end import point_words
from runner.joint.wrench import Certificate, Extension, Wrench
from tests.job.bench_hand import Hand

JOB = """\
tolerance: {torque: ±4 %}
tools: [{name: torque wrench, covers: 20 to 150 N·m}]
items:
  bolts: {kind: fastener, count: 4, tighten: [{torque: 15 N·m ±3 N·m}, {torque: 60 N·m, order: star}]}
  stud: {kind: fastener, tighten: [{torque: 140 N·m, method: [click]}]}
steps:
  - {step: out, do: Out., takes out: [bolts, stud]}
  - {step: in, do: In., starts: [bolts, stud]}
  - {step: first, do: First round., tightens: {bolts: stage 1}, tools: [torque wrench]}
  - {step: round, do: Second round., tightens: {bolts: the rest}, tools: [torque wrench]}
  - {step: last, do: The stud., tightens: [stud], tools: [torque wrench]}
"""

IN_POUNDS = Wrench(
    name="TW", serial="7", kind="click", low="10", high="110", unit="lbf·ft", graduation="1", length="400"
)
DIAL = Wrench(
    name="DW",
    kind="dial",
    low="10",
    high="150",
    unit="N·m",
    length="400",
    certificate=Certificate(uncertainty="2"),
)
LAPSED = DIAL.model_copy(update={"due_on": "2026-01-31"})
SHORT = Wrench(name="SW", kind="click", low="5", high="110", unit="N·m", graduation="1")


def _hand(wrench: Wrench, step: str = "round") -> Hand:
    hand = Hand(JOB, begin=False)
    hand.do(a.Start, work_piece="T-1")
    hand.do(a.CountIn, tool="torque wrench", wrench=wrench)
    hand.begin_rest()
    hand.go(step)
    return hand


def _swap(hand: Hand, wrench: Wrench, reason: str = "mine stops there") -> None:
    hand.do(a.ChangeTool, tool="torque wrench", identity="", reason=reason, wrench=wrench)


def _fit(hand: Hand, length: str, angle: str = "0") -> None:
    hand.do(a.FitExtension, tool="torque wrench", extension=Extension(length=length, angle=angle))


def _refused(hand: Hand, raw: str, why: str) -> None:
    now = hand.demand
    hand.refuse(
        a.Tighten, item=now.subject, stage=now.stage, member=now.member, method="measured", raw=raw,
        why=why, lift="deviate with a reason",
    )  # fmt: skip


def _last(hand: Hand) -> e.Tightened:
    event = hand.happened(e.Tightened)[-1]
    assert isinstance(event, e.Tightened)
    return event


def test_what_is_set_is_in_the_unit_and_on_a_mark_of_the_wrench_in_hand():
    # Common practice, no source: 60 N·m is set as 44 lbf·ft on whole marks.
    hand = _hand(IN_POUNDS)
    now = hand.expect("tighten", big="44 lbf·ft", specified="60 N·m", unit="lbf·ft", methods=("click",))
    assert now.band == "57.6 to 62.4 N·m"
    assert now.working is not None
    assert "59.656 N·m" in now.working.result


def test_a_click_records_the_setting_and_what_it_gives_the_fastener():
    hand = _hand(IN_POUNDS)
    hand.tighten()
    done = _last(hand)
    assert (done.method, done.wrench_value, done.wrench_unit, done.unit) == ("click", "44", "lbf·ft", "N·m")
    assert done.value.startswith("59.65598")  # 44 × 1.355 817 948, the exact factor
    assert (done.tool, done.target, done.conformity) == ("torque wrench TW 7", "60", "bare band")


def test_of_a_tool_that_is_not_in_the_toolbox_the_torque_is_asked_as_specified():
    hand = Hand(JOB)
    hand.go("round")
    hand.expect(
        "tighten", big="60 N·m", specified="", unit="N·m", methods=("measured", "click"), working=None
    )
    hand.tighten()
    assert (_last(hand).value, _last(hand).wrench_value, _last(hand).conformity) == ("60", "", "")


def test_a_number_is_read_in_the_unit_of_the_wrench_and_judged_at_the_fastener():
    hand = _hand(IN_POUNDS.model_copy(update={"kind": "dial"}))
    hand.expect("tighten", methods=("measured",), big="44 lbf·ft")
    _refused(hand, "60", "60 lbf·ft on the wrench (about 81.35 N·m) is outside 57.6 to 62.4 N·m: what")
    hand.tighten("45")
    assert (_last(hand).raw, _last(hand).wrench_value, _last(hand).value[:5]) == ("45", "45", "61.01")
    hand.tighten("60 N·m")  # another unit is converted, as everywhere
    assert (_last(hand).raw, _last(hand).value[:6]) == ("60 N·m", "60.000") or _last(hand).value == "60"


def test_an_extension_lowers_the_setting_and_stands_in_the_record():
    hand = _hand(DIAL)
    hand.expect("tighten", big="60 N·m", correction="")
    _fit(hand, "100")
    # S = T·L/(L + E), US Army TM 9-254 (reference.md section 5): 60 × 400/500.
    hand.expect("tighten", big="48 N·m", specified="60 N·m", correction="100 mm extension at 0°")
    hand.tighten("48.4")
    done = _last(hand)
    assert (done.value, done.wrench_value, done.correction) == ("60.5", "48.4", "100 mm extension at 0°")
    _fit(hand, "100", "90")
    hand.expect("tighten", big="60 N·m")
    hand.do(a.FitExtension, tool="torque wrench", extension=None)
    hand.expect("tighten", big="60 N·m", correction="")


def test_an_extension_needs_the_length_of_the_wrench_and_an_arm_that_is_left():
    hand = _hand(SHORT)
    extension = Extension(length="100")
    hand.refuse(
        a.FitExtension, tool="torque wrench", extension=extension, why="has no length", lift="its length"
    )
    hand.refuse(
        a.FitExtension, tool="torque wrench", extension=None, why="there is no extension", lift="go on"
    )
    _swap(hand, DIAL)
    hand.refuse(
        a.FitExtension, tool="torque wrench", extension=Extension(length="390", angle="180"),
        why="leaves 10 mm of effective length", lift="a quarter",
    )  # fmt: skip
    hand.refuse(
        a.FitExtension, tool="saw", extension=extension, why="nothing is known of saw", lift="torque wrench"
    )


def test_the_rest_of_a_round_is_recorded_with_the_wrench_swapped_in():
    hand = _hand(IN_POUNDS)
    hand.tighten()
    _fit(hand, "50")
    _swap(hand, DIAL)
    hand.expect("tighten", stage=2, member=3, big="60 N·m", correction="", members_done=(1,))
    hand.tighten("60")
    assert [event.tool for event in hand.happened(e.Tightened)[-2:]] == [  # type: ignore[attr-defined]
        "torque wrench TW 7",
        "torque wrench DW",
    ]


def test_a_torque_beyond_the_marks_shuts_the_gate_until_another_wrench_or_a_deviation():
    hand = _hand(SHORT, "last")
    hand.expect("blocked", prompt="140 N·m is outside the marked range", lift="change the wrench")
    point = {"kind": "unfit tool", "reason": "no other one here"}
    hand.refuse(a.Deviate, kind="out of band", reason="x", raw="140", why="is no way out", lift="unfit tool")
    hand.do(a.Deviate, **point)
    hand.expect("tighten", big="140 N·m", methods=("click",))
    hand.tighten()
    assert _last(hand).wrench_value == ""
    assert [d.kind for d in hand.job.deviations] == ["unfit tool"]
    other = _hand(SHORT, "last")
    _swap(other, IN_POUNDS)
    other.expect("tighten", big="103 lbf·ft")


def test_nothing_lets_a_fit_tool_through_as_unfit():
    hand = _hand(DIAL)
    hand.refuse(a.Deviate, kind="unfit tool", reason="x", why="nothing speaks against", lift="answer")
    hand.refuse(
        a.Deviate, kind="unfit tool", reason="x", subject="tool:torque wrench", wrench=SHORT,
        why="nothing speaks against SW", lift="take it as it is",
    )  # fmt: skip
    hand.refuse(
        a.Deviate, kind="unfit tool", reason="x", subject="tool:saw", wrench=LAPSED,
        why="no tool of that name", lift="torque wrench",
    )  # fmt: skip


def test_a_mark_too_coarse_for_the_band_is_trouble_too():
    coarse = IN_POUNDS.model_copy(update={"graduation": "10"})
    hand = _hand(coarse)
    hand.expect("blocked", prompt="nearest mark of TW 7 is 40 lbf·ft, which gives 54.23 N·m, outside 57.6")


def test_a_wrench_that_clicks_cannot_give_a_value_and_one_that_is_read_does_not_click():
    hand = _hand(IN_POUNDS, "last")
    _swap(hand, DIAL)
    hand.expect("blocked", prompt="DW is read and does not click; this stage takes click")


def test_an_overdue_wrench_is_taken_only_by_a_deviation():
    hand = Hand(JOB, begin=False)
    hand.do(a.Start, work_piece="T-1")
    lift = "take another one, or deviate with a reason (unfit tool)"
    hand.refuse(a.CountIn, tool="torque wrench", wrench=LAPSED, why="was due on 2026-01-31", lift=lift)
    hand.do(
        a.Deviate, kind="unfit tool", reason="the other is out", subject="tool:torque wrench", wrench=LAPSED
    )
    hand.begin_rest()
    hand.go("round")
    hand.tighten("60")
    assert (_last(hand).tool, hand.job.deviations[0].subject) == ("torque wrench DW", "tool:torque wrench")


def test_an_overdue_wrench_is_swapped_in_only_by_a_deviation():
    hand = _hand(DIAL)
    words = {"tool": "torque wrench", "identity": "", "reason": "flat", "wrench": LAPSED}
    hand.refuse(a.ChangeTool, **words, why="was due on 2026-01-31", lift="unfit tool")
    hand.do(a.Deviate, kind="unfit tool", reason="flat", subject="tool:torque wrench", wrench=LAPSED)
    assert hand.job.wrenches["torque wrench"] == LAPSED
    hand.expect("tighten", big="60 N·m")


def test_a_wrench_that_reaches_none_of_its_torques_is_refused_at_the_start():
    hand = Hand(JOB, begin=False)
    hand.do(a.Start, work_piece="T-1")
    tiny = SHORT.model_copy(update={"low": "1", "high": "5"})
    hand.refuse(
        a.CountIn, tool="torque wrench", wrench=tiny, why="SW covers 1 to 5 N·m, and", lift="unfit tool"
    )


@pytest.mark.parametrize(
    ("raw", "conformity"), [("60", "in"), ("58.5", "too close"), ("57.6", "too close"), ("62.4", "too close")]
)
def test_with_a_certificate_a_reading_near_a_limit_is_too_close_to_tell_and_shuts_nothing(raw, conformity):
    # U = 2 % of the reading, w = U (JCGM 106 with r = 1, from memory); the bare band is 57.6 to 62.4 N·m.
    hand = _hand(DIAL)
    hand.tighten(raw)
    assert _last(hand).conformity == conformity
    assert _last(hand).expanded == format(float(raw) * 0.02, "g")


def test_a_value_let_through_out_of_band_may_be_surely_out_or_too_close():
    hand = _hand(DIAL)
    hand.do(a.Deviate, kind="out of band", reason="as it is", raw="57")
    assert _last(hand).conformity == "too close"
    hand.do(a.Deviate, kind="out of band", reason="as it is", raw="50")
    assert _last(hand).conformity == "out"


def test_the_wrench_and_its_extension_are_back_after_the_program_was_started_again():
    hand = _hand(DIAL)
    _fit(hand, "100")
    hand.tighten("48")
    hand.reopen_log()
    hand.do(a.Resume)
    compared = [option.label for option in hand.demand.options]
    assert "Tool at hand: torque wrench DW with 100 mm extension at 0°" in compared
    while hand.demand.kind == "reconfirm":
        hand.answer()
    hand.expect("tighten", stage=2, member=3, big="48 N·m", correction="100 mm extension at 0°")
    assert dict(hand.view.tools)["torque wrench"] == "DW", "the tool is found by what is written on it alone"


def test_a_correction_is_typed_as_it_was_read_and_judged_at_the_fastener():
    hand = _hand(IN_POUNDS.model_copy(update={"kind": "dial", "certificate": Certificate(uncertainty="1")}))
    hand.tighten("44")
    key = next(iter(key for key in reversed(hand.job.recorded)))
    hand.do(a.Correct, key=key, raw="45", reason="misread")
    held = hand.job.recorded[key].held
    assert (held.wrench_value, held.wrench_unit, held.value[:5], held.conformity) == (
        "45",
        "lbf·ft",
        "61.01",
        "in",
    )
    assert held.expanded
    hand.do(a.Correct, key=key, raw="45.9", reason="misread again")
    assert hand.job.recorded[key].held.conformity == "too close"


def test_with_an_extension_a_correction_is_the_torque_at_the_fastener():
    hand = _hand(DIAL)
    _fit(hand, "100")
    hand.tighten("48")
    key = next(iter(key for key in reversed(hand.job.recorded)))
    hand.do(a.Correct, key=key, raw="61", reason="misread")
    held = hand.job.recorded[key].held
    assert (held.value, held.wrench_value, held.correction) == ("61", "", "")


def test_a_coarse_wrench_that_is_let_through_is_set_to_one_of_its_own_marks():
    coarse = SHORT.model_copy(update={"high": "205", "graduation": "10"})  # 5, 15, … 55, 65
    hand = _hand(coarse)
    hand.expect("blocked", prompt="nearest mark of SW is 55 N·m, which gives 55 N·m, outside 57.6")
    hand.do(a.Deviate, kind="unfit tool", reason="no other one here")
    hand.expect("tighten", big="55 N·m")


@pytest.mark.parametrize(
    "certificate", [Certificate(uncertainty="2"), Certificate(uncertainty="1", unit="N·m")]
)
def test_an_angle_is_not_judged_by_the_uncertainty_of_the_torque_wrench(certificate):
    job = """\
tolerance: {torque: ±4 %, angle: ±5°}
tools: [{name: torque wrench, covers: 20 to 150 N·m}]
items: {bolt: {kind: fastener, at start: started, tighten: [{torque: 60 N·m}, {angle: 90°}]}}
steps: [{step: both, do: Both., tightens: [bolt], tools: [torque wrench]}]
"""
    hand = Hand(job, begin=False)
    hand.do(a.Start, work_piece="T-1")
    hand.do(a.CountIn, tool="torque wrench", wrench=DIAL.model_copy(update={"certificate": certificate}))
    hand.begin_rest()
    hand.tighten("60")
    assert _last(hand).conformity == "in"
    hand.tighten("90", method="measured")
    assert (_last(hand).value, _last(hand).expanded, _last(hand).conformity) == ("90", "", "")


def test_what_was_recorded_is_listed_with_what_was_on_the_wrench():
    hand = _hand(IN_POUNDS)
    hand.tighten()
    # 44 lbf·ft are 59.66 N·m in four digits: 1.355 817 948 331 4 N·m each, by definition.
    assert hand.view.recorded[0][1] == "bolts number 1, stage 2: 44 lbf·ft, 59.66 N·m click"
    _swap(hand, DIAL)
    hand.tighten("60.4")
    assert hand.view.recorded[0][1] == "bolts number 3, stage 2: 60.4 N·m"
    _fit(hand, "100")
    hand.tighten("48.4")
    words = "bolts number 2, stage 2: 48.4 N·m with 100 mm extension at 0°, 60.5 N·m"
    assert hand.view.recorded[0][1] == words


def test_the_wrench_in_hand_is_no_other_one():
    hand = _hand(IN_POUNDS)
    before = hand.job
    hand.refuse(
        a.ChangeTool, tool="torque wrench", identity="", reason="mine stops", wrench=IN_POUNDS,
        why="TW 7 is in hand already", lift="name another one",
    )  # fmt: skip
    assert hand.job.tools == before.tools
    _swap(hand, DIAL)
    assert "DW" in hand.job.tools["torque wrench"]


def test_an_open_point_says_which_fastener_of_the_group_it_is_about():
    hand = _hand(IN_POUNDS)
    hand.tighten()
    hand.do(a.Deviate, kind="by feel", reason="no room")
    hand.do(a.Deviate, kind="out of band", reason="it slipped", raw="70 N·m")
    assert [d.which for d in hand.job.deviations] == ["number 3", "number 2"]
    assert point_words(hand.job, 1).startswith("by feel: bolts number 3, at: ")
    assert point_words(hand.job, 2).startswith("out of band: bolts number 2 70 N·m, at: ")
