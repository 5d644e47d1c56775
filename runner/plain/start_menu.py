"""The start screen by lines: procedures found, unfinished runs to resume, finished logs to review."""

from pathlib import Path

from runner.job.demand import Option
from runner.plain.console import Console
from runner.plain.grammar import picked
from runner.start import Choice, Deed, FoundRun, Start

_MOST = 20
"""Lines of one list; the rest is only counted."""


def choose(start: Start, console: Console) -> Choice | None:
    """Ask what to begin with; None where the person leaves."""
    choices, lines = _offers(start)
    console.say(lines)
    options = [Option(f"{choice.deed} {choice.path}", "") for choice in choices]
    while True:
        typed = console.ask("A number (rehearse NUMBER: without a work piece; Enter leaves)> ")
        if not typed or not typed.strip():
            return None
        words = typed.strip()
        rehearse = words.casefold().startswith("rehearse ")
        option = picked(words[9:] if rehearse else words, options)
        if option is None:
            console.say([f"Type a number from 1 to {len(options)}."])
            continue
        choice = choices[options.index(option)]
        if rehearse and choice.deed != "run":
            console.say(["Only a procedure can be rehearsed."])
            continue
        return Choice("rehearse", choice.path) if rehearse else choice


def _offers(start: Start) -> tuple[list[Choice], list[str]]:
    """Return everything on offer and the lines that say it, numbered alike."""
    choices: list[Choice] = []
    lines = ["Witnessmark"]
    groups: tuple[tuple[str, Deed, list[tuple[Path, str]]], ...] = (
        ("Unfinished runs", "resume", [(run.path, run_words(run)) for run in start.unfinished]),
        (
            "Procedures",
            "run",
            [(p.path, f"{p.title or p.name}, revision {p.revision}") for p in start.procedures],
        ),
        ("Finished logs, to review", "review", [(run.path, run_words(run)) for run in start.finished]),
    )
    for title, deed, found in groups:
        lines.append(f"{title}:" if found else f"{title}: none")
        for path, words in found[:_MOST]:
            choices.append(Choice(deed, path))
            lines.append(f"  {len(choices):>2}. {words}  [{path}]")
        if len(found) > _MOST:
            lines.append(f"      and {len(found) - _MOST} more")
    return choices, lines


def run_words(found: FoundRun) -> str:
    """Return a run as one line of a list."""
    kind = "rehearsal of " if found.rehearsal else ""
    return f"{kind}{found.title}, revision {found.revision}, last entry {found.last or 'unreadable'} UTC"
