"""A technician for tests: does what a run demands, one demand after another, until the log is sealed.

Every demand has a usual answer. A test changes single answers by `Hand.answers`, by the subject or title that
the demand is about, and everything else stays usual.
"""

from collections import defaultdict
from collections.abc import Iterable
from decimal import Decimal
from functools import lru_cache
from pathlib import Path
from typing import Any

from runner.job import actions as a
from runner.job.asking import demand
from runner.job.demand import Demand
from runner.job.state import Job
from runner.outside import Files
from runner.procedure.link import load_procedure
from runner.procedure.linked import Procedure
from runner.run import Run
from tests.doubles import SetOutside

PERFORMER, CHECKER, SECOND, FOREMAN = "Ann", "Bo", "Cy", "Dee"
MOST = 1000
"""More answers than this and a run is going in a circle."""


_WORDS = {"stop": "go on", "need": "different order", "blocked": "not done", "worked out": "out of band"}
"""The deviation by which a way that is shut is passed."""


class QuickFiles(Files):
    """Real files that wait for no disk."""

    def fdatasync(self, fd: int) -> None:
        """Nothing: what these tests show does not depend on the medium."""

    def fsync_dir(self, folder: Path) -> None:
        """Nothing, as above."""


@lru_cache(8)
def loaded(path: Path) -> Procedure:
    """A procedure that must have no finding; each file is read once."""
    linked, found = load_procedure(path)
    assert linked is not None, "\n".join(finding.text() for finding in found)
    return linked


class StuckError(AssertionError):
    """A demand that no usual answer lifts."""


class Hand:
    """One run of a procedure, carried out.

    `answers` holds, by a step's name, the labels, readings, releases or deviations to give there, in turn;
    when they are used up the usual answer is given. `passes_by` passes every cue by that may be passed.
    `on_word` goes past stops and shut gates on the word of the foreman, where otherwise the run is stuck.
    """

    def __init__(
        self,
        procedure: Path,
        folder: Path,
        *,
        answers: dict[str, list[Any]] | None = None,
        readings: dict[str, str] | None = None,
        choices: dict[str, str] | None = None,
        passes_by: bool = False,
        on_word: bool = False,
    ) -> None:
        self.outside = SetOutside(step_ms=900, files=QuickFiles())
        self.run = Run.begin(loaded(procedure), self.outside, folder, rehearsal=True)
        self.answers: defaultdict[str, list[Any]] = defaultdict(list, answers or {})
        self.readings = readings or {}
        self.choices = choices or {}
        self.passes_by = passes_by
        self.on_word = on_word
        self.kinds: list[str] = []
        """The kinds of the demands met, in order."""
        self.steps: list[str] = []
        """The ids of the steps in hand at each demand, in order, each stretch once."""
        self.passed: set[str] = set()
        self.left_open: list[str] = []
        """Items still open when the work was done, left so on the foreman's word."""

    @property
    def job(self) -> Job:
        """The job as recorded."""
        return self.run.job

    def work(self) -> "Hand":
        """Go on until the log is sealed."""
        while not self.run.sealed:
            self.once()
        return self

    def work_to(self, step: str) -> "Hand":
        """Go on until the main line stands before a step."""
        while self.job.at != step:
            self.once()
        return self

    def once(self) -> None:
        """Meet one demand."""
        wanted = demand(self.job, self.run.stamp())
        here = self.job.node.id if self.job.node and self.job.phase == "working" else ""
        if here and (not self.steps or self.steps[-1] != here):
            self.steps.append(here)
        self.kinds.append(wanted.kind)
        if len(self.kinds) > MOST:
            raise StuckError("\n".join(["the run goes in a circle:", *self.steps[-30:]]))
        special = self._special(wanted)
        if special is not None:
            self.act(special)
            return
        handler = getattr(self, "_" + wanted.kind.replace(" ", "_"), None)
        if handler is not None:
            handler(wanted)
        elif self.on_word and wanted.kind in _WORDS:
            kind = _WORDS["need" if wanted.subject == "need" else wanted.kind]
            self.act(self.make(a.Deviate, kind=kind, reason="The foreman said so", authority=FOREMAN))
        else:
            raise StuckError(f"{here}: {wanted}")

    def act(self, action: a.Action) -> None:
        """One action that must be accepted."""
        refused = self.run.act(action)
        if refused is not None:
            raise StuckError(f"{action}: {refused.text} ({refused.lift})")

    def make(self, cls: type[Any], who: str = PERFORMER, **fields: Any) -> a.Action:
        """An action made now, from the screen as it stands."""
        action: a.Action = cls(who=who, stamp=self.run.stamp(), seen=self.job.seq, **fields)
        return action

    def _special(self, wanted: Demand) -> a.Action | None:
        """An answer that the test gives for the step in hand, as (kind of demand, action class, fields)."""
        node = self.job.node
        if node is None or self.job.phase not in ("working", "stopped"):
            return None
        given = self.answers.get(node.id) or self.answers.get(node.step)
        if not given or given[0][0] != wanted.kind:
            return None
        _, cls, fields = given.pop(0)
        return self.make(cls, **fields)

    def _start(self, wanted: Demand) -> None:
        counters = tuple((option.key, "84210") for option in wanted.options)
        self.act(self.make(a.Start, work_piece="TARN-0042", counters=counters))

    def _choose(self, wanted: Demand) -> None:
        value = self.choices.get(wanted.subject, wanted.options[0].key)
        self.act(self.make(a.ChooseLocation, name=wanted.subject, value=value))

    def _prepare(self, wanted: Demand) -> None:
        key = wanted.options[0].key
        if key.startswith("tool:"):
            self.act(self.make(a.CountIn, tool=key.removeprefix("tool:"), identity="7"))
        else:
            # A second person of one role is somebody else.
            value = (SECOND if key.endswith("2") else CHECKER) if key.startswith("person:") else ""
            if key.startswith("condition:"):
                value = self._first_value(key.removeprefix("condition:"))
            self.act(self.make(a.MeetPrerequisite, key=key, value=value))

    def _first_value(self, condition: str) -> str:
        """The first value from which the job may start."""
        return self.job.procedure.condition_by_name[condition].at_start[0]

    def _acknowledge(self, wanted: Demand) -> None:
        self.act(self.make(a.Acknowledge, notice=wanted.index))

    def _new_part(self, wanted: Demand) -> None:
        self.act(self.make(a.ConfirmPart, item=wanted.subject))

    def _act(self, wanted: Demand) -> None:
        self.act(self.make(a.Do, act=wanted.index))

    def _confirm(self, _: Demand) -> None:
        self.act(self.make(a.Do))

    def _tighten(self, wanted: Demand) -> None:
        fields = {"item": wanted.subject, "stage": wanted.stage, "member": wanted.member}
        self.act(self.make(a.Tighten, method=wanted.methods[-1], **fields))

    def _reading(self, wanted: Demand) -> None:
        self.act(self.make(a.Read, name=wanted.subject, raw=self._typed(wanted)))

    def _second_reading(self, wanted: Demand) -> None:
        self.act(self.make(a.Read, who=SECOND, name=wanted.subject, raw=self._typed(wanted)))

    def _typed(self, wanted: Demand) -> str:
        """A value inside the band, or a word for a text."""
        if wanted.subject in self.readings:
            return self.readings[wanted.subject]
        node = self.job.node
        assert node is not None
        reading = next(reading for reading in node.readings if reading.name == wanted.subject)
        if reading.kind != "number":
            return "mark.jpg " + "0" * 64 if reading.kind == "photo" else "L-17"
        band = reading.band or (reading.sorting[0].band if reading.sorting else None)
        if band is None:
            return "1"
        if band.low is not None and band.high is not None and band.target is None:
            return str((Decimal(band.low) + Decimal(band.high)) / 2)
        return band.target or band.low or band.high or "1"

    def _wait(self, wanted: Demand) -> None:
        self.outside.pass_time(wanted.until_ms)
        self.act(self.make(a.LetTimePass))

    def _look(self, _: Demand) -> None:
        self.act(self.make(a.Look, label=self._right_answer()))

    def _question(self, _: Demand) -> None:
        self.act(self.make(a.Answer, label=self._right_answer()))

    def _right_answer(self) -> str:
        """The answer that leads straight on."""
        node = self.job.node
        assert node is not None
        straight = [way.label for way in node.answers if way.to == node.next and way.limit is None]
        return (straight or [node.answers[0].label])[0]

    def _hold(self, wanted: Demand) -> None:
        self.act(self.make(a.Release, who=CHECKER, released=True))

    def _cue(self, wanted: Demand) -> None:
        key = wanted.options[0].key
        if self.passes_by and key not in self.passed:
            self.passed.add(key)
            self.act(self.make(a.PassBy, key=key))
        else:
            self.act(self.make(a.TakeUp, key=key))

    def _due(self, wanted: Demand) -> None:
        if wanted.options:
            self.act(self.make(a.TakeUp, key=wanted.options[0].key))
        elif wanted.until_ms:
            self.outside.pass_time(wanted.until_ms)
            self.act(self.make(a.LetTimePass))
        else:
            raise StuckError(f"{wanted.prompt}: {wanted.lift}")

    def _close_out(self, wanted: Demand) -> None:
        key = wanted.options[0].key
        if key.startswith("tool:"):
            self.act(self.make(a.CountOut, tool=key.removeprefix("tool:")))
        else:
            self.act(self.make(a.CloseOut, line=int(key.removeprefix("line:")), text="none"))

    def _seal(self, wanted: Demand) -> None:
        left = [key for key in self.job.ledger if not self.job.is_final(key) and self.job.exists(key)]
        if self.on_word and left and wanted.options[0].key == "finished":
            self.left_open = left
            for key in left:
                self.act(
                    self.make(a.Deviate, kind="not done", reason="So agreed", authority=FOREMAN, subject=key)
                )
            return
        self.act(self.make(a.Seal, outcome=wanted.options[0].key))


def names(ids: Iterable[str]) -> list[str]:
    """Step ids without the files they come from."""
    return [step.rpartition("/")[2] for step in ids]
