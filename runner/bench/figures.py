"""The value to set, drawn large: own glyphs, six dots high, two dots to a cell by half blocks.

A text is drawn whole or not at all (`large` gives None where it does not fit or has a letter without a glyph), so
that no digit is ever lost at the edge.
"""

from collections.abc import Sequence
from functools import lru_cache

DOTS_HIGH = 6

_DRAWN = {
    "0": "·####· ##··## ##··## ##··## ##··## ·####·",
    "1": "··##·· ·###·· ··##·· ··##·· ··##·· ######",
    "2": "#####· ····## ·####· ##···· ##···· ######",
    "3": "#####· ····## ··###· ····## ····## #####·",
    "4": "##··## ##··## ##··## ###### ····## ····##",
    "5": "###### ##···· #####· ····## ····## #####·",
    "6": "·####· ##···· #####· ##··## ##··## ·####·",
    "7": "###### ····## ···##· ··##·· ··##·· ··##··",
    "8": "·####· ##··## ·####· ##··## ##··## ·####·",
    "9": "·####· ##··## ##··## ·##### ····## ·####·",
    ".": "·· ·· ·· ·· ## ##",
    ",": "··· ··· ··· ·## ·## ##·",
    ":": "·· ## ## ·· ## ##",
    "-": "···· ···· #### ···· ···· ····",
    "+": "······ ··##·· ###### ··##·· ······ ······",
    "±": "··##·· ###### ··##·· ······ ###### ······",
    "/": "····## ···##· ··##·· ·##··· ##···· ##····",
    "°": "·##· #··# ·##· ···· ···· ····",
    "·": "·· ·· ## ·· ·· ··",
    "%": "##··## ····## ··##·· ·##··· ##···· ##··##",
    "N": "##···## ###··## ####·## ##·#### ##··### ##···##",
    "m": "········ ········ #######· ##·##·## ##·##·## ##·##·##",
    "M": "##····## ###··### ######## ##·##·## ##····## ##····##",
    "b": "##··· ##··· ####· ##·## ##·## ####·",
    "a": "······ ·####· ····## ·##### ##··## ·#####",
    "r": "····· ····· ##·## ####· ##··· ##···",
    "f": "··### ·##·· ##### ·##·· ·##·· ·##··",
    "t": "·##·· ##### ·##·· ·##·· ·##·· ··###",
    "l": "##· ##· ##· ##· ##· ·##",
    "i": "## ·· ## ## ## ##",
    "n": "····· ····· ####· ##·## ##·## ##·##",
    "k": "##··· ##·## ####· ###·· ####· ##·##",
    "g": "····· ·#### ##·## ·#### ···## ####·",
    "s": "····· ·#### ##··· ·###· ···## ####·",
    "h": "##··· ##··· ####· ##·## ##·## ##·##",
    "c": "····· ····· ·#### ##··· ##··· ·####",
    "V": "##··## ##··## ##··## ##··## ·####· ··##··",
    "A": "··##·· ·####· ##··## ###### ##··## ##··##",
    " ": "··· ··· ··· ··· ··· ···",
}

_BLOCKS = {(False, False): " ", (True, False): "▀", (False, True): "▄", (True, True): "█"}
_LETTERS = {(False, False): " ", (True, False): '"', (False, True): "o", (True, True): "#"}


def _dots(text: str) -> list[str] | None:
    """Six lines of dots, one blank column between glyphs; None where a letter has no glyph."""
    lines = [""] * DOTS_HIGH
    for place, char in enumerate(text):
        drawn = _DRAWN.get(char)
        if drawn is None:
            return None
        gap = "·" if place else ""
        lines = [line + gap + part for line, part in zip(lines, drawn.split(), strict=True)]
    return lines


@lru_cache(maxsize=256)
def large(text: str, width: int, *, ascii_only: bool = False, scale: int = 1) -> tuple[str, ...] | None:
    """`text` within `width` cells, 3 rows times `scale` high; of letters where only ASCII may be used."""
    dots = _dots(text)
    if not dots or not dots[0]:
        return None
    cells = _LETTERS if ascii_only else _BLOCKS
    wide = ["".join(dot * scale for dot in line) for line in dots for _ in range(scale)]
    drawn = [
        "".join(cells[up == "#", down == "#"] for up, down in zip(upper, lower, strict=True))
        for upper, lower in zip(wide[::2], wide[1::2], strict=True)
    ]
    return _fitting(drawn, width)


def _fitting(lines: Sequence[str], width: int) -> tuple[str, ...] | None:
    return tuple(lines) if len(lines[0]) <= width else None


def split_value(text: str) -> tuple[str, str]:
    """The number to draw large, and the rest (its unit) for plain letters beside it where that has to be."""
    for place, char in enumerate(text):
        if not (char.isdigit() or char in ".,:+-±/"):
            return text[:place].rstrip(), text[place:].strip()
    return text, ""
