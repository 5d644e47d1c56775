"""`check --explain`: the page of a rule of the proof, or where the guide has a rule of the format."""

import sys

from runner.cli.exits import Exit
from runner.cli.format_rules import SECTIONS, format_rule_text
from runner.procedure.finding import nearest
from runner.proof.rules import RULES, rule_named
from runner.proof.rules.pages import index_text, page_text
from runner.safe_text import safe


def explain(word: str) -> Exit:
    """Print what is known of a rule; with no word list them all. USAGE for a word that is no rule."""
    folded = word.strip().casefold()
    rule = rule_named(folded)
    if rule is not None:
        print(page_text(rule))
    elif not folded:
        print(index_text())
    elif folded in SECTIONS:
        print(format_rule_text(folded))
    else:
        print(_unknown(word), file=sys.stderr)
        return Exit.USAGE
    return Exit.OK


def _unknown(word: str) -> str:
    """The nearest rule; where none is alike, all of them."""
    alike = nearest(word.strip(), (*RULES, *SECTIONS))
    said = f"Nearest: {alike}." if alike else f"These are known:\n\n{index_text()}"
    return f"witnessmark check: no such rule: {safe(word)}. {said}"
