"""Inks and signs of the bench: a calm neutral, one warm marker paint, and the signal colours of notices.

Nothing is told by colour alone: every state has its own sign or word, so the colourless and the ASCII dress carry
the same facts. Blue, orange and plain brightness stay apart for the common kinds of colour blindness.
"""

import os
from collections.abc import Mapping
from typing import Literal

from rich.style import Style

from runner.frozen import Frozen

Ink = Literal[
    "plain", "dim", "strong", "title", "paint", "track", "gap", "chip", "flag", "rule", "key", "field", "cursor",
    "danger", "warning", "caution", "notice", "refused", "good", "picked",
]  # fmt: skip
Dress = Literal["dark", "light", "none"]


class Signs(Frozen):
    """Every sign that the bench itself draws."""

    alert: str
    becoming: str
    more: str
    dot: str
    done: str
    now: str
    later: str
    waived: str
    ready: str
    waiting: str
    rule: str
    bar: str
    prompt: str
    final: str
    part: str
    open: str
    whole: str
    not_done: str
    not_applicable: str
    member_done: str
    lost: str
    ascii_only: bool


UNICODE = Signs(
    alert="⚠", becoming="→", more="…", dot=" · ", done="✓", now="▶", later="·", waived="–", ready="◆", waiting="◇",
    rule="─", bar="│", prompt="▶", final="███", part="█▌ ", open=" ! ", whole="░░░", not_done=" × ",
    not_applicable=" – ", member_done="▰", lost="✗", ascii_only=False,
)  # fmt: skip
ASCII = Signs(
    alert="/!\\", becoming="->", more="...", dot=" - ", done="x", now=">", later=".", waived="-", ready="*",
    waiting="o", rule="-", bar="|", prompt=">", final="###", part="#: ", open=" ! ", whole="...", not_done=" x ",
    not_applicable=" - ", member_done="#", lost="X", ascii_only=True,
)  # fmt: skip

_BLACK, _WHITE = "#101214", "#ffffff"


def _coloured(
    plain: str, ground: str, dim: str, bright: str, paint: str, track: str, raised: str
) -> dict[Ink, Style]:
    def ink(colour: str, on: str = ground, *, bold: bool = False) -> Style:
        return Style(color=colour, bgcolor=on, bold=bold)

    return {
        "plain": ink(plain),
        "dim": ink(dim),
        "strong": ink(bright, bold=True),
        "title": ink(bright, bold=True),
        "paint": ink(paint, bold=True),
        "track": ink(track),
        "gap": ink(bright, bold=True),
        "chip": ink(bright, raised, bold=True),
        "flag": ink(ground, plain, bold=True),
        "rule": ink(track),
        "key": ink(paint, bold=True),
        "field": ink(bright, raised),
        "cursor": ink(ground, paint),
        "danger": ink(_WHITE, "#b3261e", bold=True),
        "warning": ink(_BLACK, "#e07b12", bold=True),
        "caution": ink(_BLACK, "#e3c13b", bold=True),
        "notice": ink(_WHITE, "#2b62a8", bold=True),
        "refused": ink(bright, raised, bold=True),
        "good": ink(bright),
        "picked": ink(bright, raised, bold=True),
    }


def _colourless() -> dict[Ink, Style]:
    plain, strong = Style(), Style(bold=True)
    turned = Style(bold=True, reverse=True)
    return {
        "plain": plain,
        "dim": plain,
        "strong": strong,
        "title": strong,
        "paint": strong,
        "track": plain,
        "gap": strong,
        "chip": turned,
        "flag": turned,
        "rule": plain,
        "key": strong,
        "field": Style(underline=True),
        "cursor": Style(reverse=True),
        "danger": turned,
        "warning": turned,
        "caution": turned,
        "notice": strong,
        "refused": strong,
        "good": plain,
        "picked": turned,
    }


PALETTES: Mapping[Dress, Mapping[Ink, Style]] = {
    "dark": _coloured("#cfccc4", "#17191b", "#8b8e90", "#f6f3ea", "#f0a63c", "#4a4e52", "#2b2f33"),
    "light": _coloured("#2c2f33", "#f5f3ee", "#6a6d70", "#0c0e10", "#b65f00", "#b9b5ab", "#e2ded4"),
    "none": _colourless(),
}
"""The inks of each dress."""


class Look(Frozen):
    """How this bench draws."""

    signs: Signs = UNICODE
    dress: Dress = "dark"

    @property
    def inks(self) -> Mapping[Ink, Style]:
        """The style of each ink."""
        return PALETTES[self.dress]


def choose_dress(environment: Mapping[str, str] | None = None) -> Dress:
    """The dress for this terminal: none under NO_COLOR, light where COLORFGBG tells of a light ground, else dark.

    Both coloured dresses paint their own ground, so a wrong guess is still readable.
    """
    known = os.environ if environment is None else environment
    if known.get("NO_COLOR"):
        return "none"
    ground = known.get("COLORFGBG", "").rpartition(";")[2]
    return "light" if ground in {"7", "15"} else "dark"
