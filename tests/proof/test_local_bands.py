"""P17: bands of a sorted reading against a brute force over the values that can tell any two bands apart."""

from decimal import Decimal

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from runner.job.working_out import sorted_label
from runner.procedure.finding import Mark
from runner.procedure.linked import Exit, Interval, Node, Procedure, Reading, Sorting
from runner.proof.local import local_findings
from runner.proof.local.bands import sorted_out
from tests.proof.local_text import lines

LIMITS = [Decimal(number).scaleb(-1) for number in range(-20, 25, 5)]
"""-2 to 2 in halves: close enough together that bands meet, overlap, miss each other and take nothing."""


def interval(low: Decimal | None, high: Decimal | None, opens: tuple[bool, bool], unit: str) -> Interval:
    return Interval(
        low=None if low is None else f"{low:f}",
        high=None if high is None else f"{high:f}",
        unit=unit,
        text="",
        low_open=opens[0],
        high_open=opens[1],
    )


@st.composite
def readings(draw: st.DrawFn) -> Reading:
    unit = draw(st.sampled_from(["mm", "count"]))
    kind = draw(st.sampled_from(["number", "worked out"]))
    limit = st.none() | st.sampled_from(LIMITS)
    bands = draw(st.lists(st.tuples(limit, limit, st.tuples(st.booleans(), st.booleans())), max_size=5))
    sorting = [
        Sorting(band=interval(low, high, opens, unit), exit=Exit(label=f"band {number}", to="end"))
        for number, (low, high, opens) in enumerate(bands)
    ]
    if draw(st.booleans()) or not sorting:
        sorting.append(Sorting(band=None, exit=Exit(label="above", to="end")))
    return Reading(name="play", what="Play", unit=unit, kind=kind, sorting=tuple(sorting))


def telling(reading: Reading) -> list[Decimal]:
    """Values enough to tell: every limit, one between any two neighbours, and one beyond each end.

    What is counted at the bench is a whole number from 0 on.
    """
    if reading.unit == "count" and reading.kind == "number":
        return [Decimal(number) for number in range(6)]
    quarters = [Decimal(number).scaleb(-2) for number in range(-225, 250, 25)]
    return [Decimal(-100), *quarters, Decimal(100)]


@given(readings())
@example(
    Reading(
        name="play",
        what="Play",
        unit="count",
        sorting=(
            Sorting(band=interval(None, Decimal(0), (False, True), "count"), exit=Exit(label="a", to="end")),
            Sorting(band=None, exit=Exit(label="above", to="end")),
        ),
    )
)
def test_bands_agree_with_every_telling_value(reading: Reading):
    values = telling(reading)
    taken = {sorted_label(reading, value) for value in values}
    never, left = sorted_out(reading)
    assert set(never) == {sorting.exit.label for sorting in reading.sorting} - taken
    lost = {value for value in values if sorted_label(reading, value) == ""}
    assert {
        value for value in values for gap in left if gap.low <= (value, 0) and (value, 1) <= gap.high
    } == lost
    assert bool(left) == bool(lost)


def at_a_step(*bands: tuple[str, Interval | None], unit: str = "mm") -> list[str]:
    """What is told of a reading with these bands, which the reader would have stopped."""
    sorting = tuple(Sorting(band=band, exit=Exit(label=label, to="end")) for label, band in bands)
    reading = Reading(name="play", what="Play", unit=unit, sorting=sorting)
    node = Node(id="look", step="look", mark=Mark("job.yaml", 7, 11), readings=(reading,))
    procedure = Procedure(
        procedure="job", title="A job", revision="1", fits="a car", sources=(), people=(), nodes=(node,)
    )
    found = local_findings(procedure)
    assert {(one.file, one.line, one.column, one.grade, one.node) for one in found} <= {
        ("job.yaml", 7, 11, "error", "look")
    }
    return [f"{one.rule}: {one.message}" for one in found]


def band(low: str | None, high: str | None, *, low_open: bool = False, high_open: bool = False) -> Interval:
    return Interval(low=low, high=high, unit="mm", text="", low_open=low_open, high_open=high_open)


def test_a_band_behind_wider_ones_takes_nothing():
    assert at_a_step(("up to 5 mm", band(None, "5")), ("up to 3 mm", band(None, "3")), ("above", None)) == [
        'band-never: no value of "play" is left for "up to 3 mm": the bands before it take them all'
    ]


def test_two_bands_together_can_leave_nothing_for_a_third():
    bands = (("low", band(None, "2")), ("high", band("2", None)), ("at 2", band("2", "2")))
    assert at_a_step(*bands) == [
        'band-never: no value of "play" is left for "at 2": the bands before it take them all'
    ]


def test_the_single_value_between_two_open_ends_is_a_hole():
    assert at_a_step(("low", band(None, "2", high_open=True)), ("high", band("2", None, low_open=True))) == [
        'band-never: no band of "play" takes the value 2 mm'
    ]
    assert at_a_step(("low", band(None, "2")), ("high", band("2", None, low_open=True))) == []


@pytest.mark.parametrize(
    ("low", "high", "words"),
    [
        (band(None, "2"), band("3", None), "values above 2 mm and below 3 mm"),
        (band(None, "2", high_open=True), band("3", None, low_open=True), "values from 2 mm and up to 3 mm"),
        (band("0", "2"), band("2", None), "values below 0 mm"),
        (band(None, "2"), band("2", "9.5"), "values above 9.5 mm"),
    ],
)
def test_values_without_a_band_are_named(low: Interval, high: Interval, words: str):
    assert at_a_step(("low", low), ("high", high)) == [f'band-never: no band of "play" takes {words}']


def test_counts_are_whole_so_a_band_between_two_takes_none():
    body = """\
steps:
  - step: count
    do: Count the threads that are left.
    read: {what: Threads, name: threads, unit: count, sorted: {at most 2: go on, below 3: go on, above: stop}}
"""
    assert lines(body) == [
        '2:11 band-never: no value of "threads" is left for "below 3": the bands before it take them all'
    ]
    assert lines(body.replace("unit: count", "unit: mm").replace("at most 2", "at most 2 mm")) == []


def test_the_bands_of_a_worked_out_value_are_judged_too():
    body = """\
steps:
  - step: count
    do: Count them on both sides.
    read:
      - {what: Left, name: left, unit: count, band: none}
      - {what: Right, name: right, unit: count, band: none}
    work out:
      what: Mean
      name: middle
      is: (left + right) / 2
      unit: count
      sorted: {at most 2: go on, below 3: go on, above: stop}
"""
    # A mean of counts may lie between two whole numbers, so the band is not empty.
    assert lines(body) == []
