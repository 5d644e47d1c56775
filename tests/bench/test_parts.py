"""The small parts that the screen is made of."""

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.cells import cell_len

from runner.bench.dialogs.reasons import reason_fields, reason_of
from runner.bench.entry import LONGEST, Entry
from runner.bench.figures import large, split_value
from runner.bench.form import Field, Form
from runner.bench.keys import COMMANDS, KEY_ROW
from runner.bench.literal import ascii_letters, literal
from runner.bench.rows import clip, fit, row, span, spread, text_of, texts, width_of, wrap
from runner.bench.stripe import stripe
from runner.bench.theme import ASCII, PALETTES, UNICODE, choose_dress
from runner.job.demand import Option
from runner.view import ItemLine, MarkState

ANY_TEXT = st.text(alphabet=st.characters(codec=None), max_size=60)


@given(ANY_TEXT)
def test_literal_text_moves_hides_and_reorders_nothing(text: str) -> None:
    shown = literal(text)
    assert all(unicodedata.category(char) not in {"Cc", "Cf", "Cs", "Zl", "Zp"} for char in shown)
    assert literal(shown) == shown
    with ascii_letters(True):
        assert literal(text).isascii()
        assert literal(text).isprintable()


def test_a_combining_mark_never_changes_its_neighbour() -> None:
    assert literal("\u0338 50") == "\u25cc\u0338 50"
    assert text_of(row("50", span("\u0338"))) == "50\u25cc\u0338"


@given(ANY_TEXT, st.integers(1, 30))
def test_rows_are_cut_and_filled_to_the_cell(text: str, width: int) -> None:
    assert width_of(clip(row(span(text)), width)) <= width
    assert width_of(fit(row(span(text), span(text, "dim")), width)) == width
    assert width_of(spread(row(span(text)), row("right"), max(width, 6))) == max(width, 6)


@given(st.text(alphabet="ab漢é -\n", max_size=80), st.integers(2, 20))
def test_wrapping_keeps_every_letter_and_the_width(text: str, width: int) -> None:
    lines = wrap(text, width)
    assert all(cell_len(line) <= width for line in lines)
    assert "".join("".join(lines).split()) == "".join(text.split())


def test_a_sketch_keeps_its_spaces() -> None:
    assert wrap("  knuckle   ||  slot\n ====||====", 40) == ["  knuckle   ||  slot", " ====||===="]


def test_what_is_cut_is_marked() -> None:
    assert text_of(clip(row("a long text"), 6)) == "a lon…"
    assert text_of(clip(row("short"), 6)) == "short"


def test_every_figure_is_its_own() -> None:
    drawn = {char: large(char, 20) for char in "0123456789.,:-+±/°%NmMbarftlinkgshcVA"}
    assert None not in drawn.values()
    assert len(set(drawn.values())) == len(drawn)
    letters = {char: large(char, 20, ascii_only=True) for char in "0123456789"}
    assert len(set(letters.values())) == 10
    assert all("".join(lines).isascii() for lines in letters.values() if lines)


@pytest.mark.parametrize("text", ["50 N·m", "44 ft-lb", "90°", "2,5 mm", "12:34", "530 in-lb"])
@pytest.mark.parametrize("scale", [1, 2])
def test_a_value_is_drawn_whole_or_not_at_all(text: str, scale: int) -> None:
    lines = large(text, 200, scale=scale)
    assert lines is not None
    assert len(lines) == 3 * scale
    assert len({len(line) for line in lines}) == 1
    assert large(text, len(lines[0]), scale=scale) == lines
    assert large(text, len(lines[0]) - 1, scale=scale) is None
    assert large("50 頁", 200) is None


def test_a_unit_without_figures_stands_beside_its_number() -> None:
    assert split_value("6.1 kgf·m") == ("6.1", "kgf·m")
    assert split_value("90°") == ("90", "°")
    assert split_value("snug") == ("", "snug")


def items(*marks: MarkState) -> tuple[ItemLine, ...]:
    return tuple(
        ItemLine(f"i{at}", f"item {at}", "fastener", "", mark, off_plan=False)
        for at, mark in enumerate(marks)
    )


def test_the_stripe_grows_with_what_is_final_and_breaks_where_something_is_open() -> None:
    lines = texts(stripe(items("final", "final", "open", "whole"), 4, UNICODE))
    assert lines == ["███", "███", " !", "░░░"]
    lines = texts(stripe(items("final", "open"), 6, ASCII))
    assert lines == ["###", "###", "###", " !", " !", " !"]


def test_a_stripe_with_more_items_than_rows_hides_no_break() -> None:
    many = items(*["final"] * 40, "open", *["final"] * 40)
    assert texts(stripe(many, 20, UNICODE)).count(" !") == 1
    assert texts(stripe((), 3, UNICODE)) == ["░░░"] * 3


def test_the_line_takes_edits_and_never_a_line_break() -> None:
    entry = Entry.of("50,5 N·m")
    for key in ("home", "delete", "right", "backspace", "end", "ctrl+w"):
        assert entry.edit(key)
    assert entry.text == ",5 "
    assert not entry.edit("f2")
    entry.insert("a\nb\r\nc")
    assert entry.text == ",5 a b c"
    entry.edit("ctrl+u")
    assert entry.text == ""
    assert not entry.insert("x" * (LONGEST + 1))
    assert len(entry.text) == LONGEST


def test_digits_pick_also_beyond_nine_and_can_be_taken_back() -> None:
    options = tuple(Option(str(n), f"option {n}") for n in range(1, 31))
    form = Form("t", (Field("f", "pick", options, typing=False),), lambda values: values["f"])
    for key, picked in (
        ("1", 0),
        ("2", 11),
        ("9", 8),
        ("2", 1),
        ("5", 24),
        ("backspace", 1),
        ("backspace", None),
    ):
        form.key(key, key if len(key) == 1 else None)
        assert form.picked == picked, key
    form.key("down", None)
    assert form.key("enter", None) == "finished"
    assert form.result == "1"


def test_answers_can_be_gone_back_over_and_are_kept() -> None:
    fields = (Field("a", "A"), Field("b", "B", when=lambda values: values["a"] == "x"), Field("c", "C"))
    form = Form("t", fields, repr)
    for char in "x":
        form.key(char, char)
    form.key("enter", None)
    assert form.current is fields[1]
    assert form.key("shift+tab", None) == "handled"
    assert form.entry.text == "x"
    form.key("backspace", None)
    form.key("y", "y")
    form.key("enter", None)
    assert form.current is fields[2], "what is no longer asked is passed over"
    form.key("shift+tab", None)
    assert form.key("shift+tab", None) == "back"


def test_a_reason_is_one_of_the_stock_or_in_own_words() -> None:
    assert [each.key for each in reason_fields(())] == ["reason words"]
    assert reason_of({"reason words": "mine"}) == "mine"
    assert reason_of({"reason": "stock", "reason words": ""}) == "stock"
    assert reason_of({"reason": "own words", "reason words": "mine"}) == "mine"


def test_keys_are_said_once_and_at_most_six_stand_on_the_key_row() -> None:
    keys = [key for command in COMMANDS for key in command.keys]
    assert len(keys) == len(set(keys))
    assert len({command.id for command in COMMANDS}) == len(COMMANDS)
    assert len(KEY_ROW) <= 6
    lost = {
        "ctrl+i",
        "ctrl+m",
        "ctrl+h",
        "ctrl+j",
        "alt+enter",
        "ctrl+slash",
        "ctrl+space",
        "ctrl+s",
        "ctrl+z",
        "ctrl+b",
    }
    assert not lost & set(keys), "these do not arrive whole through tmux and ssh"


@pytest.mark.parametrize(
    ("environment", "dress"),
    [({}, "dark"), ({"NO_COLOR": "1"}, "none"), ({"NO_COLOR": ""}, "dark"), ({"COLORFGBG": "0;15"}, "light")],
)
def test_the_dress_follows_the_terminal(environment: dict[str, str], dress: str) -> None:
    assert choose_dress(environment) == dress
    assert all(style.color is None and style.bgcolor is None for style in PALETTES["none"].values())
    assert set(PALETTES["none"]) == set(PALETTES["dark"]) == set(PALETTES["light"])


@pytest.mark.parametrize("dress", ["dark", "light"])
def test_every_ink_can_be_read_on_its_ground(dress: str) -> None:
    """Contrast ratio of WCAG 2.1 (1.4.3, relative luminance): 4.5 for text, 3 for large or graphic inks."""

    def luminance(colour: tuple[int, int, int]) -> float:
        parts = [c / 255 for c in colour]
        r, g, b = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts)
        return 0.2126 * r + 0.7152 * g + 0.0722 * b

    for ink, style in PALETTES[dress].items():  # type: ignore[index]
        assert style.color is not None
        assert style.bgcolor is not None
        front, back = (luminance(tuple(c.get_truecolor())) for c in (style.color, style.bgcolor))
        ratio = (max(front, back) + 0.05) / (min(front, back) + 0.05)
        least = {"track": 1.5, "rule": 1.5, "paint": 3.0, "key": 3.0, "cursor": 3.0}.get(ink, 4.5)
        assert ratio >= least, (ink, round(ratio, 2))
