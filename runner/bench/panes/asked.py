"""What is asked now, with its value as large as the room allows and its band beside it."""

from runner.bench.circle import circle, is_star
from runner.bench.figures import large, split_value
from runner.bench.form import Form
from runner.bench.grid import grid
from runner.bench.members import Group, line_of_members
from runner.bench.panes.picking import option_rows
from runner.bench.rows import Row, Span, beside, hanging, paragraph, row, span, width_of
from runner.bench.scene import Scene
from runner.bench.theme import Look, Signs
from runner.job.demand import Demand


def asked_rows(scene: Scene, width: int, height: int, scale: int = 1) -> list[Row]:
    """The demand in at most `height` rows: the sentence, the value, what would lift it, the options or answers."""
    demand, form = scene.view.demand, scene.form
    signs = scene.look.signs
    lines: list[Row] = []
    if not _says_the_title(scene):
        lines += paragraph(demand.prompt, width, "strong", limit=2, more=f"{signs.more} F1")
    if demand.lift:
        lines += hanging(
            row(span("To lift it: ", "dim")), demand.lift, width, limit=3, more=f"{signs.more} F1"
        )
    if scene.view.receipt:
        lines.append(
            row(span("Receipt code, for the job sheet: ", "dim"), span(scene.view.receipt, "strong"))
        )
    asks = form if not scene.dialog else None
    fields = field_rows(asks, width, height, scene.look, skip=demand.prompt) if asks else []
    lines += _value(demand, scene.look, width, height - len(lines), scale, len(fields))
    if asks:
        lines += field_rows(asks, width, height - len(lines), scene.look, skip=demand.prompt)
    return lines[:height]


def _says_the_title(scene: Scene) -> bool:
    """Whether the step's title, or the notice to read, drawn above, already is the sentence."""
    step, demand = scene.view.step, scene.view.demand
    return step is not None and (demand.kind == "acknowledge" or step.title == demand.prompt)


def minutes(milliseconds: int) -> str:
    """A length of time as a clock counts it down: `9:05`, `1:00:00`."""
    seconds = -(-milliseconds // 1000)
    hours, rest = divmod(seconds, 3600)
    return f"{hours}:{rest // 60:02}:{rest % 60:02}" if hours else f"{rest // 60}:{rest % 60:02}"


def big_text(demand: Demand) -> str:
    """What is to be drawn large: the value to set, or the time still to wait."""
    if demand.kind in {"wait", "due"} and demand.until_ms > 0:
        return minutes(demand.until_ms)
    return demand.big


def _value(demand: Demand, look: Look, width: int, height: int, scale: int, below: int) -> list[Row]:
    """The value with what is known of it; a drawing of the group leaves `below` rows for what is answered."""
    text = big_text(demand)
    if not text:
        return [row(span("Band: ", "dim"), span(demand.band, "strong"))] if demand.band else []
    drawn = figure_rows(text, look, width, min(height, 9 if scale > 1 else 3), scale)
    facts = [row(span(f"{label} ", "dim"), span(value, "strong")) for label, value in _facts(demand)]
    left = max((width_of(line) for line in drawn), default=0)
    about = [row(span("it is ", "dim"), span(demand.about, "strong"))] if demand.about else []
    # What is known besides (thread, class, number one) is long: it stands below, so that the rest stays beside.
    if len(facts) < len(drawn) and width - left - 4 >= max((width_of(line) for line in about), default=0):
        facts, about = [*facts, *about], []
    room = height - below - len(about)
    if width - left - 4 >= max((width_of(line) for line in facts), default=0):
        lines = _with_members(demand, look, beside(drawn, facts, left, 4), width, room)
    else:
        lines = [*drawn, *_with_members(demand, look, facts, width, room - len(drawn))]
    return [*lines, *about]


def _facts(demand: Demand) -> list[tuple[str, str]]:
    facts = []
    if demand.band:
        facts.append(("band", demand.band))
    if demand.methods == ("by mark",):
        facts.append(("by", "the mark"))
    elif demand.tool:
        facts.append(("with", demand.tool))
    if demand.stages > 1:
        facts.append(("stage", f"{demand.stage} of {demand.stages}"))
    return facts


_HIGHEST = 21
"""The rows of the largest drawing of a group: 32 round a circle; a larger one would only push the rest away."""


def _with_members(demand: Demand, look: Look, lines: list[Row], width: int, height: int) -> list[Row]:
    """The fasteners of the group as they stand, at the right or below, where they fit; else in a row below."""
    if len(demand.sequence) < 2:
        return lines
    group = Group(demand.sequence, demand.members_done, demand.member)
    left = max((width_of(line) for line in lines), default=0)
    height = min(height, _HIGHEST)
    beside_them = members_rows(demand, group, width - left - 3, height, look.signs)
    if beside_them:
        return beside(lines, beside_them, left, 3)
    below = members_rows(demand, group, width, height - len(lines), look.signs)
    return [*lines, *(below or line_of_members(group, width, look.signs))]


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


def field_rows(form: Form, width: int, height: int, look: Look, skip: str = "") -> list[Row]:
    """The answers so far, and the field being answered; `skip` is a sentence that already stands above."""
    if height < 1:
        return []
    lines: list[Row] = [
        row(span(f"{each.label}: ", "dim"), span(words, "plain"))
        for each, words in form.answered
        if each.label
    ]
    current = form.current
    if current is None:
        return [*lines, *paragraph(form.confirm, width, "strong")][-height:]
    label = current.label if current.label != skip else ""
    hint = f"({current.hint})" if current.hint else ""
    if label and hint and width_of(row(label, "  ", hint)) > width:
        lines += [row(span(label, "strong")), *paragraph(hint, width, "dim", limit=2)]
    elif label or hint:
        lines.append(row(span(label, "strong"), span("  " if label and hint else ""), span(hint, "dim")))
    least = min(len(current.options), 3)
    lines = lines[-max(height - least, 1) :]
    numbered = not current.typing
    return [
        *lines,
        *option_rows(current.options, form.picked, width, height - len(lines), look.signs, numbered=numbered),
    ]
