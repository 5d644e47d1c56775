"""The last resort: an error of the program itself becomes a report in a file and a plain message."""

import os
import platform
import time
import traceback
from pathlib import Path

from runner.cli.versions import version_text
from runner.safe_text import safe


def report_crash(error: BaseException, command: str, folder: Path | None) -> str:
    """Write a crash report into `folder` and return what to tell the person.

    The report holds the traceback, versions and the command's name, but no entries, arguments or variables.
    """
    text = _report(error, command)
    where = "The crash report could not be written; its last lines:\n" + _last_lines(error)
    if folder is not None:
        path = folder / f"crash-{time.strftime('%Y%m%d-%H%M%S')}-{os.getpid()}.txt"
        try:
            folder.mkdir(parents=True, exist_ok=True, mode=0o700)
            _write_private(path, text)
            where = f"Crash report: {safe(str(path))}"
        except OSError as failure:
            where = f"No crash report ({safe(str(failure.strerror))}); the last lines of it:\n" + _last_lines(
                error
            )
    return (
        f"witnessmark: an error of the program itself ended this command ({type(error).__name__}).\n"
        "Safe: every entry that was shown as recorded is in its log; nothing in it was changed.\n"
        "Go on with: witnessmark resume\n"
        f"{where}"
    )


def _write_private(path: Path, text: str) -> None:
    """Write a file that only its owner may read. Raises OSError."""
    descriptor = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with os.fdopen(descriptor, "w", encoding="utf-8", errors="backslashreplace") as file:
        file.write(text)


def _report(error: BaseException, command: str) -> str:
    lines = [
        version_text(),
        f"Python {platform.python_version()} on {platform.system()} {platform.machine()}",
        f"command: {command or 'start screen'}",
        "",
        "".join(traceback.format_exception(error)),
    ]
    return "\n".join(lines)


def _last_lines(error: BaseException) -> str:
    said = safe(str(error))[:300]
    places = traceback.extract_tb(error.__traceback__)[-3:]
    lines = [f"  {type(error).__name__}: {said}"] if said else []
    return "\n".join(
        lines + [f"  {Path(each.filename).name}:{each.lineno} in {each.name}" for each in places]
    )
