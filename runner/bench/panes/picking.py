"""Options to pick from: numbered, the picked one marked by a sign as well as by its ground."""

from runner.bench.rows import Row, Span, clip, hanging, row, span
from runner.bench.theme import Signs
from runner.job.demand import Option


def option_rows(
    options: tuple[Option, ...],
    picked: int | None,
    width: int,
    height: int,
    signs: Signs,
    *,
    numbered: bool = True,
) -> list[Row]:
    """At most `height` rows around the picked one; how many more there are is said at the edges.

    Not `numbered` where what is typed belongs to the picked line: a number there is no pick.
    """
    if not options or height < 1:
        return []
    digits = len(str(len(options)))
    numbers = [f"{index + 1:>{digits}}  " if numbered else "" for index in range(len(options))]
    full = _picked_rows(options, picked, width, numbers, signs)[:height]
    first, last = window(len(options), picked or 0, max(height - max(len(full) - 1, 0), 1))
    lines: list[Row] = []
    for index in range(first, last):
        hidden = _hidden(index, first, last, len(options))
        tail = span(f"  ({hidden})", "dim") if hidden else Span("")
        if index == picked:
            shown = [*full[:-1], (*clip(full[-1], width - len(tail.text), signs.more), tail)]
        else:
            line = row(span(f"  {numbers[index]}", "key"), span(options[index].label))
            shown = [(*clip(line, width - len(tail.text), signs.more), tail)]
        lines += [tuple(Span(part.text, part.ink, f"pick {index}") for part in line) for line in shown]
    return lines


def _picked_rows(
    options: tuple[Option, ...], picked: int | None, width: int, numbers: list[str], signs: Signs
) -> list[Row]:
    """The picked option in full, on as many rows as it takes: nobody confirms half a sentence."""
    if picked is None:
        return []
    lead = row(span(f"{signs.prompt} {numbers[picked]}", "picked"))
    return hanging(lead, options[picked].label, width, "picked", limit=3, more=signs.more)


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
