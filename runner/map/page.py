"""The page of a picture: every line of the map given its box, in columns on landscape A4, in millimetres.

The largest type with which all fits on one page is taken; a longer procedure goes over several pages.
"""

from collections.abc import Sequence
from typing import Literal

from runner.frozen import Frozen
from runner.map.lines import Line, Map, PutOffArc, lanes
from runner.map.widths import cut, printed, wrapped
from runner.map.words import put_off_words
from runner.safe_text import safe

WIDTH, HEIGHT, MARGIN = 297.0, 210.0, 8.0
SMALLEST = 2.2
RAIL = 3.6
LANE = 2.9
MARK = 2.7
TRUNK = 1.7
STEP_IN = 3.6
_LEGEND = 11.5
_BETWEEN = 3.4
_NARROWEST = 34.0
_BOLD = 1.08
MOST_RAILS, MOST_LANES = 4, 6

Weight = Literal["plain", "bold", "italic"]
MarkKind = Literal["injury", "hold", "opened", "partly", "closed", "stop", "again"]


class Style(Frozen):
    """How large: `type` and `small` in mm, so many columns, so many lines of a step's sentence."""

    type: float
    small: float
    columns: int
    sentence: int


STYLES = tuple(
    Style(size, max(SMALLEST, size * 0.87), columns, sentence)
    for size in (3.2, 3.0, 2.7, 2.4, 2.2)
    for sentence in (3, 2, 1)
    for columns in (2, 3, 4)
)
_FEW_STYLES = (Style(2.7, 2.35, 2, 2),)
_MANY_LINES = 600
"""A longer map is laid out in one style: that its type is the best one is not worth trying all."""
_SMALLNESS = 0.6
_MORE_PAGES = 0.15
"""A millimetre of smaller type weighs as much as cutting so large a share of all texts; and so does a page more."""


class Text(Frozen):
    """One line of text; `x`, `y` are where its baseline begins, `room` is how wide it may be."""

    x: float
    y: float
    size: float
    text: str
    room: float
    weight: Weight = "plain"


class Mark(Frozen):
    """A drawn sign, centred at `x`, `y`; `count` where it stands for several."""

    kind: MarkKind
    x: float
    y: float
    count: int = 1


class Box(Frozen):
    """A line in its place. `index` counts the main line's lines, -1 for a detour's."""

    index: int
    line: Line
    page: int
    column: int
    x: float
    y: float
    w: float
    h: float
    texts: tuple[Text, ...] = ()
    marks: tuple[Mark, ...] = ()
    stops: Text | None = None

    def moved(self, page: int, column: int, x: float, y: float) -> "Box":
        """The same box elsewhere; it was made at 0, 0."""
        return self.but(
            page=page,
            column=column,
            x=self.x + x,
            y=y,
            texts=tuple(text.but(x=text.x + x, y=text.y + y) for text in self.texts),
            marks=tuple(mark.but(x=mark.x + x, y=mark.y + y) for mark in self.marks),
            stops=self.stops and self.stops.but(x=self.stops.x + x, y=self.stops.y + y),
        )


class Page(Frozen):
    """A whole layout. `left` is where each column begins, `boxes_from` how far its boxes stand from there."""

    style: Style
    top: float
    bottom: float
    left: tuple[float, ...]
    boxes_from: float
    boxes: tuple[Box, ...]
    lanes: tuple[tuple[PutOffArc, ...], ...]
    pages: int
    room: float

    def cost(self) -> float:
        """How bad it is to read: the share of steps whose text is cut, how small the type is, how many pages."""
        steps = [box for box in self.boxes if box.line.kind == "step"]
        short = sum(any(text.text.endswith("…") for text in box.texts) for box in steps)
        return short / max(len(steps), 1) - _SMALLNESS * self.style.type + _MORE_PAGES * self.pages

    def x(self, column: int, depth: int) -> float:
        """Where a box of this depth begins."""
        return self.left[column] + self.boxes_from + indent(depth, self.room)

    def lane_x(self, column: int, lane: int, rails: int) -> float:
        """The middle of a lane."""
        return self.left[column] + rails * RAIL + (lane + 0.5) * LANE


def laid_out(drawn: Map) -> Page:
    """The layout of a map: one page if that is possible; then the style that cuts little, is large, takes few pages."""
    styles = STYLES if len(drawn.lines) <= _MANY_LINES else _FEW_STYLES
    made: list[Page] = []
    for style in styles:
        page = _laid(drawn, style)
        if page is not None:
            made.append(page)
    best = min(made, key=lambda page: (page.pages > 1, page.cost()))
    return _level(drawn, best) if best.pages == 1 else best


def _level(drawn: Map, page: Page) -> Page:
    """The same page with columns about equally long: the lowest height at which one page is still enough."""
    low, high, best = page.top + 20, page.bottom, page
    while high - low > 3:
        middle = (low + high) / 2
        made = _laid(drawn, page.style, middle)
        if made is not None and made.pages == 1 and max(box.y + box.h for box in made.boxes) <= middle:
            high, best = middle, made
        else:
            low = middle
    return best


def _laid(drawn: Map, style: Style, bottom: float = HEIGHT - MARGIN - _LEGEND) -> Page | None:
    rails = min(len(drawn.rails), MOST_RAILS)
    used = lanes(drawn.arcs, MOST_LANES)
    beside = rails * RAIL + len(used) * LANE + (1.2 if rails or used else 0)
    whole = (WIDTH - 2 * MARGIN - (style.columns - 1) * _BETWEEN) / style.columns
    room = whole - beside
    if room < _NARROWEST + 10 and style.columns > 2:
        return None
    top = MARGIN + (18.0 if drawn.finding else 13.0)
    left = tuple(MARGIN + column * (whole + _BETWEEN) for column in range(style.columns))
    maker = _Maker(drawn, style, room)
    loose = [maker.box(index, line) for index, line in enumerate(drawn.lines)]
    for detour in drawn.detours:
        loose.append(maker.heading(detour.says))
        loose += [maker.box(-1, line) for line in detour.lines if not detour.same_as]
    boxes, pages = _placed(loose, style, top, bottom, left, beside)
    return Page(style, top, bottom, left, beside, boxes, tuple(tuple(lane) for lane in used), pages, room)


def _placed(
    loose: Sequence[Box], style: Style, top: float, bottom: float, left: Sequence[float], beside: float
) -> tuple[tuple[Box, ...], int]:
    """Boxes one under another, column by column; a heading stays with what follows it."""
    made: list[Box] = []
    page = column = 0
    y = top
    for at, box in enumerate(loose):
        needed, follower = box.h, at
        while _stays(loose[follower].line) and follower + 1 < len(loose) and follower - at < 3:
            follower += 1
            needed += gap(loose[follower - 1].line) + loose[follower].h
        if y + needed > bottom and y > top:
            column, y = column + 1, top
            if column == style.columns:
                page, column = page + 1, 0
        made.append(box.moved(page, column, left[column] + beside, y))
        y += box.h + gap(box.line)
    return tuple(made), page + 1


def _stays(line: Line) -> bool:
    return line.kind == "section" or (line.kind == "way" and not line.leads)


def gap(line: Line) -> float:
    """The room under a line, in mm."""
    return 1.7 if line.kind in ("step", "end") else 0.6


def indent(depth: int, room: float) -> float:
    """How far a depth is moved to the right in a column with so much room; deep nesting keeps a readable width."""
    return min(depth * STEP_IN, max(room - _NARROWEST, 0))


class _Maker:
    """Makes boxes at the origin, `room` mm wide at depth 0."""

    def __init__(self, drawn: Map, style: Style, room: float) -> None:
        self._map = drawn
        self._style = style
        self._room = room
        self._due: dict[int, list[str]] = {}
        for arc in drawn.arcs:
            for line in arc.due:
                self._due.setdefault(line, []).append(arc.letter)
        self._put_off = {arc.line: arc for arc in drawn.arcs}

    def heading(self, says: str) -> Box:
        """A heading of its own, for a detour."""
        return self._plain(-1, Line("section", 0, says[:1].upper() + says[1:]), "bold", 3)

    def box(self, index: int, line: Line) -> Box:
        """The box of a line."""
        if line.kind == "step":
            return self._step(index, line)
        weights: dict[str, Weight] = {"section": "bold", "way": "italic"}
        box = (
            self._framed(index, line)
            if line.kind == "end"
            else self._plain(index, line, weights.get(line.kind, "plain"), 2)
        )
        return box.but(stops=_stops(line, box.x + box.w - 1, box.texts[0].y if box.texts else 0.0))

    def _step(self, index: int, line: Line) -> Box:
        style = self._style
        x = indent(line.depth, self._room)
        width, pad = self._room - x, 1.1
        inner = width - 2 * pad
        marks = self._marks(line)
        marks_room = sum(_mark_room(count) for _, count in marks)
        head = f"{line.number}  {safe(line.label)}"
        y = pad * 0.6 + style.type * 0.95
        stops = _stops(line, x + width - pad - marks_room - 0.6, y)
        stops_room = stops.room + 0.6 if stops else 0
        room = inner - marks_room - stops_room - 1
        texts = [self._text(x + pad, y, style.type, head, room, "bold")]
        placed: list[Mark] = []
        at = x + width - pad - marks_room + MARK / 2
        for kind, count in marks:
            placed.append(Mark(kind, at, y - style.type * 0.36, count))
            at += _mark_room(count)
        y = self._more(texts, x + pad, y, inner, style.type, safe(line.title), most=style.sentence)
        if line.only:
            most = min(style.sentence, 2)
            says = safe(line.only)
            y = self._more(texts, x + pad, y, inner, style.small, says, most=most, weight="italic")
        for name, value in line.changes:
            says = f"{safe(name)} → {safe(value)}"
            y = self._more(texts, x + pad, y, inner, style.small, says, most=1, weight="bold")
        if index in self._put_off:
            arc = self._put_off[index]
            opens = [self._map.lines[at].number for at in arc.opens if self._map.lines[at].number]
            can = f"; from {opens[0]} on" if opens else ""
            says = f"{arc.letter}: put off {safe(put_off_words(arc.put_off))}{can}"
            y = self._more(texts, x + pad, y, inner, style.small, says, most=3, weight="italic")
        if index in self._due:
            says = f"due before this: {', '.join(self._due[index])}"
            y = self._more(texts, x + pad, y, inner, style.small, says, most=1, weight="bold")
        return Box(index, line, 0, 0, x, 0, width, y + pad, tuple(texts), tuple(placed), stops)

    def _framed(self, index: int, line: Line) -> Box:
        style = self._style
        y = 0.7 + style.type * 0.95
        texts = [self._text(2.4, y, style.type, safe(line.title), self._room - 4, "bold")]
        if index in self._due:
            says = f"due before this: {', '.join(self._due[index])}"
            y = self._more(texts, 2.4, y, self._room - 4, style.small, says, most=1, weight="bold")
        return Box(index, line, 0, 0, 0, 0, self._room, y + 1.1, tuple(texts))

    def _plain(self, index: int, line: Line, weight: Weight, most: int) -> Box:
        style = self._style
        x = indent(line.depth, self._room)
        start, marks = x + 0.4, []
        place = f", {line.place}" if line.place else ""
        only = f" ({line.only})" if line.only else ""
        says = safe(f"{line.title}{place}{only}")
        if line.leads:
            says = f"{says}: {safe(line.leads)}" if says else safe(line.leads)
        if line.leads == "stop" or line.leads.startswith("again"):
            marks = [Mark("stop" if line.leads == "stop" else "again", start + MARK / 2, style.small * 0.6)]
            start += MARK + 0.6
        texts: list[Text] = []
        y = self._more(
            texts, start, 0.0, self._room - (start - 0) - 0.4, style.small, says, most=most, weight=weight
        )
        return Box(index, line, 0, 0, x, 0, self._room - x, y + style.small * 0.3, tuple(texts), tuple(marks))

    def _more(
        self,
        texts: list[Text],
        x: float,
        y: float,
        room: float,
        size: float,
        says: str,
        *,
        most: int,
        weight: Weight = "plain",
    ) -> float:
        """Add wrapped text under `y`; gives the baseline of its last line."""
        scale = size * (_BOLD if weight == "bold" else 1)
        for part in wrapped(says, room / scale, most, printed):
            y += size * 1.22
            texts.append(Text(x, y, size, part, room, weight))
        return y

    def _text(self, x: float, y: float, size: float, says: str, room: float, weight: Weight) -> Text:
        scale = size * (_BOLD if weight == "bold" else 1)
        return Text(x, y, size, cut(says, room / scale, printed), room, weight)

    def _marks(self, line: Line) -> list[tuple[MarkKind, int]]:
        made: list[tuple[MarkKind, int]] = []
        if line.injury:
            made.append(("injury", 1))
        if line.node is not None and line.node.hold is not None:
            made.append(("hold", 1))
        counts: tuple[tuple[MarkKind, int], ...] = (
            ("opened", line.marks.opened),
            ("partly", line.marks.partly),
            ("closed", line.marks.closed),
        )
        return made + [(kind, count) for kind, count in counts if count]


def _stops(line: Line, right: float, y: float) -> Text | None:
    """The numbers of the stops of a path that fall on a line; they end at `right`."""
    if not line.ordinals:
        return None
    says = ", ".join(str(ordinal) for ordinal in line.ordinals[:3])
    says += " …" if len(line.ordinals) > 3 else ""
    width = max(printed(says) * SMALLEST * _BOLD + 1.4, 3.6)
    return Text(right - width, y, SMALLEST, says, width, "bold")


def _mark_room(count: int) -> float:
    return MARK + 0.5 + (0 if count == 1 else 2.6)
