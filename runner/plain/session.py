"""A run by line prompts: show what changed, ask, try, say what was recorded. It decides nothing."""

import time
from collections.abc import Callable
from enum import Enum
from pathlib import Path
from typing import Protocol

from runner.job import actions as a
from runner.job.demand import Demand
from runner.job.events import Entry
from runner.job.refusal import Refusal
from runner.job.state import Job, same_person
from runner.log.errors import LogError, NotRecorded, Unwritable
from runner.outlook import answer_lines
from runner.plain import drawing
from runner.plain.answering import answer, enter_does
from runner.plain.commands import command, help_lines
from runner.plain.console import Console
from runner.plain.grammar import Typed, parse_line
from runner.plain.replies import BeNamed, Complaint, Leave, May, Moment, Reply, Show, WaitHere
from runner.plain.wrenches import best_for_line
from runner.review.wording import Names, sentence
from runner.stamp import Stamp
from runner.toolwords import is_value
from runner.view import ProofLine, View


class DecisionLike(Protocol):
    """What deciding gives (`runner.run.Decision`)."""

    @property
    def entry(self) -> Entry | None:
        """What to record; a refused entry is recorded too."""

    @property
    def refusal(self) -> Refusal | None:
        """Why the action was not accepted."""


class RunLike(Protocol):
    """What line mode needs of a run (`runner.run.Run`)."""

    @property
    def view(self) -> View:
        """The picture as recorded so far."""

    @property
    def job(self) -> Job:
        """The job as recorded."""

    @property
    def path(self) -> Path | None:
        """The log; none before the start."""

    @property
    def receipt(self) -> str:
        """The receipt code of the last entry."""

    @property
    def sealed(self) -> bool:
        """Whether the run has ended."""

    @property
    def findings(self) -> tuple[str, ...]:
        """Remarks of the resume."""

    def picture(self, stamp: Stamp) -> View:
        """The picture with times judged at `stamp`."""

    def stamp(self) -> Stamp:
        """Now."""

    def decide(self, action: a.Action) -> DecisionLike:
        """What an action would lead to."""

    def foresee(self, action: a.Action) -> tuple[ProofLine, ...]:
        """What the proof answers to an action before it is recorded."""

    def record(self, entry: Entry) -> object:
        """Make an entry durable; raises LogError."""

    def apply(self, entry: Entry) -> None:
        """Take a recorded entry into the picture."""

    def summary(self) -> tuple[str, ...]:
        """What to print after the end."""

    def make_safe_tag(self) -> tuple[str, ...]:
        """What a tag on unfinished work says."""


class Ending(Enum):
    """How a session ended."""

    SEALED = "sealed"
    LEFT = "left"
    NOT_RECORDED = "not recorded"
    """Left too, and the last thing tried is not in the log."""


_SILENT = frozenset(
    {"came_to", "step_done", "closing_began", "listed", "window_opened", "condition_set", "reproved"}
)
"""Consequences that the next picture, or the lines of the proof, show anyway."""


class Session:
    """One run at one console, from its present state to its end or until it is left."""

    def __init__(
        self,
        run: RunLike,
        console: Console,
        *,
        performer: str = "",
        sleep: Callable[[float], None] | None = None,
    ) -> None:
        self._run = run
        self._console = console
        self._offered = performer
        self._sleep = sleep or time.sleep
        self._names = Names(run.job.procedure)
        self._acting = ""
        self._shown: View | None = None
        self._ending: Ending | None = None
        self._asked = ("", "", 0)
        self.unrecorded: LogError | None = None
        """Why the last thing tried is not in the log, where the log could not take it; none once something is."""

    def play(self) -> Ending:
        """Carry the run on to its end or until it is left. Raises KeyboardInterrupt and BrokenPipeError."""
        said: tuple[str, ...] = ()
        while self._ending is None:
            # Some come with the first entry, when the log is made.
            self._console.say([finding for finding in self._run.findings if finding not in said])
            said = self._run.findings
            self._pass_time()
            if self._ending is None:
                self._show_changes()
            if self._run.sealed:
                self._ending = Ending.SEALED
            elif self._ending is None:
                self._turn(self._view())
        if self._ending is Ending.LEFT and self.unrecorded is not None:
            self._ending = Ending.NOT_RECORDED
        self._say_goodbye()
        return self._ending

    def _view(self) -> View:
        return self._run.picture(self._run.stamp())

    def _show_changes(self) -> None:
        view = self._view()
        self._console.say(drawing.changes(self._shown, view))
        self._shown = view

    def _turn(self, view: View) -> None:
        """Ask once and act on the line."""
        if view.demand.kind == "start":
            self._start(view)
            return
        if view.demand.kind == "outside proof":
            self._console.say(["The run is left as recorded."])
            self._ending = Ending.LEFT
            return
        line = self._console.ask(self._prompt(view))
        if line is None:
            self._pause_and_leave("input ended")
            return
        typed = parse_line(line)
        if self._too_early(typed, view.demand):
            return
        if typed.name == "" and not typed.command and self._needs_other(view.demand):
            typed = self._ask_name(typed, view)
        if self._changed_meanwhile(view):
            return
        self._reply_to(typed, view)

    def _too_early(self, typed: Typed, demand: Demand) -> bool:
        """Whether a value was sent before what is asked now was on the screen: it belongs to what was asked before."""
        value = not typed.command and not typed.literal and is_value(typed.text)
        if value and self._needs_other(demand) and not _is_answer(demand.kind, typed.text):
            self._console.say([f"{typed.text} is a value and no name; it is not used."])
            return True
        asked = (demand.kind, demand.subject, demand.stage)
        if value and self._console.typed_ahead and asked != self._asked:
            self._console.say([f"{typed.text} came before this was asked; it is not used."])
            return True
        self._asked = asked
        return False

    def _prompt(self, view: View) -> str:
        if self._needs_other(view.demand):
            return f"Name of {view.demand.role} (not {view.identity.performer})> "
        who = self._acting or view.identity.performer
        first = next(iter(view.demand.options), None)
        does = enter_does(view.demand, best_for_line(view, first.key) if first is not None else None)
        return f"{who} [Enter: {does}]> " if does else f"{who}> "

    def _needs_other(self, demand: Demand) -> bool:
        """Whether somebody other than the performer must answer, and nobody else has said that they type."""
        performer = self._run.view.identity.performer
        return demand.kind in ("second reading", "hold") and same_person(self._acting or performer, performer)

    def _ask_name(self, typed: Typed, view: View) -> Typed:
        """The first line typed at a second reading or hold point is a name, the next the answer."""
        if not typed.text or typed.literal or _is_answer(view.demand.kind, typed.text):
            return typed
        self._console.say([f"{typed.text}, {_OTHERS[view.demand.kind]}"])
        line = self._console.ask(f"{typed.text}> ")
        if line is None:
            return Typed("quit", command=True)
        second = parse_line(line)
        return Typed(second.text, second.name or typed.text, second.command, second.literal)

    def _changed_meanwhile(self, view: View) -> bool:
        """Let the time pass that typing took; True where the line would now answer something else."""
        self._pass_time()
        if self._ending is not None:
            return True
        now = self._view()
        same = now.demand.kind == view.demand.kind and now.demand.subject == view.demand.subject
        if same or now.seq == view.seq:
            return False
        self._console.say(["Something changed before that line was used; nothing was recorded of it:"])
        return True

    def _reply_to(self, typed: Typed, view: View) -> None:
        performer = view.identity.performer
        who = typed.name or self._acting or performer
        moment = Moment(self._run.view, who, self._run.stamp(), by_name=bool(typed.name) or who != performer)
        reply = command(typed.text, moment) if typed.command else answer(typed, moment)
        self._carry_out(reply)

    def _carry_out(self, reply: Reply) -> None:
        if isinstance(reply, Complaint):
            self._console.say([reply.text])
        elif isinstance(reply, Show):
            lines = help_lines() if reply.topic == "help" else drawing.topic(reply.topic, self._view())
            self._console.say(lines)
        elif isinstance(reply, BeNamed):
            self._acting = reply.name
            self._console.say([f"{reply.name} types from here on (as typed, not checked)."])
        elif isinstance(reply, May):
            self._console.say(drawing.proof_lines(self._run.foresee(reply.action)))
        elif isinstance(reply, WaitHere):
            self._wait()
        elif isinstance(reply, Leave):
            self._ending = Ending.LEFT
        else:
            self._try(reply)

    def _try(self, action: a.Action) -> bool:
        """Try an action; True where it was accepted and recorded."""
        decision = self._run.decide(action)
        if decision.entry is not None and not self._record(
            decision.entry, quiet=decision.refusal is not None
        ):
            return False
        if decision.refusal is not None:
            self._console.say([f"Not accepted: {decision.refusal.text}"])
            if decision.refusal.lift:
                self._console.say([f"  way on: {decision.refusal.lift}"])
            return False
        if isinstance(action, a.Pause) and decision.entry is not None:
            self._ending = Ending.LEFT
        if isinstance(action, (a.AcceptHandover, a.TakeOverAlone)):
            self._acting = ""
        return True

    def _record(self, entry: Entry, *, quiet: bool = False) -> bool:
        """Record one entry, and only then say so; False where it is not in the log."""
        try:
            self._run.record(entry)
        except Unwritable as error:
            self._console.say([f"NOT RECORDED: {error}"])
            return False
        except LogError as error:
            self.unrecorded = error  # first: saying so may fail as well, on the same full disk
            self._console.say([str(error)])
            if not (isinstance(error, NotRecorded) and error.may_retry):
                self._ending = Ending.NOT_RECORDED
            return False
        self.unrecorded = None
        before = self._run.job
        self._run.apply(entry)
        if not quiet:
            self._console.say([f"recorded {entry.stamp.clock_text()} {self._words(entry)}"])
            self._console.say(drawing.proof_lines(answer_lines(entry, before, self._run.job)))
        return True

    def _words(self, entry: Entry) -> str:
        first, rest = entry.events[0], entry.events[1:]
        told = [sentence(event, self._names) for event in rest if event.kind not in _SILENT]
        return "; ".join([sentence(first, self._names), *told])

    def _pass_time(self) -> None:
        """Let the clock open windows and end waits; nothing is said where nothing happened."""
        view = self._run.view
        if self._run.path is None or view.demand.kind in ("start", "resume", "sealed"):
            return
        who = view.identity.performer
        decision = self._run.decide(a.LetTimePass(who=who, stamp=self._run.stamp(), seen=view.seq))
        if decision.entry is not None and decision.refusal is None:
            self._record(decision.entry)

    def _wait(self) -> None:
        """Sleep until the wait on the screen is over."""
        left = self._view().demand.until_ms
        if left <= 0:
            self._console.say(["Nothing is to be waited for here."])
            return
        self._console.say([f"Waiting {-(-left // 1000)} s. Ctrl+C leaves; nothing is lost."])
        self._sleep(left / 1000 + 0.001)

    def _pause_and_leave(self, note: str) -> None:
        """The input is over: pause, so that the log tells why, and leave."""
        view = self._run.view
        self._ending = Ending.LEFT
        if self._run.path is None or view.demand.kind in ("resume", "sealed"):
            return
        who = self._acting or view.identity.performer
        self._try(a.Pause(note=note, who=who, stamp=self._run.stamp(), seen=view.seq))

    def _start(self, view: View) -> None:
        """Ask who, what and the counters; nothing exists before the answer is recorded."""
        answers: list[str] = []
        offer = f" [Enter: {self._offered}]" if self._offered else ""
        counters = view.demand.options
        for prompt in (f"Performer{offer}> ", "Work piece> ", *(f"{option.label}> " for option in counters)):
            line = self._console.ask(prompt)
            if line is None or parse_line(line) == Typed("quit", command=True):
                self._ending = Ending.LEFT
                return
            answers.append(line.strip().removeprefix("=").strip())
        named = tuple((option.key, text) for option, text in zip(counters, answers[2:], strict=True))
        self._try(
            a.Start(
                who=answers[0] or self._offered,
                work_piece=answers[1],
                counters=named,
                stamp=self._run.stamp(),
                seen=self._run.view.seq,
            )
        )

    def _say_goodbye(self) -> None:
        if self._ending is Ending.SEALED:
            self._console.say(["", *self._run.summary()])
            if self._run.job.outcome == "abandoned":
                self._console.say(["", "For the tag on the work:", *self._run.make_safe_tag()])
        elif self._run.path is None:
            self._console.say(["No run was started; nothing was written."])
        else:
            self._console.say(
                [
                    f"The run is not finished. Receipt code so far: {self._run.receipt}",
                    f"Go on with: witnessmark resume {self._run.path}",
                ]
            )


def _is_answer(kind: str, text: str) -> bool:
    """Whether a line is no name but already the answer; the engine then says who may give it."""
    if kind == "hold":
        return text.split(maxsplit=1)[0].casefold().rstrip(":") in ("release", "refuse")
    return text[0] in "+-.,0123456789"


_OTHERS = {
    "second reading": "what do you read? The first value is not shown.",
    "hold": "release or refuse? Add what you saw.",
}
