"""A page for paper, written to a file or to standard output; only files of its own ending are written over."""

import sys
from collections.abc import Callable
from pathlib import Path

from runner.cli.exits import Exit
from runner.safe_text import safe


def write_page(
    command: str, target: str, endings: tuple[str, ...], text: Callable[[], str], use: str
) -> Exit:
    """Write what `text` gives to `target` (`-`: standard output) and say what it is of `use` for.

    USAGE where the name has none of the endings, the first of which is named; PROBLEM where it cannot be written.
    """
    if target == "-":
        print(text(), end="")
        return Exit.OK
    path = Path(target)
    if path.suffix.lower() not in endings:
        message = f"{safe(target)} does not end with {endings[0]}; no other file is written over"
        print(f"witnessmark {command}: {message}", file=sys.stderr)
        return Exit.USAGE
    try:
        path.write_text(text(), encoding="utf-8")
    except OSError as error:
        print(f"{safe(target)}: {safe(error.strerror or str(error))}", file=sys.stderr)
        return Exit.PROBLEM
    print(f"{safe(target)}: {use}")
    return Exit.OK
