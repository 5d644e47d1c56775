"""One run: a job, its log and the clock, joined. No threads of its own; whoever calls `record` waits for the disk.

The order is always the same: `decide` (pure), `record` (durable, or an error and nothing has happened), `apply`.
"""

from collections.abc import Callable
from pathlib import Path
from typing import Any

from runner import __version__
from runner.earlier import left_behind
from runner.job import actions as a
from runner.job.beginning_and_end import point_words
from runner.job.decide import ASKS_THE_PROOF, Ask, Decision, Refusal, decide
from runner.job.events import Entry, Sealed
from runner.job.evolve import evolve, interrupted
from runner.job.gates import Gates
from runner.job.record import FOREIGN, RecordError, to_record
from runner.job.state import Job, new_job
from runner.job.tally import Tally
from runner.log import record as log_record
from runner.log import shop
from runner.log.errors import LogError, Refused
from runner.log.keys import SealKey
from runner.log.names import log_name
from runner.log.place import room_remarks
from runner.log.record import Report
from runner.log.writer import LogWriter, Recorded, create, reopen
from runner.outlook import outlook
from runner.outside import Outside
from runner.picture import picture
from runner.procedure.compare import differences
from runner.procedure.linked import LinkedError, Procedure
from runner.replaying import Replay
from runner.stamp import Stamp
from runner.toolbox.model import Toolbox
from runner.toolbox.proposing import proposals
from runner.view import ProofLine, ShopTool, View

NO_TOOLBOX = Toolbox()


def header_of(
    procedure: Procedure, gates: Gates, *, rehearsal: bool, bench: str, unproved: str
) -> dict[str, Any]:
    """What the first line of a log carries, so that it can be read for ever without the procedure's file."""
    return {
        "program": __version__,
        "procedure": procedure.to_data(),
        "gates": gates.model_dump(mode="json"),
        "rehearsal": rehearsal,
        "bench": bench,
        "unproved": unproved,
    }


class Run:
    """A run in hand. `view` is the picture of what is recorded, never of what is only hoped for."""

    def __init__(
        self,
        job: Job,
        outside: Outside,
        folder: Path,
        bench: str,
        torque_unit: str,
        toolbox: Toolbox = NO_TOOLBOX,
        key: SealKey | None = None,
    ) -> None:
        self._job = job
        self._outside = outside
        self._folder = folder
        self._bench = bench
        self._torque_unit = torque_unit
        self._toolbox = toolbox
        self._key = key
        self._tally = Tally()
        self._shop_tools: tuple[str, tuple[ShopTool, ...]] = ("", ())
        self._log: LogWriter | None = None
        self._view: View | None = None
        self._unlisted = ""
        self.findings: tuple[str, ...] = ()
        """Remarks of creating or resuming: scars, an entry found but not confirmed, a changed procedure file."""

    @classmethod
    def begin(
        cls,
        procedure: Procedure,
        outside: Outside,
        folder: Path,
        *,
        rehearsal: bool = False,
        bench: str = "",
        gates: Gates | None = None,
        unproved: str = "",
        torque_unit: str = "",
        toolbox: Toolbox = NO_TOOLBOX,
        key: SealKey | None = None,
    ) -> "Run":
        """A run that has not started: no file exists until its Start is recorded.

        What is wrong in the toolbox is among the `findings`: a tool with an error is not there to be picked. So is
        what is wrong with the `key` that is to sign the seal, and a disk that is nearly full: now there is time to
        put it right.
        """
        job = new_job(procedure, gates, rehearsal=rehearsal, unproved=unproved)
        run = cls(job, outside, folder, bench, torque_unit, toolbox, key)
        run.findings = (*room_remarks(folder, outside.files), *_of_toolbox(toolbox), *_of_key(key))
        return run

    @classmethod
    def resume(
        cls,
        path: Path,
        outside: Outside,
        *,
        current: Procedure | None = None,
        torque_unit: str = "",
        toolbox: Toolbox = NO_TOOLBOX,
        key: SealKey | None = None,
    ) -> "Run":
        """Take a run up from its log, by the log's own procedure and gates. Raises the errors of runner.log.

        `current` is the procedure's file as it is now, if known: what changed is announced, never used.
        """
        fold = Replay()
        log, report = reopen(path, outside, fold)
        try:
            try:
                job = fold.job
            except (LinkedError, RecordError) as error:
                raise Refused(f"{path.name} cannot be taken up: {error}.") from error
            bench = str((report.header or {}).get("bench", ""))
            run = cls(job, outside, path.parent, bench, torque_unit, toolbox, key)
            run._log = log
            run._tally = fold.tally
            run._tally.take((log_record.OPENED,))
            changed = _changed(job.procedure, current)
            run.findings = (*log.remarks, *_found(report), *changed, *_of_toolbox(toolbox), *_of_key(key))
            run._job = interrupted(job)
            return run._drawable()
        except BaseException:
            log.close()
            raise

    def _drawable(self) -> "Run":
        """The run itself, its picture drawn once. Raises Refused where the log tells of what nobody can draw."""
        try:
            self.picture(self.stamp())
            return self
        except FOREIGN as error:
            name = self._log.path.name if self._log else "the log"
            raise Refused(f"{name} cannot be taken up: it tells of no run of this program.") from error

    @property
    def job(self) -> Job:
        """The job as recorded."""
        return self._job

    @property
    def view(self) -> View:
        """The picture as of the last entry."""
        if self._view is None:
            self._view = self._drawn(self._job.last)
        return self._view

    def picture(self, stamp: Stamp) -> View:
        """The picture with waits and limits judged at `stamp`."""
        return self._drawn(stamp)

    def _drawn(self, stamp: Stamp | None) -> View:
        """The picture, at a hold point with the receipt code: who releases it can write down what was released."""
        drawn = picture(self._job, stamp, self._torque_unit)
        if self._toolbox.wrenches:
            drawn = drawn.but(shop_tools=self._of_the_shop(stamp))
        return drawn.but(receipt=self.receipt) if drawn.demand.kind == "hold" else drawn

    def _of_the_shop(self, stamp: Stamp | None) -> tuple[ShopTool, ...]:
        """What the toolbox has for this procedure on the day of `stamp`; worked out once a day."""
        day = (stamp or self._outside.now()).date_text()
        if self._shop_tools[0] != day:
            found = proposals(self._job.procedure, self._toolbox, day)
            offers = tuple(ShopTool(p.tool, p.wrench, p.words, bool(p.against)) for p in found)
            self._shop_tools = (day, offers)
        return self._shop_tools[1]

    def stamp(self) -> Stamp:
        """Now."""
        return self._outside.now()

    @property
    def path(self) -> Path | None:
        """The log's file, once there is one."""
        return self._log.path if self._log else None

    @property
    def receipt(self) -> str:
        """The receipt code of the last entry."""
        return self._log.receipt if self._log else ""

    @property
    def sealed(self) -> bool:
        """Whether the run has ended."""
        return self._job.phase == "sealed"

    def decide(self, action: a.Action) -> Decision:
        """What the action would record, or why it is refused. Changes nothing."""
        if isinstance(action, a.Start):
            files, piece = self._outside.files, action.work_piece
            earlier = (
                left_behind(self._folder, piece, files, rehearsal=self._job.rehearsal)
                if piece.strip()
                else ()
            )
            action = action.but(earlier=earlier)
        return decide(self._job, action, self.ask_for(action))

    def would(self, action: a.Action) -> Decision:
        """What the action would come to if it were confirmed now, time having passed up to it. Nothing is recorded."""
        return self._would(action)[1]

    def foresee(self, action: a.Action) -> tuple[ProofLine, ...]:
        """What the proof answers to the action, in lines, before it is recorded."""
        job, decision = self._would(action)
        after = job if decision.entry is None else evolve(job, decision.entry)
        return outlook(job, action, decision, after)

    def _would(self, action: a.Action) -> tuple[Job, Decision]:
        time = self._outside.now()
        tick = decide(self._job, a.LetTimePass(who=action.who or "clock", stamp=time))
        job = self._job if tick.entry is None else evolve(self._job, tick.entry)
        return job, decide(job, action.but(stamp=time, seen=None), self.ask_for(action))

    def ask_for(self, action: a.Action) -> Ask | None:
        """The proof to ask before an act that leaves the plan; none where the run was begun without it."""
        if not self._job.gates.proved or not isinstance(action, ASKS_THE_PROOF):
            return None
        from runner.proof.live import ahead  # noqa: PLC0415 - the first frame does not wait for the proof

        return ahead

    def record(self, entry: Entry) -> Recorded:
        """Append the entry durably; starts the log with the first one. Raises the errors of runner.log."""
        kind, data = to_record(entry)
        if self._log is None:
            self._log = self._create(entry.stamp)
        seal = entry.events[0]
        if isinstance(seal, Sealed):
            alone = {
                "tally": self._tally.at_seal(seal, self._job.deviations),
                "rehearsal": self._job.rehearsal,
                "unproved": self._job.unproved,
            }
            recorded = self._log.seal({**data, **alone}, entry.stamp, self._key.sign if self._key else None)
            self._list(
                lambda log: shop.note_seal(self._folder, log.run, recorded.n, recorded.head, self._outside)
            )
            return recorded
        recorded = self._log.append(kind, data, entry.stamp)
        self._tally.take(each["kind"] for each in data["events"])
        return recorded

    def _create(self, stamp: Stamp) -> LogWriter:
        job, run = self._job, self._outside.new_id()
        header = header_of(
            job.procedure, job.gates, rehearsal=job.rehearsal, bench=self._bench, unproved=job.unproved
        )
        name = log_name(stamp, job.procedure.procedure, run)
        log = create(self._folder, name, header, self._outside, run)
        self._log = log
        self.findings = tuple(dict.fromkeys((*self.findings, *log.remarks)))
        self._list(
            lambda it: shop.note_start(self._folder, it.run, job.procedure.procedure, it.head, self._outside)
        )
        return log

    def _list(self, note: Callable[[LogWriter], None]) -> None:
        """Note the run in the shop's list; the run's own log stands whether or not that succeeds."""
        assert self._log is not None
        try:
            note(self._log)
        except LogError as error:
            self._unlisted = f"The shop's list of runs could not be kept: {error}"
            self.findings = (*self.findings, self._unlisted)

    def apply(self, entry: Entry) -> None:
        """Take a recorded entry into the picture."""
        self._job = evolve(self._job, entry)
        self._view = None

    def act(self, action: a.Action) -> Refusal | None:
        """Let the time pass up to the action, then decide, record and apply it."""
        tick = self.decide(a.LetTimePass(who=action.who or "clock", stamp=action.stamp))
        if tick.entry is not None and not isinstance(action, a.LetTimePass):
            self.record(tick.entry)
            self.apply(tick.entry)
        decision = self.decide(action)
        if decision.entry is not None:
            self.record(decision.entry)
            self.apply(decision.entry)
        return decision.refusal

    def close(self) -> None:
        """Give the log free."""
        if self._log is not None:
            self._log.close()

    def summary(self) -> tuple[str, ...]:
        """What is said when the bench is left: how the run stands, its receipt code, what stays open, what follows."""
        job = self._job
        if self._log is None:
            return ("Nothing was recorded.",)
        lines = [f"{job.procedure.title}, {job.work_piece}: {job.outcome or 'not finished'}"]
        if job.rehearsal:
            lines.append("This was a rehearsal.")
        lines.append(f"Receipt code, for the job sheet: {self.receipt}")
        lines += [f"Open point {d.number}: {point_words(job, d.number)}" for d in job.deviations]
        lines += [self._unlisted] if self._unlisted else []
        if self.sealed:
            lines += [f"Follow up: {f.what} ({f.text})" for f in job.procedure.follow_up]
            lines += self._signed_words()
        lines.append(f"Log: {self._log.path}")
        return tuple(lines)

    def _signed_words(self) -> list[str]:
        """Whether the seal was signed, where a key is set."""
        if self._key is None or self._log is None:
            return []
        why = self._log.not_signed
        return [f"The seal is NOT SIGNED. {why}" if why else "The seal is signed."]

    def make_safe_tag(self) -> tuple[str, ...]:
        """What a tag on unfinished work says: conditions, open items, aids in place, work put off, tools."""
        job, view = self._job, self.view
        lines = [
            f"UNFINISHED: {job.procedure.title}",
            f"Work piece: {job.work_piece}",
            f"Performer: {job.performer}",
        ]
        lines += [f"{c.name}: {c.found or c.value}" for c in view.conditions]
        lines += [
            f"Open: {item.label} ({item.state})"
            for item in view.items
            if item.mark in ("open", "part", "not done")
        ]
        lines += [f"Owed: {o.where + ': ' if o.where else ''}{o.what}" for o in view.owed]
        tools = {tool: number for tool, number in job.tools.items() if tool not in job.counted_out}
        lines += [f"Tool not counted out: {tool} {number}".rstrip() for tool, number in tools.items()]
        if job.abandon_reason:
            lines.append(f"Why: {job.abandon_reason}")
        return (*lines, f"Receipt code: {self.receipt}")


def _of_toolbox(toolbox: Toolbox) -> tuple[str, ...]:
    return tuple(f"Toolbox: {finding.headline()}" for finding in toolbox.problems)


def _of_key(key: SealKey | None) -> tuple[str, ...]:
    problem = key.problem() if key is not None else ""
    return (f"The seal of this run would not be signed. {problem}",) if problem else ()


def _found(report: Report) -> tuple[str, ...]:
    remarks = []
    if report.tail is not None and report.tail.kind == "whole":
        remarks.append("The last entry was found, but never confirmed on a screen: compare it with the work.")
    elif report.tail is not None:
        remarks.append(f"A crash left {report.tail.size} bytes at the end; they stay in the file as a scar.")
    if report.scars:
        remarks.append(f"The log has {len(report.scars)} older scars.")
    return tuple(remarks)


def _changed(recorded: Procedure, current: Procedure | None) -> tuple[str, ...]:
    if current is None or current.files == recorded.files:
        return ()
    changes = differences(recorded, current)
    return (
        "The procedure's file has changed since this run began; the run goes on by its own copy.",
        *changes,
    )
