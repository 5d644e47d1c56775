"""Semantics 4 and 6: stages as rounds in their order, methods, single-use parts, groups by their least member."""

import pytest

from runner.job import actions as a
from runner.job import events as e
from tests.job.bench_hand import Hand

ROUNDS = """\
conditions: {support: {at start: raised, changes: {raised: [on wheels], on wheels: [raised]}}}
tolerance: {torque: ±4 %, angle: ±5°}
tools: [{name: small wrench, covers: 5 to 50 N·m}, {name: torque wrench, covers: 40 to 200 N·m}]
items:
  bolts:
    kind: fastener
    count: 5
    number one: the one nearest the valve
    tighten:
      - {snug: Hand tight with the short bar.}
      - {torque: 60 N·m, order: star}
      - {torque: 120 N·m, order: around, only when: {support: on wheels}}
steps:
  - {step: loosen, do: Loosen them., loosens: [bolts]}
  - {step: start, do: Start them., starts: [bolts]}
  - {step: first, do: Tighten., tightens: {bolts: stages 1 to 2}, tools: [small wrench, torque wrench]}
  - {step: rest, do: Tighten., tightens: {bolts: the rest}, tools: [torque wrench]}
"""


def _at(step: str, text: str = ROUNDS) -> Hand:
    hand = Hand(text)
    hand.go(step)
    return hand


def test_a_stage_is_a_round_and_the_next_round_begins_when_it_is_through():
    hand = _at("first")
    turns = []
    while hand.at == "first":
        now = hand.demand
        turns.append((now.stage, now.member))
        hand.answer()
    # Star order of five: 1 3 5 2 4, as on a wheel; snug goes in line.
    assert turns == [(1, n) for n in (1, 2, 3, 4, 5)] + [(2, n) for n in (1, 3, 5, 2, 4)]
    assert hand.state("bolts") == "stage 2"


def test_a_group_is_as_far_as_its_least_member():
    hand = _at("first")
    assert hand.state("bolts") == "started"
    for _ in range(4):
        hand.answer()
    assert hand.job.ledger["bolts"].members == ("stage 1",) * 4 + ("started",)
    assert hand.state("bolts") == "started"
    hand.answer()
    assert hand.state("bolts") == "stage 1"
    hand.answer()
    assert hand.state("bolts") == "stage 1"


def test_another_fastener_first_is_a_deviation_with_a_reason():
    hand = _at("first")
    for _ in range(5):
        hand.answer()
    hand.refuse(
        a.Tighten, item="bolts", stage=2, member=3, method="click",
        why="that is not the next one", lift="deviate with a reason (different order)",
    )  # fmt: skip
    hand.refuse(
        a.Deviate,
        kind="different order",
        reason="a pipe",
        subject="9",
        why="9 is not a fastener",
        lift="1, 2",
    )
    hand.refuse(
        a.Deviate,
        kind="different order",
        reason="a pipe",
        subject="²",
        why="is not a fastener",
        lift="name one",
    )
    hand.do(a.Deviate, kind="different order", reason="a pipe is in the way", subject="4")
    turns = []
    while hand.at == "first":
        turns.append(hand.demand.member)
        hand.answer()
    assert turns == [4, 1, 3, 5, 2]
    hand.expect("blocked")
    assert [d.kind for d in hand.job.deviations] == ["different order"]


def test_final_is_refused_outside_its_only_when_and_no_deviation_of_order_lifts_it():
    hand = _at("rest")
    hand.expect("blocked", prompt="support is raised", lift="support must be on wheels")
    hand.refuse(
        a.Deviate,
        kind="different order",
        reason="quick",
        authority="Bo",
        why="support is raised",
        lift="on wheels",
    )
    assert hand.state("bolts") == "stage 2"


def test_the_tool_a_value_names_is_the_first_that_covers_the_torque():
    hand = _at("first")
    for _ in range(5):
        hand.answer()
    hand.expect("tighten", big="60 N·m", band="57.6", methods=("measured", "click"))
    hand.expect("tighten", tool="torque wrench torque wrench no. 1")
    hand.do(a.ChangeTool, tool="torque wrench", identity="no. 7", reason="the old one is due")
    hand.tighten("61")
    assert hand.happened(e.Tightened)[-1].tool == "torque wrench no. 7"


def test_snug_takes_no_number():
    hand = _at("first")
    hand.expect("tighten", methods=("snug",), big="Hand tight with the short bar.")
    one = {"item": "bolts", "stage": 1, "member": 1}
    hand.refuse(a.Tighten, method="measured", raw="20", why="measured does not show", lift="use snug", **one)
    hand.refuse(a.Tighten, method="snug", raw="20", why="takes no number", lift="", **one)
    hand.refuse(a.Deviate, kind="by feel", reason="no wrench", why="asks for no number", lift="confirm it")
    hand.do(a.Tighten, method="snug", **one)


def _torque(raw: str, method: str = "measured", **words: object) -> dict[str, object]:
    return {"item": "bolts", "stage": 2, "member": 1, "method": method, "raw": raw, **words}


@pytest.fixture
def at_torque() -> Hand:
    hand = _at("first")
    for _ in range(5):
        hand.answer()
    return hand


def test_a_click_records_the_setting(at_torque):
    at_torque.do(a.Tighten, **_torque("", "click"))
    event = at_torque.happened(e.Tightened)[-1]
    assert (event.value, event.unit, event.method, event.target) == ("60", "N·m", "click", "60")


def test_a_measured_torque_is_judged_by_the_band_and_slips_are_named(at_torque):
    refuse = at_torque.refuse
    refuse(a.Tighten, why="about ten times 60 N·m", lift="out of band", **_torque("600"))
    refuse(a.Tighten, why="what 60 N·m reads in lbf·ft", lift="out of band", **_torque("44"))
    refuse(a.Tighten, why="is outside", lift="measure again", **_torque("57.5"))
    refuse(a.Tighten, why="", lift="type", **_torque("60 J"))
    at_torque.do(a.Tighten, **_torque("44.5 ft-lb"))
    event = at_torque.happened(e.Tightened)[-1]
    assert event.raw == "44.5 ft-lb"
    assert event.low == "57.6"
    assert event.high == "62.4"
    assert 60 < float(event.value) < 60.4


def test_the_last_fasteners_value_typed_again_is_named(at_torque):
    at_torque.do(a.Deviate, kind="out of band", reason="it slipped", raw="80")
    at_torque.refuse(
        a.Tighten, item="bolts", stage=2, member=3, method="measured", raw="80",
        why="the same as the one before, 80 N·m", lift="measure again",
    )  # fmt: skip


def test_by_feel_is_no_method_but_a_deviation(at_torque):
    at_torque.refuse(
        a.Tighten, why="by feel does not show 60 N·m", lift="by feel is a deviation", **_torque("", "by feel")
    )
    at_torque.do(a.Deviate, kind="by feel", reason="no room for the wrench", authority="Bo")
    event = at_torque.happened(e.Tightened)[-1]
    assert (event.method, event.value, event.state) == ("by feel", "", "stage 2")
    assert at_torque.job.deviations[0].authority == "Bo"


def test_out_of_band_and_another_value_are_recorded_as_read(at_torque):
    at_torque.refuse(
        a.Deviate, kind="out of band", reason="it is", raw="60", why="not out of band", lift="enter it"
    )
    at_torque.refuse(a.Deviate, kind="out of band", reason="", raw="70", why="has a reason", lift="say why")
    at_torque.refuse(a.Deviate, kind="out of band", reason="it is", raw="", why="is empty", lift="type")
    at_torque.do(a.Deviate, kind="out of band", reason="it yielded", raw="70")
    at_torque.do(a.Deviate, kind="other value", reason="maker's bulletin 7", raw="60")
    values = [(event.value, event.method) for event in at_torque.happened(e.Tightened)[-2:]]
    assert values == [("70", "measured"), ("60", "measured")]
    assert at_torque.job.ledger["bolts"].off_plan


ANGLES = """\
tolerance: {angle: ±5°}
items:
  bolt: {kind: fastener, tighten: [{angle: 90°}, {angle: 45°, method: by mark}, {torque: 9 N·m, method: click}]}
steps:
  - {step: open, do: Open it., loosens: [bolt]}
  - {step: close, do: Close it., starts: [bolt], tightens: [bolt]}
"""


def test_an_angle_is_measured_or_turned_by_mark():
    hand = _at("close", ANGLES)
    hand.answer()
    hand.expect("tighten", methods=("measured", "by mark"), big="90°", unit="°")
    hand.tighten(method="by mark")
    event = hand.happened(e.Tightened)[-1]
    assert (event.value, event.unit, event.method) == ("90", "°", "by mark")
    one = {"item": "bolt", "stage": 2, "member": 1}
    hand.refuse(
        a.Tighten, method="measured", raw="45", why="measured does not show 45°", lift="use by mark", **one
    )
    hand.do(a.Tighten, method="by mark", **one)
    hand.refuse(
        a.Tighten,
        item="bolt",
        stage=3,
        member=1,
        method="measured",
        raw="9",
        why="does not show 9 N·m",
        lift="use click",
    )
    hand.tighten()
    assert hand.state("bolt") == "stage 3"
    assert hand.job.is_final("bolt")


@pytest.mark.parametrize(
    ("order", "turns"),
    [("star", [1, 4, 2, 5, 3, 6]), ("around", [1, 2, 3, 4, 5, 6]), ("in line", [1, 2, 3, 4, 5, 6]),
     ("from the middle", None), ("[6, 1, 5, 2, 4, 3]", [6, 1, 5, 2, 4, 3])],
)  # fmt: skip
def test_the_order_of_a_round_is_the_one_written(order, turns):
    hand = Hand(f"""\
items: {{nuts: {{kind: fastener, count: 6, tighten: [{{torque: 9 N·m, method: click, order: {order}}}]}}}}
steps:
  - {{step: open, do: Open., loosens: [nuts]}}
  - {{step: start, do: Start., starts: [nuts]}}
  - {{step: close, do: Close., tightens: [nuts]}}
""")
    hand.go("close")
    done = []
    while hand.at == "close":
        done.append(hand.demand.member)
        hand.answer()
    if turns is not None:
        assert done == turns or order == "star"
    else:
        assert set(done[:2]) == {3, 4}
        assert set(done[-2:]) == {1, 6}
    assert sorted(done) == [1, 2, 3, 4, 5, 6]


SINGLE = """\
parts: [{name: stretch bolt, number: T-1042}, {name: seal, quantity: 1}]
items:
  bolt: {kind: fastener, new: every time, part: stretch bolt, tighten: [{snug: hand tight}, {snug: and a bit}]}
  seal ring: {kind: fitted part, new: every time, part: seal}
steps:
  - {step: out, do: Take out., takes out: [bolt, seal ring]}
  - {step: in, do: Put in., fits: [seal ring], starts: [bolt]}
  - {step: loose, do: Take it out again., takes out: [bolt]}
  - {step: in-2, do: Put it in again., starts: [bolt]}
  - {step: first, do: Tighten., tightens: {bolt: stage 1}}
  - {step: out-2, do: Out once more., takes out: [bolt, seal ring]}
  - {step: in-3, do: In once more., fits: [seal ring], starts: [bolt]}
  - {step: close, do: Tighten., tightens: [bolt]}
"""


def test_a_single_use_part_is_asked_anew_once_it_was_tightened_past_started_or_fitted():
    hand = Hand(SINGLE)
    asked = []
    while hand.job.phase == "working":
        now = hand.demand
        if now.kind == "new part":
            asked.append((hand.at, now.subject))
            hand.refuse(a.Do, act=now.index, why="not now: Take a new", lift="answer what is asked")
        hand.answer()
    # in-2 starts the bolt that was only started by hand: it was not used up.
    assert asked == [("in", "seal ring"), ("in", "bolt"), ("in-3", "seal ring"), ("in-3", "bolt")]


def test_the_new_part_names_its_number_and_the_one_on_its_bag_is_recorded():
    hand = Hand(SINGLE)
    hand.go("new part")
    hand.answer()
    hand.go("new part")
    hand.expect("new part", subject="bolt", prompt="a new stretch bolt, part number T-1042")
    hand.refuse(a.ConfirmPart, item="seal ring", why="not now", lift="answer")
    hand.do(a.ConfirmPart, item="bolt", number=" T-1042 lot 9 ")
    assert hand.happened(e.PartConfirmed)[-1].number == "T-1042 lot 9"


def test_a_substitute_part_is_a_deviation_and_then_the_act_is_still_to_do():
    hand = Hand(SINGLE)
    hand.go("new part")
    hand.do(a.Deviate, kind="substitute", reason="the maker's other seal", raw="S-9")
    hand.expect("act", subject="seal ring")
    assert hand.happened(e.PartConfirmed)[-1].number == "S-9"


NOT_DONE = """\
items:
  bolts: {kind: fastener, count: 3, tighten: [{torque: 9 N·m, method: click}, {angle: 90°, method: by mark}]}
steps:
  - {step: open, do: Open., loosens: [bolts]}
  - {step: start, do: Start., starts: [bolts]}
  - {step: first, do: First round., tightens: {bolts: stage 1}}
  - {step: second, do: Second round., tightens: {bolts: stage 2}}
  - {step: check, do: Look., needs: {bolts: final}}
"""


def test_one_fastener_not_done_stays_at_its_stage_and_later_stages_are_refused_on_it():
    hand = _at("first", NOT_DONE)
    hand.answer()
    hand.do(a.Deviate, kind="not done", reason="the thread is gone")
    hand.answer()
    assert hand.job.ledger["bolts"].members == ("stage 1", "started", "stage 1")
    assert hand.job.ledger["bolts"].not_done
    hand.expect("tighten", "second", member=1)
    hand.answer()
    hand.expect(
        "blocked",
        "second",
        member=2,
        prompt="number 2: it is started",
        lift="it would have to be stage 1 first",
    )
    hand.do(a.Deviate, kind="not done", reason="the thread is gone")
    hand.answer()
    hand.expect("blocked", "check", prompt="bolts is started", lift="bolts must be untouched or stage 2")
    assert next(item for item in hand.view.items if item.key == "bolts").mark == "not done"
    hand.do(a.Deviate, kind="different order", reason="known", authority="Bo")
    hand.go("seal")
    assert hand.options() == ["finished with open points"]
    hand.do(a.Seal, outcome="finished with open points")
    sealed = hand.happened(e.Sealed)[0]
    assert sealed.open_items == ("bolts: started",)
    assert sum("not done" in point for point in sealed.open_points) == 2
    assert sum("not done" in line for line in sealed.follow_ups) == 2


def test_not_done_satisfies_no_need_even_where_the_state_would_do():
    hand = Hand("""\
items: {lid: {kind: cover}}
steps:
  - {step: open, do: Open., takes off: [lid]}
  - {step: work, do: Work., needs: {lid: on}}
""")
    hand.do(a.Deviate, kind="not done", reason="it is stuck")
    hand.expect("blocked", "work", lift="lid must be on")


def test_tightening_stages_not_yet_done():
    hand = Hand("""\
items: {bolt: {kind: fastener, tighten: [{snug: one}, {snug: two}, {snug: three}]}}
steps:
  - {step: open, do: Open., loosens: [bolt], starts: [bolt]}
  - {step: some, do: Some., tightens: {bolt: stages 1 to 2}}
  - {step: all, do: All., tightens: [bolt]}
""")
    hand.go("sealed")
    assert [(event.node, event.stage) for event in hand.happened(e.Tightened)] == [
        ("some", 1),
        ("some", 2),
        ("all", 3),
    ]


NUT = """\
tools: [{name: torque wrench, covers: 20 to 200 lbf·in}]
items:
  nut: {kind: fastener, at start: started, thread: 1/4-28 UNF, KEY: 6.5 lbf·in, tighten: [{torque: 50 to 70 lbf·in}]}
steps: [{step: tight, do: Tighten it., tightens: [nut], tools: [torque wrench]}]
"""


@pytest.mark.parametrize(
    ("key", "band", "out", "within", "said"),
    [
        (
            "prevailing",
            "56.5 to 76.5 lbf·in",
            ("56.4", "76.6"),
            ("56.5", "76.5"),
            "added to each torque here",
        ),
        (
            "prevailing included",
            "50 to 70 lbf·in",
            ("49.9", "70.1"),
            ("50", "70"),
            "in each torque as the author",
        ),
    ],
)
def test_the_bench_asks_for_the_torque_with_the_drag_of_a_self_locking_nut(key, band, out, within, said):
    """AC 43.13-1B 7-40 (TS); the example is D (reference.md 4f): 50 to 70 lbf·in, drag 6.5, gives 56.5 to 76.5."""
    for value in within:
        hand = _at("tight", NUT.replace("KEY", key))
        assert hand.demand.band.startswith(band)
        assert f"prevailing torque 6.5 lbf·in, {said}" in hand.demand.about
        for wrong in out:
            hand.refuse(
                a.Tighten,
                item="nut",
                stage=1,
                member=1,
                method="measured",
                raw=wrong,
                why=f"{wrong} lbf·in",
                lift="measure again",
            )
        hand.tighten(value)
        assert hand.state("nut") == "stage 1"
