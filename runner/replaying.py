"""From the entries of a log to the job they tell of, by the one `evolve`: for resuming and for looking back."""

from typing import Any

from pydantic import ValidationError

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


class Replay:
    """Folds the entries of a log into its job, one at a time and keeping none; nothing is decided again."""

    def __init__(self) -> None:
        self._job: Job | None = None
        self._error: LinkedError | RecordError | None = None
        self._tally = Tally()

    def take(self, entry: Record) -> None:
        """The next entry. What is wrong with one is told by `job`: the verdict on the file comes first."""
        if self._error is not None:
            return
        try:
            self._job = self._after(entry)
        except (LinkedError, RecordError) as error:
            self._error = error

    def _after(self, entry: Record) -> Job:
        if self._job is None:
            return job_of(entry.data)
        if entry.kind == record.OPENED:
            self._tally.take((entry.kind,))
            return interrupted(self._job)
        if entry.kind in record.OWN_KINDS and entry.kind != record.SEAL:
            return self._job
        try:
            read = from_record(entry.data, entry.stamp)
            self._tally.take([event.kind for event in read.events])  # type: ignore[attr-defined]
            return followed(self._job, read)
        except RecordError as error:
            raise RecordError(f"line {entry.line}: {error}") from error

    @property
    def job(self) -> Job:
        """The job that the entries lead to.

        Raises LinkedError or RecordError for a log that is in order as a file and tells of no run of this program.
        """
        if self._error is not None:
            raise self._error
        assert self._job is not None, "no entry was taken"
        return self._job

    @property
    def tally(self) -> Tally:
        """What the entries come to in the counts of a seal."""
        return self._tally


def replay(report: Report) -> Job:
    """The job that the entries of a report lead to. Errors as for `Replay.job`."""
    fold = Replay()
    for entry in report.records:
        fold.take(entry)
    return fold.job
