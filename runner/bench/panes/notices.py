"""Hazard notices: signal word, hazard, consequence and how to avoid it, always together with their step.

Signal words and the alert sign as ANSI Z535.6 and ISO 3864-2 use them: DANGER, WARNING and CAUTION are about injury
and carry the sign; NOTICE is about damage and carries none.
"""

from runner.bench.rows import Row, Span, hanging, paragraph, span
from runner.bench.theme import Ink, Signs
from runner.view import NoticeLine

_INKS: dict[str, Ink] = {"danger": "danger", "warning": "warning", "caution": "caution", "notice": "notice"}


def chip(level: str, signs: Signs) -> Row:
    """The signal word on its ground, with the alert sign where it is about injury."""
    sign = "" if level == "notice" else f"{signs.alert} "
    return (span(f" {sign}{level.upper()} ", _INKS.get(level, "notice")), Span(" "))


def notice_rows(notice: NoticeLine, width: int, signs: Signs, limit: int = 0) -> list[Row]:
    """One notice, in at most `limit` rows (0: as many as it needs); what is left out is marked and stands under F1."""
    more = f"{signs.more} F1"
    return hanging(chip(notice.level, signs), sentence(notice), width, limit=limit, more=more)


def notice_to_read(notice: NoticeLine, width: int, signs: Signs) -> list[Row]:
    """The notice that is to be read now: each of its parts on lines of its own."""
    parts = [
        notice.hazard.rstrip(".") + (f": {notice.consequence}" if notice.consequence else ""),
        notice.avoid,
    ]
    lines = [line for part in parts if part for line in paragraph(part, width - 1, "strong")]
    return [chip(notice.level, signs), *lines]


def sentence(notice: NoticeLine) -> str:
    """Hazard, consequence and avoidance as one text."""
    hazard = notice.hazard.rstrip(".")
    consequence = f": {notice.consequence.rstrip('.')}" if notice.consequence else ""
    return f"{hazard}{consequence}. {notice.avoid}".strip()
