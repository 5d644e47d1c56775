"""From the entries of a log to the job they tell of, by the one `evolve`: for resuming and for looking back."""

from itertools import groupby
from typing import Any

from pydantic import ValidationError

from runner import typedline
from runner.job.evolve import interrupted
from runner.job.gates import Gates
from runner.job.record import RecordError, followed, from_record
from runner.job.state import Job, new_job
from runner.job.tally import Tally
from runner.log import line, record
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


_LOGS_OWN = record.OWN_KINDS - {record.SEAL}
"""Entries that tell nothing of the run; a seal tells how it ended."""
_AT_ONCE = 32
"""Entries that are read together and then folded together: a processor is quicker at one kind of work at a time."""


class Replay:
    """Folds the entries of a log into its job and keeps none of them; nothing is decided again."""

    def __init__(self) -> None:
        self._job: Job | None = None
        self._error: LinkedError | RecordError | None = None
        self._tally = Tally()
        self._waiting: list[Record] = []

    def say(self, raw: bytes) -> line.Said:
        """What a line says, its events read already where they can be."""
        return typedline.read(raw)

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
        try:
            for own, together in groupby(waiting, key=lambda told: told.kind in _LOGS_OWN):
                if own:
                    for told in together:
                        self._own(told)
                else:
                    self._follow(list(together))
        except (LinkedError, RecordError) as error:
            self._error = error

    def _own(self, told: Record) -> None:
        """An entry of the log's own."""
        if self._job is None:
            self._job = job_of(told.data)
            return
        self._tally.take((told.kind,))
        if told.kind == record.OPENED:
            self._job = interrupted(self._job)

    def _follow(self, told: list[Record]) -> None:
        """What the run recorded without anything of the log's own between."""
        assert self._job is not None, "the first entry is the log's own"
        try:
            entries = [from_record(each.data, each.stamp) for each in told]
            self._job = followed(self._job, entries)
        except RecordError:
            self._job = _by_itself(self._job, told)
            raise
        self._tally.take([event.kind for entry in entries for event in entry.events])

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


def _by_itself(job: Job, told: list[Record]) -> Job:
    """The job after entries, each followed by itself. Raises RecordError with the line of the first that is wrong."""
    for each in told:
        try:
            job = followed(job, (from_record(each.data, each.stamp),))
        except RecordError as error:
            raise RecordError(f"line {each.line}: {error}") from error
    return job


def replay(report: Report) -> Job:
    """The job that the entries of a report lead to. Errors as for `Replay.job`."""
    fold = Replay()
    for entry in report.records:
        fold.take(entry)
    return fold.job
