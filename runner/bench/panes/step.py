"""The step in hand: its title, its notices, what is asked, and how far its gate is. Nothing of it is cut unmarked."""

from runner.bench.panes.asked import asked_rows, field_rows
from runner.bench.panes.between import HEADINGS, between_rows
from runner.bench.panes.notices import notice_rows, notice_to_read
from runner.bench.panes.value import minutes
from runner.bench.rows import EMPTY, Row, Span, clip, cut, hanging, paragraph, row, span, width_of
from runner.bench.scene import Scene
from runner.bench.theme import Ink, Signs
from runner.view import GateLine, ProofLine, StepView

_TAGS = (
    ("critical", "critical"),
    ("omission_likely", "easily forgotten"),
    ("put_off", "was put off"),
    ("detour", "detour"),
)


def step_rows(scene: Scene, width: int, height: int, *, gate_beside: bool = False) -> list[Row]:
    """The body of the work screen in as many rows as there is room for, most important first.

    With `gate_beside` the gate has its own place and is left out here.
    """
    if scene.dialog and scene.form is not None:
        return dialog_rows(scene, width, height)
    step, signs = scene.view.step, scene.look.signs
    if step is None or scene.view.demand.kind in HEADINGS:
        return between_rows(scene, width, height)
    airy = height > 20
    head = title_rows(scene, width) if height > 7 else title_rows(scene, width, limit=1)[:1]
    # A notice that is being read has all the room it needs: what follows it can wait until it has been read.
    kept = 1 if scene.view.demand.kind == "acknowledge" else 6
    notices = _notices(scene, width, height - len(head) - kept)
    gate_least = 0 if gate_beside else min(len(step.gate), 2, max(height - len(head) - len(notices), 0))
    room = height - len(head) - len(notices) - gate_least
    asked = asked_rows(scene, width, max(room, 1), 2 if airy else 1)
    left = height - len(head) - len(notices) - len(asked)
    gaps = 4 if airy else min(2, max(left - gate_least - 1, 0))
    gate = [] if gate_beside else gate_rows(step.gate, width, min(left - gaps, len(step.gate)), signs)
    more = _extras(step, width, left - gaps - len(gate), signs, scene.view.demand.tool)
    # Where few empty rows are left they go first before the gate, then before what is asked.
    parts = [
        (2, head),
        (3, notices),
        (1, asked),
        *([(4, more), (0, gate)] if airy else [(0, gate), (4, more)]),
    ]
    return _joined([part for part in parts if part[1]], height)


def _joined(parts: list[tuple[int, list[Row]]], height: int) -> list[Row]:
    """The parts one after another, an empty row before as many of them as there is room for, lowest number first."""
    spare = height - sum(len(lines) for _, lines in parts)
    gaps = set(sorted(rank for rank, _ in parts)[: max(spare, 0)])
    rows: list[Row] = []
    for rank, lines in parts:
        rows += [EMPTY] * (rank in gaps) + lines
    return rows[:height]


def title_rows(scene: Scene, width: int, limit: int = 2) -> list[Row]:
    """Place and title, what is special about the step, and the time left where it has a limit."""
    step, signs = scene.view.step, scene.look.signs
    if step is None:
        return []
    place = (span(f" {step.place} ", "chip"), Span(" ")) if step.place else ()
    lines = hanging(place, step.title, width, "title", limit=limit, more=f"{signs.more} F1")
    words = [text for name, text in _TAGS if getattr(step, name)]
    if scene.view.demand.critical and not step.critical:
        words.append("critical item")
    tags = [span(f"  {text}", "dim") for text in words]
    if step.limit_ms is not None:
        tags += [
            Span("  "),
            span(f" {'HURRY: ' if step.warn else ''}{minutes(step.limit_ms)} left ", _LIMIT[step.warn]),
        ]
    if tags and width_of(lines[-1]) + width_of(tuple(tags)) <= width:
        lines[-1] = (*lines[-1], *tags)
    elif tags:
        lines.append(tuple(tags))
    return lines


_LIMIT: dict[bool, Ink] = {False: "chip", True: "flag"}


def _notices(scene: Scene, width: int, room: int) -> list[Row]:
    """Every notice of the step; the one to be read now last and in full, the others in two rows where room is short."""
    step = scene.view.step
    if step is None or not step.notices:
        return []
    signs = scene.look.signs
    now = scene.view.demand.index if scene.view.demand.kind == "acknowledge" else -1
    to_read = (
        [line for n in step.notices[now : now + 1] for line in notice_to_read(n, width, signs)]
        if now >= 0
        else []
    )
    others = [notice for index, notice in enumerate(step.notices) if index != now]
    full = [line for notice in others for line in notice_rows(notice, width, signs)]
    if len(full) + len(to_read) > room:
        limit = 1 if 2 * len(others) + len(to_read) > room else 2
        full = [line for notice in others for line in notice_rows(notice, width, signs, limit)]
    return [*full, *cut(to_read, max(room - len(full), 3), width, f"{signs.more} F1")]


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
        tail = span(f"   ({counts})", "dim")
        lines[-1] = (*clip(lines[-1], width - len(tail.text), signs.more), tail)
    return lines


def _extras(step: StepView, width: int, room: int, signs: Signs, shown: str) -> list[Row]:
    """What else the author says; not the tool that is `shown` beside the value already."""
    texts = (
        ("Expect ", step.expect),
        ("Because ", step.because),
        ("Tools ", ", ".join(tool for tool in step.tools if tool != shown)),
        ("Helper ", step.helper),
        ("Sketch ", step.sketch),
    )
    lines: list[Row] = []
    for label, text in texts:
        left = room - len(lines)
        if text and left > 0:
            lines += hanging(row(span(label, "dim")), text, width, limit=left, more=f"{signs.more} F1")
    return lines


_ANSWER_INK: dict[str, Ink] = {
    "holds": "good", "owed": "strong", "lost": "danger", "refused": "refused", "closes": "dim", "unsure": "strong"
}  # fmt: skip


def answer_rows(answer: tuple[ProofLine, ...], width: int, height: int, signs: Signs) -> list[Row]:
    """What the proof answers to the act being made, in at most `height` rows; what is left out is counted."""
    marks = {
        "lost": signs.lost,
        "holds": signs.done,
        "owed": signs.waiting,
        "refused": signs.lost,
        "unsure": "?",
    }
    parts = []
    for line in answer:
        head = row(span(f"{marks.get(line.kind, ' ')} ", _ANSWER_INK[line.kind]))
        words: Ink = "strong" if line.kind == "lost" else _ANSWER_INK[line.kind]
        parts.append(hanging(head, line.text, width, words, limit=2, more=f"{signs.more} F1"))
    lines: list[Row] = []
    for at, part in enumerate(parts):
        last = at == len(parts) - 1
        if len(lines) + len(part) > height - (not last):
            return [*lines, row(span(f"  {signs.more} and {len(parts) - at} more, F1", "strong"))][:height]
        lines += part
    return lines


def dialog_rows(scene: Scene, width: int, height: int) -> list[Row]:
    """A dialog in the place of the step; everything around the step stays as it was."""
    form = scene.form
    assert form is not None
    lines: list[Row] = [
        row(span(f" {form.title} ", "flag"), span("   Esc closes, nothing is recorded", "dim"))
    ]
    lines += answer_rows(form.answer, width, max(height - 8, 2), scene.look.signs)
    leads: list[Row] = []
    for text in form.lead:
        leads += paragraph(text, width, limit=3, more=f"{scene.look.signs.more}")
    current = form.current
    need = len(form.answered) + (min(len(current.options), 6) + 1 if current else 2)
    lines += leads[: max(height - len(lines) - need, 0)]
    if height - len(lines) - need > 0:
        lines.append(EMPTY)
    return [*lines, *field_rows(form, width, height - len(lines), scene.look)]
