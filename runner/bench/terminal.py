"""What the bench asks of a terminal, and how it notices that the terminal is gone."""

import os
import select
import sys
from collections.abc import Mapping

NEEDS = "The full screen needs a terminal. Use `--plain` for line prompts; they work on any terminal and in pipes."


def unfit(environment: Mapping[str, str] | None = None) -> str:
    """Why no full screen can be shown here, or an empty text. Keys come from stdin and Textual draws on stderr."""
    known = os.environ if environment is None else environment
    if known.get("TERM", "") in {"", "dumb"} and sys.platform != "win32":
        return f"TERM is {known.get('TERM') or 'not set'}. {NEEDS}"
    for name, stream in (
        ("Input", sys.__stdin__),
        ("The error output, where the screen is drawn,", sys.__stderr__),
    ):
        if stream is None or not stream.isatty():
            return f"{name} is no terminal. {NEEDS}"
    return ""


def hung_up() -> bool:
    """Whether the terminal behind stdin is gone: nothing typed can arrive any more and nothing drawn is seen."""
    if sys.platform == "win32" or sys.__stdin__ is None:
        return False
    try:
        poll = select.poll()
        poll.register(sys.__stdin__.fileno(), 0)
        return any(event & (select.POLLHUP | select.POLLERR | select.POLLNVAL) for _, event in poll.poll(0))
    except (OSError, ValueError):
        return True
