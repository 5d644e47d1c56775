"""Characters that no text here may hold, whoever wrote it: the author of a file, or a person at the bench."""

import re
import unicodedata

FORBIDDEN = re.compile(
    "[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u2028\u2029\u202a-\u202e\u2066-\u2069\ud800-\udfff\ufeff\ufffe\uffff]"
    "|\r(?!\n)"
)
"""Characters refused anywhere in a file and in what is typed: controls, hidden line ends,
bidirectional overrides, a BOM inside.

YAML also counts U+0085, U+2028 and U+2029 as line ends, which editors do not; refusing them keeps our line
numbers and the editor's the same. The bidirectional characters can make text read otherwise than it is
(Unicode Technical Standard 39; the marks U+200E and U+200F are harmless and allowed).
"""

_NAMES = {
    "\r": "a carriage return without a line feed",
    "\x1b": "an escape character",
    "\x00": "a NUL",
    "\x85": "a next-line character",
    "\ufeff": "a byte order mark inside the text",
    "\ufffe": "a noncharacter",
    "\uffff": "a noncharacter",
}


def character_name(character: str) -> str:
    """Give the code point and a name, as `U+202E (right-to-left override)`."""
    name = _NAMES.get(character) or unicodedata.name(character, "a control character").lower()
    return f"U+{ord(character):04X} ({name})"
