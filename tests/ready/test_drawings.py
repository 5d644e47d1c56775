"""The sheet in a terminal and on paper: all there, nothing too wide, and text from a file is never more than text."""

from html.parser import HTMLParser

import pytest

from runner.ready.facts import Sheet
from runner.ready.page import page
from runner.ready.terminal import terminal_lines
from runner.ready.wording import CAUTIONS, sections, setting_words
from tests.ready.sheets import COARSE, LATE, METRIC, POUNDS, sheet, tightening
from tests.ready.test_gathering import JOB, made

HOSTILE = """\
title: '<script>alert(1)</script> [bold]x[/bold] =HYPERLINK("x")'
fits: 'a car & <b>more</b>'
tolerance: {torque: ±4 %}
tools: [{name: '<img src=x onerror=y>', covers: 20 to 150 N·m}]
parts: [{name: "=1+1|cmd", number: "</p>"}]
supplies: ["&lt;style&gt; </li></ul><h1>", "@import url(x)"]
items: {bolts: {kind: fastener, tighten: [{torque: 60 N·m}], number one: "</p><iframe>"}}
steps:
  - {step: in, do: In., takes out: [bolts], starts: [bolts], helper: "<a href=javascript:x>pull</a>"}
  - {step: tight, do: Tighten., tightens: [bolts], tools: ['<img src=x onerror=y>']}
follow up: [{what: "'><svg onload=x>", after: 50 km}]
"""
EVIL = METRIC.model_copy(update={"name": "<b>CW</b>\x1b[31m", "serial": '"onclick="x'})

OURS = {
    "html", "head", "meta", "title", "style", "body", "h1", "h2", "p", "div", "ul", "li", "span",
}  # fmt: skip
VOID = {"meta"}


class Reader(HTMLParser):
    """Every element and attribute of a page, and that what is opened is closed in order."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.tags: set[str] = set()
        self.attributes: set[tuple[str, str | None]] = set()
        self.open: list[str] = []
        self.words = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.add(tag)
        self.attributes |= set(attrs)
        if tag not in VOID:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if self.open and self.open[-1] != "style":
            self.words += data


def read(made: Sheet) -> Reader:
    reader = Reader()
    reader.feed(page(made))
    reader.close()
    assert reader.open == []
    return reader


@pytest.mark.parametrize("found", [made(METRIC, LATE), sheet(HOSTILE, EVIL)], ids=["plain", "hostile"])
def test_the_page_has_only_elements_of_ours_no_script_and_fetches_nothing(found):
    reader = read(found)
    assert reader.tags <= OURS
    names = {name for name, _ in reader.attributes}
    assert names <= {"class", "lang", "charset", "http-equiv", "content", "name"}
    text = page(found)
    style = text.partition("<style>")[2].partition("</style>")[0]
    assert "url(" not in style
    assert "@import" not in style
    assert "default-src 'none'" in text


def test_hostile_text_stands_on_the_page_as_it_was_written():
    words = read(sheet(HOSTILE, EVIL)).words
    for text in (
        "<script>alert(1)</script> [bold]x[/bold]",
        '=HYPERLINK("x")',
        "<img src=x onerror=y>",
        "=1+1|cmd",
        "</li></ul><h1>",
        "</p><iframe>",
        "'><svg onload=x>",
        '<b>CW</b>␛[31m "onclick="x',
    ):
        assert text in words


def test_hostile_text_steers_no_terminal():
    lines = terminal_lines(sheet(HOSTILE, EVIL))
    assert all(line.isprintable() for line in lines)
    assert "␛[31m" in "".join(lines)


@pytest.mark.parametrize("width", [40, 80, 160])
@pytest.mark.parametrize("ascii_only", [False, True])
def test_no_line_is_wider_than_the_terminal_and_nothing_is_cut(width, ascii_only):
    found = made(METRIC, POUNDS, LATE, COARSE)
    lines = terminal_lines(found, width, ascii_only=ascii_only)
    assert max(len(line) for line in lines) <= width
    assert not any("…" in line for line in lines)
    if ascii_only:
        assert all(line.isascii() for line in lines)
    words = " ".join(" ".join(lines).split())
    assert "only if boot: torn" in words
    assert "UNFIT: OLD" in words


def test_terminal_and_page_say_the_same():
    found = made(METRIC, POUNDS, LATE)
    printed = " ".join(" ".join(terminal_lines(found, 100_000)).replace("[ ]", "").replace("! ", "").split())
    shown = read(found).words
    for section in sections(found):
        assert section.title in shown
        assert section.title.upper() in printed
        waiting = list(section.lines)
        while waiting:
            line = waiting.pop()
            waiting += line.under
            assert " ".join(line.text.split()) in printed
            assert line.text in shown


def test_what_is_laid_out_has_a_box_to_tick_and_what_cannot_be_taken_has_none():
    lines = terminal_lines(made(METRIC, LATE), 200)
    assert "  [ ] torque wrench, covers 20 to 150 N·m" in lines
    assert any(line.strip().startswith("[ ] best: CW 42") for line in lines)
    assert any(line.strip().startswith("UNFIT: OLD") for line in lines)
    assert page(made()).count('<span class="box"></span>') == sum(
        line.lstrip().startswith("[ ]") for line in terminal_lines(made(), 400)
    )


def test_the_usual_cautions_stand_on_every_sheet():
    found = made()
    words = " ".join(terminal_lines(found, 400))
    for caution in CAUTIONS:
        assert caution in words
        assert caution in read(found).words
    assert "vehicle maker's information, local codes and licensed practice" in words


def test_one_person_alone_is_told_up_front_what_needs_a_deviation():
    lines = terminal_lines(made(), 400)
    people = lines[lines.index("PEOPLE") :]
    assert any("One person alone needs a deviation" in line for line in people)
    assert any("checker releases the hold point look" in line for line in people)
    assert any("a second person reads at bore: Bore" in line for line in people)
    alone = "steps: [{step: one, do: One.}]\npeople: {performer: 1}\n"
    assert not any("One person alone" in line for line in terminal_lines(sheet(alone)))


def test_a_sheet_that_cannot_be_trusted_says_so_on_top():
    found = sheet(JOB, proved=False, errors=2)
    lines = terminal_lines(found, 400)
    assert any("NOT PROVED: the proof finds 2 errors" in line for line in lines[:8])
    assert "NOT PROVED" in read(found).words
    assert not any("NOT PROVED" in line for line in terminal_lines(made()))


def test_a_torque_that_none_of_the_shop_gives_is_said():
    body = JOB.replace("torque: 60 N·m", "torque: 140 N·m").replace("20 to 150", "20 to 200")
    lines = terminal_lines(sheet(body, METRIC), 400)
    assert any("None of the toolbox gives it" in line for line in lines)
    assert any("UNFIT: CW 42: 140 N·m is outside the marked range" in line for line in lines)


def test_a_setting_is_told_with_its_rounding_its_warning_and_the_way_of_the_tool():
    found = made(POUNDS, METRIC)
    lines = {each.wrench: each for each in tightening(found, "bolts").stages[1].settings}
    assert setting_words(lines["LB"]) == "LB: set 44 lbf·ft, gives 59.66 N·m (−0.57 %)"
    assert setting_words(lines["CW 42"], best=True) == "best: CW 42: set 60 N·m"


def test_the_time_says_what_is_not_in_it():
    body = """\
steps:
  - {step: one, do: One., takes: 90 min}
  - {step: two, do: Two., wait: 5 min}
"""
    words = " ".join(terminal_lines(sheet(body), 400))
    assert "shortest way: 1 h 35 min, 5 min of it waiting; 1 of its 2 steps not reckoned in" in words
    assert "1 of 2 steps have no estimate, and none is guessed: two" in words
    none = " ".join(terminal_lines(sheet("steps: [{step: two, do: Two., wait: 5 min}]\n"), 400))
    assert "waits on every way: 5 min at least" in none
    assert "No step has an estimate." in none
    assert "shortest way" not in none


def test_of_a_gauge_it_is_said_that_only_its_range_fits():
    """A dial gauge over 0 to 10 mm may be laid out for a feeler gauge's 0.03 to 1 mm; nobody knows that it will do."""
    dial = METRIC.model_copy(
        update={
            "name": "Dial gauge",
            "kind": "gauge",
            "low": "0",
            "high": "10",
            "unit": "mm",
            "graduation": "0.01",
        }
    )
    body = (
        "tools: [{name: feeler gauge, covers: 0.03 to 1 mm}]\n"
        "steps: [{step: gap, do: Look., tools: [feeler gauge],"
        " read: [{what: Gap, name: gap, unit: mm, at most: 1 mm}]}]\n"
    )
    lines = terminal_lines(sheet(body, dial), 400)
    assert any("by its range: Dial gauge" in line for line in lines)
    assert not any("best" in line for line in lines)
