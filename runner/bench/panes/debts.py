"""What is put off and what is open: its own place, always the same, never scrolled away."""

from runner.bench.rows import Row, Span, clip, fit, hanging, row, span, width_of
from runner.bench.scene import Scene
from runner.bench.theme import Ink, Signs
from runner.view import NO_WAY, OwedLine

_WORD = {"cued": "NOW", "overdue": "OVERDUE", "passed by": "passed by", "waiting": ""}


def owed_heading(scene: Scene, width: int) -> Row:
    """A rule that counts what is put off."""
    owed = scene.view.owed
    signs = scene.look.signs
    ready = sum(line.ready for line in owed)
    count = f" Put off: {len(owed) or 'nothing'}{f', {ready} can be done now' if ready else ''} "
    lead = span(signs.rule * 2, "rule")
    words = span(count, "strong" if owed else "dim")
    return (lead, words, Span(signs.rule * max(width - len(count) - 2, 0), "rule"))


def owed_rows(scene: Scene, width: int, height: int) -> list[Row]:
    """The put-off list in `height` rows, those whose moment is now first; what does not fit is counted."""
    signs = scene.look.signs
    order = sorted(scene.view.owed, key=lambda line: (not line.ready, line.status not in {"cued", "overdue"}))
    shown = order if len(order) <= height else order[: height - 1]
    step = scene.view.step
    here = (step.title, step.place) if step is not None and step.put_off else None
    lines = [_owed(line, width, signs, in_hand=(line.what, line.where) == here) for line in shown]
    if order and 3 * len(order) <= height:
        # With room for it, when and what before stand below in full instead of cut beside.
        lines = [
            part for pair in zip(lines, order, strict=True) for part in _roomy(*pair, width, signs, here)
        ]
    if len(order) > height:
        lines.append(row(span(f"  {signs.more} and {len(order) - len(shown)} more, all under F6", "strong")))
    return lines


def _owed(line: OwedLine, width: int, signs: Signs, *, in_hand: bool) -> Row:
    ink: Ink = "strong" if line.ready else "plain"
    mark = span(f"{signs.ready if line.ready else signs.waiting} ", "paint" if line.ready else "dim")
    what = span(f"{line.where}: {line.what}" if line.where else line.what, ink)
    # What it waited for is past once it can be done; what it must come before is not.
    when = f"{signs.dot}{line.trigger}" if line.trigger and not line.ready else ""
    before = f"{signs.dot}{line.until}" if line.until else ""
    word = "IN HAND" if in_hand else _WORD.get(line.status, line.status) or ("READY" if line.ready else "")
    if line.key.startswith("extra") and line.status == "passed by":
        word = "extra work"
    tail: Row = (Span(" "), span(f" {word} ", "flag" if word.isupper() else "dim")) if word else ()
    room = width - width_of(tail)
    body = clip(row(mark, what), max(room * 3 // 5, room - len(when) - len(before)), signs.more)
    rest = clip(row(span(when + before, "dim")), room - width_of(body), signs.more)
    return (*fit((*body, *rest), room, signs.more), *tail)


def _roomy(short: Row, line: OwedLine, width: int, signs: Signs, here: tuple[str, str] | None) -> list[Row]:
    words = [line.trigger if not line.ready else "", line.until]
    text = signs.dot.join(word for word in words if word)
    if width_of(row(line.where, ": ", line.what, signs.dot, text)) + 4 <= width or not text:
        return [short]
    first = _owed(
        line.but(trigger="", before="", last_chance=""), width, signs, in_hand=(line.what, line.where) == here
    )
    return [first, *hanging(row("  "), text, width, "dim", limit=2, more=f"{signs.more} F6")]


def lost_rows(scene: Scene, width: int, height: int) -> list[Row]:
    """What nothing closes any more, in exactly `height` rows; none where nothing is lost."""
    lost, signs = scene.view.lost, scene.look.signs
    mark = row(span(f"{signs.lost} {NO_WAY}: ", "danger"))
    shown = lost if len(lost) <= height else lost[: max(height, 1)]
    rest = len(lost) - len(shown)
    lines = [clip((*mark, span(words, "strong")), width, f"{signs.more} F6") for words in shown]
    if rest and lines:
        tail = span(f"  +{rest}, F6", "strong")
        lines[-1] = (*clip(lines[-1], width - width_of((tail,)), signs.more), tail)
    return lines[:height]


def open_row(scene: Scene, width: int) -> Row:
    """The items that are open now, and the open points of deviations, in one row."""
    signs = scene.look.signs
    opened = [item for item in scene.view.items if item.mark in {"open", "part", "not done"}]
    parts = [span(f"Open {len(opened)}: " if opened else "Open: nothing", "dim" if not opened else "strong")]
    points = len(scene.view.open_points)
    tail: Row = (span(f"  {points} open point{'s' if points > 1 else ''}", "strong"),) if points else ()
    room = width - width_of(tail)
    used = width_of(tuple(parts))
    for index, item in enumerate(opened):
        words = f"{item.label} ({item.state}{', off the plan' if item.off_plan else ''})"
        rest = len(opened) - index - 1
        after = f"  +{rest}" if rest else ""
        part = span(f"{signs.dot if index else ''}{words}")
        if used + width_of((part,)) + len(after) > room and index:
            parts.append(span(f"  +{rest + 1}", "strong"))
            break
        parts.append(part)
        used += width_of((part,))
    return (*fit(tuple(parts), room, signs.more), *tail)
