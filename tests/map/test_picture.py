"""The picture and the Mermaid text: nothing leaves the page or meets, everything is there, hostile words are text."""

import re
from itertools import combinations
from xml.etree import ElementTree as ET

import pytest
from hypothesis import event, given, settings
from hypothesis import strategies as st

from runner.map.drawing import svg
from runner.map.lines import Map, map_of
from runner.map.mermaid import escaped, mermaid
from runner.map.page import HEIGHT, MARGIN, SMALLEST, WIDTH, Page, laid_out
from runner.map.widths import printed
from runner.procedure.finding import Finding, Station
from runner.procedure.link_whole import link
from runner.procedure.linked import Procedure
from runner.procedure.reader import read_procedure
from tests.map.forty import FORTY
from tests.map.small import SMALL, linked
from tests.map.test_outline import SHIPPED, shipped
from tests.procedure.test_link_random import sources

SVG = "{http://www.w3.org/2000/svg}"
NASTY = '<script>alert("x")</script> & ]]> \x1b[31m \u202eRTL ' + "W" * 300


def hostile(procedure: Procedure) -> Procedure:
    nodes = tuple(
        node.model_copy(update={"do": NASTY, "step": NASTY, "place": NASTY, "joint": node.joint and NASTY})
        for node in procedure.nodes
    )
    return procedure.model_copy(update={"nodes": nodes, "title": NASTY, "fits": NASTY})


def check_page(page: Page) -> None:
    """No box leaves its page or its column or meets another; no text leaves its box or is too small."""
    for box in page.boxes:
        assert box.x >= MARGIN
        assert box.x + box.w <= WIDTH - MARGIN + 0.01
        assert box.y >= page.top
        assert box.y + box.h <= page.bottom < HEIGHT - MARGIN
        for text in box.texts:
            scale = 1.08 if text.weight == "bold" else 1
            assert text.size >= SMALLEST
            assert printed(text.text) * text.size * scale <= text.room + 0.01
            assert text.x >= box.x - 0.01
            assert text.x + text.room <= box.x + box.w + 0.01
            assert box.y < text.y < box.y + box.h
    by_place: dict[tuple[int, int], list[tuple[float, float]]] = {}
    for box in page.boxes:
        by_place.setdefault((box.page, box.column), []).append((box.y, box.y + box.h))
    for spans in by_place.values():
        for (top, bottom), (other_top, other_bottom) in combinations(spans, 2):
            assert bottom < other_top or other_bottom < top
    lefts = [*page.left, WIDTH]
    for box in page.boxes:
        assert lefts[box.column] <= box.x
        assert box.x + box.w < lefts[box.column + 1]


def check_svg(drawn: Map) -> ET.Element:
    """It parses, keeps to a few harmless elements, and has every step's sentence."""
    root = ET.fromstring(svg(drawn))
    assert {element.tag.removeprefix(SVG) for element in root.iter()} <= {
        "svg", "title", "g", "rect", "path", "circle", "text",
    }  # fmt: skip
    for element in root.iter():
        assert not [name for name in element.attrib if name.startswith("on") or "href" in name]
    return root


def texts(root: ET.Element) -> str:
    return "\n".join(element.text or "" for element in root.iter())


def test_forty_steps_fit_on_one_page_in_readable_type():
    page = laid_out(map_of(linked(FORTY)))
    assert page.pages == 1
    assert page.style.type >= 2.4
    check_page(page)


@pytest.mark.parametrize("path", SHIPPED, ids=lambda path: path.stem)
def test_the_picture_of_a_shipped_procedure(path):
    drawn = map_of(shipped(path))
    page = laid_out(drawn)
    assert page.pages <= 3
    check_page(page)
    said = texts(check_svg(drawn))
    for line in drawn.lines:
        if line.kind == "step":
            assert f"{line.number} {line.label}: {line.title}" in said
    assert f"revision {drawn.procedure.revision}" in said


def test_text_from_a_file_stays_text_and_is_cut():
    drawn = map_of(hostile(linked(SMALL)))
    check_page(laid_out(drawn))
    root = check_svg(drawn)
    said = texts(root)
    assert "<script>alert" in said, "the words are there, as words"
    assert "<script" not in svg(drawn)
    assert "\x1b" not in said
    assert "\u202e" not in said
    assert any((element.text or "").endswith("…") for element in root.iter(f"{SVG}text"))


def test_the_path_of_a_finding_is_drawn_with_its_numbers():
    procedure = linked(SMALL)
    names = ("isolate", "look", "wipe", "look", "live")
    path = tuple(Station(procedure.by_id[name].mark, name, "", name, "") for name in names)
    finding = Finding("job.yaml", 1, 1, "error", "left-open", "left", path=path, node="release")
    plain = svg(map_of(procedure))
    drawn = map_of(procedure, finding, "Marked: finding 1 of 1")
    said = [element.text for element in check_svg(drawn).iter(f"{SVG}text")]
    assert {"1", "2, 4", "3", "5", "Marked: finding 1 of 1"} <= set(said)
    assert "path of the finding, stop by stop" in said
    marked, unmarked = svg(drawn), plain
    assert marked.count('stroke-opacity="0.55"') == len(names) - 1
    assert 'stroke-opacity="0.55"' not in unmarked


def test_conditions_windows_and_letters_are_named_in_the_picture():
    said = [element.text for element in check_svg(map_of(linked(SMALL))).iter(f"{SVG}text")]
    assert said.count("A") >= 2, "where it is put off and where its window is (and in the legend)"
    assert any(text and text.startswith("A: put off until power is on") for text in said)
    assert any(text in ("power: off", "off", "on or off") for text in said)
    assert "due before this: A" in said


MERMAID_NODE = re.compile(r'^  (n\d+)(\["|\{\{")[^"]*("\]|"\}\})(:::[a-z]+)?$', re.MULTILINE)


def check_mermaid(drawn: Map) -> str:
    text = mermaid(drawn)
    nodes = [found[0] for found in MERMAID_NODE.findall(text)]
    assert nodes == [f"n{number}" for number in range(1, len(drawn.procedure.nodes) + 1)]
    body = text.split("---\n", 2)[2]
    for line in body.splitlines():
        assert line.count('"') % 2 == 0
        assert "`" not in line
        outside = re.sub(r'"[^"]*"', '""', line)
        assert re.fullmatch(r"[A-Za-z0-9_ \"\[\](){}<>:.,#-]*", outside), outside
    return text


@pytest.mark.parametrize("path", SHIPPED, ids=lambda path: path.stem)
def test_mermaid_has_every_node_once(path):
    check_mermaid(map_of(shipped(path)))


def test_mermaid_names_ways_put_off_work_and_classes():
    text = check_mermaid(map_of(linked(SMALL)))
    assert '-- "burnt" --> halt' in text
    assert '-. "A is due" .-> finish' in text
    assert re.search(
        r'n3\["3 lid-on<br/>.*A#58; put off until power is on, before the end.*"\]:::putoff', text
    )
    assert ":::hold" in text
    assert '{{"Stop"}}:::stop' in text


def test_mermaid_escapes_what_means_something_to_it():
    assert escaped('a"b`c#d<e>[f]{g}|;h\\') == "a#34;b#96;c#35;d#60;e#62;#91;f#93;#123;g#125;#124;#59;h#92;"
    text = check_mermaid(map_of(hostile(linked(SMALL))))
    assert "<script" not in text.split("---\n", 2)[2]


def _random(data, used, other) -> Procedure | None:
    import json

    read = {}
    for name, one in (("job.yaml", data), ("used.yaml", used), ("other.yaml", other)):
        read[name], _ = read_procedure(json.dumps(one, ensure_ascii=False).encode(), name)
        if read[name] is None:
            return None
    return link(read["job.yaml"], lambda path, mark: read[path])[0]


def draw_random(data: st.DataObject) -> None:
    procedure = _random(data.draw(sources("job")), data.draw(sources("used")), data.draw(sources("other")))
    event("linked" if procedure else "refused")
    if procedure is None:
        return
    drawn = map_of(procedure)
    stood = [node for line in drawn.lines for node in line.nodes if line.kind == "step"]
    stood += [
        n for detour in drawn.detours for line in detour.lines for n in line.nodes if line.kind == "step"
    ]
    assert sorted(stood) == sorted(node.id for node in procedure.nodes if node.joint is None)
    check_page(laid_out(drawn))
    check_svg(drawn)
    check_mermaid(drawn)


@given(st.data())
@settings(max_examples=12, deadline=None)
def test_random_procedures_are_drawn_whole(data):
    draw_random(data)


@pytest.mark.deep
@given(st.data())
@settings(max_examples=1500, deadline=None)
def test_random_procedures_are_drawn_whole_deep(data):
    draw_random(data)
