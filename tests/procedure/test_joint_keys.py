"""Rows, rounds, friction, surfaces, self-locking threads, clamped lengths and estimates: read, refused, and linked."""

from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from procedure_text import HERE, errors, linked, marked, remarks, whole

from runner.procedure.reader import read_procedure

HEAD = "tolerance: {torque: ±4 %, angle: ±5°}\nsteps: [{step: a, do: A}]\n"
TORQUE = "tighten: [{torque: 50 N·m}]"


def item(keys, head=HEAD):
    return linked(f"{head}items: {{bolt: {{kind: fastener, {keys}}}}}").item_by_key["bolt"]


def stages(tighten, keys="count: 4", head=HEAD):
    return item(f"{keys}, tighten: {tighten}", head).stages


def refused(keys, head=HEAD):
    """The one error in the keys of a fastener, at the mark."""
    text = f"{head}items: {{bolt: {{kind: fastener, {keys}}}}}"
    written, found = read_procedure(whole(text).replace(HERE, "").encode(), "job.yaml")
    assert written is None
    (error,) = found
    assert (error.line, error.column) == marked(text), error.text()
    return error


def test_a_fastener_keeps_what_is_said_of_its_joint():
    one = item(
        "thread: M10x1.5, class: 8.8, friction: 0.10 to 0.16, surface: oiled, given for: dry,"
        " prevailing: 4 N·m, grip: 40 mm, tighten: [{torque: 50 N·m}, {angle: 90°}]"
    )
    assert one.friction == ("0.1", "0.16")
    assert (one.surface, one.given_for) == ("oiled", "dry")
    assert (one.prevailing, one.drag_added, one.grip) == (("4", "N·m"), True, "40")


def test_nothing_is_assumed_where_nothing_is_said():
    one = item(TORQUE)
    assert (one.rows, one.friction, one.surface, one.given_for, one.prevailing, one.grip) == ((), *[None] * 5)
    assert not one.drag_added
    assert (one.stages[0].share, one.stages[0].final_pass) == (None, False)


@pytest.mark.parametrize(
    ("written", "kept"),
    [
        ("0.12 to 0.12", ("0.12", "0.12")),
        ("0.13 ±0.03", ("0.1", "0.16")),
        ("10 to 16 %", ("0.1", "0.16")),
        ("0.9 to 1", ("0.9", "1")),
        ("'0,10 to 0,16'", ("0.1", "0.16")),
    ],
)
def test_friction_is_a_band_of_a_ratio(written, kept):
    assert item(f"thread: M10, class: 8.8, friction: {written}, {TORQUE}").friction == kept


@pytest.mark.parametrize("word", ["dry", "oiled", "anti-seize", "locker"])
def test_a_surface_is_one_of_four(word):
    one = item(f"surface: {word}, given for: {word}, {TORQUE}")
    assert (one.surface, one.given_for) == (word, word)


def test_a_clamped_length_is_kept_in_millimetres_and_a_prevailing_torque_as_written():
    """1 in = 25.4 mm by definition (reference.md section 1)."""
    one = item(
        "thread: M10, class: 8.8, grip: 1.5 in, prevailing: 35 lbf·in,"
        " tighten: [{torque: 50 N·m}, {angle: 1/4 turn, method: by mark}]"
    )
    assert (one.grip, one.prevailing) == ("38.1", ("35", "lbf·in"))


JOINT = "thread: M10, class: 8.8"


@pytest.mark.parametrize(
    ("keys", "message", "expected"),
    [
        (f"{JOINT}, friction: ▶0.12, {TORQUE}", '"friction" cannot be one number', "a band such as 0.10 to 0.16"),
        (f"{JOINT}, friction: ▶at most 0.16, {TORQUE}", '"friction" needs both limits', "a band such as 0.10 to"),
        (f"{JOINT}, friction: ▶0 to 0.16, {TORQUE}", '"friction" must lie above 0', "a band such as 0.10 to"),
        (f"{JOINT}, friction: ▶0.10 to 1.6, {TORQUE}", '"friction" must lie above 0', "a band such as 0.10 to"),
        (f"{JOINT}, friction: ▶0.16 to 0.10, {TORQUE}", '"friction": "0.16 to 0.1" has no value', "the low limit"),
        (f"{JOINT}, friction: ▶low, {TORQUE}", '"friction": "low" is not', ""),
        (f"{JOINT}, friction: ▶NaN to 0.2, {TORQUE}", '"friction": "NaN" is not finite', "a band such as 0.10"),
        (f"▶friction: 0.10 to 0.16, class: 8.8, {TORQUE}", '"friction" says nothing without "thread"', "thread: M10"),
        (f"▶friction: 0.10 to 0.16, thread: M10, {TORQUE}", '"friction" says nothing without "class"', "class: 8.8"),
        (
            f"{JOINT}, ▶friction: 0.10 to 0.16, tighten: [{{angle: 90°}}]",
            '"friction" says nothing where no stage is by torque',
            "",
        ),
        (f"surface: ▶oily, {TORQUE}", '"surface" cannot be "oily"', "dry, oiled, anti-seize, locker"),
        (f"surface: dry, given for: ▶wet, {TORQUE}", '"given for" cannot be "wet"', "dry, oiled, anti-seize"),
        (f"▶given for: dry, {TORQUE}", '"given for" says nothing without "surface"', "surface: dry"),
        (
            "surface: dry, ▶given for: dry, tighten: [{snug: by hand}]",
            '"given for" says nothing where no stage is by torque',
            "",
        ),
        (f"prevailing: ▶4, {TORQUE}", '"prevailing": "4" has no unit', "a torque such as 60 N·m"),
        (f"prevailing: ▶4 mm, {TORQUE}", '"prevailing": "4 mm" is a length', ""),
        (f"prevailing: ▶0 N·m, {TORQUE}", '"prevailing" must be above zero', ""),
        ("▶prevailing: 4 N·m, tighten: [{snug: x}]", '"prevailing" says nothing where no stage is by torque', ""),
        ("▶prevailing included: 4 N·m, tighten: [{snug: x}]", '"prevailing included" says nothing where no', ""),
        (f"prevailing: 4 N·m, ▶prevailing included: 4 N·m, {TORQUE}", '"prevailing included" cannot stand with', ""),
        (f"prevailing included: ▶0 N·m, {TORQUE}", '"prevailing included" must be above zero', ""),
        (f"{JOINT}, grip: ▶-40 mm, tighten: [{{angle: 90°}}]", '"grip" must be above zero', ""),
        (f"{JOINT}, ▶grip: 40 mm, {TORQUE}", '"grip" says nothing where no stage is by angle', ""),
        ("thread: M10, ▶grip: 40 mm, tighten: [{angle: 90°}]", '"grip" says nothing without "class"', "class: 8.8"),
        (f"rows: ▶[1], {TORQUE}", '"rows" says nothing about a single fastener', "a group"),
        (f"rows: ▶[5, 5], {TORQUE}", '"rows" says nothing about a single fastener', "count: 10"),
        (f"count: 10, rows: ▶[5, 4], {TORQUE}", '"rows" hold 9 fasteners, and the group has 10', "rows with 10"),
        (f"count: 10, rows: [5, ▶0, 5], {TORQUE}", 'an entry of "rows" cannot be "0"', "a whole number from 1"),
        (f"count: 10, rows: ▶[], {TORQUE}", '"rows" is an empty list', "at least one entry"),
        (
            "count: 4, rows: [2, 2], tighten: [{torque: 5 N·m, order: ▶star}]",
            "a star goes across a circle, and this group stands in rows",
            "around, from the middle, in line, or the numbers",
        ),
        ("tighten: [{torque: 5 N·m, ▶rounds: [50 %, 100 %]}]", '"rounds" says nothing about a single', "a group"),
        ("tighten: [{torque: 5 N·m, ▶last pass: around}]", '"last pass" says nothing about a single', "a group"),
        ("count: 4, tighten: [{angle: 90°, ▶rounds: [50 %, 100 %]}]", '"rounds" belongs to a stage by torque', ""),
        ("count: 4, tighten: [{snug: x, ▶last pass: around}]", '"last pass" belongs to a stage by torque', ""),
        ("count: 4, tighten: [{torque: 5 N·m, last pass: ▶star}]", '"last pass" cannot be "star"', "around"),
        (
            "count: 4, tighten: [{torque: 5 N·m, rounds: [30 %, ▶30 %, 100 %]}]",
            '"rounds": 30 % is no more than the round before it',
            "shares of the whole torque that rise to 100 %",
        ),
        (
            "count: 4, tighten: [{torque: 5 N·m, rounds: [▶0 %, 100 %]}]",
            '"rounds": 0 % is no more than nothing',
            "shares of the whole torque",
        ),
        (
            "count: 4, tighten: [{torque: 5 N·m, rounds: [30 %, ▶60 %]}]",
            '"rounds": the last round is not at the whole torque',
            "shares of the whole torque",
        ),
        (
            "count: 4, tighten: [{torque: 5 N·m, rounds: [▶0.3, 100 %]}]",
            'an entry of "rounds" must be in per cent',
            "30 %",
        ),
        ("count: 4, tighten: [{torque: 5 N·m, rounds: [▶2 N·m, 100 %]}]", 'an entry of "rounds": "2 N·m" is', ""),
        ("count: 4, tighten: [{torque: 5 N·m, rounds: ▶[]}]", '"rounds" is an empty list', "at least one entry"),
    ],
)  # fmt: skip
def test_what_says_nothing_or_cannot_be_is_refused_at_its_place(keys, message, expected):
    error = refused(keys)
    assert error.message.startswith(message), error.text()
    assert error.expected.startswith(expected), error.text()


@pytest.mark.parametrize(
    "key",
    [
        "rows: [1]",
        "friction: 0.1 to 0.2",
        "surface: dry",
        "given for: dry",
        "prevailing: 1 N·m",
        "prevailing included: 1 N·m",
        "grip: 1 mm",
    ],
)
def test_a_cover_has_no_joint(key):
    text = f"{HEAD}items: {{lid: {{kind: cover, {HERE}{key}}}}}"
    _, found = read_procedure(whole(text).replace(HERE, "").encode(), "job.yaml")
    assert (found[0].line, found[0].column) == marked(text)
    assert found[0].message.endswith('says nothing about a cover, and "lid" is one')


def test_the_nearest_word_of_a_key_and_of_a_surface_is_given():
    assert refused(f"surface: ▶antiseize, {TORQUE}").near == "anti-seize"
    assert refused(f"▶frictoin: 0.1 to 0.2, {TORQUE}").near == "friction"
    assert refused("count: 4, tighten: [{torque: 5 N·m, ▶round: [100 %]}]").near == "rounds"


# Threads and classes were free text before they meant anything --------------------------------------------------


def test_a_thread_that_nothing_is_known_of_is_a_warning_with_the_nearest():
    text = f"{HEAD}items: {{bolt: {{kind: fastener, thread: ▶M10x1.55, {TORQUE}}}}}"
    warning = next(one for one in remarks(text) if one.rule == "thread")
    assert (warning.grade, warning.near) == ("warning", "M10x1.5")
    assert (warning.line, warning.column, warning.length) == (*marked(text), len("M10x1.55"))
    assert warning.message.startswith('thread "M10x1.55" ')


def test_a_class_that_nothing_is_known_of_is_a_warning():
    text = f"{HEAD}items: {{bolt: {{kind: fastener, thread: M10, class: ▶10.8, {TORQUE}}}}}"
    warning = next(one for one in remarks(text) if one.rule == "class")
    assert (warning.grade, warning.near) == ("warning", "10.9")
    assert (warning.line, warning.column) == marked(text)


def test_known_threads_and_classes_are_remarked_on_by_nobody():
    for keys in ("thread: M10x1.5, class: 10.9", "thread: 1/2-20 UNF, class: grade 8", "class: anything"):
        found = remarks(f"{HEAD}items: {{bolt: {{kind: fastener, {keys}, {TORQUE}}}}}")
        assert {one.rule for one in found} <= {"unused"}, keys


def test_a_thread_at_many_places_is_remarked_on_once():
    text = (
        f"{HEAD}locations: {{side: [left, right]}}\n"
        f"items: {{bolt: {{kind: fastener, each: side, thread: pipe, {TORQUE}}}}}"
    )
    assert [one.rule for one in remarks(text)].count("thread") == 1


# Rows and rounds ------------------------------------------------------------------------------------------------


def test_rows_order_a_round_from_the_centre_of_the_grid():
    (middle, around, line, given) = stages(
        "[{torque: 5 N·m, order: from the middle}, {torque: 6 N·m, order: around}, {torque: 7 N·m},"
        " {torque: 8 N·m, order: [6, 5, 4, 3, 2, 1]}]",
        keys="count: 6, rows: [3, 3]",
    )
    assert middle.sequence == (2, 5, 1, 6, 4, 3)
    assert around.sequence == (1, 2, 3, 6, 5, 4)
    assert line.sequence == (1, 2, 3, 4, 5, 6)
    assert given.sequence == (6, 5, 4, 3, 2, 1)
    assert item("count: 6, rows: [3, 3], tighten: [{snug: x}]").rows == (3, 3)


def test_rounds_are_stages_of_their_own_and_the_last_is_the_whole_torque():
    first, second, whole_torque, last, angle = stages(
        "[{torque: 45 N·m, order: star, rounds: [30 %, 60 %, 100 %], last pass: around, method: measured},"
        " {angle: 90°, order: star}]"
    )
    assert [one.target for one in (first, second, whole_torque, last)] == ["13.5", "27", "45", "45"]
    assert [one.share for one in (first, second, whole_torque, last)] == ["30", "60", "100", None]
    assert [one.final_pass for one in (first, second, whole_torque, last, angle)] == [False] * 3 + [
        True,
        False,
    ]
    assert first.sequence == second.sequence == whole_torque.sequence == (1, 3, 2, 4)
    assert (last.order, last.sequence) == ("around", (1, 2, 3, 4))
    assert all(one.methods == ("measured",) for one in (first, second, whole_torque, last))
    assert (angle.kind, angle.share) == ("angle", None)
    assert first.text == "13.5 N·m, 12.96 to 14.04 N·m, 30 % of 45 N·m"
    assert whole_torque.text == "45 N·m, 43.2 to 46.8 N·m"
    assert last.text == "45 N·m, 43.2 to 46.8 N·m, last pass around"


def test_a_band_is_scaled_with_its_torque_in_newton_metres_too():
    first, whole_torque = stages(
        "[{torque: 40 N·m +3/-1 N·m, rounds: [50 %, 100 %]}]", head="steps: [{step: a, do: A}]\n"
    )
    assert (first.band.low, first.band.high, first.band.target) == ("19.5", "21.5", "20")
    assert (whole_torque.band.low, whole_torque.band.high) == ("39", "43")
    first, _ = stages(
        "[{torque: 40 N·m, rounds: [50 %, 100 %]}]",
        head="tolerance: {torque: ±2 N·m}\nsteps: [{step: a, do: A}]\n",
    )
    assert (first.band.low, first.band.high) == ("19", "21")


def test_a_range_without_a_target_is_scaled_whole():
    first, second = stages("[{torque: 40 to 50 N·m, rounds: [50 %, 100 %]}]")
    assert (first.target, first.band.low, first.band.high) == (None, "20", "25")
    assert first.text == "20 to 25 N·m, 50 % of 40 to 50 N·m"
    assert (second.band.low, second.band.high) == ("40", "50")


def test_a_last_pass_stands_behind_a_torque_of_one_round_too():
    once, last = stages("[{torque: 45 N·m, order: star, last pass: around}]")
    assert (once.share, once.final_pass, once.target) == (None, False, "45")
    assert (last.share, last.final_pass, last.target) == (None, True, "45")


@pytest.mark.parametrize("n", range(2, 65))
def test_the_last_pass_of_any_group_goes_round_at_the_whole_torque_after_all_rounds(n):
    """Issue 4, patterns: rounds with their percentages and a final circular pass, for every n."""
    *ups, last = stages(
        "[{torque: 45 N·m, order: star, rounds: [30 %, 60 %, 100 %], last pass: around}]", keys=f"count: {n}"
    )
    assert [one.target for one in ups] == ["13.5", "27", "45"]
    assert not any(one.final_pass for one in ups)
    assert all(sorted(one.sequence) == list(range(1, n + 1)) for one in ups)
    assert (last.final_pass, last.target, last.band, last.order) == (True, "45", ups[-1].band, "around")
    assert last.sequence == tuple(range(1, n + 1))


@given(
    st.lists(st.integers(1, 99), unique=True, max_size=5).map(sorted),
    st.decimals("0.1", "999", places=3),
)
@settings(deadline=None)
def test_every_round_is_exactly_its_share(shares, torque):
    written = ", ".join(f"{share} %" for share in [*shares, 100])
    made = stages(f"[{{torque: {torque} N·m ±4 %, rounds: [{written}]}}]")
    assert len(made) == len(shares) + 1
    for one in made:
        share = Decimal(one.share) / 100
        assert Decimal(one.target) == torque * share
        assert Decimal(one.band.high) == torque * share * Decimal("1.04")


def test_the_drag_of_a_nut_is_added_to_every_torque_and_band():
    """AC 43.13-1B 7-40 (TS), example D (reference.md 4f): 50 to 70 lbf·in with 6.5 lbf·in drag gives 56.5 to 76.5."""
    (one,) = stages("[{torque: 50 to 70 lbf·in}]", keys="thread: 1/4-28 UNF, prevailing: 6.5 lbf·in")
    assert (one.target, one.band.low, one.band.high, one.unit) == (None, "56.5", "76.5", "lbf·in")
    assert one.text == "56.5 to 76.5 lbf·in, 50 to 70 lbf·in + 6.5 lbf·in prevailing"
    (one,) = stages("[{torque: 60 N·m}]", keys="prevailing: 4 N·m")
    # The tolerance is one of the torque that tightens: 60 N·m ±4 %, then 4 N·m more.
    assert (one.target, one.band.low, one.band.target, one.band.high) == ("64", "61.6", "64", "66.4")
    assert one.text == "64 N·m, 61.6 to 66.4 N·m, 60 N·m + 4 N·m prevailing"
    (one,) = stages("[{torque: at least 60 N·m}]", keys="prevailing: 4 N·m")
    assert (one.target, one.band.low, one.band.high) == (None, "64", None)


def test_a_round_is_a_share_of_the_torque_and_then_the_whole_drag():
    first, whole_torque, last, angle = stages(
        "[{torque: 60 N·m, rounds: [30 %, 100 %], last pass: around}, {angle: 90°}]",
        keys="count: 4, prevailing: 4 N·m",
    )
    assert [one.target for one in (first, whole_torque, last, angle)] == ["22", "64", "64", "90"]
    assert (first.band.low, first.band.high) == ("21.28", "22.72")
    assert first.text == "22 N·m, 21.28 to 22.72 N·m, 30 % of 60 N·m + 4 N·m prevailing"
    assert whole_torque.text.endswith(", 60 N·m + 4 N·m prevailing")
    assert last.text.endswith(", 60 N·m + 4 N·m prevailing, last pass around")


def test_a_drag_in_another_unit_is_brought_to_that_of_the_torque():
    """1 lbf·in = 0.1129848290276 N·m (reference.md section 1, D): 35 lbf·in = 3.954 469 N·m, to four digits 3.954."""
    (one,) = stages("[{torque: 50 N·m}]", keys="prevailing: 35 lbf·in")
    assert (one.target, one.unit) == ("53.954", "N·m")


def test_a_torque_that_has_the_drag_already_stays_as_written():
    one = item("prevailing included: 4 N·m, tighten: [{torque: 60 N·m}]")
    assert (one.prevailing, one.drag_added) == (("4", "N·m"), False)
    (stage,) = one.stages
    assert (stage.target, stage.text) == ("60", "60 N·m, 57.6 to 62.4 N·m")


def test_the_tool_is_one_that_covers_the_drag_too():
    text = BOLTS.replace("AT_START", "prevailing: 1 N·m,").replace("45 N·m", "64 N·m")
    step = "\n  - {step: first, do: A, tightens: {bolts: stage 1}, tools: [small, large]}"
    assert linked(text + step).nodes[0].acts[0].tool == "large", "30 % of 64 N·m and 1 N·m are above 20 N·m"
    included = text.replace("prevailing:", "prevailing included:")
    assert linked(included + step).nodes[0].acts[0].tool == "small"


BOLTS = """
tolerance: {torque: ±4 %}
tools: [{name: small, covers: 2 to 20 N·m}, {name: large, covers: 18 to 100 N·m}]
items:
  bolts:
    {kind: fastener, count: 4, AT_START tighten: [
      {torque: 45 N·m, rounds: [30 %, 100 %], last pass: around}, {angle: 90°, method: by mark}]}
steps:
"""


def test_stage_numbers_count_every_round():
    procedure = linked(
        BOLTS.replace("AT_START", "at start: stage 3,")
        + """
  - {step: check, do: A, needs: {bolts: stage 3}}
  - {step: angle, do: A, tightens: {bolts: stage 4}}
  - {step: done, do: A, needs: {bolts: final}}"""
    )
    (bolts,) = procedure.items
    assert (bolts.at_start, len(bolts.stages)) == ("stage 3", 4)
    assert procedure.by_id["done"].needs[0].values == ("untouched", "stage 4")


def test_a_stage_beyond_the_rounds_is_refused():
    (error,) = errors(BOLTS.replace("AT_START", "") + "  - {step: a, do: A, tightens: {bolts: stage 5}}")
    assert (error.message, error.expected) == ('"bolts" has no stage 5', "stages 1 to 4")
    text = BOLTS.replace("AT_START", "at start: stage 5,") + "  - {step: a, do: A}"
    _, found = read_procedure(whole(text).encode(), "job.yaml")
    assert [one.message for one in found] == ['"stage 5" is no state of a fastener']


def test_the_tool_of_a_round_is_one_that_covers_its_share():
    procedure = linked(
        BOLTS.replace("AT_START", "")
        + """
  - {step: first, do: A, tightens: {bolts: stage 1}, tools: [large, small]}
  - {step: second, do: A, tightens: {bolts: stages 2 to 3}, tools: [small, large]}"""
    )
    assert [node.acts[0].tool for node in procedure.nodes] == ["small", "large"]


# Estimates ------------------------------------------------------------------------------------------------------


def test_what_a_step_takes_is_kept_in_milliseconds():
    procedure = linked("steps: [{step: a, do: A, takes: 1 h 30 min}, {step: b, do: B}]")
    assert [node.takes for node in procedure.nodes] == [5_400_000, None]


def test_a_stored_form_from_before_these_keys_reads_as_before():
    """The version stays 1: a field that is only added has a default."""
    old = linked(f"{HEAD}items: {{bolt: {{kind: fastener, thread: M10, {TORQUE}}}}}").to_data()
    new = {"rows", "friction", "surface", "given_for", "prevailing", "drag_added", "grip"}
    new |= {"share", "final_pass", "takes"}
    assert old["version"] == 1
    assert not new & set(repr(old).replace("'", " ").split())
