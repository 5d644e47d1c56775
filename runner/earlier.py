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
            return tuple(line[:_LONGEST] for line in _tag(log, files)[:_MOST])
    return ()


def _work_piece(log: Found, files: Files) -> str:
    """What the run was about: its start is among the first entries."""
    try:
        with reading(log.path, files) as source:
            for record, _ in zip(Scanner(source), range(8), strict=False):
                for event in record.data.get("events", ()):
                    if event.get("kind") == "started":
                        return str(event.get("work_piece", ""))
    except (OSError, LogError):  # a log that cannot be read tells of no work piece
        return ""
    return ""


def _tag(log: Found, files: Files) -> list[str]:
    title = str((log.header or {}).get("procedure", {}).get("title", log.path.name))
    day = (log.last_utc or "")[:10]
    if log.looks != "sealed":
        return [
            f"An earlier run of {day} was never sealed: {title}. Resume it, or find out how the work stands."
        ]
    seal = _seal(log, files)
    if seal.get("outcome") != "abandoned":
        return []
    lines = [f"An earlier run of {day} was abandoned: {title}: {seal.get('reason', '')}"]
    lines += [f"Left with {name}: {value}" for name, value in seal.get("conditions", ())]
    lines += [f"Left open: {item}" for item in seal.get("open_items", ())]
    lines += [f"Left undone: {owed}" for owed in seal.get("owed", ())]
    return lines


def _seal(log: Found, files: Files) -> dict[str, Any]:
    try:
        report = scan_file(log.path, files)
    except (OSError, LogError):  # what cannot be read leaves no tag
        return {}
    events = report.records[-1].data.get("events", ()) if report.records else ()
    return dict(events[0]) if events else {}
