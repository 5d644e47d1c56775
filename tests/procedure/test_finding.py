"""Findings as text: aligned, complete and harmless to a terminal."""

from hypothesis import given, settings
from hypothesis import strategies as st

from runner.procedure.excerpt import WIDEST, columns, underlined
from runner.procedure.finding import Finding, Findings, Mark, nearest
from runner.safe_text import safe


def test_the_whole_text():
    finding = Finding(
        "f.yaml", 3, 5, "error", "unknown-key", "no such key", "    tilte: x", "a key", "title", 5
    )
    assert finding.text().splitlines() == [
        "f.yaml:3:5: error: no such key",
        "        tilte: x",
        "        ^^^^^",
        "    expected: a key",
        "    nearest word: title",
    ]


def test_nothing_more_is_printed_than_is_known():
    assert Finding("f", 1, 1, "warning", "r", "m").text() == "f:1:1: warning: m"


def test_what_a_terminal_obeys_is_shown_and_not_obeyed():
    finding = Finding("a\x1bb", 1, 3, "error", "r", "m\nn\u202e", "\t\x1b[31m", "\x9b", "\x07")
    assert finding.text().splitlines() == [
        "a␛b:1:3: error: m␊n<U+202E>",
        "    ␉␛[31m",
        "      ^",
        "    expected: <U+009B>",
        "    nearest word: ␇",
    ]


def test_carets_stand_under_wide_and_combining_characters():
    assert underlined("車e\u0301: 車x", 6, 2)[1] == " " * 5 + "^" * 3


def test_a_long_line_is_cut_around_the_place():
    excerpt, carets = underlined("a" * 5000 + "HERE" + "b" * 5000, 5001, 4)
    assert excerpt[carets.index("^") : carets.rindex("^") + 1] == "HERE"
    assert excerpt.startswith("…")
    assert excerpt.endswith("…")
    assert columns(excerpt) <= WIDEST


@settings(deadline=None)
@given(st.text(max_size=300), st.integers(-1, 400), st.integers(0, 400))
def test_an_excerpt_is_one_short_printable_line(line: str, column: int, length: int):
    excerpt, carets = underlined(line, column, length)
    assert excerpt == safe(excerpt)
    assert "^" in carets
    assert len(carets) <= 16 * WIDEST


def test_the_nearest_word():
    assert nearest("tilte", ["title", "revision"]) == "title"
    assert nearest("Tighten", ["tightens", "starts"]) == "tightens"
    assert nearest("zebra", ["title", "revision"]) is None
    assert nearest("t" * 100, ["t" * 100]) is None


def test_one_place_and_rule_is_found_once_and_all_come_in_order():
    findings = Findings("f", ("one", "two"))
    findings.add(Mark("f", 2, 1), "r", "second")
    findings.add(Mark("f", 1, 2), "r", "first", grade="warning")
    findings.add(Mark("f", 2, 1), "r", "second again")
    assert [(f.line, f.message, f.excerpt) for f in findings.in_order()] == [
        (1, "first", "one"),
        (2, "second", "two"),
    ]
    assert findings.errors()
