"""Semantic 6: typed text is parsed strictly, held against the author's band, recorded whole, slips named."""

import pytest

from runner.job import actions as a
from runner.job import events as e
from tests.job.bench_hand import Hand


def _reading(band: str, more: str = "", unit: str = "mm") -> Hand:
    return Hand(f"""\
tools: [{{name: gauge}}]
steps:
  - step: measure
    do: Measure it.
    tools: [gauge]
    read: {{what: The gap, name: gap, unit: {unit}, {band}{more}}}
  - {{step: last, do: Close up.}}
""")


BANDS = [
    # band as written, unit, accepted, refused
    ("band: 1.4 to 2.2 mm", "mm", ["1.4", "1,8", "2.2", "0.0018 m", "2.2 mm"], ["1.39", "2.21", "0", "-1.8"]),
    ("band: 20 mm ±5 %", "mm", ["19", "21", "20.5"], ["18.99", "21.01"]),
    ("band: 10 mm +3/-0 mm", "mm", ["10", "13"], ["9.99", "13.01"]),
    ("band: at most 3 mm", "mm", ["3", "0", "-2"], ["3.01"]),
    ("at most: 3 mm", "mm", ["3"], ["3.5"]),
    ("band: at least 3 mm", "mm", ["3", "300"], ["2.99"]),
    ("at least: 3 mm", "mm", ["3"], ["2"]),
    ("band: none", "mm", ["-1000", "0", "12"], []),
]


@pytest.mark.parametrize(("band", "unit", "good", "bad"), BANDS)
def test_a_reading_is_held_against_its_band_and_its_limits_belong_to_it(band, unit, good, bad):
    for raw in good:
        hand = _reading(band, unit=unit)
        hand.do(a.Do)
        hand.do(a.Read, name="gap", raw=raw)
        assert hand.at == "last"
    for raw in bad:
        hand = _reading(band, unit=unit)
        hand.do(a.Do)
        hand.refuse(a.Read, name="gap", raw=raw, why="is outside", lift="deviate with a reason (out of band)")


@pytest.mark.parametrize(
    ("raw", "why"),
    [("", "is empty"), ("1,234.5", "both a comma and a point"), ("1 800", "blank between"), ("1e3", "exponent"),
     ("two", "is not a number"), ("1.8 N·m", "N·m"), ("0x10", "not written in tens"), ("1'800", "mark between"),
     ("١", "digits other than"), ("1.8 mm 2", "")],
)  # fmt: skip
def test_odd_text_is_refused_with_its_reason_and_recorded(raw, why):
    hand = _reading("band: none")
    hand.do(a.Do)
    hand.refuse(a.Read, name="gap", raw=raw, why=why, lift="type")
    assert hand.entries[-1].events[0].raw == raw


def test_what_was_typed_its_value_unit_method_tool_and_band_are_recorded():
    hand = _reading("band: 1.4 to 2.2 mm")
    hand.do(a.Do)
    hand.expect("reading", subject="gap", band="1.4 to 2.2 mm", unit="mm", prompt="The gap")
    hand.do(a.Read, name="gap", raw=" 1,80 mm ")
    assert hand.happened(e.ReadingTaken) == [
        e.ReadingTaken(
            node="measure", name="gap", raw="1,80 mm", value="1.8", unit="mm", method="measured",
            tool="gauge gauge no. 1", low="1.4", high="2.2",
        )
    ]  # fmt: skip


def test_a_slip_of_ten_is_named():
    hand = Hand("""\
steps:
  - {step: measure, do: Measure., read: {what: Gap, name: gap, unit: mm, band: 2 mm ±5 %}}
""")
    hand.do(a.Do)
    hand.refuse(a.Read, name="gap", raw="20", why="about ten times 2 mm", lift="measure again")
    hand.refuse(a.Read, name="gap", raw="0.2", why="about a tenth of 2 mm", lift="measure again")


def test_a_reading_taken_several_times_asks_that_often():
    hand = _reading("band: none", ", times: 3")
    hand.do(a.Do)
    for index, raw in enumerate(("1", "2", "3"), start=1):
        hand.expect("reading", time_index=index, times=3, prompt=f"({index} of 3)")
        hand.do(a.Read, name="gap", raw=raw)
    assert hand.at == "last"
    assert [event.index for event in hand.happened(e.ReadingTaken)] == [1, 2, 3]


def test_counts_are_numbers_too():
    hand = Hand("""\
steps:
  - {step: count, do: Count., read: {what: Chips, name: chips, unit: count, band: at most 2 count}}
""")
    hand.do(a.Do)
    hand.refuse(a.Read, name="chips", raw="3", why="is outside", lift="deviate")
    hand.do(a.Read, name="chips", raw="2")


TEXTS = """\
steps:
  - step: note-down
    do: Note them.
    read:
      - {what: Part, name: part, text: part number}
      - {what: Batch, name: batch, text: batch number}
      - {what: Lock, name: lock, text: lock number}
      - {what: Face, name: face, photo: true}
  - {step: last, do: Close.}
"""


def test_text_readings_are_kept_as_typed_and_never_empty():
    hand = Hand(TEXTS)
    hand.do(a.Do)
    hand.expect("reading", subject="part", unit="part number")
    hand.refuse(a.Read, name="part", raw="   ", why="nothing was typed", lift="type the part number")
    hand.refuse(a.Read, name="part", raw="x" * 501, why="501 characters", lift="at most 500")
    hand.do(a.Read, name="part", raw=" T-1042 [bold] ")
    hand.do(a.Read, name="batch", raw="010")
    hand.do(a.Read, name="lock", raw="7")
    values = [(event.value, event.method) for event in hand.happened(e.ReadingTaken)]
    assert values == [("T-1042 [bold]", "text"), ("010", "text"), ("7", "text")]


def test_a_photo_is_recorded_by_its_path_and_hash():
    hand = Hand(TEXTS)
    hand.values = {"part": "p", "batch": "b", "lock": "l"}
    for _ in range(4):
        hand.answer()
    hand.refuse(a.Read, name="face", raw="face.jpg", why="path and SHA-256", lift="64 hex digits")
    hand.refuse(a.Read, name="face", raw="face.jpg " + "g" * 64, why="path and SHA-256", lift="64 hex")
    hand.do(a.Read, name="face", raw="my face.jpg " + "0f" * 32)
    assert hand.happened(e.ReadingTaken)[-1].method == "photo"


BLIND = """\
steps:
  - step: measure
    do: Measure it.
    read: {what: The gap, name: gap, unit: mm, band: 1 to 2 mm, second reading: blind, times: 2}
  - {step: last, do: Close up.}
"""


def _anywhere(hand: Hand, text: str) -> bool:
    return text in repr(hand.view)


def test_a_blind_second_reading_is_given_by_somebody_else_and_the_first_is_shown_nowhere_until_then():
    hand = Hand(BLIND)
    hand.do(a.Do)
    hand.do(a.Read, name="gap", raw="1.7351")
    hand.expect("second reading", subject="gap", role="a second person", time_index=1)
    assert not _anywhere(hand, "1.7351")
    hand.refuse(
        a.Read,
        name="gap",
        raw="1.7",
        why="Ann did this step",
        lift="fetch someone who has not seen the first",
    )
    hand.refuse(a.Read, " ANN ", name="gap", raw="1.7", why="did this step", lift="fetch someone")
    hand.refuse(a.Read, "Cy", name="gap", raw="2.7", why="is outside", lift="measure again")
    hand.do(a.Read, "Cy", name="gap", raw="1.8")
    assert _anywhere(hand, "1.7351")
    hand.expect("reading", time_index=2)
    hand.do(a.Read, name="gap", raw="1.9")
    hand.do(a.Read, "Cy", name="gap", raw="1.9")
    assert hand.at == "last"
    seconds = [(event.index, event.value, event.second) for event in hand.happened(e.ReadingTaken)]
    assert seconds == [(1, "1.7351", False), (1, "1.8", True), (2, "1.9", False), (2, "1.9", True)]


def test_an_out_of_band_first_reading_is_not_shown_by_its_deviation_either():
    hand = Hand(BLIND)
    hand.do(a.Do)
    hand.do(a.Deviate, kind="out of band", reason="worn", raw="2.7351")
    hand.expect("second reading")
    assert not _anywhere(hand, "2.7351")
    hand.do(a.Read, "Cy", name="gap", raw="1.8")
    assert _anywhere(hand, "2.7351")


def test_the_second_person_may_depart_too_but_the_performer_not_in_his_place():
    hand = Hand(BLIND)
    hand.do(a.Do)
    hand.do(a.Read, name="gap", raw="1.7")
    hand.refuse(
        a.Deviate, kind="out of band", reason="worn", raw="2.5", why="Ann did this step", lift="fetch someone"
    )
    hand.do(a.Deviate, "Cy", kind="out of band", reason="worn", raw="2.5")
    assert hand.happened(e.ReadingTaken)[-1].second
    hand.expect("reading", time_index=2)


def test_nobody_who_did_the_step_corrects_its_second_reading():
    hand = Hand(BLIND)
    hand.do(a.Do)
    hand.do(a.Read, name="gap", raw="1.7")
    hand.do(a.Read, "Cy", name="gap", raw="1.8")
    key = "read measure|gap|1|second"
    hand.refuse(a.Correct, key=key, raw="1.7", reason="typo", why="Ann did this step", lift="fetch")
    hand.do(a.Correct, "Cy", key=key, raw="1.9", reason="typo")
    assert "Cy" not in hand.job.performed["measure"]


WORKED = """\
steps:
  - {step: one, do: One., read: {what: A, name: a, unit: mm, band: none, times: 2}}
  - {step: two, do: Two., read: {what: B, name: b, unit: mm, band: none}}
  - step: sum
    do: Work it out.
    work out: {what: Play, name: play, is: "max(a-1, a-2) - b", unit: mm, band: 0.1 to 0.4 mm}
  - {step: last, do: Close.}
"""


def _worked(a1: str, a2: str, b: str) -> Hand:
    hand = Hand(WORKED)
    for name, raws in (("a", (a1, a2)), ("b", (b,))):
        hand.do(a.Do)
        for raw in raws:
            hand.do(a.Read, name=name, raw=raw)
    hand.do(a.Do)
    return hand


def test_a_value_is_worked_out_from_earlier_readings_with_its_inputs_recorded():
    hand = _worked("2.3", "2.5", "2.2")
    assert hand.happened(e.WorkedOut) == [
        e.WorkedOut(
            node="sum", name="play", value="0.3", unit="mm", low="0.1", high="0.4",
            inputs=(("a-1", "2.3 mm"), ("a-2", "2.5 mm"), ("b", "2.2 mm")),
        )
    ]  # fmt: skip
    assert hand.at == "last"


def test_a_worked_out_value_outside_its_band_shuts_the_gate_until_an_input_is_corrected():
    hand = _worked("2.3", "2.5", "1.2")
    hand.expect(
        "worked out", "sum", subject="play", prompt="Play is outside 0.1 to 0.4 mm", lift="correct a reading"
    )
    hand.refuse(a.Do, why="Play is outside", lift="correct a reading")
    hand.do(a.Correct, key="read two|b|1", raw="2.2", reason="misread the vernier")
    assert hand.happened(e.WorkedOut)[-1].value == "0.3"
    assert hand.at == "last"


def test_or_by_a_deviation_that_stays_open():
    hand = _worked("2.3", "2.5", "1.2")
    hand.do(a.Deviate, kind="out of band", reason="worn", authority="Bo")
    assert hand.at == "last"
    hand.go("seal")
    assert hand.options() == ["finished with open points"]


def test_a_correction_later_on_works_the_value_out_anew_and_owes_it_where_it_falls_outside():
    hand = _worked("2.3", "2.5", "2.2")
    hand.do(a.Correct, key="read one|a|2", raw="2.9", reason="typo")
    assert hand.happened(e.WorkedOut)[-1].value == "0.7"
    assert hand.owed() == ["correction read sum|play|1"]
    hand.do(a.Correct, key="read one|a|2", raw="2.4", reason="typo after all")
    assert hand.happened(e.WorkedOut)[-1].value == "0.2"
    assert hand.owed() == [], "the correction brought it back into its band"


SORTED_WORK = """\
steps:
  - {step: one, do: One., read: {what: A, name: a, unit: mm, band: none}}
  - step: sort
    do: Sort it.
    work out: {what: Play, name: play, is: "a - 1 mm", unit: mm,
               sorted: {at most 1 mm: go on, above: [{step: shim, do: Shim.}]}}
  - {step: last, do: Close.}
"""


def test_a_worked_out_value_sorted_into_bands_decides_the_way():
    for raw, steps in (("2", ["one", "sort", "last"]), ("2.5", ["one", "sort", "shim", "last"])):
        hand = Hand(SORTED_WORK)
        hand.values = {"a": raw}
        hand.go("sealed")
        assert [event.node for event in hand.happened(e.StepDone)] == steps


def test_a_correction_that_would_have_led_another_way_is_refused_once_the_work_has_gone_on():
    hand = Hand(SORTED_WORK)
    hand.values = {"a": "2.5"}
    hand.go("last")
    hand.refuse(
        a.Correct, key="read one|a|1", raw="2", reason="typo",
        why="gone on from that answer", lift="bring back first: Shim.",
    )  # fmt: skip


def test_a_sorted_reading_is_not_left_out_for_it_decides_the_way():
    hand = Hand("""\
steps:
  - {step: one, do: One., read: {what: A, name: a, unit: mm, sorted: {at most 1 mm: go on, above: stop}}}
""")
    hand.do(a.Do)
    hand.refuse(
        a.Deviate,
        kind="not done",
        reason="no gauge",
        authority="Bo",
        why="the way on is decided",
        lift="enter it",
    )


def test_a_reading_owed_again_after_a_correction_works_out_what_used_it_once_more():
    hand = Hand(
        WORKED.replace("unit: mm, band: none}}\n  - step: sum", "unit: mm, band: 2 to 3 mm}}\n  - step: sum")
    )
    for name, raws in (("a", ("2.3", "2.5")), ("b", ("2.2",))):
        hand.do(a.Do)
        for raw in raws:
            hand.do(a.Read, name=name, raw=raw)
    hand.do(a.Do)
    hand.do(a.Correct, key="read two|b|1", raw="1.9", reason="typo")
    assert "correction read two|b|1" in hand.owed()
    hand.do(a.TakeUp, key="correction read two|b|1")
    hand.expect("reading", "two", subject="b")
    hand.do(a.Read, name="b", raw="2.3")
    assert hand.happened(e.WorkedOut)[-1].value == "0.2"
    assert hand.owed() == []
    assert hand.at == "last"


def test_a_number_that_only_has_its_mark_in_another_place_is_told_as_that():
    hand = _reading("band: 18 mm to 18.05 mm")
    hand.do(a.Do)
    meant = "180.2 mm is outside 18 to 18.05 mm: 18.02 mm with its decimal mark in another place"
    hand.refuse(a.Read, name="gap", raw="180,2", why=meant, lift="measure again")
    missed = hand.act(a.Read, name="gap", raw="18.3")
    assert missed is not None
    assert missed.text == "18.3 mm is outside 18 to 18.05 mm"
