"""What is asked now: the sentence, the value, what would lift it, and the field being answered."""

from runner.bench.form import Form
from runner.bench.panes.picking import option_rows
from runner.bench.panes.value import value_rows
from runner.bench.rows import Row, hanging, paragraph, row, span, width_of
from runner.bench.scene import Scene
from runner.bench.theme import Look


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
    if demand.kind == "blocked" and demand.tool:
        lines.append(_other_wrench())
    if scene.view.receipt:
        lines.append(
            row(span("Receipt code, for the job sheet: ", "dim"), span(scene.view.receipt, "strong"))
        )
    asks = form if not scene.dialog else None
    fields = field_rows(asks, width, height, scene.look, skip=demand.prompt) if asks else []
    lines += value_rows(demand, scene.look, width, height - len(lines), scale, len(fields))
    if asks:
        lines += field_rows(asks, width, height - len(lines), scene.look, skip=demand.prompt)
    return lines[:height]


def _other_wrench() -> Row:
    """The keys that lead past a wrench that does not fit."""
    return row(
        *(span("F12", "key", "f12"), span(" another wrench or extension   ")),
        *(span("F4", "key", "f4"), span(" deviate: use this one all the same")),
    )


def _says_the_title(scene: Scene) -> bool:
    """Whether the step's title, or the notice to read, drawn above, already is the sentence."""
    step, demand = scene.view.step, scene.view.demand
    return step is not None and (demand.kind == "acknowledge" or step.title == demand.prompt)


def field_rows(form: Form, width: int, height: int, look: Look, skip: str = "") -> list[Row]:
    """The answers so far, and the field being answered; `skip` is a sentence that already stands above."""
    if height < 1:
        return []
    lines: list[Row] = [
        row(span(f"{each.label}{'' if each.label.endswith('?') else ':'} ", "dim"), span(words, "plain"))
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
