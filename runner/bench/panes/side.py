"""The second column of a large screen: the gate in full, what comes next, the items, and the way so far."""

from runner.bench.panes.step import gate_rows
from runner.bench.rows import EMPTY, Row, clip, row, span
from runner.bench.scene import Scene
from runner.bench.stripe import mark_sign
from runner.view import StepLine


def side_rows(scene: Scene, width: int, height: int) -> list[Row]:
    """`height` rows: each part gets what it needs, and says what it leaves out where that is too much."""
    view, signs = scene.view, scene.look.signs
    gate = list(view.step.gate) if view.step else []
    parts: list[tuple[str, list[Row]]] = []
    if gate and view.step:
        parts.append(("Gate", gate_rows(view.step.gate, width, min(len(gate), max(height // 4, 3)), signs)))
    parts.append(("Items", _items(scene)))
    parts.append(("Ahead", [_step(signs.later, line) for line in view.ahead]))
    parts.append(("Done", [_step(signs.done, line) for line in reversed(view.trail)]))
    parts = [part for part in parts if part[1]]
    shares = _shares([len(lines) + 2 for _, lines in parts], height)
    rows: list[Row] = []
    for (title, lines), share in zip(parts, shares, strict=True):
        rows += _part(title, lines, width, share, signs.more)
    return [clip(line, width, signs.more) for line in rows[:height]]


def _shares(needs: list[int], height: int) -> list[int]:
    """What each part gets of the height: the small ones all they need, the large ones an equal share of the rest."""
    shares = [0] * len(needs)
    left, waiting = height, sorted(range(len(needs)), key=lambda at: needs[at])
    for place, at in enumerate(waiting):
        shares[at] = min(needs[at], left // (len(waiting) - place))
        left -= shares[at]
    return shares


def _part(title: str, lines: list[Row], width: int, share: int, more: str) -> list[Row]:
    room = share - 2
    if room < 1:
        return [EMPTY] * share
    shown = lines if len(lines) <= room else lines[: room - 1]
    head = row(span(title, "dim"))
    rest = [row(span(f"{more} {len(lines) - len(shown)} more, F6", "dim"))] if len(lines) > room else []
    return [head, *shown, *rest, EMPTY]


def _items(scene: Scene) -> list[Row]:
    signs = scene.look.signs
    lines = []
    loudest = {"open": 0, "not done": 0, "part": 1}
    for item in sorted(scene.view.items, key=lambda item: loudest.get(item.mark, 2)):
        ink = "paint" if item.mark in {"final", "part"} else "dim"
        words = f"{item.state}{', off the plan' if item.off_plan else ''}"
        loud = item.mark in {"open", "not done", "part"}
        lines.append(
            row(
                span(mark_sign(item.mark, signs), "paint" if ink == "paint" else "dim"),
                span(f" {item.label}: ", "strong" if loud else "plain"),
                span(words, "strong" if loud else "dim"),
            )
        )
    return lines


def _step(mark: str, line: StepLine) -> Row:
    place = f"{line.place}: " if line.place else ""
    note = f" ({line.note})" if line.note else ""
    return row(span(f"{mark} ", "dim"), span(f"{place}{line.title}{note}"))
