"""User text made safe for a screen of columns: data stays data.

Nothing in the bench is markup, and every text passes through `literal` on its way to the screen (`rows.span` calls
it, so no text can go round it). `safe` writes out whatever would be obeyed by a terminal; here the signs are added
on whose width terminals disagree, because one of them would push a whole row out of its columns.
"""

import unicodedata
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from functools import lru_cache

from runner.safe_text import plain_ascii, safe

_ASCII_ONLY: ContextVar[bool] = ContextVar("ascii_only", default=False)
_PRESENTATION = {0xFE0E: None, 0xFE0F: None, 0x00A0: " ", 0x3000: "  ", 0x200D: "<U+200D>"}
"""Variation selectors choose between two drawings of one sign; a joiner makes one sign of two, in some terminals."""


def literal(text: str) -> str:
    """`text` on one line, with nothing in it that a terminal obeys, hides or draws at a doubtful width.

    A combining mark at the start gets a dotted circle to stand on, so that it never changes its neighbour.
    """
    if text.isascii() and text.isprintable():
        return text
    return _ascii(text) if _ASCII_ONLY.get() else _unicode(text)


@contextmanager
def ascii_letters(only: bool) -> Iterator[None]:
    """While drawing inside: `literal` gives ASCII letters only (for poor fonts) where `only` says so."""
    token = _ASCII_ONLY.set(only)
    try:
        yield
    finally:
        _ASCII_ONLY.reset(token)


@lru_cache(maxsize=4096)
def _unicode(text: str) -> str:
    shown = safe(text).translate(_PRESENTATION)
    return "\u25cc" + shown if shown and unicodedata.combining(shown[0]) else shown


@lru_cache(maxsize=4096)
def _ascii(text: str) -> str:
    return plain_ascii(text)
