"""The facts of one log as lines for a terminal: exceptions first. All text in the lines is safe to print."""

from collections.abc import Iterable, Iterator
from itertools import groupby

from runner.review.facts import Facts, Happening
from runner.safe_text import safe

_PLUMBING = frozenset({"came_to", "step_done", "closing_began", "window_closed"})
"""Entries that tell a reader nothing the next line does not tell."""


def review_lines(facts: Facts) -> tuple[str, ...]:
    """Return the whole report, line by line."""
    lines = [facts.verdict, ""]
    lines += [f"{label:<12} {value}" for label, value in facts.heading]
    lines += [f"{'outcome':<12} {facts.outcome or 'NOT FINISHED: the run is not sealed'}"]
    lines += [f"{'receipt code':<12} {facts.receipt}", ""]
    lines += _list("Open points", facts.open_points)
    lines += _list("Open items", facts.open_items)
    lines += _list("Still owed", facts.owed)
    lines += _list("Conditions at the end", tuple(f"{name}: {value}" for name, value in facts.conditions))
    lines += _list("Follow-ups", facts.follow_ups)
    lines += _exceptions(facts)
    lines += _list("Advice", facts.advice)
    lines += _list("How readings were judged", facts.judged)
    lines += _timeline(facts)
    return tuple(safe(line) for line in lines)


def _list(title: str, texts: tuple[str, ...]) -> list[str]:
    return [title, *(f"  - {text}" for text in texts), ""] if texts else []


def _exceptions(facts: Facts) -> list[str]:
    if not facts.exceptions:
        return ["Exceptions: none", ""]
    lines = ["Exceptions"]
    for group, happenings in facts.exceptions:
        lines.append(f"  {group} ({len(happenings)})")
        lines += [f"    {line}" for line in _folded(happenings)]
    return [*lines, ""]


def _folded(happenings: Iterable[Happening]) -> Iterator[str]:
    """What was said again and again is one line here, with how often; in its order it stands in full."""
    for _, alike in groupby(
        happenings, key=lambda each: (each.date, each.who, each.step, each.place, each.text)
    ):
        first, *again = alike
        times = f" ({len(again) + 1} times, last at {again[-1].time})" if again else ""
        yield f"{_line(first)}{times}"


def _timeline(facts: Facts) -> list[str]:
    lines = ["Everything in its order"]
    date = ""
    for each in facts.timeline:
        if each.kind in _PLUMBING:
            continue
        if each.date != date:
            date = each.date
            lines.append(f"  {date}")
        lines.append(f"  {_line(each)}")
    return lines


def _line(each: Happening) -> str:
    where = f" [{each.step}{', ' + each.place if each.place else ''}]" if each.step else ""
    who = f" {each.who}:" if each.who else ""
    return f"{each.n:>4}  {each.time}{who} {each.text}{where}"
