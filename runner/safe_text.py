"""Text from people and files, made safe for a terminal or a screen.

Everything typed, read from YAML or found in a log is data. A control character in it could move the cursor,
a bidi override could make a number read backwards, and an invisible one could make two names look alike; each
is shown as what it is instead of being obeyed.
"""

import unicodedata

_CONTROL_PICTURES = 0x2400
_SAFE_FORMAT = frozenset(
    "\u200d"
)  # the zero width joiner holds one drawn character together and moves nothing


def safe(text: str) -> str:
    """Return `text` as one line in which every control, bidi and invisible character is visible.

    C0 controls and DEL become their control pictures (`␛`, `␊`, `␡`); C1 controls, bidi marks and overrides,
    other format characters, line and paragraph separators, surrogates, private-use and unassigned characters
    become `<U+202E>`. Everything else is left alone, so `safe` of safe text is that text.
    """
    if text.isascii() and text.isprintable():
        return text
    return "".join(_visible(character) for character in text)


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
    if character in _SAFE_FORMAT or (category[0] != "C" and category not in ("Zl", "Zp")):
        return character
    return f"<U+{code:04X}>"


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
