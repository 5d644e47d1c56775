"""Everything shown is escaped for where it goes: each surface, with hostile text in every field."""

import io
import json
import re
import xml.etree.ElementTree as ET
from functools import cache
from html.parser import HTMLParser
from pathlib import Path

import pytest
from rich.cells import cell_len

from runner.bench.page import page
from runner.bench.rows import text_of
from runner.bench.scene import Message, Scene
from runner.bench.theme import Look
from runner.log.scan import scan_file
from runner.map.drawing import svg
from runner.map.lines import map_of
from runner.map.mermaid import mermaid
from runner.map.terminal import terminal_lines
from runner.plain import drawing
from runner.plain.console import Console
from runner.ready.document import document
from runner.ready.gathering import gather
from runner.ready.page import page as ready_page
from runner.ready.terminal import terminal_lines as ready_lines
from runner.review.facts import facts_of
from runner.review.terminal import review_lines
from runner.run import Run
from runner.toolbox.model import Toolbox
from tests.cli.conftest import Cli, cli, home  # noqa: F401 - fixtures
from tests.hostile.planted import planted
from tests.hostile.strings import MARKS, MARKUP, REFUSED, TERMINAL, WORKS, raw_controls, tags
from tests.procedure.procedure_text import whole
from tests.procedures.hand import Hand

DEMO = Path("procedures/lower-arm.yaml")

_MARKUP = list(MARKUP.values())
TEXTS = {
    "markup": " " + " ".join(_MARKUP[::2]),
    "more markup": " " + " ".join(_MARKUP[1::2]),
    "controls": " " + "".join(TERMINAL.values()) + "".join(REFUSED[::4]) + "".join(MARKS),
    "scripts": " " + " ".join(WORKS.values()),
}
"""Planted together, so that a surface that lets one of them through fails; of the controls every fourth, for `safe`
has a test of its own for each.
"""

SIZES = ((80, 24), (120, 40))


def svg_parts(text: str) -> set[tuple[str, str]]:
    """Every element with each of its attributes' names, as an XML reader sees them."""
    return {(each.tag, name) for each in ET.fromstring(text).iter() for name in ("", *each.attrib)}


class Elements(HTMLParser):
    """Element and attribute names, as an HTML reader sees them."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.seen: set[tuple[str, str]] = set()
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.seen |= {(tag, "")} | {(tag, name) for name, _ in attrs}


@cache
def plain_picture() -> str:
    return svg(map_of(planted(" x"), None, " x"))


@pytest.mark.parametrize("name", TEXTS)
def test_map_as_picture(name: str) -> None:
    made = svg(map_of(planted(TEXTS[name]), None, TEXTS[name]))
    assert svg_parts(made) <= svg_parts(plain_picture())
    assert not raw_controls(made)
    assert "javascript" not in "".join(re.findall(r'href="[^"]*"', made))


@pytest.mark.parametrize("name", TEXTS)
def test_map_as_mermaid(name: str) -> None:
    made = mermaid(map_of(planted(TEXTS[name]), None, TEXTS[name]))
    assert not raw_controls(made)
    outside = re.sub(r'"[^"\n]*"', '""', made.partition("flowchart TD")[2])
    plain = re.sub(
        r'"[^"\n]*"', '""', mermaid(map_of(planted(" x"), None, " x")).partition("flowchart TD")[2]
    )
    assert outside == plain
    assert tags("".join(re.findall(r'"[^"\n]*"', made.partition("flowchart TD")[2]))) == {"br"}


@pytest.mark.parametrize("name", TEXTS)
@pytest.mark.parametrize("ascii_only", [False, True])
def test_map_for_a_terminal(name: str, ascii_only: bool) -> None:
    for line in terminal_lines(map_of(planted(TEXTS[name]), None, TEXTS[name]), 80, ascii_only=ascii_only):
        assert not raw_controls(line)
        assert not ascii_only or line.isascii()


@pytest.mark.parametrize("name", TEXTS)
def test_ready_sheet(name: str) -> None:
    sheets = [
        gather(planted(text), Toolbox(), "2026-11-26", proved=True, errors=0, torque_unit="")
        for text in (TEXTS[name], " x")
    ]
    hostile, plain = (ready_page(sheet) for sheet in sheets)
    assert Elements(hostile).seen <= Elements(plain).seen
    assert not raw_controls(hostile)
    for line in ready_lines(sheets[0], 80):
        assert not raw_controls(line)
    assert json.dumps(document(sheets[0])).isascii()


def views_of(run: Run, width: int, height: int, text: str) -> None:
    """Draw what stands on the bench and in line mode, and hold every row to its width."""
    view = run.picture(run.stamp())
    message = Message("refused", text, text)
    scene = Scene(
        view=view, look=Look(), message=message, findings=(text,), ending=(text,) if run.sealed else ()
    )
    rows = page(scene, width, height)
    assert len(rows) == height
    for row in rows:
        shown = text_of(row)
        assert not raw_controls(shown, allowed="")
        assert cell_len(shown) <= width
        assert all(part.text.count("\n") == 0 for part in row)
    target = io.StringIO()
    Console(io.StringIO(), target).say(drawing.changes(None, view))
    assert not raw_controls(target.getvalue())


@pytest.mark.parametrize("name", TEXTS)
def test_bench_and_line_mode_through_a_job_and_its_review(name: str, tmp_path: Path) -> None:
    """What may be typed stands in names too; what may not stands in all that is only shown."""
    text = TEXTS[name]
    typed = {} if name == "controls" else {"locker-batch": "L" + text[:400]}
    hand = Hand(DEMO, tmp_path, readings=typed)
    procedure = planted(text, in_names=name != "controls")
    hand.run = Run.begin(procedure, hand.outside, tmp_path, rehearsal=True, bench=text)
    views_of(hand.run, *SIZES[0], text)
    met = 0
    while not hand.run.sealed and met < 90:
        hand.once()
        met += 1
        if met % 6 == 1 or hand.run.sealed:
            for size in SIZES:
                views_of(hand.run, *size, text)
    assert met == 90
    hand.run.close()
    (log,) = (path for path in tmp_path.glob("*.jsonl") if path.name != "shop.jsonl")
    lines = review_lines(facts_of(scan_file(log)))
    assert not any(map(raw_controls, lines))
    target = io.StringIO()
    Console(io.StringIO(), target).say((*hand.run.summary(), *hand.run.make_safe_tag()))
    assert not raw_controls(target.getvalue())


@pytest.mark.parametrize("form", ["", "--json", "--sarif"])
def test_check_of_words_nobody_knows(form: str, cli: Cli, home: Path) -> None:  # noqa: F811
    """Every text of the findings comes from the file: keys, names and values that are wrong."""
    rows = "".join(
        f"  - step: s{number}\n    do: '{quoted}'\n    '{quoted}': '{quoted}'\n    needs: {{'{quoted}': '{quoted}'}}\n"
        for number, quoted in enumerate(
            text.replace("'", "''") for text in (*MARKUP.values(), *WORKS.values(), *MARKS)
        )
    )
    (home / "work" / "x.yaml").write_text(whole("steps:\n" + rows), encoding="utf-8")
    code, out, err = cli("check", "x.yaml", *([form] if form else []))
    assert code == 1
    assert not err
    assert not raw_controls(out)
    if form:
        assert out.isascii()
        findings = json.dumps(json.loads(out))
        assert "onerror" in findings
    else:
        assert "<img src=x onerror=alert(1)>" in out


@pytest.mark.parametrize("name", [*TERMINAL, *MARKUP])
def test_words_of_the_command_line(name: str, cli: Cli, home: Path) -> None:  # noqa: F811
    """Names of files, settings and commands that lead nowhere come back written out."""
    text = TERMINAL.get(name) or MARKUP[name]
    words = text if not text.startswith("-") else "./" + text
    for line in (
        ("check", words), ("map", words), ("map", str(DEMO.resolve()), "--svg", words), ("run", words, "--plain"),
        ("rehearse", words, "--plain"), ("resume", words, "--plain"), ("review", words), ("verify", words),
        ("export", words), ("ready", words), ("check", "--explain", words), ("tools", "--toolbox", words),
        ("setting", words), ("preload", words, words, words), ("paths", "--logs", words), (words,),
        ("demo", "--plain", "--performer", words), ("run", "demo", "--unproved", words), ("paths", "--bench", words),
    ):  # fmt: skip
        code, out, err = cli(*line)
        assert "error of the program" not in err, line
        assert not raw_controls(out + err), line
        assert code < 60 or code == 64, (line, code)
    assert [each.name for each in (home / "work").iterdir()] == []


@pytest.mark.parametrize(
    "word", ["../../x", "/etc/none-such", "..", "a" * 5000, "a/" * 2000, "x.jsonl/../y", "~root/x"]
)
def test_no_word_leads_a_log_or_a_run_elsewhere(word: str, cli: Cli, home: Path) -> None:  # noqa: F811
    for line in (("run", word, "--plain"), ("resume", word, "--plain"), ("review", word), ("verify", word),
                 ("export", word), ("check", word), ("ready", word), ("map", word)):  # fmt: skip
        code, out, err = cli(*line)
        assert code, line
        assert "error of the program" not in err, line
        assert not raw_controls(out + err), line
    assert [each.name for each in (home / "work").iterdir()] == []
