"""The value to set or to meet: the largest thing on the screen, what is known of it under it, its group beside it."""

from collections.abc import Iterator

from runner.bench.circle import circle, is_star
from runner.bench.figures import large, split_value
from runner.bench.grid import grid
from runner.bench.members import Group, line_of_members
from runner.bench.rows import Row, Span, beside, hanging, row, span, width_of
from runner.bench.theme import Look, Signs
from runner.job.demand import Demand

_HIGHEST = 21
"""The rows of the largest drawing of a group: 32 round a circle; a larger one would only push the rest away."""


def minutes(milliseconds: int) -> str:
    """A length of time as a clock counts it down: `9:05`, `1:00:00`."""
    seconds = -(-milliseconds // 1000)
    hours, rest = divmod(seconds, 3600)
    return f"{hours}:{rest // 60:02}:{rest % 60:02}" if hours else f"{rest // 60}:{rest % 60:02}"


def value_rows(demand: Demand, look: Look, width: int, height: int, scale: int, below: int) -> list[Row]:
    """The value with what is known of it, in at most `height` rows; `below` of them are for what is answered."""
    text = minutes(demand.until_ms) if demand.kind in {"wait", "due"} and demand.until_ms > 0 else demand.big
    if not text:
        return [row(span("Band: ", "dim"), span(demand.band, "strong"))] if demand.band else []
    drawn = figure_rows(text, look, width, min(height, 9 if scale > 1 else 3), scale)
    facts = [row(span(f"{label} ", "dim"), span(value, "strong")) for label, value in _facts(demand)]
    left = max((width_of(line) for line in drawn), default=0)
    about = [row(span("it is ", "dim"), span(demand.about, "strong"))] if demand.about else []
    # What is known besides (thread, class, number one) is long: it stands below, so that the rest stays beside.
    if len(facts) < len(drawn) and width - left - 4 >= _width(about):
        facts, about = [*facts, *about], []
    tried: list[list[Row]] = []
    for grouped in (True, False):  # a warning cut to one row costs less than the drawing of the group
        for limit in (2, 1):
            notes = [*_warning(demand, look.signs, width, limit), *about]
            room = height - below - len(notes)
            layouts = _layouts(demand, look, drawn, facts, width, room, grouped=grouped)
            tried += [[*lines, *notes] for lines in layouts]
    return next((lines for lines in tried if len(lines) <= height - below), tried[-1])


def _facts(demand: Demand) -> list[tuple[str, str]]:
    facts = []
    if demand.specified:
        facts.append(("for", demand.specified))
    if demand.band:
        facts.append(("band", demand.band))
    if demand.correction:
        facts.append(("corrected for", demand.correction))
    if demand.methods == ("by mark",):
        facts.append(("by", "the mark"))
    elif demand.tool:
        facts.append(("with", demand.tool))
    if demand.stages > 1:
        facts.append(("stage", f"{demand.stage} of {demand.stages}"))
    return facts


def _warning(demand: Demand, signs: Signs, width: int, limit: int) -> list[Row]:
    if not demand.warning:
        return []
    lead = row(span(f" {signs.alert} ", "flag"), Span(" "))
    return hanging(lead, demand.warning, width, "strong", limit=limit, more=f"{signs.more} F1")


def _width(lines: list[Row]) -> int:
    return max((width_of(line) for line in lines), default=0)


def _layouts(
    demand: Demand, look: Look, drawn: list[Row], facts: list[Row], width: int, height: int, *, grouped: bool
) -> Iterator[list[Row]]:
    """The ways to set value, facts and group, the best first: with the group `grouped` as it stands, or in a row.

    Facts stand beside the value, or flow under it where that is too wide; the group is drawn at the right of both, or
    below.
    """
    left = _width(drawn)
    texts = []
    if width - left - 4 >= _width(facts):
        texts.append(beside(drawn, facts, left, 4))
    texts.append([*drawn, *flowing(facts, max(left, min(width, 36)))])
    texts.append([*drawn, *flowing(facts, width)])
    if len(demand.sequence) < 2:
        yield from texts
        return
    group = Group(demand.sequence, demand.members_done, demand.member)
    if not grouped:
        yield from ([*text, *line_of_members(group, width, look.signs)] for text in texts)
        return
    high = min(height, _HIGHEST)
    for text in texts:
        at_right = members_rows(demand, group, width - _width(text) - 3, high, look.signs)
        if at_right:
            yield beside(text, at_right, _width(text), 3)
    for text in texts:
        under = members_rows(demand, group, width, min(height - len(text), _HIGHEST), look.signs)
        if under:
            yield [*text, *under]


def flowing(pieces: list[Row], width: int, gap: int = 3) -> list[Row]:
    """Pieces one after another, as many on a row as fit whole."""
    lines: list[Row] = []
    for piece in pieces:
        if lines and width_of(lines[-1]) + gap + width_of(piece) <= width:
            lines[-1] = (*lines[-1], Span(" " * gap), *piece)
        else:
            lines.append(piece)
    return lines


def members_rows(demand: Demand, group: Group, width: int, height: int, signs: Signs) -> list[Row] | None:
    """The group drawn in rows or round a circle; None where it stands in a line, or the drawing does not fit."""
    if demand.rows:
        return grid(group, demand.rows, width, height, signs)
    if demand.circle or is_star(demand.sequence):
        return circle(group, width, height, signs)
    return None


def figure_rows(text: str, look: Look, width: int, height: int, scale: int) -> list[Row]:
    """`text` drawn large, else its number large and its unit beside, else in plain strong letters."""
    ascii_only = look.signs.ascii_only
    for size in range(scale, 0, -1):
        whole = large(text, width, ascii_only=ascii_only, scale=size)
        if whole and len(whole) <= height:
            return [(Span(line, "paint"),) for line in whole]
    number, unit = split_value(text)
    part = large(number, width - len(unit) - 2, ascii_only=ascii_only)
    if part and len(part) <= height:
        rows: list[Row] = [(Span(line, "paint"),) for line in part]
        rows[-1] = (*rows[-1], Span("  "), span(unit, "strong"))
        return rows
    return [row(span(f" {text} ", "chip"))]
