"""Text from people and files, made safe for a terminal or a screen.

Everything typed, read from YAML or found in a log is data. A control character in it could move the cursor,
a bidi override could make a number read backwards, and an invisible one could make two names look alike; each
is shown as what it is instead of being obeyed.
"""

import unicodedata
from collections.abc import Iterator

_CONTROL_PICTURES = 0x2400
_JOINERS = "\u200c\u200d"
_NO_JOINING = ("LATIN", "GREEK", "CYRILLIC")
"""Scripts in which a joiner means nothing, so that one there only makes two names look alike."""


def safe(text: str) -> str:
    """Return `text` as one line in which every control, bidi and invisible character is visible.

    C0 controls and DEL become their control pictures (`␛`, `␊`, `␡`); C1 controls, bidi marks and overrides,
    other format characters, line and paragraph separators, surrogates, private-use and unassigned characters
    become `<U+202E>`. Everything else is left alone, so `safe` of safe text is that text. A joiner stays between two
    characters that it can join or part: Persian and many scripts of India are misspelt without, and signs of several
    people are held together by it.
    """
    if text.isascii() and text.isprintable():
        return text
    shown = "".join(_visible(character) for character in text)
    return shown if shown.isprintable() else "".join(_joiners_in_place(shown))


def safe_lines(text: str) -> tuple[str, ...]:
    """Return `text` split at its line ends (LF, CRLF), each line made safe; at least one line."""
    return tuple(safe(line) for line in text.replace("\r\n", "\n").split("\n"))


def plain_ascii(text: str) -> str:
    """Return safe text for a terminal or font without Unicode: known signs in words, the rest as `?`."""
    out: list[str] = []
    for character in safe(text):
        if character.isascii():
            out.append(character)
            continue
        known = _ASCII.get(character)
        if known is None:
            bare = unicodedata.normalize("NFKD", character).encode("ascii", "ignore").decode("ascii")
            known = bare or "?"
        out.append(known)
    return "".join(out)


def _visible(character: str) -> str:
    code = ord(character)
    if code < 0x20:
        return chr(_CONTROL_PICTURES + code)
    if code == 0x7F:
        return "\u2421"
    category = unicodedata.category(character)
    if character in _JOINERS or (category[0] != "C" and category not in ("Zl", "Zp")):
        return character
    return f"<U+{code:04X}>"


def _joiners_in_place(text: str) -> Iterator[str]:
    """The text with every joiner written out that stands where there is nothing to join."""
    for at, character in enumerate(text):
        if character not in _JOINERS:
            yield character
        else:
            inside = 0 < at < len(text) - 1 and _can_join(text[at - 1]) and _can_join(text[at + 1])
            yield character if inside else f"<U+{ord(character):04X}>"


def _can_join(character: str) -> bool:
    if character.isascii() or unicodedata.category(character)[0] not in "LMS":
        return False
    return not unicodedata.name(character, "").startswith(_NO_JOINING)


_ASCII = {
    "·": ".",
    "×": "x",
    "÷": "/",
    "−": "-",
    "±": "+/-",
    "°": " deg",
    "µ": "u",
    "μ": "u",
    "Ω": "ohm",
    "–": "-",
    "—": "-",
    "…": "...",
    "“": '"',
    "”": '"',
    "‘": "'",
    "’": "'",
    "≤": "<=",
    "≥": ">=",
    "→": "->",
    "←": "<-",
    "ä": "ae",
    "ö": "oe",
    "ü": "ue",
    "Ä": "Ae",
    "Ö": "Oe",
    "Ü": "Ue",
    "ß": "ss",
    "│": "|",
    "┃": "|",
    "╎": ":",
    "█": "#",
    "▌": "#",
    "░": ".",
    "•": "*",
    "✓": "x",
}
