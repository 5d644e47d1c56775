"""The first rows: what is worked on by whom, and the conditions it is in."""

from runner.bench.rows import Row, Span, clip, fit, row, span, spread, width_of
from runner.bench.scene import Scene
from runner.bench.theme import Look, Signs
from runner.view import ConditionLine, Identity


def opening_rows(
    title: str, revision: str, rehearsal: bool, width: int, height: int, look: Look
) -> list[Row]:
    """The first frame: who is coming, before the run itself is loaded."""
    who = Identity(title, "", revision, "", "", "", rehearsal, "")
    rows = [_identity(who, look.signs, width), row(span(f" Opening{look.signs.more}", "dim"))]
    return [fit(line, width, look.signs.more) for line in (*rows, *[row()] * (height - len(rows)))][:height]


def identity_row(scene: Scene, width: int) -> Row:
    """Title, revision, work piece, performer; rehearsal and unproved at the right, never cut off."""
    return _identity(scene.view.identity, scene.look.signs, width)


def _identity(who: Identity, signs: Signs, width: int) -> Row:
    parts = [f"rev {who.revision}" if who.revision else "", who.work_piece, who.performer]
    tail = "".join(f"{signs.dot}{part}" for part in parts if part)
    flags: list[Span] = []
    if who.unproved:
        flags.append(span(" UNPROVED ", "flag"))
    if who.rehearsal:
        flags += [Span(" ")] * bool(flags) + [span(" REHEARSAL ", "flag")]
    right = tuple(flags)
    room = width - width_of(right) - 1
    rest = clip(row(span(tail, "dim")), max(room - 12, room * 2 // 3), signs.more)
    title = clip(row(span(f" {who.title}", "title")), max(room - width_of(rest), 1), signs.more)
    return spread((*title, *rest), right, width, signs.more)


def condition_rows(scene: Scene, width: int, limit: int) -> list[Row]:
    """Each condition and its value, at most `limit` rows; always at least one."""
    signs = scene.look.signs
    lines: list[list[Span]] = [[]]
    for condition in scene.view.conditions:
        part = _condition(condition, signs)
        used = width_of(tuple(lines[-1]))
        if used and used + 3 + width_of(part) > width:
            lines.append([])
        elif used:
            lines[-1].append(Span("   "))
        lines[-1].extend(part)
    kept = [tuple(line) for line in lines[:limit]]
    if len(lines) > limit:
        lost = row(span(f" {signs.more} F6", "key"))
        kept[-1] = (*fit(kept[-1], width - width_of(lost), signs.more), *lost)
    return kept


def _condition(line: ConditionLine, signs: Signs) -> Row:
    parts = [span(f"{line.name}: ", "dim")]
    if line.becoming:
        parts += [span(line.value, "strong"), span(f" {signs.becoming} being changed to ", "plain")]
        parts.append(span(line.becoming, "strong"))
    else:
        parts.append(span(line.value or "not known yet", "strong"))
    if line.hazardous:
        parts += [Span(" "), span(f"{signs.alert} hazard", "chip")]
    if line.found:
        parts += [Span(" "), span(f" FOUND: {line.found} ", "flag")]
    return tuple(parts)
