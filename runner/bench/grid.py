"""A group in rows, drawn as it stands: numbered along the first row, then along the next."""

from collections.abc import Sequence

from runner.bench.members import Group, drawn, in_numbers
from runner.bench.rows import Row
from runner.bench.theme import Signs
from runner.joint.places import in_rows


def grid(group: Group, rows: Sequence[int], width: int, height: int, signs: Signs) -> list[Row] | None:
    """The group in its rows, in at most `width` cells and `height` rows; None where it does not fit.

    Rows stand one apart where there is room, so that they are told apart at a glance.
    """
    wide, high = max(rows) * group.cells, len(rows)
    if wide > width or high > height:
        return None
    apart = 2 if 2 * high - 1 <= height else 1
    places = in_rows(rows)
    left, top = min(place.x for place in places), places[0].y
    cells = [(int((place.x - left) * group.cells), int(place.y - top) * apart) for place in places]
    return drawn(group, in_numbers(cells), signs)
