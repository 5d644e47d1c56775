"""Procedure files that bomb, nest, repeat, hide or lead away: each has its finding at its place, in bounded work."""

import os
from pathlib import Path

import pytest

from runner.procedure.finding import MOST_FINDINGS, Finding
from runner.procedure.link import load_procedure
from runner.procedure.opening import LARGEST
from runner.procedure.reader import read_procedure
from tests.hostile.strings import HALVES, MARKS, MARKUP, REFUSED, TERMINAL, WORKS, raw_controls
from tests.procedure.procedure_text import whole

STEPS = "steps:\n  - step: look\n    do: Look round.\n"


def found(text: str | bytes) -> list[Finding]:
    data = text if isinstance(text, bytes) else text.encode("utf-8", "surrogatepass")
    procedure, findings = read_procedure(data, "x.yaml")
    assert procedure is None
    for finding in findings:
        assert not raw_controls(finding.text()), finding.rule
    return findings


def first(text: str | bytes) -> tuple[str, int, int]:
    """Rule and place of the first finding."""
    finding = found(text)[0]
    return finding.rule, finding.line, finding.column


LONG = 400_000
BOMBS = {
    "aliases of aliases": (
        "a: &a [x, x]\n" + "\n".join(f"b{n}: &b{n} [*a, *a]" for n in range(5000)), ("anchor", 1, 4)
    ),
    "merge key": ("a: {<<: {b: 1}}\n", ("unknown-key", 1, 1)),
    "an alias to itself": ("a: &a [*a]\n", ("anchor", 1, 4)),
    "flow lists, 10^5 deep": ("a: " + "[" * 100_000, ("nesting", 1, 1003)),  # libyaml's own limit
    "flow mappings, 10^5 deep": ("{a: " * 100_000, ("nesting", 1, 201)),
    "block lists, 10^5 deep": ("- " * 100_000, ("nesting", 1, 101)),
    "block mappings, 1,400 deep": ("\n".join(" " * n + "a:" for n in range(1400)), ("nesting", 51, 51)),
    "question marks": ("? " * LONG, ("nesting", 1, 101)),
    "quotes that never close": ("# " + '"\\' * LONG + "\n]\n", ("quote", 2, 1)),
    "quotes and escapes": ("# " + '"\\"' * (LONG // 2) + "\n]\n", ("quote", 2, 1)),
    "dashes before an error": ("a: |\n  " + "- " * LONG + "\nb\nc: d", ("colon", 3, 1)),
    "blanks before an error": ("a:" + " " * LONG + "b: c", ("colon", 1, LONG + 4)),
    "tabs": ("a: b\n" + "\t" * LONG + "x", ("tab", 2, 1)),
    "hashes": ("# " + " #" * LONG + "\n]\n", ("quote", 2, 1)),
    "tags": ("a: !!python/object/apply:os.system [id]\n", ("tag", 1, 4)),
    "another tag": ("!!binary aGk=\n", ("tag", 1, 1)),
    "many directives": ("%a\n" * 100_000, ("directive", 1, 1)),
    "many documents": ("---\n" * 100_000, ("two-procedures", 2, 1)),
    "one key again and again": ("k: 1\n" * 20_000, ("duplicate-key", 2, 1)),
    "a key too long": ("k" * LONG + ": 1\n", ("syntax", 1, LONG + 1)),
}  # fmt: skip


@pytest.mark.parametrize("name", BOMBS)
def test_a_bomb_is_one_finding_at_its_place(name: str) -> None:
    text, wanted = BOMBS[name]
    findings = found(text)
    assert wanted in [(each.rule, each.line, each.column) for each in findings]
    assert len(findings) <= MOST_FINDINGS + 1


def test_a_file_of_one_hundred_megabytes_is_not_read(tmp_path: Path) -> None:
    path = tmp_path / "large.yaml"
    with path.open("wb") as file:
        file.truncate(100 * 1024 * 1024)
    procedure, findings = load_procedure(path)
    assert procedure is None
    assert [each.rule for each in findings] == ["file-size"]
    assert first(b"a: " + b"x" * LARGEST) == ("file-size", 1, 1)


def test_a_thousand_unknown_words_beside_thousands_of_known_ones() -> None:
    """Nearest words are sought for what is told, and among no more than can be compared."""
    keys = "".join(f"word-{n}: 1\n" for n in range(20_000))
    findings = found(keys)
    assert len(findings) == MOST_FINDINGS + 1
    assert "more-findings" in {each.rule for each in findings}


@pytest.mark.parametrize("kind", ["fifo", "directory", "missing", "nul", "long", "device"])
def test_what_is_no_plain_file_is_never_waited_for(kind: str, tmp_path: Path) -> None:
    path = tmp_path / "odd.yaml"
    if kind == "fifo":
        if not hasattr(os, "mkfifo"):
            pytest.skip("not run here: this system has no FIFOs")
        os.mkfifo(path)
    elif kind == "directory":
        path.mkdir()
    elif kind == "nul":
        path = tmp_path / "a\0b.yaml"
    elif kind == "long":
        path = tmp_path / ("a" * 5000 + ".yaml")
    elif kind == "device":
        path = Path("/dev/zero")
        if not path.exists():
            pytest.skip("not run here: there is no /dev/zero")
    procedure, findings = load_procedure(path)
    wanted = {
        "fifo": "file-kind", "directory": "file-directory", "missing": "file-missing", "nul": "file-missing",
        "long": "file-unreadable", "device": "file-kind",
    }  # fmt: skip
    assert procedure is None
    assert [each.rule for each in findings] == [wanted[kind]]


@pytest.mark.parametrize("character", REFUSED, ids=lambda c: f"U+{ord(c):04X}")
def test_a_refused_character_is_found_where_it_stands(character: str) -> None:
    text = whole(STEPS).replace("Look round.", f"Look{character}round.")
    line = next(n for n, each in enumerate(text.split("\n"), 1) if f"Look{character}" in each)
    column = text.split("\n")[line - 1].index(character) + 1
    rule = "file-binary" if character == "\0" else "control-character"
    assert first(text) == (rule, line, column)


@pytest.mark.parametrize("character", REFUSED, ids=lambda c: f"U+{ord(c):04X}")
def test_an_escape_in_quotes_brings_none_in(character: str) -> None:
    escape = f"\\u{ord(character):04x}"
    text = whole(STEPS).replace("Look round.", f'"Look{escape}round."')
    assert first(text)[0] == "control-character"


@pytest.mark.parametrize("half", HALVES, ids=lambda c: f"U+{ord(c):04X}")
def test_half_a_letter_is_no_utf8(half: str) -> None:
    assert first(whole(STEPS).replace("Look", half))[0] == "encoding"
    # libyaml takes no escape of one; the loader in Python makes the half, which is then refused.
    escaped = whole(STEPS).replace("Look round.", f'"\\u{ord(half):04x}"')
    assert first(escaped)[0] in ("escape", "control-character", "syntax")


@pytest.mark.parametrize("name", TERMINAL)
def test_terminal_sequences_are_refused_and_shown_written_out(name: str) -> None:
    assert first(whole(STEPS).replace("Look round.", TERMINAL[name]))[0] == "control-character"


@pytest.mark.parametrize("name", [*WORKS, *MARKUP, *(f"mark {ord(m):04X}" for m in MARKS)])
def test_any_other_text_is_data(name: str) -> None:
    text = WORKS.get(name) or MARKUP.get(name) or f"left {chr(int(name[-4:], 16))} right"
    quoted = "'" + text.replace("'", "''") + "'"
    procedure, findings = read_procedure(whole(STEPS).replace("Look round.", quoted).encode())
    assert procedure is not None, findings
    assert procedure.entries[0].do == " ".join(text.split())  # type: ignore[union-attr]


NUMBERS = [
    "1e999", "-1e999", "9" * 100_000, "0." + "0" * 100_000 + "1", "NaN", "nan", ".nan", ".inf", "-.inf", "Infinity",
    "1/0", "0x7fffffff", "1_000", "١٢", "1e-999 N·m", "0o17", "1:30:00", "inf N·m", "nan N·m",
]  # fmt: skip


@pytest.mark.parametrize("number", NUMBERS, ids=lambda n: n[:20])
def test_numbers_out_of_all_proportion_are_findings(number: str) -> None:
    """In a torque, a count and a duration alike."""
    items = "items:\n  bolts:\n    kind: fastener\n    count: 4\n    thread: M10x1.5\n    class: 8.8\n"
    items += "    tighten: [{torque: 40 N·m}]\n"
    assert read_procedure(whole(items + STEPS).encode())[0] is not None
    for old in ("40 N·m", "count: 4"):
        new = f'"{number}"' if old == "40 N·m" else f'count: "{number}"'
        text = whole((items + STEPS).replace(old, new))
        line = next(n for n, each in enumerate(text.split("\n"), 1) if number in each)
        findings = found(text)
        assert any(each.line == line and each.grade == "error" for each in findings)
        assert all(len(each.text()) < 210_000 for each in findings)


AWAY = {
    "../../etc/passwd": "path", "../x.yaml": "path", "/etc/passwd": "path", "/tmp/x.yaml": "path", ".": "path",
    "~/x.yaml": "use", "..": "path", "a/../../x.yaml": "path", "/dev/zero": "path", "//host/x.yaml": "path",
    "file:///etc/x.yaml": "path", "..\\x.yaml": "path", "C:\\x.yaml": "path", "x.yaml/": "path",
    "a" * 300 + ".yaml": "use", "a/" * 3000 + "x.yaml": "use", "x%2f..%2fy.yaml": "use", "main.yaml": "use-circle",
    "link.yaml": "use", "folder.yaml": "use", "out/x.yaml": "use",
}  # fmt: skip


@pytest.mark.parametrize("path", AWAY, ids=lambda p: p[:24])
def test_use_leads_nowhere_but_below(path: str, tmp_path: Path) -> None:
    folder = tmp_path / "in"
    folder.mkdir()
    secret = tmp_path / "x.yaml"
    secret.write_text(whole("title: SECRET\n" + STEPS), encoding="utf-8")
    (folder / "link.yaml").symlink_to(secret)
    (folder / "out").symlink_to(tmp_path)
    (folder / "folder.yaml").mkdir()
    main = folder / "main.yaml"
    main.write_text(whole(f"steps:\n  - use: '{path}'\n"), encoding="utf-8")
    procedure, findings = load_procedure(main)
    assert procedure is None
    errors = [each for each in findings if each.grade == "error"]
    assert [each.line for each in errors] == [main.read_text(encoding="utf-8").count("\n")]
    assert [each.rule for each in errors] == [AWAY[path]]
    assert not any("SECRET" in each.text() for each in findings)


def test_a_file_that_is_used_may_be_a_bomb_too(tmp_path: Path) -> None:
    (tmp_path / "b.yaml").write_text("a: &a [*a]\n" + "[" * 100_000, encoding="utf-8")
    (tmp_path / "main.yaml").write_text(whole("steps:\n  - use: b.yaml\n"), encoding="utf-8")
    procedure, findings = load_procedure(tmp_path / "main.yaml")
    assert procedure is None
    assert {each.file for each in findings if each.grade == "error"} == {"b.yaml"}
