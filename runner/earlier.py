"""What an earlier run left behind on the same work piece: shown to whoever begins another one on it.

Only the latest run counts: where it was finished, nothing is left behind. Logs that cannot be read say nothing here;
`verify` tells what is wrong with them.
"""

from pathlib import Path
from typing import Any

from runner.job.state import same_person
from runner.log.errors import LogError
from runner.log.names import Found, find_logs
from runner.log.scan import Scanner, scan_file
from runner.log.source import reading
from runner.outside import Files
from runner.safe_text import safe

_MOST = 12
_LONGEST = 300


def left_behind(folder: Path, work_piece: str, files: Files, *, rehearsal: bool) -> tuple[str, ...]:
    """The tag of the latest run on the work piece, where it was abandoned or never sealed; at most a dozen lines."""
    try:
        logs = sorted(find_logs(folder, files), key=lambda log: log.last_utc or "", reverse=True)
    except OSError:  # a folder that is not there yet holds no earlier run
        return ()
    for log in logs:
        if log.header is None or bool(log.header.get("rehearsal")) is not rehearsal:
            continue
        if same_person(_work_piece(log, files), work_piece):
            # These lines go into a new log, so what no person may type there does not come in this way.
            return tuple(safe(line)[:_LONGEST] for line in _tag(log, files)[:_MOST])
    return ()


def _work_piece(log: Found, files: Files) -> str:
    """What the run was about: its start is among the first entries."""
    try:
        with reading(log.path, files) as source:
            for record, _ in zip(Scanner(source), range(8), strict=False):
                for event in _events(record.data):
                    if event.get("kind") == "started":
                        return str(event.get("work_piece", ""))
    except (OSError, LogError):  # a log that cannot be read tells of no work piece
        return ""
    return ""


def _tag(log: Found, files: Files) -> list[str]:
    linked = (log.header or {}).get("procedure")
    title = str(linked.get("title", log.path.name)) if isinstance(linked, dict) else log.path.name
    day = (log.last_utc or "")[:10]
    if log.looks != "sealed":
        return [
            f"An earlier run of {day} was never sealed: {title}. Resume it, or find out how the work stands."
        ]
    seal = _seal(log, files)
    if seal.get("outcome") != "abandoned":
        return []
    lines = [f"An earlier run of {day} was abandoned: {title}: {seal.get('reason', '')}"]
    pairs = [pair for pair in _list(seal.get("conditions")) if isinstance(pair, list) and len(pair) == 2]
    lines += [f"Left with {name}: {value}" for name, value in pairs]
    lines += [f"Left open: {item}" for item in _list(seal.get("open_items"))]
    lines += [f"Left undone: {owed}" for owed in _list(seal.get("owed"))]
    return lines


def _events(data: dict[str, Any]) -> list[dict[str, Any]]:
    """What happened by an entry, as far as it has the form of events: the log may be anybody's."""
    return [event for event in _list(data.get("events")) if isinstance(event, dict)]


def _list(found: object) -> list[Any]:
    return found if isinstance(found, list) else []


def _seal(log: Found, files: Files) -> dict[str, Any]:
    try:
        report = scan_file(log.path, files)
    except (OSError, LogError):  # what cannot be read leaves no tag
        return {}
    events = _events(report.records[-1].data) if report.records else []
    return events[0] if events else {}
