"""The proof's answer as an event: all of it where it fits into one entry of the log, else its most needful part."""

from collections.abc import Iterable, Mapping, Sequence

from runner.job import events as e
from runner.job.gates import Outlook

ROOM = 20_000
"""About how many bytes of gates one entry may hold; the log takes entries of at most 64 KiB."""
MOST_LINES = 30
LONGEST = 160
"""Letters of one line of the answer."""

Lines = tuple[tuple[str, str], ...]


def answered(outlook: Outlook) -> e.Reproved:
    """The event of an answer. What is left out is said in a line; without its allowed states no later step is held
    against them, which only a fault of the program would show.
    """
    chances, allowed = outlook.gates.last_chance, outlook.gates.allowed
    lost = list(outlook.lost)
    if _size(chances) > ROOM:
        chances = {}
        lost.insert(0, ("", "there are too many last chances ahead to keep: nothing insists on them"))
    fits = _size(chances) + sum(_size(items) + len(name) + 8 for name, items in allowed.items()) <= ROOM
    return e.Reproved(
        last_chance=chances,
        allowed=allowed if fits else {},
        closes=_first(outlook.closes),
        lost=_first_named(lost),
        until=_first_named(outlook.until),
    )


def _size(names: Mapping[str, Iterable[str]]) -> int:
    """About how many bytes a mapping of names to names takes in a line of the log."""
    return sum(
        len(key.encode()) + 8 + sum(len(name.encode()) + 3 for name in each) for key, each in names.items()
    )


def _first(lines: Sequence[str]) -> tuple[str, ...]:
    more = len(lines) - MOST_LINES
    shown = tuple(line[:LONGEST] for line in lines[:MOST_LINES])
    return (*shown, f"and {more} more") if more > 0 else shown


def _first_named(lines: Sequence[tuple[str, str]]) -> Lines:
    more = len(lines) - MOST_LINES
    shown = tuple((key, line[:LONGEST]) for key, line in lines[:MOST_LINES])
    return (*shown, ("", f"and {more} more")) if more > 0 else shown
