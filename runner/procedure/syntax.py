"""YAML syntax errors in our own sentences: what stands there, where, and what an author would write instead.

PyYAML's two loaders word the same error differently; both are recognised by what their texts have in common,
and neither text is ever shown.
"""

import re
from typing import NamedTuple

import yaml

from runner.procedure.finding import Findings, Mark
from runner.procedure.traps import cut_in_line

DEEPEST = 50
"""Most levels of lists and mappings inside each other."""

TOO_DEEP = f"lists and mappings are nested deeper than {DEEPEST} levels"

_QUOTES = "the whole text in quotes"
# Possessive: what is not taken back cannot make a line of dashes cost the square of its length.
_TIGHT_COLON = re.compile(r"^\s*+(?:- ++)*+[^\s:\"'\[\]{}#][^:\"'\[\]{}#]*:(?=[^\s:/])")
_KEY = re.compile(r"^\s*+(?:- ++)*+[^\s#][^#]*?:(?=\s|$)")


class _Place(NamedTuple):
    """A syntax error taken apart: lines and columns counted from 0, clamped into the file."""

    lines: tuple[str, ...]
    context: str
    context_at: tuple[int, int]
    problem: str
    at: tuple[int, int]

    @property
    def line(self) -> str:
        return self.lines[self.at[0]]

    @property
    def character(self) -> str:
        return self.line[self.at[1] : self.at[1] + 1]

    @property
    def before(self) -> str:
        return self.line[: self.at[1]]


class _Sentence(NamedTuple):
    """What is said about it, and where (counted from 0)."""

    at: tuple[int, int]
    rule: str
    message: str
    expected: str = ""


def explain(error: yaml.MarkedYAMLError, findings: Findings) -> None:
    """Keep one finding for a syntax error, at the place an author has to change."""
    place = _place(error, findings.lines)
    if _is_structural(place) and _cut_near(place, findings):
        return
    sentence = _sentence(place)
    mark = Mark(findings.file, sentence.at[0] + 1, sentence.at[1] + 1)
    findings.add(mark, sentence.rule, sentence.message, expected=sentence.expected)


def _place(error: yaml.MarkedYAMLError, lines: tuple[str, ...]) -> _Place:
    at = _inside(error.problem_mark or error.context_mark, lines)
    context_at = _inside(error.context_mark, lines) if error.context_mark else at
    return _Place(lines, error.context or "", context_at, error.problem or "", at)


def _inside(mark: yaml.Mark | None, lines: tuple[str, ...]) -> tuple[int, int]:
    if mark is None:
        return 0, 0
    if mark.line < len(lines):
        return mark.line, min(mark.column, len(lines[mark.line]))
    return len(lines) - 1, len(lines[-1])


def _is_structural(place: _Place) -> bool:
    return "quoted scalar" not in place.context and "block scalar" not in place.context


def _cut_near(place: _Place, findings: Findings) -> bool:
    """Find ` #` that cut a text short and so broke what follows: in the lines that the error is about."""
    first = place.context_at[0] if "flow" in place.context else place.at[0] - 1
    return any(cut_in_line(number + 1, findings) for number in range(max(first, 0), place.at[0] + 1))


def _sentence(place: _Place) -> _Sentence:
    problem, context = place.problem, place.context
    if "maximum nesting depth" in problem:
        return _Sentence(place.at, "nesting", TOO_DEEP)
    if "mapping values are not allowed" in problem:
        return _colon(place)
    if "could not find expected ':'" in problem:
        return _no_colon(place)
    if "quoted scalar" in context or "double-quoted" in context:
        return _quoted(place)
    if "flow" in context:
        return _flow(place)
    if "alias" in context or "anchor" in context or "tag" in context:
        return _text_beginning_with(place, place.context_at)
    if (
        "cannot start any token" in problem
        or "expected node content" in problem
        or "the node content" in problem
    ):
        return _text_beginning_with(place, place.at)
    if "block scalar" in context:
        return _text_beginning_with(place, place.context_at)
    if "sequence entries are not allowed" in problem:
        return _Sentence(
            place.at, "list", "a list cannot begin on the same line as its key", "`- ` on a new line"
        )
    if "keys are not allowed" in problem:
        return _text_beginning_with(place, place.at)
    if "directive" in context:
        message = "YAML directives (lines that begin with %) are not used"
        return _Sentence((place.context_at[0], 0), "directive", message)
    if "block collection" in context or "block mapping" in context or "document start" in problem:
        return _block(place)
    return _Sentence(place.at, "syntax", "the text from here on cannot be read as YAML")


def _first_letter(line: str) -> int:
    return len(line) - len(line.lstrip())


def _tight_colon(place: _Place, number: int) -> _Sentence | None:
    """Say it where a line reads `key:value`."""
    match = _TIGHT_COLON.match(place.lines[number])
    if match is None or _KEY.match(place.lines[number]):
        return None
    message = "no blank after this colon, so the line is not a key and its value"
    return _Sentence((number, match.end() - 1), "colon", message, "key: value")


def _line_before(place: _Place, number: int) -> int | None:
    for earlier in range(number - 1, -1, -1):
        line = place.lines[earlier].strip()
        if line and not line.startswith("#"):
            return earlier
    return None


def _colon(place: _Place) -> _Sentence:
    """Explain a colon where none can be: inside text, or after a line that went before it wrongly."""
    earlier = _line_before(place, place.at[0])
    if _KEY.match(place.before.rstrip()):
        message = "a colon and a blank inside text begin a new key"
        return _Sentence(place.at, "colon", message, _QUOTES)
    if len(place.before.strip()) > 1000:
        return _Sentence(place.at, "syntax", "the key before this colon is too long")
    if earlier is not None:
        tight = _tight_colon(place, earlier)
        if tight is not None:
            return tight
        indent, indent_before = _first_letter(place.line), _first_letter(place.lines[earlier])
        if indent > indent_before:
            message = "this line is indented further than the line above, which has its value already"
            expected = f"{indent_before} blanks, or no value on the line above"
            return _Sentence((place.at[0], indent), "indentation", message, expected)
    return _Sentence(place.at, "colon", "a colon cannot stand here", _QUOTES)


def _no_colon(place: _Place) -> _Sentence:
    number = place.context_at[0]
    tight = _tight_colon(place, number)
    if tight is not None:
        return tight
    message = "this line is no key with a colon, and goes on from no line above it"
    expected = "key: value; or, to go on with the text above, more indentation"
    return _Sentence(place.context_at, "colon", message, expected)


def _quoted(place: _Place) -> _Sentence:
    if "end of stream" in place.problem:
        message = "this quote is never closed"
        return _Sentence(place.context_at, "quote", message, "the same quote after the text")
    if "escape" in place.problem or "hexdecimal" in place.problem:
        begin = place.line.rfind("\\", 0, place.at[1] + 1)
        at = (place.at[0], begin) if begin >= 0 else place.at
        message = "a backslash in double quotes begins an escape, and this one means no character"
        return _Sentence(at, "escape", message, "text in single quotes")
    return _Sentence(place.context_at, "quote", "the text in these quotes cannot be read", "a closing quote")


def _flow(place: _Place) -> _Sentence:
    """Explain an error between braces or brackets."""
    opener = place.lines[place.context_at[0]][place.context_at[1] : place.context_at[1] + 1]
    closer = "]" if opener == "[" else "}"
    if place.character in "]}" and place.character:
        message = f"this {place.character} closes what {opener} opened on line {place.context_at[0] + 1}"
        return _Sentence(place.at, "bracket", message, closer)
    if place.at[0] != place.context_at[0] or not place.character:
        message = f"this {opener} is never closed (reading stopped on line {place.at[0] + 1})"
        return _Sentence(place.context_at, "bracket", message, f"{closer} at the end")
    if place.character == ":":
        return _Sentence(place.at, "colon", "a colon inside text between braces or brackets", _QUOTES)
    if "node content" in place.problem:
        return _text_beginning_with(place, place.at)
    message = f"two values between {opener} and {closer} with nothing to part them"
    return _Sentence(place.at, "bracket", message, f"a comma, or {_QUOTES}")


def _text_beginning_with(place: _Place, at: tuple[int, int]) -> _Sentence:
    character = place.lines[at[0]][at[1] : at[1] + 1]
    if character == "\t":
        return _Sentence(at, "tab", "a tab stands where only blanks are possible", "blanks")
    if not character:
        return _Sentence(at, "syntax", "the text from here on cannot be read as YAML")
    return _Sentence(at, "quote", f"text that begins with {character} must be in quotes", _QUOTES)


def _block(place: _Place) -> _Sentence:
    """Explain a line that fits nothing open above it, or something left over in the middle of a line."""
    before = place.before.rstrip()
    if before.endswith(('"', "'")):
        message = "text goes on after the closing quote"
        return _Sentence(place.at, "quote", message, f"{_QUOTES} of the other kind")
    if before and place.character and place.character in "]}":
        opener = "[" if place.character == "]" else "{"
        message = f"this {place.character} closes nothing: no {opener} is open"
        return _Sentence(place.at, "bracket", message)
    if before:
        return _Sentence(place.at, "syntax", "something is left over on this line", _QUOTES)
    if place.character == ":":
        return _Sentence(place.at, "key", "nothing stands where a key must be", "a word before the colon")
    if "collection" in place.context and place.at[1] == place.context_at[1]:
        message = f"this line stands in the list that began on line {place.context_at[0] + 1}"
        return _Sentence(place.at, "list", f"{message}, but does not begin with `- `", "- entry")
    if place.character == "-" and place.at[1] == place.context_at[1]:
        message = "a list entry stands between keys"
        return _Sentence(place.at, "list", message, "key: value, or a key above the list")
    blanks = "1 blank" if place.at[1] == 1 else f"{place.at[1] or 'no'} blanks"
    message = f"the indentation of this line ({blanks}) fits no line above it"
    return _Sentence(place.at, "indentation", message, "the indentation of the lines it belongs to")
