"""The rules of the format by the word that a finding of the reader or the linker carries.

They have no page of their own: the message of such a finding says what was expected, and the authoring guide
(`procedures/README.md`) says the rest. Here stands under which heading.
"""

from collections.abc import Mapping

from runner.procedure.finding import Grade

_UNDER: Mapping[str, str] = {
    "How text is read": "bracket colon comment-cut decimal-comma quote escape indentation list tab key syntax "
    "directive alias anchor tag merge-key duplicate-key two-procedures control-character encoding blank shape "
    "empty-list empty-table twice text word identifier entry path",
    "All keys": "missing-key unknown-key not-here one-of kept-word format",
    "A step": "standing double-name same-name two-meanings never-done not-reached",
    "Hazards": "notice-long",
    "Conditions": "unknown-condition unknown-value value sets detour needs-source unknown-need",
    "Items": "unknown-item unknown-state unknown-part verb",
    "Tightening": "stages stage-method no-band order only-when-source rows rounds friction thread class",
    "Places and variants": "unknown-location unknown-choice only-for-place several-places no-place one-choice",
    "Questions and ways": "answer unknown-answer unknown-guard only-if-source unknown-step way way-back "
    "repeat-in-repeat",
    "Readings": "formula unknown-reading sorted",
    "Waiting and time limits": "in-time time",
    "Putting off": "put-off window",
    "Other people": "hold-role",
    "Sub-procedures": "use use-circle use-depth contract unlike-caller",
    "Before and after": "unknown-tool",
    "Numbers, units, tolerances": "number quantity",
    "What `check` says": "file-missing file-directory file-kind file-permission file-unreadable file-empty "
    "file-binary more-findings",
    "Limits": "file-size nesting node-count step-count too-deep too-large",
    "Kept for later": "reserved-key",
}

SECTIONS: Mapping[str, str] = {word: title for title, words in _UNDER.items() for word in words.split()}
"""Heading of the authoring guide by rule word."""

_WARNINGS = frozenset({"thread", "class"})


def format_rule_grade(word: str) -> Grade:
    """How grave a finding of this rule is: a warning where the text was free before it meant something."""
    return "warning" if word in _WARNINGS else "error"


def format_rule_text(word: str) -> str:
    """What `check --explain` says of a rule of the format; the word is one of `SECTIONS`."""
    grade = f"{'an' if format_rule_grade(word) == 'error' else 'a'} {format_rule_grade(word)}"
    return (
        f"{word} is a rule of the format, found while reading and linking; it is always {grade}.\n"
        "The finding itself says what was expected there. The authoring guide has the rule under\n"
        f'"{SECTIONS[word]}" (procedures/README.md).'
    )
