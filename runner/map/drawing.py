"""The map as a picture: SVG of our own drawing, black on white, that needs no other program."""

from collections.abc import Iterator, Sequence
from itertools import pairwise
from xml.sax.saxutils import escape

from runner.map.lines import Line, Map, PutOffArc, Rail
from runner.map.page import (
    HEIGHT,
    MARGIN,
    MARK,
    MOST_RAILS,
    RAIL,
    SMALLEST,
    TRUNK,
    WIDTH,
    Box,
    Mark,
    Page,
    Text,
    gap,
    laid_out,
)
from runner.map.shapes import arrow_head, lettered, mm, path, rect, signs, words
from runner.map.widths import cut, printed
from runner.safe_text import safe

_GREYS = ("#ffffff", "#d4d4d4", "#ececec", "#bdbdbd")
_PATH = "#c00000"
_LINE = ' stroke="#000000" stroke-width="0.35" fill="none"'
_BRACKET = ' stroke="#888888" stroke-width="0.8" stroke-dasharray="0.8 0.8"'


def svg(drawn: Map) -> str:
    """The map as one SVG document; several pages stand one under another."""
    return "\n".join(_Drawing(drawn, laid_out(drawn)).document()) + "\n"


def _neighbours(depths: Sequence[int]) -> tuple[list[int | None], list[int]]:
    """For each line the next that is no deeper (or None) and the last before it that is less deep (or -1)."""
    follow: list[int | None] = [None] * len(depths)
    above: list[int] = []
    open_: list[int] = []
    for at, depth in enumerate(depths):
        while open_ and depths[open_[-1]] >= depth:
            follow[open_.pop()] = at
        above.append(open_[-1] if open_ else -1)
        open_.append(at)
    return follow, above


class _Drawing:
    """One map on its pages."""

    def __init__(self, drawn: Map, page: Page) -> None:
        self._map = drawn
        self._page = page
        self._boxes = {box.index: box for box in page.boxes if box.index >= 0}
        self._ends: dict[tuple[int, int], float] = {}
        for box in page.boxes:
            self._ends[box.page, box.column] = box.y + box.h
        self._main = [box for box in page.boxes if box.index >= 0]
        self._follow, self._above = _neighbours([box.line.depth for box in self._main])
        self._rails = drawn.rails[:MOST_RAILS]

    def document(self) -> Iterator[str]:
        """Every line of the document."""
        high = HEIGHT * self._page.pages
        procedure = self._map.procedure
        yield (
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{mm(WIDTH)}mm" height="{mm(high)}mm" '
            f'viewBox="0 0 {mm(WIDTH)} {mm(high)}" font-family="sans-serif" fill="#000000" role="img">'
        )
        yield f"<title>{escape(safe(f'{procedure.title}, revision {procedure.revision}'))}</title>"
        yield rect(0, 0, WIDTH, high, ' fill="#ffffff"')
        for number in range(self._page.pages):
            yield f'<g transform="translate(0 {mm(HEIGHT * number)})">'
            boxes = [box for box in self._page.boxes if box.page == number]
            yield from self._head(number)
            yield from self._under(boxes, number)
            for box in boxes:
                yield from self._box(box)
            yield from self._over(boxes)
            yield from self._legend()
            yield "</g>"
        yield "</svg>"

    def _head(self, number: int) -> Iterator[str]:
        procedure = self._map.procedure
        about = f"{procedure.procedure}, revision {procedure.revision}. Fits: {procedure.fits}"
        chosen = [f"{c.name} chosen at the start: {', '.join(c.values)}" for c in procedure.choices]
        room = WIDTH - 2 * MARGIN
        pages = f"page {number + 1} of {self._page.pages}" if self._page.pages > 1 else ""
        title = cut(safe(procedure.title), (room - 30) / (5 * 1.08), printed)
        yield words(MARGIN, MARGIN + 4.4, 5, title, more=' font-weight="bold"')
        if pages:
            yield words(WIDTH - MARGIN, MARGIN + 4.4, 3, pages, more=' text-anchor="end"')
        says = cut(safe(". ".join([about, *chosen])), room / 2.6, printed)
        yield words(MARGIN, MARGIN + 8.8, 2.6, says)
        if self._map.finding is not None:
            which = cut(safe(self._map.which or self._map.finding.message), room / (2.8 * 1.08), printed)
            yield words(MARGIN, MARGIN + 13.4, 2.8, which, more=f' font-weight="bold" fill="{_PATH}"')
        if self._rails and number == 0:
            names = " | ".join(safe(rail.name) for rail in self._rails)
            names = cut(names, 60 / SMALLEST, printed)
            yield words(MARGIN, self._page.top - 1, SMALLEST, names, more=' font-style="italic"')

    # What lies behind the boxes: rails, windows, arcs, the line of flow, the path.

    def _under(self, boxes: Sequence[Box], number: int) -> Iterator[str]:
        for column in range(self._page.style.columns):
            here = [box for box in boxes if box.column == column and box.index >= 0]
            for place, rail in enumerate(self._rails):
                yield from self._rail(rail, place, here)
        for place, lane in enumerate(self._page.lanes):
            for arc in lane:
                yield from self._arc(arc, place, number)
        yield from self._flow(number)
        yield from self._trail(number)

    def _rail(self, rail: Rail, place: int, boxes: Sequence[Box]) -> Iterator[str]:
        at = 0
        while at < len(boxes):
            values = rail.along[boxes[at].index]
            last = at
            while last + 1 < len(boxes) and rail.along[boxes[last + 1].index] == values:
                last += 1
            if values:
                top, bottom = boxes[at].y, boxes[last].y + boxes[last].h + gap(boxes[last].line)
                yield from self._held(rail, values, place, boxes[at].column, top, bottom)
            at = last + 1

    def _held(
        self, rail: Rail, values: Sequence[str], place: int, column: int, top: float, bottom: float
    ) -> Iterator[str]:
        x = self._page.left[column] + place * RAIL
        one = len(values) == 1
        grey = _GREYS[rail.values.index(values[0]) % len(_GREYS)] if one else "#ffffff"
        dash = "" if one else ' stroke-dasharray="0.8 0.6"'
        edge = f' fill="{grey}" stroke="#777777" stroke-width="0.15"{dash}'
        yield rect(x, top, RAIL - 0.5, bottom - top, edge)
        if set(values) & set(rail.hazardous):
            yield rect(x, top, 0.6, bottom - top)
        room = (bottom - top - 1) / SMALLEST
        named, bare = (f"{safe(rail.name)}: {safe(' or '.join(values))}", safe(" or ".join(values)))
        says = named if printed(named) <= room else cut(bare, room, printed)
        if says and says != "…":
            turn = f' transform="translate({mm(x + RAIL - 1.05)} {mm((top + bottom) / 2)}) rotate(-90)"'
            yield words(0, 0, SMALLEST, says, more=f' text-anchor="middle"{turn}')

    def _arc(self, arc: PutOffArc, place: int, number: int) -> Iterator[str]:
        page, rails = self._page, len(self._rails)
        bars = [bar for bar in self._bars(arc) if bar[0].page == number]
        for first, last in bars:
            x = page.lane_x(first.column, place, rails)
            bottom = last.y + (last.h * 0.5 if last.index in arc.due else last.h + gap(last.line))
            yield rect(x - 0.8, first.y, 1.6, bottom - first.y, ' fill="#555555" rx="0.5"')
            if last.index in arc.due:
                more = ' stroke="#000000" stroke-width="0.4"'
                yield path(f"M{mm(x)} {mm(bottom)} L{mm(last.x)} {mm(bottom)}", more)
            yield lettered(arc.letter, x, first.y + 1.6)
        listed = self._boxes[arc.line]
        opens = [self._boxes[at] for at in arc.opens if at > arc.line]
        if listed.page == number:
            yield from self._curve(listed, opens[0] if opens else None, place)

    def _bars(self, arc: PutOffArc) -> Iterator[tuple[Box, Box]]:
        """The runs of lines of one column on which a window can be open."""
        run: list[Box] = []
        for at in sorted(arc.windows):
            box = self._boxes[at]
            is_open = arc.windows[at] == "open"
            if run and (not is_open or (box.page, box.column) != (run[-1].page, run[-1].column)):
                yield run[0], run[-1]
                run = []
            if is_open:
                run.append(box)
        if run:
            yield run[0], run[-1]

    def _curve(self, listed: Box, opens: Box | None, place: int) -> Iterator[str]:
        """The dashed line from where a step is put off to where its window first opens."""
        page, rails = self._page, len(self._rails)
        more = ' fill="none" stroke="#000000" stroke-width="0.3" stroke-dasharray="1.2 0.8"'
        y = listed.y + min(listed.h / 2, 3)
        x = page.lane_x(listed.column, place, rails)
        yield lettered(self._letter_of(listed.index), x, y)
        if opens is not None and (opens.page, opens.column) == (listed.page, listed.column):
            way = f"M{mm(listed.x)} {mm(y)} L{mm(x + 1.2)} {mm(y)} M{mm(x)} {mm(y + 1.2)} L{mm(x)} {mm(opens.y)}"
            yield path(way, more)
            return
        yield path(f"M{mm(listed.x)} {mm(y)} L{mm(x + 1.2)} {mm(y)}", more)
        if opens is None or opens.page != listed.page:
            yield path(f"M{mm(x)} {mm(y + 1.2)} L{mm(x)} {mm(min(y + 8, page.bottom))}", more)
            return
        start, to = listed.x + listed.w, page.lane_x(opens.column, place, rails)
        bend = max((to - start) * 0.5, 6)
        way = f"M{mm(start)} {mm(y)} C{mm(start + bend)} {mm(y)} {mm(to - bend)} {mm(opens.y + 1.6)} "
        yield path(f"{way}{mm(to - 1.2)} {mm(opens.y + 1.6)}", more)

    def _letter_of(self, index: int) -> str:
        return next(arc.letter for arc in self._map.arcs if arc.line == index)

    def _flow(self, number: int) -> Iterator[str]:
        """The line of flow: each step joined to the next of its list, nested steps to their way and back."""
        every = self._main
        for at, box in enumerate(every):
            follow = self._follow[at]
            if box.page > number or every[follow if follow is not None else -1].page < number:
                continue
            match box.line.kind:
                case "way":
                    yield from self._way(box, every[at + 1 : at + 2], number)
                case "section":
                    last = every[follow if follow is not None else -1]
                    yield from self._down(box, last, box.line.depth, 0.6, number, _BRACKET)
                case "step":
                    yield from self._on(at, number)
                case _:
                    pass

    def _way(self, box: Box, after: Sequence[Box], number: int) -> Iterator[str]:
        """A way hangs on the line of its step; the steps it leads to hang on it."""
        if box.page != number:
            return
        trunk = self._page.x(box.column, box.line.depth - 1) + TRUNK
        y = box.y + self._page.style.small * 0.75
        yield path(f"M{mm(trunk)} {mm(y)} L{mm(max(box.x, trunk))} {mm(y)}", _LINE)
        for first in after:
            same = (first.page, first.column) == (box.page, box.column)
            if same and not box.line.leads and first.line.depth > box.line.depth:
                x, y = box.x + 1.2, first.y + self._page.style.small * 0.75
                yield path(f"M{mm(x)} {mm(box.y + box.h)} L{mm(x)} {mm(y)} L{mm(first.x)} {mm(y)}", _LINE)

    def _on(self, at: int, number: int) -> Iterator[str]:
        """From a step past its ways to what follows: the next of its list, or back to the line it hangs on."""
        every, found = self._main, self._follow[at]
        if found is None:
            return
        box, follow, last = every[at], every[found], every[found - 1]
        depth, above = box.line.depth, at
        while follow.line.depth < depth or follow.line.kind == "way":
            above = self._above[above]
            if above < 0:
                return
            depth = every[above].line.depth
            if every[above].line.kind != "section":
                yield from self._back(box, last, depth - 1, number)
                return
        if follow.line.kind in ("ending", "step", "end", "section", "foot"):
            yield from self._down(box, follow, box.line.depth, TRUNK, number, _LINE, to=depth)

    def _down(
        self, box: Box, end: Box, depth: int, aside: float, number: int, more: str, *, to: int | None = None
    ) -> Iterator[str]:
        """A line from under one box down to another, through the columns between; with `to` an arrow."""
        first, last = self._place(box), self._place(end)
        for place in range(first, last + 1):
            page, column = divmod(place, self._page.style.columns)
            begins = place == last and place != first and end.y <= self._page.top + 0.1
            if page != number or (begins and to is None):
                continue
            x = self._page.x(column, depth) + aside
            top = box.y + box.h if place == first else self._page.top - 1
            bottom = self._ends[page, column] + 1.6
            if place == last:
                bottom = end.y if to is not None else max(end.y - 0.6, top)
                if end.index == box.index or (to is None and end is self._page.boxes[-1]):
                    bottom = end.y + end.h
            way = f"M{mm(x)} {mm(top)} L{mm(x)} {mm(bottom)}"
            if place == last and to is not None and to != depth:
                there = self._page.x(column, to) + aside
                turn = bottom - 1.3
                way = f"M{mm(x)} {mm(top)} L{mm(x)} {mm(turn)} L{mm(there)} {mm(turn)} L{mm(there)} {mm(bottom)}"
                x = there
            yield path(way, more)
            if to is not None and end.line.kind != "ending":
                yield arrow_head(x, bottom)

    def _back(self, box: Box, last: Box, depth: int, number: int) -> Iterator[str]:
        """The last of nested steps leads back to the line of the step it hangs under, under its own ways."""
        yield from self._down(box, last, box.line.depth, TRUNK, number, _LINE) if last is not box else ()
        if last.page != number:
            return
        x, y = self._page.x(last.column, box.line.depth) + TRUNK, last.y + last.h + 0.3
        y += 0.5 if last.line.kind == "step" else 0
        to = self._page.x(last.column, depth) + TRUNK
        top = last.y + last.h if last is box else last.y - 0.6
        yield path(f"M{mm(x)} {mm(top)} L{mm(x)} {mm(y)} L{mm(to + 0.9)} {mm(y)}", _LINE)
        yield path(f"M{mm(to)} {mm(y)} l1.3 -0.6 l0 1.2 z")

    def _place(self, box: Box) -> int:
        return box.page * self._page.style.columns + box.column

    def _trail(self, number: int) -> Iterator[str]:
        """The path of the finding: a thick line from stop to stop."""
        finding = self._map.finding
        if finding is None:
            return
        stops = [(ordinal, box) for box in self._page.boxes for ordinal in box.line.ordinals]
        stops.sort(key=lambda stop: stop[0])
        more = (
            f' fill="none" stroke="{_PATH}" stroke-width="1.3" stroke-opacity="0.55" stroke-linecap="round"'
        )
        for (_, one), (_, other) in pairwise(stops):
            if one is other or one.page != number or other.page != number:
                continue
            if one.column != other.column:
                x, y, to, end = one.x + one.w, one.y + one.h / 2, other.x, other.y + other.h / 2
                if one.column > other.column:
                    x, to = one.x, other.x + other.w
                half = (x + to) / 2
                yield path(
                    f"M{mm(x)} {mm(y)} C{mm(half)} {mm(y)} {mm(half)} {mm(end)} {mm(to)} {mm(end)}", more
                )
            elif other.y > one.y:
                a, b = one.x + TRUNK, other.x + TRUNK
                middle = other.y - 0.9
                way = f"M{mm(a)} {mm(one.y + one.h)} L{mm(a)} {mm(middle)} L{mm(b)} {mm(middle)} L{mm(b)} {mm(other.y)}"
                yield path(way, more)
            else:
                y, end, x = one.y + one.h / 2, other.y + other.h / 2, min(one.x, other.x) - 5
                way = f"M{mm(one.x)} {mm(y)} C{mm(x)} {mm(y)} {mm(x)} {mm(end)} {mm(other.x)} {mm(end)}"
                yield path(way, more)

    # The boxes themselves.

    def _box(self, box: Box) -> Iterator[str]:
        line = box.line
        yield "<g>"
        if line.kind == "step":
            yield f"<title>{escape(safe(f'{line.number} {line.label}: {line.title}'))}</title>"
        if line.kind in ("step", "end"):
            yield rect(box.x, box.y, box.w, box.h, self._frame(line))
        for text in box.texts:
            yield self._text(text)
        for mark in box.marks:
            yield from signs(mark)
        yield "</g>"

    def _frame(self, line: Line) -> str:
        edge, width, dash, round_ = "#000000", 0.3, "", 0.8
        if line.node is not None and line.node.put_off is not None:
            dash = ' stroke-dasharray="1.4 0.9"'
        if line.node is not None and line.node.hold is not None:
            width = 0.8
        if line.kind == "end":
            width, round_ = 0.6, 2.2
        if line.ordinals or line.faulty:
            edge, width = _PATH, 0.9
        return f' rx="{mm(round_)}" fill="#ffffff" stroke="{edge}" stroke-width="{mm(width)}"{dash}'

    def _text(self, text: Text) -> str:
        styles = {"bold": ' font-weight="bold"', "italic": ' font-style="italic"'}
        return words(text.x, text.y, text.size, text.text, more=styles.get(text.weight, ""))

    def _over(self, boxes: Sequence[Box]) -> Iterator[str]:
        """The numbers of the path and the place where the finding shows, over everything else."""
        for box in boxes:
            if box.stops is not None:
                x, y, width = box.stops.x, box.stops.y, box.stops.room
                yield rect(x, y - 2.4, width, 3.1, f' rx="1.5" fill="{_PATH}"')
                more = ' text-anchor="middle" font-weight="bold" fill="#ffffff"'
                yield words(x + width / 2, y - 0.05, SMALLEST, box.stops.text, more=more)
            if box.line.faulty:
                x, y = box.x + box.w, box.y
                cross = f"M{mm(x - 1.2)} {mm(y - 1.2)} l2.4 2.4 M{mm(x - 1.2)} {mm(y + 1.2)} l2.4 -2.4"
                yield rect(x - 2, y - 2, 4, 4, f' fill="{_PATH}"')
                yield path(cross, ' stroke="#ffffff" stroke-width="0.8"')

    def _legend(self) -> Iterator[str]:
        y = HEIGHT - MARGIN - 5.6
        yield path(
            f"M{mm(MARGIN)} {mm(y - 2.4)} L{mm(WIDTH - MARGIN)} {mm(y - 2.4)}",
            ' stroke="#777777" stroke-width="0.2"',
        )
        size = 2.4
        x = MARGIN
        for kind, says in (
            ("opened", "opens an item"),
            ("partly", "brings it part of the way"),
            ("closed", "closes it"),
            ("injury", "injury notice"),
            ("hold", "hold point"),
            ("stop", "stop"),
            ("again", "back to a step"),
        ):
            yield from signs(Mark(kind, x + MARK / 2, y + 0.9))  # type: ignore[arg-type]
            yield words(x + MARK + 1, y + 1.8, size, says)
            x += MARK + 1 + printed(says) * size + 3.4
        y += 4.6
        x = MARGIN
        if self._rails:
            yield rect(x, y - 0.9, 2.6, 3, ' fill="#d4d4d4" stroke="#777777" stroke-width="0.15"')
            yield rect(x, y - 0.9, 0.6, 3)
            says = "condition that holds; heavy edge: hazardous"
            yield words(x + 3.6, y + 1.5, size, says)
            x += 3.6 + printed(says) * size + 3.4
        if self._map.arcs:
            yield lettered("A", x + 1.4, y + 0.6)
            yield path(
                f"M{mm(x + 2.9)} {mm(y + 0.6)} l5 0",
                ' stroke="#000000" stroke-width="0.3" stroke-dasharray="1.2 0.8"',
            )
            yield rect(x + 8.2, y - 0.9, 1.6, 3, ' fill="#555555" rx="0.5"')
            says = "put off, and where its window can be open"
            yield words(x + 11, y + 1.5, size, says)
            x += 11 + printed(says) * size + 3.4
        if self._map.finding is not None:
            yield rect(x, y - 0.9, 4, 3, f' rx="1.5" fill="{_PATH}"')
            yield words(x + 2, y + 1.4, SMALLEST, "1", more=' text-anchor="middle" fill="#ffffff"')
            yield words(x + 5, y + 1.5, size, "path of the finding, stop by stop")


__all__ = ["svg"]
