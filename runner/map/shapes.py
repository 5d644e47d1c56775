"""The shapes of a picture as SVG elements: lines, boxes, words, and the signs of the map. Lengths in millimetres."""

from collections.abc import Iterator
from xml.sax.saxutils import escape

from runner.map.page import MARK, SMALLEST, Mark


def mm(value: float) -> str:
    """A length as it stands in the file."""
    return f"{value:.2f}".rstrip("0").rstrip(".")


def words(x: float, y: float, size: float, says: str, *, more: str = "") -> str:
    """A line of text, its baseline beginning at `x`, `y`; `more` are attributes of ours, never text of others."""
    return f'<text x="{mm(x)}" y="{mm(y)}" font-size="{mm(size)}"{more}>{escape(says)}</text>'


def path(way: str, more: str = "") -> str:
    """A line or shape."""
    return f'<path d="{way}"{more}/>'


def rect(x: float, y: float, w: float, h: float, more: str = "") -> str:
    """A box."""
    return f'<rect x="{mm(x)}" y="{mm(y)}" width="{mm(w)}" height="{mm(h)}"{more}/>'


def signs(mark: Mark) -> Iterator[str]:
    """A drawn sign."""
    x, y, r = mark.x, mark.y, MARK / 2 - 0.25
    edge = ' fill="#ffffff" stroke="#000000" stroke-width="0.35"'
    bold = ' text-anchor="middle" font-weight="bold"'
    match mark.kind:
        case "injury":
            way = f"M{mm(x)} {mm(y - r * 1.15)} L{mm(x + r * 1.15)} {mm(y + r)} L{mm(x - r * 1.15)} {mm(y + r)} z"
            yield path(way, edge)
            yield path(
                f"M{mm(x)} {mm(y - 0.5)} l0 0.8 M{mm(x)} {mm(y + 0.55)} l0 0.25",
                ' stroke="#000000" stroke-width="0.35"',
            )
        case "hold" | "stop":
            c = r * 0.45
            way = (
                f"M{mm(x - c)} {mm(y - r)} L{mm(x + c)} {mm(y - r)} L{mm(x + r)} {mm(y - c)} "
                f"L{mm(x + r)} {mm(y + c)} L{mm(x + c)} {mm(y + r)} L{mm(x - c)} {mm(y + r)} "
                f"L{mm(x - r)} {mm(y + c)} L{mm(x - r)} {mm(y - c)} z"
            )
            yield path(way, edge if mark.kind == "hold" else "")
            if mark.kind == "hold":
                yield words(x, y + 0.75, SMALLEST, "H", more=bold)
        case "again":
            s = r * 0.8
            way = f"M{mm(x + s)} {mm(y)} A{mm(s)} {mm(s)} 0 1 1 {mm(x)} {mm(y - s)}"
            yield path(way, ' fill="none" stroke="#000000" stroke-width="0.4"')
            yield path(f"M{mm(x + 1.1)} {mm(y - s)} l-1.3 -0.7 l0 1.4 z")
        case _:
            fill = ' fill="#000000"' if mark.kind == "closed" else edge
            yield f'<circle cx="{mm(x)}" cy="{mm(y)}" r="{mm(r * 0.85)}"{fill}/>'
            if mark.kind == "partly":
                q = r * 0.85
                yield path(f"M{mm(x)} {mm(y - q)} A{mm(q)} {mm(q)} 0 0 0 {mm(x)} {mm(y + q)} z")
    if mark.count > 1:
        yield words(x + r + 0.3, y + 0.8, SMALLEST, str(mark.count))


def lettered(letter: str, x: float, y: float) -> str:
    """The letter of a put-off step in its circle."""
    circle = (
        f'<circle cx="{mm(x)}" cy="{mm(y)}" r="1.35" fill="#ffffff" stroke="#000000" stroke-width="0.3"/>'
    )
    more = ' text-anchor="middle" font-weight="bold"'
    return circle + words(x, y + 0.8, SMALLEST, letter, more=more)


def arrow_head(x: float, y: float) -> str:
    """The head of an arrow that points down, its tip at `x`, `y`."""
    return path(f"M{mm(x)} {mm(y)} l-0.7 -1.2 l1.4 0 z")
