"""A long text to read in the place of the whole body, with how much is above and below."""

from runner.bench.rows import EMPTY, Row, Span, fit, row, span, width_of, wrap
from runner.bench.scene import Scene

_LABEL = 13


def reader_lines(scene: Scene, width: int) -> list[Row]:
    """All lines of the text, wrapped, labels at the left."""
    assert scene.reader is not None
    lines: list[Row] = []
    for label, text in scene.reader.lines:
        head = fit(row(span(label, "dim")), _LABEL, "")
        if width_of(head) and not text:
            lines.append(row(span(label, "dim")) if label else EMPTY)
            continue
        wrapped = wrap(text, width - _LABEL - 1)
        for at, line in enumerate(wrapped):
            lines.append((*(head if at == 0 else (Span(" " * _LABEL),)), Span(" "), Span(line)))
    return lines


def reader_rows(scene: Scene, width: int, height: int) -> list[Row]:
    """The text from `reader_at` on."""
    assert scene.reader is not None
    lines = reader_lines(scene, width)
    at = min(scene.reader_at, max(len(lines) - height + 1, 0))
    shown = lines[at : at + height - 1]
    below = max(len(lines) - at - len(shown), 0)
    counts = f"   {at} lines above, {below} below" if at or below else ""
    return [row(span(f" {scene.reader.title} ", "flag"), span(counts, "dim")), *shown]
