"""The YAML layer: what a file says, where it says it, and each way it can fail."""

import os
import socket
from pathlib import Path

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from runner.procedure import composing
from runner.procedure.finding import MOST_FINDINGS, Finding
from runner.procedure.opening import LARGEST
from runner.procedure.page import read_page
from runner.procedure.tree import Blank, Node, Refused, Row, Table, Text
from runner.safe_text import safe


def plain(node: Node | None) -> object:
    """The tree as Python values, to compare with."""
    match node:
        case Text(value=value):
            return value
        case Table(entries=entries):
            return {key.folded: plain(value) for key, value in entries}
        case Row(items=items):
            return [plain(item) for item in items]
        case Refused():
            return ...
        case _:
            return None


def read(text: str) -> object:
    page, findings = read_page(text.encode(), "f.yaml")
    assert not findings, "\n".join(finding.text() for finding in findings)
    assert page is not None
    return plain(page.root)


def found(source: bytes | str | Path) -> list[Finding]:
    data = source.encode() if isinstance(source, str) else source
    return read_page(data, "f.yaml")[1]


def places(source: bytes | str) -> list[str]:
    return [f"{f.line}:{f.column} {f.rule}" for f in found(source)]


def test_every_scalar_is_text_as_written():
    written = [
        "on",
        "no",
        "1:30",
        "010",
        "10.9",
        "2026-11-25",
        "~",
        "null",
        "1e3",
        "12_000",
        "=",
        "0x1F",
        ".inf",
    ]
    assert read("".join(f"- {value}\n" for value in written)) == written
    assert read("on: no\nno: on\n") == {"on": "no", "no": "on"}


def test_an_empty_value_is_blank_and_an_empty_text_is_text():
    page, _ = read_page(b"a:\nb: ''\n", "f")
    assert page is not None
    assert isinstance(page.root, Table)
    assert page.root.get("a") == Blank(page.root.entries[0][1].mark)
    assert plain(page.root.get("b")) == ""
    assert page.root.get("c") is None


def test_marks_count_characters_and_lines_as_an_editor_does():
    page, _ = read_page("# ü\r\nbremse:\r\n  größe: 車 12\r\n".encode(), "f.yaml")
    assert page is not None
    assert page.lines[2] == "  größe: 車 12"
    text = page.root.get("bremse").get("größe")  # type: ignore[union-attr]
    assert (text.mark.line, text.mark.column, text.end_column, text.length) == (3, 10, 14, 4)


def test_letters_of_any_script_are_text():
    value = "עברית العربية\u200f ไทย हिन्दी 螺栓 e\u0301 क्\u200dष"
    assert read(f"a: {value}\n") == {"a": value}


def test_bom_crlf_and_a_start_marker_are_accepted():
    assert read("\ufeff---\r\na: b\r\n...\r\n") == {"a": "b"}


def test_comments_are_dropped():
    assert read("# first\na: b # last\nc: d  #tight\n#e: f\ng: h#i\n") == {"a": "b", "c": "d", "g": "h#i"}


@pytest.mark.parametrize(
    ("value", "read_as"),
    [
        ("[2, 5]", ["2", "5"]),
        ("{a: 2, b: 5}", {"a": "2", "b": "5"}),
        ("{4: x, 5: y}", {"4": "x", "5": "y"}),
        ("['2,5 mm', \"3,0 mm\"]", ["2,5 mm", "3,0 mm"]),
        ("[x,y]", ["x", "y"]),
    ],
)
def test_commas_between_values_are_no_trap(value: str, read_as: object):
    assert read(f"a: {value}\n") == {"a": read_as}


@pytest.mark.parametrize(
    ("text", "place"),
    [
        ("do: Fit bolt #3\n", "1:14 comment-cut"),
        ("do: #3\n", "1:5 comment-cut"),
        ("- #3\n", "1:3 comment-cut"),
        ("a: {do: Fit bolt #3, b: c}\nd: e\n", "1:18 comment-cut"),
        ("do: Fit\n  bolt #3 and\n  go on\n", "2:8 comment-cut"),
        ("bolt #3: x\n", "1:6 comment-cut"),
        ("a: {torque: 2,5 N·m}\n", "1:13 decimal-comma"),
        ("a: {torque: 2, 5 N·m}\n", "1:13 decimal-comma"),
        ("a: {at most 0,05 mm: go on}\n", "1:5 decimal-comma"),
        ("a: [2,5 mm]\n", "1:5 decimal-comma"),
        ("a: {b: ±2,5 %, c: d}\n", "1:8 decimal-comma"),
    ],
)
def test_the_two_traps(text: str, place: str):
    assert places(text) == [place]


def test_what_a_decimal_comma_tore_apart_is_refused_once():
    page, findings = read_page(b"a: {x: 2,5 mm, y: 3,5 mm, z: ok}\n", "f")
    assert page is not None
    assert plain(page.root) == {"a": {"x": ..., "y": ..., "z": "ok"}}
    assert [finding.column for finding in findings] == [8, 19]


SYNTAX = [
    ("title:Front\nrevision: 3\n", "1:6", "no blank after this colon"),
    ("a: {b:c}\n", "1:6", "no blank after this colon"),
    ("a: b\ntitle:Front\nc: d\n", "2:6", "no blank after this colon"),
    ("do: Note: torque\n", "1:9", "a colon and a blank inside text"),
    ("a: {b: c: d}\n", "1:9", "a colon inside text between"),
    ("a: [1, 2\nb: 3\n", "1:4", "this [ is never closed"),
    ("a: {x: 1\nb: 3\n", "1:4", "this { is never closed"),
    ("a: {b: c]\n", "1:9", "this ] closes what { opened on line 1"),
    ("a: [b]]\n", "1:7", "this ] closes nothing"),
    ("a: {'b' c}\n", "1:9", "two values between { and }"),
    ("a: 'abc\nb: 3\n", "1:4", "this quote is never closed"),
    ("do: 'don't'\n", "1:10", "text goes on after the closing quote"),
    ('a: "\\q"\n', "1:5", "a backslash in double quotes"),
    ("a: @x\n", "1:4", "text that begins with @ must be in quotes"),
    ("a: %x\n", "1:4", "text that begins with % must be in quotes"),
    ("a: * x\n", "1:4", "text that begins with * must be in quotes"),
    ("a: |x\n", "1:4", "text that begins with | must be in quotes"),
    ("a: ,x\n", "1:4", "text that begins with , must be in quotes"),
    ("a: - b\n", "1:4", "a list cannot begin on the same line"),
    ("a: ? b\n", "1:4", "text that begins with ? must be in quotes"),
    ("a:\n  b: 1\n c: 2\n", "3:2", "the indentation of this line (1 blank) fits no line"),
    ("a: 1\n  b: 2\n", "2:3", "this line is indented further"),
    ("a:\n  - b\n  c: d\n", "3:3", "this line stands in the list that began on line 2"),
    ("a: b\nc\nd: e\n", "2:1", "this line is no key with a colon"),
    ("a:\n\tb: c\n", "2:1", "a tab in the indentation"),
    ("a:\n  \tb: c\n\td: e\n", "2:3", "a tab in the indentation (and 1 more lines)"),
    ("a: 1\n---\nb: 2\n", "2:1", "a second document begins here"),
    ("%YAML 1.2\n---\na: 1\n", "1:1", "YAML directives"),
    ("%FOO\n---\na: 1\n", "1:1", "YAML directives"),
    ("a: *x\n", "1:4", "aliases (text that begins with *)"),
    ("a: &x 1\n", "1:4", "anchors (text that begins with &)"),
    ("a: &x {b: c}\n", "1:4", "anchors (text that begins with &)"),
    ("a: !!int 1\n", "1:4", "tags (text that begins with !)"),
    ("<<: 1\n", "1:1", "merge keys (<<)"),
    ("a: 1\nb: 2\na: 3\n", "3:1", '"a" stands here twice; it was first written on line 1, column 1'),
    ("wheel bolts: 1\nwheel  bolts: 3\n", "2:1", '"wheel bolts" stands here twice'),
    ("? [a]\n: b\n", "1:3", "a list stands where a key must be"),
    ("{a: b}: c\n", "1:1", "a mapping stands where a key must be"),
    ("'': c\n", "1:1", "an empty text stands where a key must be"),
    (": c\n", "1:1", "nothing stands where a key must be"),
    ("", "1:1", "this file is empty"),
    ("# only a comment\n", "1:1", "this file is empty"),
    ("---\n", "1:1", "this file is empty"),
    ('a: "x\\tb"\n', "1:4", "a tab is not allowed inside text"),
    ('a: "\\e[31m"\n', "1:4", "U+001B (an escape character) is not allowed inside text"),
    ("a: \x1b[31m\n", "1:4", "U+001B (an escape character) is not allowed"),
    ("a: b\u202ec\n", "1:5", "U+202E (right-to-left override) is not allowed"),
    ("# b\u2028c: d\n", "1:4", "U+2028 (line separator) is not allowed"),
    ("a: b\nc: d\x85e: f\n", "2:5", "U+0085 (a next-line character) is not allowed"),
    ("a: b\rc: d\n", "1:5", "U+000D (a carriage return without a line feed) is not allowed"),
    ("a: b\ufeff\n", "1:5", "U+FEFF (a byte order mark inside the text) is not allowed"),
]


@pytest.mark.parametrize(("text", "place", "message"), SYNTAX)
def test_what_yaml_or_we_refuse(text: str, place: str, message: str):
    findings = found(text)
    assert [f"{f.line}:{f.column}" for f in findings] == [place]
    assert findings[0].message.startswith(message)
    assert findings[0].grade == "error"


@pytest.mark.parametrize("text", [text for text, _, _ in SYNTAX if "\\e" not in text])
def test_both_loaders_find_the_same(text: str, monkeypatch: pytest.MonkeyPatch):
    with_c = found(text)
    monkeypatch.setattr(composing, "LOADER", yaml.SafeLoader)
    assert found(text) == with_c


def test_several_refusals_are_all_found():
    assert places("a: &x 1\nb: *x\nb: 2\nc: d #e\n") == [
        "1:4 anchor",
        "2:4 alias",
        "3:1 duplicate-key",
        "4:6 comment-cut",
    ]


@pytest.mark.parametrize(
    ("data", "place", "message"),
    [
        (b"a: \xff\n", "1:4 encoding", "byte 4 (0xff) is not UTF-8"),
        (b"a: \xc3\xa4\nb: \xc3(\n", "2:4 encoding", "byte 10 (0xc3) is not UTF-8"),
        (b"\xef\xbb\xbfa: \xff\n", "1:4 encoding", "byte 7 (0xff) is not UTF-8"),
        ("a: b".encode("utf-16"), "1:1 encoding", "this file is UTF-16"),
        (b"\x7fELF\x00\x00", "1:5 file-binary", "this is a binary file (byte 5 is zero)"),
        (b"x" * (LARGEST + 1), "1:1 file-size", "this is larger than 1 MiB"),
    ],
)
def test_bytes_that_are_no_text(data: bytes, place: str, message: str):
    findings = found(data)
    assert [f"{f.line}:{f.column} {f.rule}" for f in findings] == [place]
    assert findings[0].message.startswith(message)


def test_each_kind_of_file_that_cannot_be_read(tmp_path: Path):
    def rule(path: Path) -> str:
        page, findings = read_page(path)
        assert page is None
        assert findings[0].text().startswith(f"{path}:1:1: error: ")
        return findings[0].rule

    os.mkfifo(tmp_path / "fifo")
    (tmp_path / "loop").symlink_to(tmp_path / "loop")
    (tmp_path / "large").write_bytes(b"#" * (LARGEST + 1))
    (tmp_path / "good.yaml").write_text("a: b\n")
    with socket.socket(socket.AF_UNIX) as bound:
        bound.bind(str(tmp_path / "socket"))
        assert rule(tmp_path / "socket") == "file-kind"
    assert rule(tmp_path / "fifo") == "file-kind"
    assert rule(Path("/dev/zero")) == "file-kind"
    assert rule(tmp_path) == "file-directory"
    assert rule(tmp_path / "none.yaml") == "file-missing"
    assert rule(tmp_path / "good.yaml" / "x") == "file-missing"
    assert rule(tmp_path / "loop") == "file-unreadable"
    assert rule(tmp_path / "large") == "file-size"
    assert rule(tmp_path / ("n" * 300)) == "file-unreadable"
    assert read_page(tmp_path / "good.yaml")[0] is not None


def test_no_permission_is_said(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    path = tmp_path / "closed.yaml"
    path.write_text("a: b\n")

    def refuse(*_: object) -> int:
        raise PermissionError

    monkeypatch.setattr("runner.procedure.opening.os.open", refuse)
    assert [f.rule for f in read_page(path)[1]] == ["file-permission"]


@pytest.mark.parametrize("opener", ["[", "{a: ", "- ", "{? "])
def test_deep_nesting_is_refused_and_never_recursed_into(opener: str):
    findings = found(opener * 50_000)
    assert [f.rule for f in findings] == ["nesting"]


def test_fifty_levels_are_allowed():
    assert found("[" * 50 + "]" * 50) == []
    assert [f.rule for f in found("[" * 51 + "]" * 51)] == ["nesting"]


def test_too_many_values_are_refused(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(composing, "MOST_NODES", 20)
    assert [f"{f.line}:{f.column} {f.rule}" for f in found("- a\n" * 20 + "- b\n")] == ["21:3 node-count"]
    assert found("- a\n" * 19) == []


def test_findings_without_end_are_cut_with_a_word():
    findings = found("".join(f"a{n}: &x 1\n" for n in range(MOST_FINDINGS + 500)))
    assert len(findings) == MOST_FINDINGS + 1
    assert findings[-1].rule == "more-findings"


YAMLISH = st.text(st.sampled_from("ab1 \n\t:-#,[]{}'\"|>*&!%@?\\\r\x85\u2028\u202eé車.…"), max_size=60)


@settings(max_examples=300, deadline=None)
@given(YAMLISH)
def test_no_text_makes_it_raise_and_every_place_is_in_the_file(text: str):
    page, findings = read_page(text.encode(), "f")
    assert page is not None or findings
    count = text.count("\n") + 1
    for finding in findings:
        assert 1 <= finding.line <= count
        assert finding.column >= 1
        assert all(line == safe(line) for line in finding.text().split("\n"))


@settings(max_examples=100, deadline=None)
@given(st.binary(max_size=80))
def test_no_bytes_make_it_raise(data: bytes):
    page, findings = read_page(data, "f")
    assert page is not None or findings


@settings(max_examples=150, deadline=None)
@given(YAMLISH)
def test_what_both_loaders_read_is_the_same_tree(text: str):
    trees = []
    for loader in (composing.LOADER, yaml.SafeLoader):
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(composing, "LOADER", loader)
            page, findings = read_page(text.encode(), "f")
            trees.append(plain(page.root) if page and not findings else None)
    if None not in trees:
        assert trees[0] == trees[1]


# Any text that is not a control character can be written in double quotes by PyYAML and comes back as it was.
@settings(deadline=None)
@given(st.text(st.characters(exclude_categories=["Cc", "Cs", "Cf", "Zl", "Zp", "Cn"]), max_size=40))
def test_text_comes_back_as_written(value: str):
    assert read(yaml.safe_dump({"a": value}, allow_unicode=True, default_style='"')) == {"a": value}
