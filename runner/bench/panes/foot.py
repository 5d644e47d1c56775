"""The last rows: what Enter does and what is being typed; the message; the keys. Always in the same place."""

from runner.bench.form import Field, Form
from runner.bench.keys import COMMANDS, key_row_for
from runner.bench.rows import EMPTY, Row, Span, clip, fit, hanging, row, span, spread, width_of
from runner.bench.scene import Message, Scene
from runner.bench.theme import Ink, Signs
from runner.view import View


def entry_row(scene: Scene, width: int) -> Row:
    """The line to type on and what Enter does with it."""
    signs, form = scene.look.signs, scene.form
    if scene.message.kind == "saving":
        return row(
            span(f"{signs.prompt} ", "dim"),
            *_line(form, width - 16),
            span("  saving", "strong"),
            span(signs.more),
        )
    if scene.message.kind == "not recorded":
        return row(span("  The step has not advanced.", "strong"))
    if scene.reader is not None:
        return row(
            span(f"{signs.prompt} ", "paint"),
            span("Esc", "key", "escape"),
            span(": back to the work", "strong"),
        )
    if form is None and scene.ending:
        return row(
            span(f"{signs.prompt} ", "paint"), span("Enter", "key", "enter"), span(": leave", "strong")
        )
    if form is None and scene.view.demand.until_ms:
        return row(
            span("  The clock runs on by itself. F8 pauses the run, F9 lists what may be done.", "dim")
        )
    if form is None:
        return row(span("  No answer goes on from here. F1 says why, F9 what may be done.", "dim"))
    key = "Y" if form.current is None else "Enter"
    action = [
        span(key, "key", "enter" if form.current else ""),
        span(f": {_deed(form, scene.view)}", "strong"),
    ]
    if form.current and form.current.aside and not form.entry.text:
        action.append(span(f", {form.current.aside}", "dim"))
    if scene.sent and not scene.dialog:
        action = [span(key, "key", "enter"), span(": record it", "strong"), span(", Esc drops", "dim")]
    elif scene.waiting:
        action.append(span(f"  ({scene.waiting} sent by the wrench)", "dim"))
    typed = _line(form, width - width_of(tuple(action)) - 14)
    unit = form.current.unit if form.current else ""
    gap = span(f" {unit}   " if unit else "   ", "strong") if typed else Span("")
    if scene.sent and not scene.dialog:
        more = f" ({scene.waiting} more)" if scene.waiting else ""
        gap = span(f" from the wrench{more}  ", "strong")
    return clip(row(span(f"{signs.prompt} ", "paint"), *typed, gap, *action), width, signs.more)


def _deed(form: Form, view: View) -> str:
    current = form.current
    if current is None:
        return "record it      Shift+Tab: one answer back"
    last = not any(each.when is None or each.when(form.values) for each in form.fields[form.place + 1 :])
    deed = form.enter if last else "next"
    if current.options and not current.typing:
        count = len(current.options)
        numbers = f"1 {'or' if count == 2 else 'to'} {count}" if count > 1 else "1"
        return f"pick {numbers} first" if form.picked is None else f"{deed} ({form.picked + 1})"
    if form.title == "Prepare" and form.picked is not None:
        kind, _, name = current.options[form.picked].key.partition(":")
        if kind == "tool" and not form.entry.text.strip():
            count = sum(offer.tool == name for offer in view.shop_tools)
            return f"pick from the toolbox ({count}), or type its serial number" if count else deed
        return deed if kind in _THINGS else {"person": "the name typed here"}.get(kind, "it is so")
    if form.title == "Tighten" and form.entry.text.strip():
        return "record the value"
    return deed


_THINGS = {"tool", "part", "supply", "document"}
"""Kinds of lines before step 1 that are things to lay out; of the others it is said that they hold."""


def _line(form: Form | None, room: int) -> Row:
    """The typed line with its cursor, scrolled so that the cursor is in sight; nothing where nothing is typed."""
    current: Field | None = form.current if form else None
    if form is None or current is None or not current.typing:
        return EMPTY
    size = max(min(max(16, width_of((span(form.entry.text),)) + 2), room), 8)
    text, at = form.entry.text, form.entry.cursor
    before, here, after = text[:at], text[at : at + 1] or " ", text[at + 1 :]
    while before and width_of(row(before)) > size - 1:
        before = before[1 + len(before) // 8 :]
    line = row(span(before, "field"), span(here, "cursor"), span(after, "field"))
    filled = fit(clip(line, size, ""), size, "")
    return tuple(Span(part.text, "field" if part.ink == "plain" else part.ink) for part in filled)


_LEADS: dict[str, tuple[str, Ink]] = {
    "refused": ("Refused: ", "refused"),
    "not recorded": ("NOT RECORDED: ", "danger"),
    "cue": ("Cue: ", "flag"),
    "saving": ("", "dim"),
    "said": ("", "strong"),
    "quiet": ("", "dim"),
}


def message_rows(scene: Scene, width: int, height: int) -> list[Row]:
    """The message in exactly `height` rows; a refusal says what would lift it."""
    signs = scene.look.signs
    message = shown_message(scene)
    lead, ink = _LEADS[message.kind]
    more = f"{signs.more} F1"
    if not message.text:
        return [EMPTY] * height
    lift = f"{signs.becoming} {message.lift}" if message.lift else ""
    first = row(span(lead.strip(), ink), Span(" ")) if lead else EMPTY
    lines = hanging(first, message.text, width)
    below = hanging(row(Span("  ")), lift, width, "strong") if lift else []
    if len(lines) + len(below) > height:
        # Both in one flow: it leaves out less than two texts each cut at the edge.
        lines = hanging(first, f"{message.text} {lift}".rstrip(), width, limit=height, more=more)
        below = []
    return (lines + below + [EMPTY] * height)[:height]


def shown_message(scene: Scene) -> Message:
    """The message of the moment: a fault of the typed answer comes before everything but a lost entry."""
    if scene.form is not None and scene.form.problem and scene.message.kind not in {"not recorded", "saving"}:
        return Message("refused", scene.form.problem)
    return scene.message


def key_row(scene: Scene, width: int) -> Row:
    """At most six keys; everything else is under the last of them."""
    signs = scene.look.signs
    if scene.reader is not None:
        return _keys([("Up Down", "scroll", ""), ("Esc", "close", "escape")], width, signs)
    if scene.message.kind == "not recorded":
        pairs = [("F1", "why", "f1"), ("F10", "leave the run", "f10")]
        return _keys(
            [("Enter", "try again", "enter"), ("Esc", "drop the entry", "escape"), *pairs]
            if scene.message.lift
            else pairs,
            width,
            signs,
        )
    if scene.dialog:
        pairs = [("Enter", "next", "enter"), ("Shift+Tab", "back", "shift+tab"), ("Esc", "close", "escape")]
        return _keys(pairs, width, signs)
    known = {command.id: command for command in COMMANDS}
    pairs = [
        (known[each].key_name, known[each].name, known[each].keys[0]) for each in key_row_for(scene.view)
    ]
    done = f"{scene.view.done_steps} step{'' if scene.view.done_steps == 1 else 's'} done "
    return spread(
        _keys(pairs, width, signs), row(span(done, "dim")) if width >= 80 else EMPTY, width, signs.more
    )


def _keys(pairs: list[tuple[str, str, str]], width: int, signs: Signs) -> Row:
    parts: list[Span] = []
    for key, name, hit in pairs:
        parts += [Span(" "), span(key, "key", hit), span(f" {name} ", "plain", hit)]
    return clip(tuple(parts), width, signs.more)
