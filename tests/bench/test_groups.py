"""Groups of fasteners as they are drawn: round a circle, in rows, in a line; at 80x24 and without colour."""

import dataclasses
import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from runner.bench.circle import circle, is_star
from runner.bench.grid import grid
from runner.bench.members import Group, line_of_members
from runner.bench.page import page
from runner.bench.rows import Row, texts, width_of
from runner.bench.theme import ASCII, UNICODE, Signs
from runner.job.demand import Demand
from runner.joint.pattern import Order, sequence
from tests.bench.hands import Hands
from tests.bench.samples import STAR, SampleRun, sample

LABEL = re.compile(r"([▶▰>#]?) *(\d+)")


def group(order: Order, n: int, done: int = 0, rows: tuple[int, ...] = ()) -> Group:
    numbers = sequence(order, n, rows=rows)
    return Group(numbers, numbers[:done], numbers[done])


def places(lines: list[Row]) -> dict[int, tuple[int, int]]:
    """Column (of the last digit) and row of every number that is drawn, each once."""
    found: dict[int, tuple[int, int]] = {}
    for y, line in enumerate(texts(lines)):
        for match in LABEL.finditer(line):
            assert int(match[2]) not in found
            found[int(match[2])] = (match.end(2), y)
    return found


@pytest.mark.parametrize("count", [4, 5, 6, 8, 10, 12])
def test_a_star_stands_round_a_circle_clockwise_from_the_top(count: int) -> None:
    star = group("star", count, 1)
    assert is_star(star.order)
    lines = circle(star, 60, 13, UNICODE)
    assert lines is not None
    at = places(lines)
    assert at[1][1] == min(y for _, y in at.values()), "number one is at the top"
    assert at[1 + count // 4][0] > at[1][0], "numbers go clockwise"
    text = "".join(texts(lines))
    assert f"▶{star.order[1]:>2}" in text, "the next one stands in the arrow"
    assert "▰ 1" in text, "the one done is striped"


@given(st.integers(4, 64), st.integers(3, 22), st.integers(20, 150), st.sampled_from([UNICODE, ASCII]))
@settings(deadline=None)
def test_a_circle_keeps_its_room_and_its_turn(n: int, height: int, width: int, signs: Signs) -> None:
    lines = circle(group("around", n), width, height, signs)
    if lines is None:
        return
    assert len(lines) <= height
    assert max(width_of(line) for line in lines) <= width
    at = places(lines)
    assert sorted(at) == list(range(1, n + 1))
    assert at[1][1] == 0
    middle = [sum(axis) / n for axis in zip(*at.values(), strict=True)]
    turns = sum(
        (at[k][0] - middle[0]) * (at[k % n + 1][1] - middle[1])
        - (at[k % n + 1][0] - middle[0]) * (at[k][1] - middle[1])
        > -3
        for k in at
    )
    assert turns == n, "clockwise all the way"


@given(st.integers(2, 32), st.integers(3, 22), st.integers(20, 150))
@settings(deadline=None)
def test_what_is_opposite_is_drawn_opposite(half: int, height: int, width: int) -> None:
    lines = circle(group("around", 2 * half), width, height, UNICODE)
    if lines is None:
        return
    at = places(lines)
    sums = [(at[k][0] + at[k + half][0], at[k][1] + at[k + half][1]) for k in range(1, half + 1)]
    for axis in (0, 1):
        spread = [each[axis] for each in sums]
        assert max(spread) - min(spread) <= 2, "but for the rounding to whole cells"


@pytest.mark.parametrize("n", range(4, 65))
def test_every_circle_up_to_64_fits_a_wide_screen(n: int) -> None:
    assert circle(group("star", n), 92, 21, UNICODE) is not None


def test_too_small_a_room_draws_no_circle() -> None:
    assert circle(group("star", 32), 30, 5, UNICODE) is None
    assert circle(group("star", 8), 60, 2, UNICODE) is None


@pytest.mark.parametrize("signs", [UNICODE, ASCII], ids=["unicode", "ascii"])
@pytest.mark.parametrize("rows", [(5, 5), (7, 7), (3, 3, 3), (3, 2, 3), (1, 2, 3, 4)], ids=str)
def test_rows_are_drawn_as_they_stand(rows: tuple[int, ...], signs: Signs) -> None:
    n = sum(rows)
    lines = grid(group("from the middle", n, 2, rows), rows, 40, 2 * len(rows) - 1, signs)
    assert lines is not None
    at = places(lines)
    assert sorted(at) == list(range(1, n + 1))
    first = 1
    centres = set()
    for many in rows:
        numbers = range(first, first + many)
        assert len({at[k][1] for k in numbers}) == 1, "a row stands in a row"
        steps = {at[k + 1][0] - at[k][0] for k in numbers if k + 1 in numbers}
        assert len(steps) <= 1, "evenly"
        centres.add(at[first][0] + at[first + many - 1][0])
        first += many
    assert len(centres) == 1, "every row is centred"
    text = "".join(texts(lines))
    order = sequence("from the middle", n, rows=rows)
    assert f"{signs.prompt}{order[2]:>2}" in text
    assert all(f"{signs.member_done}{k:>2}" in text for k in order[:2])
    assert text.count(signs.prompt) == 1
    assert text.count(signs.member_done) == 2


def test_rows_stand_closer_where_room_is_short_and_not_at_all_where_there_is_none() -> None:
    ten = group("from the middle", 10, 0, (5, 5))
    heights = [len(grid(ten, (5, 5), 40, height, UNICODE) or []) for height in (1, 2, 3, 9)]
    assert heights == [0, 2, 3, 3]
    assert grid(ten, (5, 5), 19, 9, UNICODE) is None
    assert grid(ten, (5, 5), 20, 9, UNICODE) is not None


def test_other_orders_stand_in_a_row_in_their_order() -> None:
    six = group("from the middle", 6, 1)
    assert not is_star(six.order)
    text = " ".join(" ".join(texts(line_of_members(six, 40, UNICODE))).split())
    order = six.order
    assert text == f"▰ {order[0]} ▶ {order[1]} {' '.join(str(n) for n in order[2:])}"


@given(st.integers(1, 200), st.integers(1, 100))
@settings(deadline=None)
def test_a_line_of_members_keeps_its_width(n: int, width: int) -> None:
    lines = line_of_members(group("in line", n), width, UNICODE)
    assert list(places(lines)) == list(range(1, n + 1))
    assert max(width_of(line) for line in lines) <= max(width, 5)


# On the whole screen -------------------------------------------------------------------------------------------


def asked(order: Order, n: int, *, done: int = 3, rows: tuple[int, ...] = (), ring: bool = False) -> Demand:
    numbers = sequence(order, n, rows=rows)
    return dataclasses.replace(
        STAR,
        sequence=numbers,
        members_done=numbers[:done],
        member=numbers[done],
        rows=rows,
        circle=ring,
        about="M10x1.5, class 10.9, number 1 is the one at the port",
    )


def screen(demand: Demand, size: tuple[int, int], signs: Signs, *, notices: bool = False) -> list[str]:
    view = sample("tighten")
    assert view.step is not None
    step = view.step if notices else dataclasses.replace(view.step, notices=())
    view = dataclasses.replace(view, demand=demand, step=step)
    return texts(page(Hands(SampleRun([view]), signs=signs).desk.scene, *size))


def shown(lines: list[str], n: int) -> dict[int, int]:
    """The screen row of every number of a group with its sign, in the first columns behind the stripe."""
    found: dict[int, int] = {}
    for y, whole in enumerate(lines[3:14], start=3):
        line = re.sub(r"\d+ of \d+", "", whole)
        for match in re.finditer(r"(?:^|(?<= )|[▶▰>#])(\d{1,2})(?= |$)", line[3:]):
            if int(match[1]) <= n and "round" not in line:
                found.setdefault(int(match[1]), y)
    return found


CASES = [
    ("star", 32, (), True),
    ("around", 8, (), True),
    ("from the middle", 10, (5, 5), False),
    ("from the middle", 14, (7, 7), False),
    ("from the middle", 9, (3, 3, 3), False),
]


@pytest.mark.parametrize("signs", [UNICODE, ASCII], ids=["unicode", "ascii"])
@pytest.mark.parametrize(("order", "n", "rows", "ring"), CASES, ids=str)
def test_the_group_is_drawn_at_80_by_24_without_colour(
    order: Order, n: int, rows: tuple[int, ...], ring: bool, signs: Signs
) -> None:
    demand = asked(order, n, rows=rows, ring=ring)
    lines = screen(demand, (80, 24), signs)
    at = shown(lines, n)
    assert sorted(at) == list(range(1, n + 1)), lines
    if rows:
        assert len({at[k] for k in range(1, rows[0] + 1)}) == 1
        assert at[1] < at[n]
    else:
        assert at[1] < at[1 + n // 4] < at[1 + n // 2]
    text = "\n".join(lines)
    assert f"{signs.prompt}{demand.member:>2}" in text
    assert all(f"{signs.member_done}{k:>2}" in text for k in demand.members_done)
    assert "number 1 is the one at the port" in text, "what the numbers count from is not pushed away"
    if signs.ascii_only:
        assert text.isascii()


def test_where_the_drawing_does_not_fit_the_row_stays() -> None:
    demand = asked("star", 32, ring=True)
    lines = screen(demand, (80, 24), UNICODE, notices=True)
    text = " ".join(" ".join(lines).split())
    assert "▰ 1 ▰17 ▰ 9 ▶25 5 21 13 29" in text


def test_a_line_of_fasteners_is_not_drawn_as_anything_else() -> None:
    text = " ".join(" ".join(screen(asked("in line", 6), (80, 24), UNICODE)).split())
    assert "▰ 1 ▰ 2 ▰ 3 ▶ 4 5 6" in text
