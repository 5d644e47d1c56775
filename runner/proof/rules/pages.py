"""Every rule's page, and the text that `check --explain` prints of it."""

import textwrap
from collections.abc import Mapping
from types import MappingProxyType

from runner.proof.rules import on_items, on_putting_off, on_tightening, on_values, on_ways
from runner.proof.rules.page import Page
from runner.proof.rules.registry import RULES, Rule

PAGES: Mapping[str, Page] = MappingProxyType(
    {**on_ways.PAGES, **on_items.PAGES, **on_putting_off.PAGES, **on_values.PAGES, **on_tightening.PAGES}
)
"""One page a rule, by its name."""

_WIDTH = 80


def page_text(rule: Rule) -> str:
    """The page of a rule as plain text, at most 80 columns wide but for what stands in its examples."""
    page = PAGES[rule.name]
    parts = [f"{rule.name} ({rule.number}, {rule.grades})", _folded(rule.says), _folded(page.why)]
    if page.wrong:
        parts += [
            "Wrong (an example, invented; what every file needs besides is left out):",
            _shown(page.wrong),
            "Mended:",
            _shown(page.right),
        ]
    for path, text in page.files:
        parts += [f"Both use {path}:", _shown(text)]
    parts.append(_folded(f"What mends it: {rule.mend}."))
    return "\n\n".join(parts)


def index_text() -> str:
    """Every rule, one a line, and how to see its page."""
    widest = max(len(name) for name in RULES)
    grades = max(len(rule.at_worst) for rule in RULES.values())
    before = len("P10  ") + widest + 2 + grades + 1
    room = _WIDTH - before
    lines: list[str] = []
    for rule in RULES.values():
        said = textwrap.wrap(rule.says, room)
        lines.append(f"{rule.number:<4} {rule.name:<{widest}}  {rule.at_worst:<{grades}} {said[0]}")
        lines += [" " * before + more for more in said[1:]]
    return "\n".join([*lines, "", "A rule's page: witnessmark check --explain RULE"])


def _folded(text: str) -> str:
    return textwrap.fill(text, _WIDTH)


def _shown(example: str) -> str:
    return textwrap.indent(example.rstrip("\n"), "    ")
