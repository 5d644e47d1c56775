"""The step in hand: its title, its notices, what is asked, and how far its gate is. Nothing of it is cut unmarked."""

from runner.bench.panes.asked import asked_rows, field_rows
from runner.bench.panes.notices import notice_rows
from runner.bench.rows import EMPTY, Row, Span, hanging, paragraph, row, span, width_of
from runner.bench.scene import Scene
from runner.bench.theme import Ink, Signs
from runner.view import GateLine, NoticeLine, StepView

_TAGS = (
    ("critical", "critical"),
    ("omission_likely", "easily forgotten"),
    ("put_off", "was put off"),
    ("detour", "detour"),
)


def step_rows(scene: Scene, width: int, height: int, *, gate_beside: bool = False) -> list[Row]:
    """The body of the work screen in exactly as many rows as there is room for, most important first.

    With `gate_beside` the gate has its own place and is left out here.
    """
    if scene.dialog and scene.form is not None:
        return dialog_rows(scene, width, height)
    step, signs = scene.view.step, scene.look.signs
    head = title_rows(step, width, signs) if step else []
    airy = height > 20
    notices = _notices(scene, width, height - len(head) - 4)
    gate_least = 0 if gate_beside or step is None else min(len(step.gate), 2)
    room = height - len(head) - len(notices) - gate_least
    asked = asked_rows(scene, width, max(room, 1), 2 if airy else 1)
    parts = [head, notices, asked]
    left = height - sum(map(len, parts)) - (3 if airy else 0)
    if step is not None and left > 0:
        gate = [] if gate_beside else gate_rows(step.gate, width, min(left, len(step.gate)), signs)
        more = _extras(step, width, left - len(gate), signs)
        parts = [head, notices, asked, more, gate] if airy else [head, notices, asked, gate, more]
    return _joined([part for part in parts if part], height, airy)


def _joined(parts: list[list[Row]], height: int, airy: bool) -> list[Row]:
    """The parts one after another, with empty rows between them where there is room."""
    spare = height - sum(map(len, parts))
    lines: list[Row] = []
    for index, part in enumerate(parts):
        if index and (spare > 0 or airy):
            lines.append(EMPTY)
            spare -= 1
        lines += part
    return lines[:height]


def title_rows(step: StepView, width: int, signs: Signs, limit: int = 2) -> list[Row]:
    """Place and title, and what is special about the step."""
    place = (span(f" {step.place} ", "chip"), Span(" ")) if step.place else ()
    tags = "  ".join(words for name, words in _TAGS if getattr(step, name))
    lines = hanging(place, step.title, width, "title", limit=limit, more=f"{signs.more} F1")
    if tags:
        tag = span(f"  {tags}", "dim")
        if width_of(lines[-1]) + len(tag.text) <= width:
            lines[-1] = (*lines[-1], tag)
        else:
            lines.append(row(span(tags, "dim")))
    return lines


def _notices(scene: Scene, width: int, room: int) -> list[Row]:
    """Every notice of the step; the one to be read now in full, the others in two rows where room is short."""
    step = scene.view.step
    if step is None or not step.notices:
        return []
    signs = scene.look.signs
    now = scene.view.demand.index if scene.view.demand.kind == "acknowledge" else -1
    full = [notice_rows(notice, width, signs) for notice in step.notices]
    if sum(map(len, full)) <= room:
        return [line for lines in full for line in lines]
    lines: list[Row] = []
    for index, notice in enumerate(step.notices):
        lines += full[index][: max(room, 3)] if index == now else _short(notice, width, signs)
    return lines


def _short(notice: NoticeLine, width: int, signs: Signs) -> list[Row]:
    return notice_rows(notice, width, signs, limit=2)


_GATE_INK: dict[str, Ink] = {"done": "dim", "now": "strong", "later": "plain", "waived": "dim"}


def gate_rows(gate: tuple[GateLine, ...], width: int, height: int, signs: Signs) -> list[Row]:
    """The gate around what it asks now; how much stands before and after is said where it is cut."""
    if height < 1 or not gate:
        return []
    now = next((at for at, line in enumerate(gate) if line.state == "now"), len(gate) - 1)
    first = min(max(now - (1 if height > 1 else 0), 0), max(len(gate) - height, 0))
    shown = gate[first : first + height]
    marks = {"done": signs.done, "now": signs.now, "later": signs.later, "waived": signs.waived}
    lines: list[Row] = []
    for line in shown:
        word = " (waived)" if line.state == "waived" else ""
        ink = _GATE_INK[line.state]
        mark: Ink = "paint" if line.state in {"done", "now"} else "dim"
        lines.append(row(span(f"{marks[line.state]} ", mark), span(line.text + word, ink)))
    behind, ahead = first, len(gate) - first - len(shown)
    counts = "  ".join(
        words for count, words in ((behind, f"{behind} before"), (ahead, f"{ahead} after")) if count
    )
    if counts:
        lines[-1] = (*lines[-1], span(f"   ({counts})", "dim"))
    return lines


def _extras(step: StepView, width: int, room: int, signs: Signs) -> list[Row]:
    texts = (
        ("Expect ", step.expect),
        ("Because ", step.because),
        ("Helper ", step.helper),
        ("Sketch ", step.sketch),
    )
    lines: list[Row] = []
    for label, text in texts:
        left = room - len(lines)
        if text and left > 0:
            lines += hanging(row(span(label, "dim")), text, width, limit=left, more=f"{signs.more} F1")
    return lines


def dialog_rows(scene: Scene, width: int, height: int) -> list[Row]:
    """A dialog in the place of the step; everything around the step stays as it was."""
    form = scene.form
    assert form is not None
    lines: list[Row] = [
        row(span(f" {form.title} ", "flag"), span("   Esc closes, nothing is recorded", "dim"))
    ]
    leads: list[Row] = []
    for text in form.lead:
        leads += paragraph(text, width, limit=3, more=f"{scene.look.signs.more}")
    current = form.current
    need = len(form.answered) + (min(len(current.options), 6) + 1 if current else 2)
    lines += leads[: max(height - len(lines) - need, 0)]
    if height - len(lines) - need > 0:
        lines.append(EMPTY)
    return [*lines, *field_rows(form, width, height - len(lines), scene.look)]
