"""What a reader should know of the tools and readings of one run: how they were judged, and what looks odd in them.

Nothing here was ever held against the work: the gate lets all of it through. Everything comes from the log alone,
whose entries name the tool in hand with its range, its calibration and its certificate.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from runner.job.events import Entry, Held, ReadingTaken, Tightened
from runner.job.evolve import interrupted
from runner.job.record import FOREIGN, followed, from_record
from runner.job.state import Job, new_job
from runner.joint.conformity import RULES
from runner.joint.setting import LOW_SHARE
from runner.joint.wrench import Wrench
from runner.log.record import OPENED, OWN_KINDS, SEAL, Record, Report
from runner.procedure.linked import Procedure
from runner.quantities import kind_of, show

_LEAST_OF_A_GROUP = 3
"""Two readings are often the same by chance; of three or more, all alike to the last digit seldom are."""

_USES = ("click", "measured")
"""The methods by which a value is known from a tool."""


@dataclass(frozen=True, slots=True)
class Use:
    """One value taken with a tool of the toolbox, in entry `n`, on a day (ISO text)."""

    n: int
    day: str
    wrench: Wrench
    held: Held


def judged_and_advice(report: Report, procedure: Procedure) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """How the readings of a log were held against their bands, and what looks odd; both empty for most runs.

    A log with an entry that this program cannot read is looked through up to there, and the advice says so.
    """
    uses: list[Use] = []
    job, unread = new_job(procedure), ""
    for record in report.records[1:]:
        if record.kind in OWN_KINDS and record.kind != SEAL:
            job = interrupted(job) if record.kind == OPENED else job
            continue
        try:
            entry = from_record(record.data, record.stamp)
            uses += _uses_of(job, entry, record)
            job = followed(job, (entry,))
        except FOREIGN:
            unread = f"from entry {record.n} on nothing was looked at: this program cannot read it"
            break
    try:
        judged, advice = tuple(_judged(uses)), [*_overdue(uses), *_low(uses), *_alike(job)]
    except FOREIGN:
        judged, advice = (), ["nothing of tools and readings was looked at: some hold what no program writes"]
    return judged, tuple([*advice, unread] if unread else advice)


def _uses_of(job: Job, entry: Entry, record: Record) -> list[Use]:
    return [
        Use(record.n, record.stamp.date_text(), wrench, event)
        for event in entry.events
        if isinstance(event, Tightened | ReadingTaken) and (wrench := _taken_with(job, event)) is not None
    ]


def _taken_with(job: Job, event: Tightened | ReadingTaken) -> Wrench | None:
    """The tool of the toolbox that a value was taken with; None where none is known that measures such a thing."""
    node = job.procedure.by_id[event.node]
    tool = node.acts[event.act].tool if isinstance(event, Tightened) else next(iter(node.tools), None)
    wrench = job.wrenches.get(tool or "")
    if wrench is None or event.method not in _USES or kind_of(wrench.unit) != kind_of(event.unit):
        return None
    return wrench


def _judged(uses: list[Use]) -> Iterator[str]:
    bare = dict.fromkeys(use.wrench.label for use in uses if use.held.conformity == "bare band")
    for label in bare:
        yield f"no certificate of {label} is known: the bare band decided"
    if any(use.held.expanded for use in uses):
        rule = "; ".join(source.text() for source in RULES["U"])
        yield f"in, out and too close to tell: with the certificate's uncertainty U (k = 2) as guard band: {rule}"


def _by_wrench(uses: list[Use]) -> dict[Wrench, list[Use]]:
    found: dict[Wrench, list[Use]] = {}
    for use in uses:
        found.setdefault(use.wrench, []).append(use)
    return found


def _overdue(uses: list[Use]) -> Iterator[str]:
    for wrench, own in _by_wrench([use for use in uses if use.wrench.overdue(use.day)]).items():
        yield f"{wrench.label} was used after its calibration was due on {wrench.due_on}: {_entries(own)}"


def _low(uses: list[Use]) -> Iterator[str]:
    """Under a fifth of the maximum the accuracy of a wrench may not be vouched for (`setting.LOW_SHARE`)."""
    turned = [use for use in uses if isinstance(use.held, Tightened)]
    low = [use for use in turned if _on_it(use) < _vouched(use.wrench)]
    for wrench, own in _by_wrench(low).items():
        most = show(Decimal(wrench.high), wrench.unit)
        yield (
            f"{wrench.label} was used below 20 % of its maximum, {most}, where its accuracy may not be vouched for: "
            f"{_entries(own)}, lowest {show(min(map(_on_it, own)), wrench.unit, 4)}"
        )


def _on_it(use: Use) -> Decimal:
    return Decimal(use.held.wrench_value or use.held.value)


def _vouched(wrench: Wrench) -> Decimal:
    """What a wrench is vouched for from; a wrench of one value is made for just that."""
    return Decimal(0) if wrench.low == wrench.high else LOW_SHARE * Decimal(wrench.high)


def _entries(uses: list[Use]) -> str:
    numbers = list(dict.fromkeys(str(use.n) for use in uses))
    return f"{'entry' if len(numbers) == 1 else 'entries'} {', '.join(numbers)}"


def _alike(job: Job) -> Iterator[str]:
    """Groups in which one number was measured at every fastener of a stage, to the last digit."""
    rounds: dict[tuple[str, str, int], list[Held]] = {}
    for record in job.recorded.values():
        held = record.held
        if isinstance(held, Tightened) and held.method == "measured" and held.value:
            rounds.setdefault((record.node, held.item, held.stage), []).append(held)
    for (_, key, stage), values in rounds.items():
        item = job.procedure.item_by_key[key]
        numbers = {(held.wrench_value or held.value, held.wrench_unit or held.unit) for held in values}
        if len(values) == item.count >= _LEAST_OF_A_GROUP and len(numbers) == 1:
            number, unit = numbers.pop()
            of_stage = f", stage {stage}" if len(item.stages) > 1 else ""
            yield (
                f"{item.label}{of_stage}: {show(Decimal(number), unit, 6)} was read at every one of {item.count}, "
                "alike to the last digit: was each one read?"
            )
