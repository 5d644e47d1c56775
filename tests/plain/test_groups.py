"""How a group stands and in which order it goes, in words."""

from runner.joint.pattern import sequence
from runner.plain.drawing import demand_lines
from tests.bench.samples import STAR


def stands(**fields: object) -> list[str]:
    return [
        line.strip() for line in demand_lines(STAR.but(**fields)) if "stands:" in line or "order:" in line
    ]


def test_a_circle_is_said_with_its_order() -> None:
    assert stands(circle=True) == [
        "order: 1, 3, 5, 2, 4; done: 1, 3",
        "stands: round a circle, numbered clockwise",
    ]


def test_rows_are_said_with_their_order() -> None:
    order = sequence("from the middle", 10, rows=(5, 5))
    assert stands(sequence=order, members_done=(), rows=(5, 5)) == [
        "order: 3, 8, 2, 9, 7, 4, 1, 10, 6, 5; done: none",
        "stands: in 2 rows of 5, numbered along the first row, then along the next",
    ]
    assert stands(sequence=(1, 2, 3, 4, 5), rows=(3, 2))[1] == (
        "stands: in rows of 3, 2, numbered along the first row, then along the next"
    )


def test_a_line_needs_no_word() -> None:
    assert stands(sequence=(1, 2, 3)) == ["order: 1, 2, 3; done: 1, 3"]
