"""One word for one thing: words that mean what another word of ours means are not in anything that a user reads.

Not looked for, since they are right elsewhere and would cry wolf: *node* (only in the code's graph), *field* (of a
log line), *input* (that ended; what goes into a formula), *range* (of a tool, of steps), *flag*, *mode* (of a file;
line mode), *tip* (of a tool), *tick* and *edit* (the README says what they are worth), *exception* (the review tells
exceptions first), *instance* (for instance), *lint* (of this code), *audit trail* (allowed in prose).
"""

import ast
import re
from collections.abc import Iterable, Iterator
from functools import cache
from pathlib import Path

import pytest

from runner.bench.desk import Desk
from runner.bench.form import Form
from runner.bench.keys import COMMANDS, Here
from runner.bench.page import page
from runner.bench.rows import texts
from runner.bench.theme import UNICODE
from runner.cli.parser import build_parser
from runner.plain.commands import help_lines
from runner.plain.drawing import demand_lines
from tests.bench.hands import Hands
from tests.bench.samples import DEMANDS, SampleRun, sample

ROOT = Path(__file__).parents[1]

INSTEAD = {
    "recipe": "procedure",
    "playbook": "procedure",
    "workflow": "procedure",
    "task": "step",
    "card": "step",
    "validation": "gate",
    "checkbox": "gate",
    "alert": "notice",
    "resource": "item",
    "inventory": "ledger",
    "tracker": "ledger",
    "fixture": "aid",
    "pending": "started",
    "badge": "witness mark",
    "snooze": "put off",
    "postpone": "put off",
    "skip": "put off",
    "deadline": "window",
    "notification": "cue",
    "approval": "hold point",
    "waiver": "deviation",
    "undo": "take back, reopen",
    "reminder": "follow-up",
    "session": "run",
    "execution": "run",
    "job number": "run",
    "simulation": "rehearsal",
    "demo mode": "rehearsal",
    "dashboard": "bench",
}
"""A word that is not ours, and the one that is."""


def _bent(word: str) -> str:
    """The word as it stands and as it is bent: tasks, skipped, postponing."""
    return rf"{word}(?:{word[-1]}?(?:s|es|d|ed|ing))?|{word.removesuffix('e')}ing"


ALIEN = re.compile(
    rf"(?<![\w-])(?:{'|'.join(f'(?P<w{at}>{_bent(word)})' for at, word in enumerate(INSTEAD))})(?![\w-])",
    re.IGNORECASE,
)
OURS = list(INSTEAD.values())


def alien(lines: Iterable[tuple[str, str]]) -> list[str]:
    """The places where a word is not ours, with the word that is."""
    return [
        f"{place}: {match[0]!r}, we say {OURS[(match.lastindex or 1) - 1]}: {text.strip()[:100]}"
        for place, text in lines
        for match in ALIEN.finditer(text)
    ]


def test_the_finder_finds_them_however_they_are_bent() -> None:
    said = ["Task 3", "two reminders", "he postponed it", "Skipping", "undo", "no tasks, no alert"]
    assert [len(alien([("here", text)])) for text in said] == [1, 1, 1, 1, 1, 2]
    assert alien([("here", "multitasking with a discard of possession")]) == []


def _spoken(module: Path) -> Iterator[tuple[str, str]]:
    """The sentences in a module: its texts of more than one word, docstrings left out."""
    tree = ast.parse(module.read_text(encoding="utf-8"))
    silent = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
    for node in ast.walk(tree):
        text = node.value if isinstance(node, ast.Constant) and id(node) not in silent else ""
        if isinstance(text, str) and " " in text.strip():
            yield f"{module.relative_to(ROOT)}:{node.lineno}", text


@pytest.mark.parametrize(
    "room", sorted({path.parent for path in (ROOT / "runner").rglob("*.py")}), ids=lambda p: p.name
)
def test_refusals_prompts_and_messages_speak_our_words(room: Path) -> None:
    assert alien(line for module in sorted(room.glob("*.py")) for line in _spoken(module)) == []


def test_the_help_of_every_command_speaks_our_words() -> None:
    parser = build_parser()
    (commands,) = (
        action.choices for action in parser._actions if isinstance(action.choices, dict) and action.choices
    )
    helps = {"": parser, **commands}
    assert len(helps) > 8
    assert alien((name, each.format_help()) for name, each in helps.items()) == []


def test_line_mode_speaks_our_words() -> None:
    lines = [("help", line) for line in help_lines()]
    lines += [(kind, line) for kind, demand in DEMANDS.items() for line in demand_lines(demand)]
    assert alien(lines) == []


@cache
def _screens() -> tuple[tuple[str, str], ...]:
    """The rows of the bench for every kind of demand, and of every text and dialog that a key opens."""
    shown: list[tuple[str, str]] = []

    def take(name: str, desk: Desk) -> None:
        shown.extend((name, row) for size in ((80, 24), (160, 50)) for row in texts(page(desk.scene, *size)))

    for kind in DEMANDS:
        take(kind, Hands(SampleRun([sample(kind)])).desk)
    for command in COMMANDS:
        view = sample("tighten")
        hands = Hands(SampleRun([view]))
        opened = command.open(Here(view, UNICODE))
        if isinstance(opened, Form):
            shown += [
                (command.id, text) for text in (opened.title, *opened.lead, opened.enter, opened.confirm)
            ]
        hands.desk._take(opened)
        take(command.id, hands.desk)
    return tuple(shown)


def test_the_bench_speaks_our_words() -> None:
    assert len(_screens()) > 1000
    assert alien(_screens()) == []


WRITTEN = [
    ROOT / "README.md",
    ROOT / "logs" / "README.md",
    *sorted((ROOT / ".github").glob("*.md")),
    *sorted((ROOT / "procedures").rglob("*.*")),
]


@pytest.mark.parametrize("path", WRITTEN, ids=lambda path: str(path.relative_to(ROOT)))
def test_what_is_written_for_users_speaks_our_words(path: Path) -> None:
    lines = enumerate(path.read_text(encoding="utf-8").splitlines(), start=1)
    assert alien((f"{path.name}:{number}", line) for number, line in lines) == []
