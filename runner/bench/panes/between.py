"""What is asked outside any step: before the first one, between two, on coming back, at a stop, at the end."""

from collections.abc import Iterable

from runner.bench.panes.asked import asked_rows
from runner.bench.rows import EMPTY, Row, hanging, row, span
from runner.bench.scene import Scene
from runner.view import UNPROVED_MEANS, View

HEADINGS = {
    "start": "Start",
    "choose": "Before step 1",
    "prepare": "Before step 1",
    "cue": "Put off until now",
    "due": "Owed before going on",
    "restore": "Not as recorded",
    "doubt": "The clocks disagree",
    "resume": "Back at the bench",
    "reconfirm": "Compare with the work",
    "handover": "Handover",
    "stop": "STOP",
    "close out": "Close-out",
    "make safe": "Make safe",
    "seal": "The end",
    "sealed": "Sealed",
    "outside proof": "PROGRAM ERROR",
}
"""The demands that are no part of a step's gate, and what stands in the place of the step's title."""

_RETURNING = {"resume", "reconfirm", "handover"}
_BEFORE = {"start", "choose", "prepare"}


def between_rows(scene: Scene, width: int, height: int) -> list[Row]:
    """The demand under its own heading, with what is needed to answer it."""
    head = [row(span(f" {HEADINGS[scene.view.demand.kind]} ", "chip"))]
    gap = [EMPTY] if height > 8 else []
    facts = _facts(scene, width)
    # On coming back everything that may be answered comes before what it is compared with.
    kept = 0 if scene.view.demand.kind in _RETURNING else min(len(facts), 5)
    asked = asked_rows(scene, width, max(height - len(head) - len(gap) - kept, 1))
    room = height - len(head) - len(asked) - 2 * len(gap)
    return [*head, *gap, *asked, *gap, *facts[: max(room, 0)]][:height]


def _facts(scene: Scene, width: int) -> list[Row]:
    view = scene.view
    if view.demand.kind in _RETURNING:
        pairs: Iterable[tuple[str, str]] = _where_it_stands(view)
    elif view.demand.kind in {"cue", "due"}:
        pairs = _why_owed(view)
    elif view.demand.kind in _BEFORE and view.identity.unproved:
        pairs = (("Not proved", view.identity.unproved), ("So", UNPROVED_MEANS))
    else:
        pairs = ()
    more = f"{scene.look.signs.more} F1"
    lines: list[Row] = []
    for label, text in pairs:
        lines += hanging(row(span(f"{label:<12}", "dim")), text, width, limit=2, more=more)
    return lines


def _where_it_stands(view: View) -> list[tuple[str, str]]:
    """The last three steps, what is in hand, the line left on leaving, tools and aids: to be held against the work."""
    pairs = [("You were to", view.pause_note)] if view.pause_note else []
    for line in view.trail[-3:]:
        words = f"{line.place}: {line.title}" if line.place else line.title
        pairs.append(("Done", f"{words} ({line.note})" if line.note else words))
    if view.step is not None:
        pairs.append(
            ("In hand", f"{view.step.place}: {view.step.title}" if view.step.place else view.step.title)
        )
    aids = ", ".join(item.label for item in view.items if item.kind == "aid" and item.mark == "open")
    fitted = {line.tool: f" with {line.extension}" for line in view.wrenches if line.extension}
    tools = ", ".join(f"{name} {identity}{fitted.get(name, '')}".rstrip() for name, identity in view.tools)
    return [*pairs, ("Aids in", aids or "none"), ("Tools", tools or "none counted in")]


def _why_owed(view: View) -> list[tuple[str, str]]:
    keys = {option.key for option in view.demand.options} | {view.demand.subject}
    pairs = []
    for line in view.owed:
        if line.key in keys:
            pairs += [("Because", line.why)] if line.why else []
            pairs += [("Before", line.before)] if line.before else []
            pairs += [("Last chance", f"before {line.last_chance}")] if line.last_chance else []
    return list(dict.fromkeys(pairs))
