"""The map in a terminal: one line a step, branches indented, rails and put-off letters at the left."""

from collections.abc import Iterator, Mapping, Sequence
from types import MappingProxyType

from runner.frozen import Frozen
from runner.map.lines import Line, Map, PutOffArc, Rail, lanes
from runner.map.widths import columns, cut
from runner.map.words import put_off_words
from runner.safe_text import plain_ascii, safe

_MOST_LANES = 8
_DEEPEST = 8
_MOST_STOPS = 60
_NARROWEST = 60


class Signs(Frozen):
    """The signs of one way of drawing."""

    held: str
    hazardous: str
    waits: str
    open: str
    opened: str
    partly: str
    closed: str
    way: str
    section: str
    again: str
    stop: str
    leads: str
    faulty: str
    more: str
    rule: str
    injury: str = "!"
    hold: str = "H"


BOX = Signs("│", "┃", "┊", "█", "○", "◐", "●", "├", "▾", "↺", "■", "→", "✗", "…", "─")
ASCII = Signs("|", "#", ":", "@", "o", "-", "*", "+", "=", "<", "X", "->", "!!", "...", "-")
SIGNS: Mapping[bool, Signs] = MappingProxyType({False: BOX, True: ASCII})


def terminal_lines(drawn: Map, width: int = 80, *, ascii_only: bool = False) -> list[str]:
    """The map as safe lines no wider than `width` columns (at least 60)."""
    page = _Page(drawn, max(width, _NARROWEST), SIGNS[ascii_only], ascii_only)
    return [page.fit(line) for line in page.all()]


class _Page:
    """One map drawn at one width."""

    def __init__(self, drawn: Map, width: int, signs: Signs, ascii_only: bool) -> None:
        self._map = drawn
        self._width = width
        self._signs = signs
        self._text = plain_ascii if ascii_only else safe
        self._letters = [_letters(rail.values) for rail in drawn.rails]
        self._lanes = lanes(drawn.arcs, _MOST_LANES)
        every = [*drawn.lines, *(line for each in drawn.detours if not each.same_as for line in each.lines)]
        numbers = [len(line.number) for line in every if line.kind == "step"]
        self._number = max(numbers, default=1)
        names = [columns(self._text(line.label)) + 2 * line.depth for line in every if line.kind == "step"]
        self._name = min(max(names, default=4), max(18, width * 3 // 10))
        stops = [columns(_stops(line)) for line in every if line.ordinals]
        self._gutter = min(max(stops, default=-1) + 1, 8)

    def fit(self, line: str) -> str:
        """The line within the width."""
        return cut(line.rstrip(), self._width, mark=self._signs.more)

    def all(self) -> Iterator[str]:
        """Every line of the page."""
        yield from self._head()
        for index, line in enumerate(self._map.lines):
            yield self._left(index, line) + self._right(index, line)
        for detour in self._map.detours:
            yield ""
            yield self._text(detour.says[:1].upper() + detour.says[1:])
            for line in () if detour.same_as else detour.lines:
                yield self._left(None, line) + self._right(None, line)
        yield from self._put_off()
        yield from self._path()
        yield ""
        yield from self._legend()

    def _head(self) -> Iterator[str]:
        procedure = self._map.procedure
        yield self._text(f"{procedure.title} ({procedure.procedure}, revision {procedure.revision})")
        yield self._text(f"Fits: {procedure.fits}")
        for choice in procedure.choices:
            yield self._text(f"{choice.name}: chosen at the start, {', '.join(choice.values)}")
        for rail, letters in zip(self._map.rails, self._letters, strict=True):
            values = ", ".join(
                f"{letters[value]} {value}{' (hazardous)' if value in rail.hazardous else ''}"
                for value in rail.values
            )
            yield self._text(f"{rail.name}: {values}")
        if self._map.which:
            yield self._text(self._map.which)
        yield ""

    def _left(self, index: int | None, line: Line) -> str:
        stops = cut(_stops(line), self._gutter - 1, mark=self._signs.more) if self._gutter else ""
        gutter = f"{stops:>{self._gutter - 1}} " if self._gutter else ""
        rails = "".join(
            self._rail(rail, letters, index)
            for rail, letters in zip(self._map.rails, self._letters, strict=True)
        )
        lanes = "".join(self._lane(lane, index) for lane in self._lanes)
        return f"{gutter}{rails}{' ' if rails else ''}{lanes}{' ' if lanes else ''}"

    def _rail(self, rail: Rail, letters: Mapping[str, str], index: int | None) -> str:
        here = rail.along[index] if index is not None else None
        if index is None or not here:
            return " "
        if index == 0 or rail.along[index - 1] != here:
            return letters[here[0]] if len(here) == 1 else "?"
        return self._signs.hazardous if set(here) & set(rail.hazardous) else self._signs.held

    def _lane(self, lane: Sequence[PutOffArc], index: int | None) -> str:
        for arc in lane:
            if index is None:
                return " "
            if index == arc.line:
                return arc.letter[0]
            state = arc.windows.get(index, "")
            if index in arc.due:
                return arc.letter[0]
            if state:
                return self._signs.open if state == "open" else self._signs.waits
        return " "

    def _right(self, index: int | None, line: Line) -> str:
        room = self._width - columns(self._left(index, line))
        indent = "  " * min(line.depth, _DEEPEST)
        if line.kind == "step":
            return self._step(index, line, indent, room)
        number = " " * (self._number + 1)
        return cut(number + indent + self._other(line), room, mark=self._signs.more)

    def _other(self, line: Line) -> str:
        signs, text = self._signs, self._text
        place = f", {line.place}" if line.place else ""
        only = f" ({line.only})" if line.only else ""
        match line.kind:
            case "way":
                leads = self._leads(line)
                return f"{signs.way}{signs.rule} {text(line.title)}{': ' if leads else ':'}{leads}"
            case "section":
                return f"{signs.section} {text(line.title + place + only)}"
            case "ending":
                return f"{self._leads(line)}{text(only)}"
            case "foot":
                return f"{signs.rule} {text(line.title + place)}"
            case _:
                return f"{signs.stop} {text(line.title)}"

    def _leads(self, line: Line) -> str:
        if line.leads.startswith("again"):
            return f"{self._signs.again} {self._text(line.leads)}"
        if line.leads == "stop":
            return f"{self._signs.stop} stop"
        return self._text(line.leads)

    def _step(self, index: int | None, line: Line, indent: str, room: int) -> str:
        marks = self._marks(index, line)
        name = f"{indent}{self._text(line.label)}"
        faulty = f"{self._signs.faulty} " if line.faulty else ""
        more = self._signs.more
        head = f"{line.number:>{self._number}} {faulty}{cut(name, self._name, mark=more)}"
        head += " " * max(self._number + 1 + self._name - columns(head), 0)
        left = room - columns(head) - columns(marks) - (2 if marks else 0) - 2
        only = f"({line.only}) " if line.only else ""
        title = cut(self._text(only + line.title), max(left, 0), mark=more)
        gap = " " * (left - columns(title) + 2) if marks else ""
        return f"{head}  {title}{gap}{marks}"

    def _marks(self, index: int | None, line: Line) -> str:
        signs = self._signs
        parts = [
            signs.injury if line.injury else "",
            signs.hold if line.node and line.node.hold else "",
            *(f"{signs.leads}{self._text(value)}" for _, value in line.changes),
            *(f"due {arc.letter}" for arc in self._map.arcs if index in arc.due),
            *(f"put off {arc.letter}" for arc in self._map.arcs if index == arc.line),
            _some(signs.opened, line.marks.opened)
            + _some(signs.partly, line.marks.partly)
            + _some(signs.closed, line.marks.closed),
        ]
        return cut(" ".join(part for part in parts if part), self._width // 3, mark=signs.more)

    def _put_off(self) -> Iterator[str]:
        if not self._map.arcs:
            return
        yield ""
        yield "Put off"
        for arc in self._map.arcs:
            line = self._map.lines[arc.line]
            opens = ", ".join(_where(self._map.lines[at]) for at in arc.opens)
            can = f"can be done from {opens}" if opens else "its window never opens on the way"
            yield self._text(f"{arc.letter}  {line.number} {line.label}: {put_off_words(arc.put_off)}")
            yield self._text(f"   {can}; {arc.put_off.because}")

    def _path(self) -> Iterator[str]:
        finding = self._map.finding
        if finding is None:
            return
        yield ""
        yield self._text(finding.headline())
        for ordinal, stop in enumerate(finding.path[:_MOST_STOPS], 1):
            where = f"{stop.step}, {stop.place}" if stop.place else stop.step
            yield self._text(f"{ordinal:>3}  {where}: {stop.does}" if stop.does else f"{ordinal:>3}  {where}")
        if len(finding.path) > _MOST_STOPS:
            yield f"     and {len(finding.path) - _MOST_STOPS} stops more"

    def _legend(self) -> Iterator[str]:
        s = self._signs
        items = f"{s.opened} opens  {s.partly} part of the way  {s.closed} closes an item"
        yield f"{items}  {s.injury} injury notice  {s.hold} hold point"
        yield f"{s.way}{s.rule} way out  {s.again} back to a step  {s.stop} stop or end  {s.section} used file or part"
        if self._map.rails:
            held = f"{s.held} holds, {s.hazardous} holds (hazardous), ? several values"
            yield f"left: letter: condition changes, {held}"
        if self._map.arcs:
            yield f"A … A: put off, and due; {s.waits} waits, {s.open} its window can be open".replace(
                "…", s.more
            )
        if self._map.finding:
            yield f"far left: the path of the finding, stop by stop; {s.faulty} where it shows"


def _some(sign: str, count: int) -> str:
    return sign * count if count < 4 else f"{sign}{count}"


def _stops(line: Line) -> str:
    return ",".join(str(ordinal) for ordinal in line.ordinals)


def _where(line: Line) -> str:
    return f"{line.number} {line.label}" if line.kind == "step" else line.title.partition(":")[0]


def _letters(values: Sequence[str]) -> Mapping[str, str]:
    """A letter or digit for each value, its first letter where that is free."""
    taken: dict[str, str] = {}
    for value in values:
        wanted = [c for c in value if c.isascii() and c.isalnum()] + list("123456789")
        free = next((c for c in wanted if c not in taken.values()), "?")
        taken[value] = free
    return taken
