"""The whole screen as rows: which part stands where, at every size.

From 80x24 everything has its fixed place. From 120 columns a second column shows the gate, items and steps. Smaller
than 80x24 the screen says so and keeps what is asked.
"""

from collections.abc import Callable

from runner.bench.literal import ascii_letters
from runner.bench.panes.debts import lost_rows, open_row, owed_heading, owed_rows
from runner.bench.panes.foot import entry_row, key_row, message_rows
from runner.bench.panes.heading import condition_rows, identity_row
from runner.bench.panes.reading import reader_lines, reader_rows
from runner.bench.panes.side import side_rows
from runner.bench.panes.step import step_rows
from runner.bench.rows import EMPTY, Row, beside, block, fit, paragraph, row, span
from runner.bench.scene import Scene
from runner.bench.stripe import WIDTH as STRIPE
from runner.bench.stripe import stripe
from runner.frozen import Frozen

LEAST_WIDTH, LEAST_HEIGHT = 80, 24
WIDE = 120


class Room(Frozen):
    """How the height is shared out."""

    conditions: int
    body: int
    owed: int
    message: int
    lost: int


def share(width: int, height: int, conditions: int, lost: int = 0) -> Room:
    """The rows of each part; at 80x24 a body of 13, or 12 where something is lost."""
    owed = 3 if height < 32 else 6
    message = 2 if height < 32 else 3
    conditions = min(conditions, 1 if height < 28 else 2)
    lost = min(lost, 1 if height < 32 else 3)
    # The single rows are: identity, the rule of the put-off list, open items, the line to type on, keys.
    return Room(conditions, height - conditions - owed - message - lost - 5, owed, message, lost)


def page(scene: Scene, width: int, height: int) -> list[Row]:
    """Exactly `height` rows of exactly `width` cells."""
    with ascii_letters(scene.look.signs.ascii_only):
        small = width < LEAST_WIDTH or height < LEAST_HEIGHT
        lines = _small(scene, width, height) if small else _full(scene, width, height)
        more = scene.look.signs.more
        return [fit(line, width, more) for line in block(lines, height)]


def _full(scene: Scene, width: int, height: int) -> list[Row]:
    inner = width - STRIPE - 3
    conditions = condition_rows(scene, inner, 2)
    room = share(width, height, len(conditions), len(scene.view.lost))
    middle = [
        *conditions[: room.conditions],
        *block(_body(scene, inner, room.body), room.body),
        owed_heading(scene, inner),
        *block(owed_rows(scene, inner, room.owed), room.owed),
        open_row(scene, inner),
        *lost_rows(scene, inner, room.lost),
        entry_row(scene, inner),
        *message_rows(scene, inner, room.message),
    ]
    paint = stripe(scene.view.items, len(middle), scene.look.signs)
    return [identity_row(scene, width), *beside(paint, middle, STRIPE, 2), key_row(scene, width)]


def _body(scene: Scene, width: int, height: int) -> list[Row]:
    if scene.reader is not None:
        return reader_rows(scene, min(width, 100), height)
    main = _ending if scene.ending else _step_or_dialog
    if width < WIDE - STRIPE - 3:
        return main(scene, width, height)
    side = min(width * 2 // 5, 72)
    left = width - side - 3
    rows = (
        main(scene, min(left, 92), height)
        if scene.ending
        else _step_or_dialog(scene, min(left, 92), height, beside_it=True)
    )
    return beside(block(rows, height), side_rows(scene, side, height), left, 3)


Part = Callable[[Scene, int, int], list[Row]]


def _step_or_dialog(scene: Scene, width: int, height: int, *, beside_it: bool = False) -> list[Row]:
    found = [line for text in scene.findings for line in paragraph(text, width, "dim", limit=2)][
        : height // 3
    ]
    return [*found, *step_rows(scene, width, height - len(found), gate_beside=beside_it)]


def _ending(scene: Scene, width: int, height: int) -> list[Row]:
    if scene.dialog:
        return step_rows(scene, width, height)
    lines = [line for text in scene.ending for line in (paragraph(text, width) or [EMPTY])]
    return [row(span(f" {scene.view.outcome.upper()} ", "flag")), EMPTY, *lines]


def _small(scene: Scene, width: int, height: int) -> list[Row]:
    """What is asked, and that the rest needs a larger screen."""
    size = f"{width}x{height} is too small: 80x24 shows everything."
    head = [identity_row(scene, width), row(span(size, "refused"))]
    foot = [
        owed_heading(scene, width),
        *lost_rows(scene, width, min(len(scene.view.lost), 1)),
        entry_row(scene, width),
        *message_rows(scene, width, 2),
        key_row(scene, width),
    ]
    room = max(height - len(head) - len(foot), 1)
    body = reader_rows(scene, width, room) if scene.reader is not None else step_rows(scene, width, room)
    return [*head, *block(body, room), *foot]


def last_scroll(scene: Scene, width: int, height: int) -> int:
    """The furthest line a long text may start at, so that scrolling ends with its last line in sight."""
    if scene.reader is None:
        return 0
    inner = min(width - STRIPE - 3, 100) if width >= LEAST_WIDTH and height >= LEAST_HEIGHT else width
    conditions = condition_rows(scene, width - STRIPE - 3, 2)
    body = share(width, height, len(conditions), len(scene.view.lost)).body if inner != width else height - 8
    return max(len(reader_lines(scene, inner)) - body + 1, 0)
