"""The screen as text, at every size: all parts in their places, nothing cut unmarked, nothing obeyed."""

import dataclasses
from typing import Any

import pytest
from rich.cells import cell_len

from runner.bench.form import Form
from runner.bench.keys import COMMANDS, Here
from runner.bench.page import page
from runner.bench.rows import text_of
from runner.bench.scene import Scene
from runner.bench.theme import ASCII, UNICODE, Look, Signs
from runner.job.demand import DemandKind
from runner.procedure.read_notices import LONGEST_NOTICE
from runner.view import NoticeLine, View
from tests.bench.hands import Hands
from tests.bench.samples import DANGER, DEMANDS, OWED, STAR, STEP, TIGHTEN, SampleRun, sample, view_of

SIZES = [(80, 24), (100, 30), (120, 40), (160, 50), (200, 50), (60, 20), (40, 12), (20, 8)]
KINDS: list[DemandKind] = list(DEMANDS)

HOSTILE = [
    "[/]",
    "[@click=app.quit]press[/]",
    "\x1b[2J\x1b]0;owned\x07",
    "a\x9b31mb",
    "left\u202eright\u2066x",
    "漢字" * 40,
    "e" + "\u0301" * 30,
    "\u0301start",
    "👩\u200d🔧⚠\ufe0f",
    "nul\x00\x7f\u2028line",
    "\ud800",
    "word " * 500,
    "w" * 3000,
    "two\nlines\r\nand\ttab",
]


def drawn(scene: Scene, width: int, height: int) -> list[str]:
    """The screen as lines, after checking that it fills its size exactly and holds nothing a terminal obeys."""
    rows = page(scene, width, height)
    lines = [text_of(line) for line in rows]
    assert len(lines) == height
    assert {cell_len(line) for line in lines} == {width}
    assert all(char.isprintable() or char == "\u0301" for line in lines for char in line), lines
    return lines


def everywhere(view: View, text: str) -> View:
    """The view with `text` in place of every text a person wrote."""
    return replaced(view, lambda old: text if old not in KEEP else old)


KEEP = {"", "danger", "warning", "caution", "notice", "waiting", "done", "now", "later", "waived", *DEMANDS}
KEPT_FIELDS = {"kind", "mark", "state", "key", "level", "methods"}


def replaced(value: Any, change: Any) -> Any:
    if isinstance(value, str):
        return change(value)
    if isinstance(value, tuple):
        return tuple(replaced(each, change) for each in value)
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        kept = {"mark", "kind", "level", "methods"} | (
            {"state"} if type(value).__name__ == "GateLine" else set()
        )
        changes = {
            f.name: replaced(getattr(value, f.name), change)
            for f in dataclasses.fields(value)
            if f.name not in kept
        }
        return dataclasses.replace(value, **changes)
    return value


@pytest.mark.parametrize("kind", KINDS)
def test_every_demand_fills_every_size_and_shows_what_is_asked(kind: DemandKind) -> None:
    for size in SIZES:
        lines = drawn(Hands(SampleRun([sample(kind)])).desk.scene, *size)
        if size >= (80, 24):
            text = " ".join(" ".join(lines).split())
            assert DEMANDS[kind].prompt[:30] in text or kind in {"acknowledge", "sealed"}, size


@pytest.mark.parametrize("kind", KINDS)
def test_text_is_data_on_every_screen(kind: DemandKind) -> None:
    for text in HOSTILE:
        view = everywhere(sample(kind), text)
        for signs, size in ((UNICODE, (80, 24)), (ASCII, (160, 50)), (ASCII, (40, 12))):
            drawn(Hands(SampleRun([view]), signs=signs).desk.scene, *size)


@pytest.mark.parametrize("command", COMMANDS, ids=lambda command: command.id)
def test_text_is_data_in_every_dialog(command: Any) -> None:
    for text in HOSTILE:
        hands = Hands(SampleRun([everywhere(sample("tighten"), text)]))
        hands.desk._take(command.open(Here(hands.desk.view, UNICODE, (text, text))))
        hands.desk.paste(text)
        for size in ((80, 24), (60, 20)):
            drawn(hands.desk.scene, *size)


@pytest.mark.parametrize("kind", KINDS)
def test_ascii_mode_uses_ascii_alone(kind: DemandKind) -> None:
    hands = Hands(SampleRun([everywhere(sample(kind), "50 N·m ±4 % – größer")]), signs=ASCII)
    for size in ((80, 24), (160, 50)):
        assert all(line.isascii() for line in drawn(hands.desk.scene, *size))


def test_the_fixed_rows_of_80x24_stay_where_they_are() -> None:
    for kind in KINDS:
        lines = drawn(Hands(SampleRun([sample(kind)])).desk.scene, 80, 24)
        assert lines[0].startswith(" Front lower arm, both sides · rev 3 · KX-204-T · Ada Lind")
        assert lines[0].rstrip().endswith("REHEARSAL")
        assert "support: raised ⚠ hazard" in lines[1]
        assert "Put off: 2" in lines[15]
        assert "left: Turn the bush bolts on by 90°" in lines[16]
        assert "Open 3: bush bolts, left (stage 1)" in lines[19]
        assert lines[23].startswith(" F1 why")


def test_a_notice_is_never_split_from_its_step() -> None:
    notices = tuple(
        NoticeLine("warning", f"Hazard {number} " + "long " * 60, "harm", "Keep away.", acknowledged=True)
        for number in range(4)
    )
    step = dataclasses.replace(STEP, notices=notices)
    lines = drawn(Hands(SampleRun([sample("tighten", step=step)])).desk.scene, 80, 24)
    text = "\n".join(lines)
    assert all(f"Hazard {number}" in text for number in range(4))
    assert text.count("… F1") >= 4, "what is left out of a notice is marked"
    assert "Tighten pinch bolt, left" in text
    assert "██▀▀▀▀ ▄█▀▀█▄" in text, "the value keeps its size"


def test_the_notice_to_be_read_is_shown_whole() -> None:
    end = "Mind the end of this notice."
    room = LONGEST_NOTICE - len(DANGER.hazard) - len(DANGER.consequence) - len(end)
    long = dataclasses.replace(DANGER, avoid=("Stand back. " * 40)[:room] + end, acknowledged=False)
    step = dataclasses.replace(STEP, notices=(long,))
    text = " ".join(
        " ".join(
            line[5:]
            for line in drawn(Hands(SampleRun([sample("acknowledge", step=step)])).desk.scene, 80, 24)
        ).split()
    )
    assert "Mind the end of this notice." in text, "the longest notice an author may write"


def test_the_torque_is_the_largest_thing_and_grows_with_the_screen() -> None:
    small = drawn(Hands(SampleRun([sample("tighten")])).desk.scene, 80, 24)
    large = drawn(Hands(SampleRun([sample("tighten")])).desk.scene, 160, 50)
    blocks = [sum(any(sign in line[5:90] for sign in "█▀▄") for line in lines) for lines in (small, large)]
    assert blocks == [3, 6]


def test_put_off_work_is_counted_where_it_does_not_fit_and_what_is_ready_comes_first() -> None:
    many = tuple(
        dataclasses.replace(
            OWED[0], key=f"k{n}", what=f"work {n}", ready=n == 7, status="cued" if n == 7 else "waiting"
        )
        for n in range(9)
    )
    text = "\n".join(drawn(Hands(SampleRun([sample("act", owed=many)])).desk.scene, 80, 24))
    assert "Put off: 9, 1 can be done now" in text
    assert "work 7" in text
    assert " NOW " in text
    assert "and 7 more, all under F6" in text


def test_a_group_shows_its_order_with_the_next_one_marked() -> None:
    in_a_line = STAR.but(sequence=(5, 1, 3, 2, 4), members_done=(5, 1), member=3)
    text = "\n".join(drawn(Hands(SampleRun([view_of(in_a_line)])).desk.scene, 80, 24))
    assert "▰ 5 ▰ 1 ▶ 3   2   4" in text


SET = TIGHTEN.but(
    prompt="Tighten wheel bolts, left, number 5 of 5, round 2 of 2",
    big="44 lbf·ft", specified="60 N·m", unit="lbf·ft", band="57.6 to 62.4 N·m", tool="torque wrench TW 0051",
    correction="50 mm extension at 0°", methods=("click",), stage=2, stages=2, member=5,
    sequence=(1, 3, 5, 2, 4), members_done=(1, 3),
    warning="44 lbf·ft is under 20 % of the maximum of TW, 250 lbf·ft; its accuracy may not be vouched for there",
)  # fmt: skip


@pytest.mark.parametrize("signs", [UNICODE, ASCII], ids=["unicode", "ascii"])
@pytest.mark.parametrize("size", [(80, 24), (160, 50), (200, 50)])
def test_what_is_set_is_largest_and_all_that_is_known_of_it_stands_under_it_beside_the_circle(
    size: tuple[int, int], signs: Signs
) -> None:
    view = view_of(SET, step=dataclasses.replace(STEP, notices=(DANGER,)))
    lines = drawn(Hands(SampleRun([view]), signs=signs).desk.scene, *size)
    text = " ".join(" ".join(lines).split())
    facts = [
        "for 60",
        "band 57.6 to 62.4",
        "corrected for 50 mm extension at 0",
        "with torque wrench TW 0051",
    ]
    assert all(fact in text for fact in facts), text
    assert f"{signs.alert} 44 lbf" in text
    at = {n: y for y, line in enumerate(lines) for n in range(1, 6) if f" {n}   " in f"{line[40:]}  "[:70]}
    assert f"{signs.prompt} 5" in text
    assert f"{signs.member_done} 1" in text
    assert len({y for n, y in at.items()}) > 1, "the group stands round a circle"
    big = [y for y, line in enumerate(lines) if sum(sign in '█▀▄#o"' for sign in line[5:60]) > 8]
    band = next(y for y, line in enumerate(lines) if "band" in line)
    assert len(big) >= 3
    assert min(big) < band


def test_a_large_screen_draws_the_star_round_a_circle() -> None:
    lines = drawn(Hands(SampleRun([view_of(STAR)])).desk.scene, 200, 50)
    rows = {
        label: at for at, line in enumerate(lines) for label in ("▰ 1", "▰ 3", "▶ 5") if label in line[:110]
    }
    assert rows["▰ 1"] < rows["▶ 5"] < rows["▰ 3"]


def test_too_small_a_screen_says_so_and_keeps_the_demand() -> None:
    text = "\n".join(drawn(Hands(SampleRun([sample("tighten")])).desk.scene, 60, 20))
    assert "60x20 is too small: 80x24 shows everything." in text
    assert "Tighten pinch bolt, left" in text
    assert "Put off: 2" in text


@pytest.mark.parametrize("command", COMMANDS, ids=lambda command: command.id)
@pytest.mark.parametrize("size", [(80, 24), (60, 20)])
def test_every_dialog_shows_the_field_it_asks_for(command: Any, size: tuple[int, int]) -> None:
    many = dataclasses.replace
    view = sample(
        "prepare",
        items=tuple(many(sample("act").items[0], key=f"i{n}", label=f"item {n}") for n in range(40)),
    )
    hands = Hands(SampleRun([view]))
    result = command.open(Here(view, UNICODE))
    hands.desk._take(result)
    if not isinstance(result, Form) or result.current is None:
        return
    for at in (0, len(result.current.options) // 2, len(result.current.options) - 1):
        result.choose(at)
        text = "\n".join(drawn(hands.desk.scene, *size))
        if result.current.options:
            assert f"▶ {at + 1}" in " ".join(text.split()), "the picked option is in sight"
        if result.current.label:
            assert result.current.label[:30] in text


def test_a_small_screen_still_shows_the_notice_it_asks_for() -> None:
    for size in ((60, 20), (60, 14)):
        text = "\n".join(drawn(Hands(SampleRun([sample("acknowledge")])).desk.scene, *size))
        assert "Never work under a car that stands on a jack alone." in text


def test_signs_alone_tell_the_states_apart() -> None:
    for signs in (UNICODE, ASCII):
        marks = [signs.final, signs.part, signs.open, signs.whole, signs.not_done, signs.not_applicable]
        assert len(set(marks)) == len(marks)
        assert {len(mark) for mark in marks} == {3}
    assert all(isinstance(Look(dress=dress).inks, dict) for dress in ("dark", "light", "none"))
