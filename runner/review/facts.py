"""What one log says, as facts: who did what on which work piece, exceptions first, then everything in order.

Pure: a verdict with its entries in, facts out. Everything comes from the log itself, which holds the
procedure; the YAML is not needed. Text in the facts is as people typed it.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Any, Literal, get_args

from runner.job.events import Event, Held
from runner.job.record import RecordError, from_record
from runner.log.line import receipt
from runner.log.record import CLOCK, OPENED, RUN, SCAR, Record, Report
from runner.procedure.linked import LinkedError, Procedure
from runner.review.advice import judged_and_advice
from runner.review.wording import Names, sentence
from runner.view import NO_WAY, UNPROVED_MEANS

Group = Literal[
    "no way left",
    "deviations",
    "too close to tell",
    "refused entries",
    "stops and refused hold points",
    "not applicable",
    "put off",
    "corrections",
    "taken back",
    "reopened, extra work, found conditions",
    "pauses and handovers",
    "clock",
    "scars and unreadable entries",
]
GROUPS: tuple[Group, ...] = get_args(Group)

EXCEPTIONS: dict[str, Group] = {
    **dict.fromkeys(("deviated", "waived", "order_changed"), "deviations"),
    "refused": "refused entries",
    **dict.fromkeys(("hold_refused", "stopped_at", "left_proof"), "stops and refused hold points"),
    "not_applicable": "not applicable",
    **dict.fromkeys(("listed", "put_off_unplanned", "passed_by", "overdue", "too_late"), "put off"),
    **dict.fromkeys(("corrected", "asked_again", "hold_lapsed", "owed_again"), "corrections"),
    "taken_back": "taken back",
    **dict.fromkeys(
        (
            "reopened",
            "extra_work_added",
            "extra_work_done",
            "condition_found",
            "detour_began",
            "tool_changed",
            "extension_fitted",
        ),
        "reopened, extra work, found conditions",
    ),
    **dict.fromkeys(("paused", "resumed", "taken_over", "handed_over", "abandoning"), "pauses and handovers"),
    "time_told": "clock",
}
"""Which events are exceptions, and where they are told. An ordinary job has only planned put-offs here."""


@dataclass(frozen=True, slots=True)
class Happening:
    """One thing that became true."""

    n: int
    date: str
    time: str
    """Local time of the bench, `HH:MM:SS`."""
    who: str
    step: str
    place: str
    kind: str
    text: str
    conformity: str = ""
    """What a value says of its band with the uncertainty of its tool (`job.events.Held`)."""


@dataclass(frozen=True, slots=True)
class Facts:
    """Everything that a report of one run says."""

    verdict: str
    complete: bool
    heading: tuple[tuple[str, str], ...]
    """What and who: (label, value), in the order to be read."""
    exceptions: tuple[tuple[Group, tuple[Happening, ...]], ...]
    timeline: tuple[Happening, ...]
    open_points: tuple[str, ...]
    open_items: tuple[str, ...]
    owed: tuple[str, ...]
    conditions: tuple[tuple[str, str], ...]
    follow_ups: tuple[str, ...]
    outcome: str
    receipt: str
    judged: tuple[str, ...] = ()
    """How readings were held against their bands."""
    advice: tuple[str, ...] = ()


def facts_of(report: Report) -> Facts:
    """Return the facts of a log that has a header. Raises ValueError for one that has none."""
    if report.header is None:
        raise ValueError("a file without a header has no facts")
    procedure = _procedure(report.header)
    names = Names(procedure) if procedure is not None else Names(_EMPTY)
    happenings = [each for record in report.records for each in _happenings(record, names)]
    seal = _seal(report)
    sealed = report.state == "complete" and seal is not None
    ending = _ending(seal) if sealed and seal is not None else {}
    judged, advice = judged_and_advice(report, procedure) if procedure is not None else ((), ())
    return Facts(
        verdict=report.summary(),
        complete=report.state == "complete",
        heading=_heading(report, happenings),
        exceptions=_grouped(happenings),
        timeline=tuple(happenings),
        open_points=ending.get("open_points", _deviations(happenings)),
        open_items=ending.get("open_items", ()),
        owed=ending.get("owed", ()),
        conditions=ending.get("conditions", ()),
        follow_ups=ending.get("follow_ups", ()),
        outcome=ending.get("outcome", ""),
        receipt=receipt(report.head),
        judged=judged,
        advice=advice,
    )


_EMPTY = Procedure(procedure="", title="", revision="", fits="", sources=(), people=())


def _procedure(header: dict[str, Any]) -> Procedure | None:
    """Return the procedure of a header; None where this program cannot read its form."""
    try:
        return Procedure.from_data(header["procedure"])
    except (KeyError, TypeError, AttributeError, LinkedError):  # the facts then use ids instead of titles
        return None


def _happenings(record: Record, names: Names) -> list[Happening]:
    """Return what one line of the log says."""
    own = _own_words(record)
    if own is not None:
        kind, text = own
        return [_happening(record, "", kind, text)]
    try:
        entry = from_record(record.data, record.stamp)
    except RecordError as error:
        return [_happening(record, "", "unreadable", f"unreadable entry: {error}")]
    return [_of_event(record, entry.who, event, names) for event in entry.events]


def _own_words(record: Record) -> tuple[str, str] | None:
    """Return kind and words of a line that only the log itself writes."""
    if record.n == 0:
        return RUN, "log begun"
    if record.kind == OPENED:
        return OPENED, "log taken up again"
    if record.kind == CLOCK:
        data = record.data
        return CLOCK, f"the wall clock was set from {data.get('before')} to {data.get('after')} (UTC)"
    if record.kind == SCAR:
        size = record.data.get("size")
        return SCAR, f"a crash left {size} bytes that are no entry; they are kept and counted in"
    return None


def _of_event(record: Record, who: str, event: Event, names: Names) -> Happening:
    node = getattr(event, "node", "")
    step, place = names.step(node) if node else ("", "")
    kind = event.kind
    conformity = event.conformity if isinstance(event, Held) else ""
    told = _happening(record, who, kind, sentence(event, names))
    return replace(told, step=step, place=place, conformity=conformity)


def _happening(record: Record, who: str, kind: str, text: str) -> Happening:
    stamp = record.stamp
    return Happening(record.n, stamp.date_text(), stamp.local().strftime("%H:%M:%S"), who, "", "", kind, text)


_OWN_GROUPS: dict[str, Group] = {
    OPENED: "pauses and handovers",
    CLOCK: "clock",
    SCAR: "scars and unreadable entries",
    "unreadable": "scars and unreadable entries",
}


_BY_CONFORMITY: dict[str, Group] = {"out": "deviations", "too close": "too close to tell"}


def _grouped(happenings: list[Happening]) -> tuple[tuple[Group, tuple[Happening, ...]], ...]:
    """Return the exceptions by group, empty groups left out, in the order of `GROUPS`."""
    found: dict[Group, list[Happening]] = {group: [] for group in GROUPS}
    known: frozenset[str] = frozenset()
    for each in happenings:
        group = EXCEPTIONS.get(each.kind) or _OWN_GROUPS.get(each.kind)
        if each.kind == "reconfirmed" and each.text.endswith("NOT as recorded"):
            group = "reopened, extra work, found conditions"
        if each.kind == "reproved" and not (lost := _lost(each)) <= known:
            group, known = "no way left", known | lost
        if each.kind == "worked_out" and "OUTSIDE" in each.text:
            group = "deviations"
        group = group or _BY_CONFORMITY.get(each.conformity)
        if group is not None:
            found[group].append(each)
    return tuple((group, tuple(found[group])) for group in GROUPS if found[group])


def _lost(happening: Happening) -> frozenset[str]:
    """What an answer of the proof names as lost; a later answer names it again, which is nothing new."""
    return frozenset(part for part in happening.text.split("; ") if NO_WAY in part)


def _seal(report: Report) -> Event | None:
    """Return the event of the end; None where the run is not sealed or its seal cannot be read."""
    if not report.records:
        return None
    try:
        events = from_record(report.records[-1].data, report.records[-1].stamp).events
    except RecordError:  # the timeline names it
        return None
    return next((event for event in events if event.kind == "sealed"), None)


def _ending(seal: Event) -> dict[str, Any]:
    names = ("open_points", "open_items", "owed", "conditions", "follow_ups", "outcome")
    return {name: getattr(seal, name) for name in names}


def _deviations(happenings: list[Happening]) -> tuple[str, ...]:
    """Return the deviations of an unfinished run: they stay open to the end of the report."""
    return tuple(each.text for each in happenings if each.kind == "deviated")


def _heading(report: Report, happenings: list[Happening]) -> tuple[tuple[str, str], ...]:
    header = report.header or {}
    procedure = header.get("procedure")
    of_procedure = procedure if isinstance(procedure, dict) else {}
    title = f"{of_procedure.get('title', '')}, revision {of_procedure.get('revision', '')}"
    first, last = report.records[0].stamp, report.records[-1].stamp
    heading = [
        ("procedure", title),
        ("fits", str(of_procedure.get("fits", ""))),
        ("sources", "; ".join(str(each) for each in _listed(of_procedure, "sources"))),
        ("work piece", _first_text(happenings, "started")),
        ("rehearsal", "YES: no work piece was touched" if header.get("rehearsal") is True else ""),
        ("not proved", _unproved(str(header.get("unproved") or ""))),
        ("people", ", ".join(_once(each.who for each in happenings if each.who)) + " (names as typed)"),
        ("bench", str(header.get("bench") or "")),
        ("began", f"{first.date_text()} {first.clock_text()}{_offset(first.offset_min)}"),
        ("last entry", f"{last.date_text()} {last.clock_text()}{_offset(last.offset_min)}"),
        ("tools", ", ".join(_once(_tools(happenings)))),
        ("files", ", ".join(_files(of_procedure))),
    ]
    return tuple((label, value) for label, value in heading if value.strip(", "))


def _unproved(reason: str) -> str:
    return f"{reason} (so {UNPROVED_MEANS})" if reason else ""


def _first_text(happenings: list[Happening], kind: str) -> str:
    return next((each.text.removeprefix("run started on ") for each in happenings if each.kind == kind), "")


def _tools(happenings: list[Happening]) -> list[str]:
    return [each.text.removeprefix("tool ready: ") for each in happenings if each.kind == "counted_in"]


def _files(procedure: dict[str, Any]) -> list[str]:
    files = [each for each in _listed(procedure, "files") if isinstance(each, list) and len(each) == 2]
    return [f"{each[0]} (SHA-256 {str(each[1])[:16]}…)" for each in files]


def _listed(procedure: dict[str, Any], key: str) -> list[Any]:
    """Return a list of the header's procedure, which nobody has checked; empty where there is none."""
    found = procedure.get(key)
    return found if isinstance(found, list) else []


def _offset(minutes: int) -> str:
    sign = "-" if minutes < 0 else "+"
    return f" UTC{sign}{abs(minutes) // 60:02d}:{abs(minutes) % 60:02d}"


def _once(texts: Iterable[str]) -> list[str]:
    return list(dict.fromkeys(texts))
