"""From the entries of a log to the job they tell of, by the one `evolve`: for resuming and for looking back."""

from typing import Any

from pydantic import ValidationError

from runner import typedline
from runner.job.events import Entry
from runner.job.evolve import interrupted
from runner.job.gates import Gates
from runner.job.record import RecordError, followed, from_record
from runner.job.state import Job, new_job
from runner.job.tally import Tally
from runner.log import record
from runner.log.record import Record, Report
from runner.procedure.linked import LinkedError, Procedure


def job_of(header: dict[str, Any]) -> Job:
    """The job before its first entry, from a log's header. Raises LinkedError for a form it does not know."""
    linked = header.get("procedure")
    if not isinstance(linked, dict):
        raise LinkedError("the header holds no procedure")
    try:
        gates = Gates.model_validate(header.get("gates", {}))
    except ValidationError as error:
        raise LinkedError("the header's gates have a form that is not known") from error
    return new_job(
        Procedure.from_data(linked),
        gates,
        rehearsal=bool(header.get("rehearsal")),
        unproved=str(header.get("unproved", "")),
    )


_AT_ONCE = 32
"""Entries that are read together and then folded together: a processor is quicker at one kind of work at a time."""


class Replay:
    """Folds the entries of a log into its job and keeps none of them; nothing is decided again."""

    def __init__(self) -> None:
        self._job: Job | None = None
        self._error: LinkedError | RecordError | None = None
        self._tally = Tally()
        self._waiting: list[Record] = []

    def decode(self, raw: bytes) -> Any:
        """The value of a line, its events read already where they can be."""
        return typedline.decode(raw)

    def take(self, entry: Record) -> None:
        """The next entry. What is wrong with one is told by `job`: the verdict on the file comes first."""
        self._waiting.append(entry)
        if len(self._waiting) >= _AT_ONCE:
            self._fold()

    def _fold(self) -> None:
        """Fold what waits, up to the first entry that is wrong."""
        waiting, self._waiting = self._waiting, []
        if self._error is not None:
            return
        entries = [_entry_in(each) for each in waiting]
        try:
            for each, entry in zip(waiting, entries, strict=True):
                self._job = self._after(self._job, each, entry)
        except (LinkedError, RecordError) as error:
            self._error = error

    def _after(self, job: Job | None, told: Record, entry: Entry | RecordError | None) -> Job:
        if job is None:
            return job_of(told.data)
        if entry is None:
            self._tally.take((told.kind,))
            return interrupted(job) if told.kind == record.OPENED else job
        try:
            if isinstance(entry, RecordError):
                raise entry
            self._tally.take([event.kind for event in entry.events])  # type: ignore[attr-defined]
            return followed(job, entry)
        except RecordError as error:
            raise RecordError(f"line {told.line}: {error}") from error

    @property
    def job(self) -> Job:
        """The job that the entries lead to.

        Raises LinkedError or RecordError for a log that is in order as a file and tells of no run of this program.
        """
        self._fold()
        if self._error is not None:
            raise self._error
        assert self._job is not None, "no entry was taken"
        return self._job

    @property
    def tally(self) -> Tally:
        """What the entries come to in the counts of a seal."""
        self._fold()
        return self._tally


def _entry_in(told: Record) -> Entry | RecordError | None:
    """What the run recorded in it, or why that cannot be read; None for an entry of the log's own."""
    if told.kind in record.OWN_KINDS and told.kind != record.SEAL:
        return None
    try:
        return from_record(told.data, told.stamp)
    except RecordError as error:
        return error


def replay(report: Report) -> Job:
    """The job that the entries of a report lead to. Errors as for `Replay.job`."""
    fold = Replay()
    for entry in report.records:
        fold.take(entry)
    return fold.job
