"""`verify`: whether logs are whole, unchanged, and those that somebody vouches for. Reads only, needs no lock."""

import argparse
import json
import sys
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from runner import __version__
from runner.cli.exits import Exit, worst
from runner.log import signature
from runner.log.errors import Broken, LogError
from runner.log.keys import is_signed, public_key
from runner.log.line import is_receipt, receipt, same_receipt
from runner.log.names import SHOP_NAME, find_logs
from runner.log.record import Record, Report, State, Tail
from runner.log.scan import Scanner
from runner.log.shop import Missing, is_list, missing_runs, read_list
from runner.log.source import reading
from runner.outside import Files
from runner.safe_text import safe

VERSION = 1
"""Of the JSON document. Raised when a name in it changes its meaning; new names may come at any time."""
CODES: dict[State, Exit] = {
    "complete": Exit.OK,
    "open": Exit.UNFINISHED,
    "torn": Exit.TORN,
    "broken": Exit.PROBLEM,
    "not a log": Exit.PROBLEM,
}
NOT_PROMISED = (
    "Not promised without a receipt code on paper: that nothing was cut off the end of an open log, or that "
    "a whole log was not written anew. Compare the code above with the one on the job sheet."
)
SIGNED_PROMISE = (
    "A signature shows that the holder of the key sealed the log as it is. It says nothing of who that was, of logs "
    "taken away, or of what the names and values in it are worth."
)
_SHOWN = 120
"""Bytes of a bad line that are shown."""


@dataclass(slots=True)
class Judged:
    """What is to be said of one file: its code, its lines, and the same as data."""

    code: Exit
    headline: str
    lines: list[str] = field(default_factory=list)
    data: dict[str, Any] = field(default_factory=dict)
    to_errors: bool = False


def verify(parsed: argparse.Namespace) -> int:
    """Print the verdict on each log and return the worst."""
    codes = parsed.receipt or []
    strange = [code for code in codes if not is_receipt(code)]
    if strange:
        print(
            f"witnessmark verify: {safe(strange[0])!r} is no receipt code: ten letters and digits",
            file=sys.stderr,
        )
        return Exit.USAGE
    public = public_key(Path(parsed.key)) if parsed.key is not None else None
    wanted = dict.fromkeys(codes, False)
    judged = [_judge(Path(name), wanted, public) for name in parsed.files]
    missing = [code for code, found in wanted.items() if not found]
    code = worst([each.code for each in judged] + [Exit.PROBLEM] * bool(missing))
    if parsed.json:
        _print_json(judged, missing, code)
        return code
    for each in judged:
        stream = sys.stderr if each.to_errors else sys.stdout
        print(safe(each.headline), file=stream)
        for line in each.lines:
            print(f"    {safe(line)}", file=stream)
    for each_code in missing:
        print(
            f"RECEIPT CODE NOT FOUND: {safe(each_code)} is that of no entry here. The log was cut back or written anew "
            "after the code was, or it is another log's."
        )
    print(SIGNED_PROMISE if public is not None else NOT_PROMISED)
    return code


def _print_json(judged: list[Judged], missing: list[str], code: Exit) -> None:
    document = {
        "version": VERSION,
        "program": __version__,
        "exit": int(code),
        "logs": [each.data for each in judged],
        "receipts_not_found": missing,
    }
    print(json.dumps(document, indent=2))  # in ASCII, so that no terminal or encoding can change it


def _judge(path: Path, wanted: dict[str, bool], public: bytes | None) -> Judged:
    try:
        if path.name == SHOP_NAME:
            return _shop(path, public)
        with reading(path, Files()) as source:
            scanner, last, matched = Scanner(source), None, []
            for entry in scanner:
                last = entry
                for code in wanted:
                    if same_receipt(code, entry.head):
                        matched.append({"code": code, "n": entry.n})
                        wanted[code] = True
        if scanner.report.header is None and is_list(path):
            return _shop(path, public)
        return _log(path, scanner.report, last, matched, public)
    except (LogError, OSError) as error:
        why = str(error.strerror or error) if isinstance(error, OSError) else str(error)
        data = {"file": str(path), "state": None, "verdict": why, "exit": int(Exit.PROBLEM)}
        return Judged(Exit.PROBLEM, f"{path}: {why}", data=data, to_errors=True)


def _log(
    path: Path, report: Report, last: Record | None, matched: list[dict[str, Any]], public: bytes | None
) -> Judged:
    code = CODES[report.state]
    signed = None if public is None else signature.judge(report, last, public, is_signed)
    if signed is not None and signed.kind != "good":
        code = Exit.PROBLEM
    stated = signature.stated_key(last)
    lines = _lines(report)
    for each in matched:
        after = report.count - 1 - each["n"]
        covers = f"; {after} later entries are not covered by it" if after else ""
        lines.append(f"receipt code {each['code']} is that of entry {each['n']}{covers}")
    if signed is not None:
        lines.append(signed.words)
    elif stated and report.state == "complete":
        lines.append(f"states that it is signed with key {stated}; not checked: give that key with --key")
    if report.fault is not None:
        lines.append(f"that line begins: {_excerpt(path, report.fault.byte)}")
    header = report.header or {}
    data = {
        "file": str(path),
        "state": report.state,
        "verdict": report.summary(),
        "exit": int(code),
        "run": header.get("run"),
        "entries": report.count,
        "head": report.head.hex() if report.header is not None else None,
        "receipt": receipt(report.head) if report.header is not None else None,
        "sync": header.get("sync"),
        "fault": _plain(report.fault, "line", "byte", "why"),
        "tail": _plain(report.tail, "kind", "byte", "size"),
        "scars": [_plain(scar, "n", "byte", "size") for scar in report.scars],
        "receipts": matched,
        "key": stated or None,
        "signature": {"verdict": signed.kind, "words": signed.words} if signed is not None else None,
    }
    return Judged(code, f"{path}: {report.summary()}", lines, data)


def _plain(value: object, *names: str) -> dict[str, Any] | None:
    return None if value is None else {name: getattr(value, name) for name in names}


def _lines(report: Report) -> list[str]:
    """What stands under a verdict: receipt code, sync, scars."""
    if report.header is None:
        return []
    lines = [f"receipt code {receipt(report.head)} after entry {report.count - 1}"]
    sync = report.header.get("sync")
    if isinstance(sync, str):
        lines.append(f"made durable by {sync}")
    for scar in report.scars:
        lines.append(
            f"scar: entry {scar.n} accounts for {scar.size} bytes that a crash left at byte {scar.byte}"
        )
    return lines


def _excerpt(path: Path, byte: int) -> str:
    """The beginning of the bad line; bytes that are no text as escapes."""
    with reading(path, Files()) as source:
        source.seek(byte)
        raw = source.read(_SHOWN + 1)
    whole, _, more = raw.partition(b"\n")
    dots = "" if more or len(raw) <= _SHOWN else " …"
    return whole[:_SHOWN].decode("utf-8", "backslashreplace") + dots


def _shop(path: Path, public: bytes | None) -> Judged:
    """Judge the shop's list of runs: its own chain and end, and whether a log bears every listed run out."""
    lines: list[str] = []
    missing: tuple[Missing, ...] = ()
    tail = fault = None
    try:
        of = read_list(path)
    except Broken as error:
        code, verdict, fault = Exit.PROBLEM, f"BROKEN: {error}", error.report.fault
    else:
        missing, tail = missing_runs(of.runs, find_logs(path.parent)), of.tail
        runs = f"{len(of.runs)} {'run' if len(of.runs) == 1 else 'runs'}"
        verdict = f"list of runs, {runs}, {len(missing)} not borne out by a log beside it."
        if tail is not None:
            verdict += f" TORN TAIL: {_torn(tail)}"
        code = worst([Exit.PROBLEM] * bool(missing) + [Exit.TORN] * (tail is not None))
        lines = [
            f"MISSING: {each.listed.procedure}, started {_minute(each.listed.started_utc)} UTC: {each.why}"
            for each in missing
        ]
        if public is not None:
            lines.append("a list of runs is never signed; its logs are")
    gone = [{"run": each.listed.run, "procedure": each.listed.procedure, "why": each.why} for each in missing]
    data = {
        "file": str(path),
        "state": "list of runs",
        "verdict": verdict,
        "exit": int(code),
        "missing": gone,
        "fault": _plain(fault, "line", "byte", "why"),
        "tail": _plain(tail, "kind", "byte", "size"),
    }
    return Judged(code, f"{path}: {verdict}", lines, data)


def _torn(tail: Tail) -> str:
    if tail.kind == "start":
        return "its first line is incomplete, and it lists nothing."
    return (
        f"it ends in {tail.size} bytes that a crash may have left; a start or a seal may be missing from it."
    )


def _minute(utc: str) -> str:
    return utc[:16].replace("T", " ")
