"""Options to pick from: numbered, the picked one marked by a sign as well as by its ground."""

from runner.bench.rows import Row, Span, clip, row, span
from runner.bench.theme import Signs
from runner.job.demand import Option


def option_rows(
    options: tuple[Option, ...], picked: int | None, width: int, height: int, signs: Signs
) -> list[Row]:
    """At most `height` rows around the picked one; how many more there are is said at the edges."""
    if not options or height < 1:
        return []
    first, last = window(len(options), picked or 0, height)
    digits = len(str(len(options)))
    lines = []
    for index in range(first, last):
        chosen = index == picked
        lead = f"{signs.prompt if chosen else ' '} {index + 1:>{digits}}  "
        label = options[index].label
        hidden = _hidden(index, first, last, len(options))
        tail = span(f"  ({hidden})", "dim") if hidden else Span("")
        body = row(
            span(lead, "key" if not chosen else "picked"), span(label, "picked" if chosen else "plain")
        )
        cut = clip(body, width - len(tail.text), signs.more)
        lines.append(tuple(Span(part.text, part.ink, f"pick {index}") for part in (*cut, tail)))
    return lines


def window(count: int, at: int, height: int) -> tuple[int, int]:
    """The first and one past the last of `count` lines to show in `height` rows, keeping `at` in sight."""
    if count <= height:
        return 0, count
    first = min(max(at - height // 2, 0), count - height)
    return first, first + height


def _hidden(index: int, first: int, last: int, count: int) -> str:
    above = first if index == first else 0
    below = count - last if index == last - 1 else 0
    parts = [f"{above} more above" if above else "", f"{below} more below" if below else ""]
    return ", ".join(part for part in parts if part)
