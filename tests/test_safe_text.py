"""Nothing that a person or a file wrote may steer the terminal."""

import unicodedata

from hypothesis import given
from hypothesis import strategies as st

from runner.safe_text import plain_ascii, safe, safe_lines


def test_escape_sequences_are_shown_not_obeyed() -> None:
    assert safe("a\x1b[2Jb\r\n\t\x07\x7f") == "a␛[2Jb␍␊␉␇␡"


def test_c1_bidi_and_separators_are_named() -> None:
    assert safe("\x9b31m") == "<U+009B>31m"
    assert safe("12\u202e34\u2066\u200b\ufeff") == "12<U+202E>34<U+2066><U+200B><U+FEFF>"
    assert safe("a\u2028b") == "a<U+2028>b"
    assert safe("\ud800\ue000") == "<U+D800><U+E000>"


def test_ordinary_text_is_untouched() -> None:
    text = "60 N·m ±4 % — Überwurfmutter, 締付 👩\u200d🔧"
    assert safe(text) == text
    for joined in ("می\u200cخواهم", "क्\u200dष", "👩🏽\u200d🔧", "❤\ufe0f\u200d🔥"):
        assert safe(joined) == joined


def test_a_joiner_that_joins_nothing_is_shown() -> None:
    assert safe("An\u200dna") == "An<U+200D>na"
    assert safe("\u200cé\u200dè") == "<U+200C>é<U+200D>è"
    assert safe("👩\u200d") == "👩<U+200D>"
    assert safe("👩\u200d\u200d🔧") == "👩<U+200D><U+200D>🔧"


def test_lines_keep_their_ends_only() -> None:
    assert safe_lines("a\r\nb\n\x1bc") == ("a", "b", "␛c")
    assert safe_lines("") == ("",)


def test_ascii_mode_is_ascii_and_keeps_meaning() -> None:
    assert plain_ascii("60 N·m ±4 % 90° für é") == "60 N.m +/-4 % 90 deg fuer e"
    assert plain_ascii("締\x1b").isascii()


@given(st.text(st.characters(exclude_categories=())))
def test_safe_text_holds_no_steering_character_and_is_stable(text: str) -> None:
    made = safe(text)
    assert safe(made) == made
    for character in made:
        assert character in "\u200c\u200d" or unicodedata.category(character)[0] != "C"
        assert character not in "\u2028\u2029"
    assert plain_ascii(text).isascii()
