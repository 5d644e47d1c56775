"""The bench without a terminal: keys go in, actions go to the run, a scene to draw comes out.

It decides nothing about the work; the engine does. What it does decide is which keys count: none confirms anything
that was not on the screen when it was pressed, none while an entry is not yet durable, a bouncing or held Enter
counts once, and what comes quicker than a hand types (`sent`) confirms nothing at all.
"""

from dataclasses import replace
from typing import NamedTuple

from runner.bench.asks import ask
from runner.bench.engine import BenchRun, Refused
from runner.bench.entry import Entry as Line
from runner.bench.form import Form, Leave, Reader, Result
from runner.bench.keys import BY_KEY, Command, Here
from runner.bench.scene import Message, Scene
from runner.bench.sending import Pending, Sending, question
from runner.bench.sent import Arriving, Waiting
from runner.bench.theme import Look
from runner.bench.writer import Entry, Outcome, Recorder, Saved, SaveFailed
from runner.frozen import Frozen
from runner.job.actions import Action, LetTimePass
from runner.view import View

EXIT_SEALED, EXIT_UNSEALED, EXIT_NOT_RECORDED = 0, 3, 5
"""How the bench is left: with a sealed run, with a run to resume, with an entry that could not be recorded."""


class Key(NamedTuple):
    """A key press: its name, the letter it types if any, and when it came (seconds, the clock of `Pace`)."""

    name: str
    char: str | None
    at: float


class Pace(Frozen):
    """How quick is too quick, in seconds: between two Enters, after a dialog came up, between two keys of a hand."""

    enter_gap: float = 0.15
    dialog_rest: float = 0.25
    hand_gap: float = 0.03


_BEFORE_WORK = frozenset({"start", "choose", "prepare", "resume", "reconfirm"})
"""What is asked while there is time to put right what the run found odd."""
_EARLY = Message("said", "That key came before this was on the screen. Press it again.")


class Desk(Sending):
    """One bench at work on one run."""

    def __init__(
        self, run: BenchRun, recorder: Recorder, look: Look, *, performer: str = "", pace: Pace | None = None
    ) -> None:
        self.run = run
        self.recorder = recorder
        self.look = look
        self.performer = performer
        self.pace = pace or Pace()
        self.view = run.view
        self.message = Message()
        self.stack: list[Form | Reader] = []
        self.reader_at = 0
        self.left: int | None = None
        self.ring = False
        self.shown = 0
        """Raised whenever something else is asked; the screen says which one it has painted."""
        self._painted = (-1, 0.0)
        self._last_enter = float("-inf")
        self._pending: Pending | None = None
        self._failed: SaveFailed | None = None
        self._unrecorded = False
        """Whether the last thing tried is not in the log, be it still offered or dropped."""
        self._sent_from: Form | Reader | None = None
        self._ahead = Line()
        self._asked = ask(self.view, performer)
        self._arriving = Arriving(self.pace.hand_gap)
        self._sent = Waiting()
        self._unsaid: Message | None = None
        self._before = self._keep()

    # What is drawn

    @property
    def scene(self) -> Scene:
        """What to draw now."""
        top = self.stack[-1] if self.stack else None
        ended = self.view.demand.kind == "sealed"
        return Scene(
            view=self.view,
            look=self.look,
            form=top if isinstance(top, Form) else None if top else self._asked,
            dialog=isinstance(top, Form),
            reader=top if isinstance(top, Reader) else None,
            reader_at=self.reader_at,
            message=self.message,
            sent=self._asked is not None
            and bool(self._sent.shown)
            and self._asked.entry.text == self._sent.shown,
            waiting=len(self._sent.lines),
            findings=self.run.findings if self.view.demand.kind in _BEFORE_WORK else (),
            ending=self.run.summary() if ended else (),
        )

    @property
    def saving(self) -> bool:
        """Whether an entry is on its way to the log."""
        return self._pending is not None

    @property
    def exit_code(self) -> int:
        """The code to leave with at this moment."""
        if self._unrecorded:
            return EXIT_NOT_RECORDED
        return EXIT_SEALED if self.view.demand.kind == "sealed" else EXIT_UNSEALED

    def painted(self, shown: int, at: float) -> None:
        """The screen has painted what was shown as number `shown`."""
        if self._painted[0] != shown:
            self._painted = (shown, at)

    # Keys

    def key(self, key: Key) -> None:
        """Take one key."""
        line = self._arriving.key(key.name, key.char, key.at, bare=self._bare)
        if line is not None:
            self._last_enter = key.at  # a bounce of it is no press of a hand either
            self._take_line(line)
            return
        if self._arriving.began:
            self._before = self._keep()
        if key.name == "enter":
            too_soon = key.at - self._last_enter < self.pace.enter_gap
            self._last_enter = key.at
            if too_soon:
                return
        top = self.stack[-1] if self.stack else None
        command = self._command(key, top)
        if command is not None:
            self._open(command)
        elif isinstance(top, Reader):
            self._scroll(key.name)
        elif self._failed is not None and self._waits(top):
            self._after_failure(key)
        elif self._pending is not None and self._waits(top):
            self._type_ahead(key)
        elif key.name == "escape":
            self._escape()
        elif self._confirms(key, top) and self._is_early(key):
            self.message = _EARLY
            # It confirmed nothing, so the next press is a press of its own and no bounce of this one.
            self._last_enter = float("-inf")
        else:
            self._answer(key, top)

    def paste(self, text: str) -> None:
        """Take pasted text; a line break in it confirms nothing."""
        form = self.scene.form
        if self._pending is not None:
            self._ahead.insert(text)
        elif form is not None and not form.paste(text):
            self.message = Message("said", "There is no line to paste on here.")

    def choose(self, option: int) -> None:
        """Pick an option by mouse; it still has to be confirmed."""
        form = self.scene.form
        if form is not None and self._pending is None:
            form.choose(option)

    def _command(self, key: Key, top: Form | Reader | None) -> Command | None:
        form = self.scene.form
        if key.char == "?" and not isinstance(top, Reader) and (form is None or form.free_of_question_marks):
            return BY_KEY["f1"]
        command = BY_KEY.get(key.name)
        if command is None or (isinstance(top, Reader) and command.id in {"explain", "look"}):
            return None
        busy = self._pending is not None or self._failed is not None or top is not None
        if busy and not command.always:
            return None
        return command

    def _open(self, command: Command) -> None:
        form, message = self.scene.form, (self.message.text, self.message.lift)
        typed = form.unconfirmed if form is not None else ""
        answer = form.answer if form is not None else ()
        here = Here(self.view, self.look.signs, message, self._failed is not None, typed, answer)
        self._take(command.open(here))

    def _confirms(self, key: Key, top: Form | Reader | None) -> bool:
        last_letter = isinstance(top, Form) and top.current is None
        return key.name == "enter" or last_letter or (self._asked is not None and self._asked.current is None)

    def _is_early(self, key: Key) -> bool:
        shown, at = self._painted
        rest = self.pace.dialog_rest if self.stack else 0.0
        return shown != self.shown or key.at < at + rest

    def _answer(self, key: Key, top: Form | Reader | None) -> None:
        form = top if isinstance(top, Form) else self._asked
        if form is None:
            if key.name == "enter":
                self._nothing_to_answer()
            return
        if form.current is None and key.char is not None and self._arriving.quick:
            return  # a letter in the middle of a line that is sent is nobody's word
        match form.key(key.name, key.char):
            case "finished":
                self._take(form.result)
            case "asked more":
                self._changed()
            case "back" if self.stack:
                self._escape()
            case "handled" if self.message.kind == "said":
                self.message = Message()
            case _:
                pass

    def _nothing_to_answer(self) -> None:
        if self.view.demand.kind == "sealed":
            self._open(BY_KEY["f10"])
            return
        self.message = Message(
            "refused", "Enter answers nothing here.", "F1 says why, F9 lists what may be done"
        )

    def _escape(self) -> None:
        if self.stack:
            self.stack.pop()
            self.message = Message()
            below = self.stack[-1] if self.stack else None
            if isinstance(below, Form):
                below.reset()  # a menu asks again what to open
            elif below is None and self._asked is not None and self._asked.spent:
                self._asked.restart()  # so does a list of the demand that opened a dialog
            self._changed()
            self._offer()
        elif self._asked is not None:
            dropped = self._sent.done() if self._sent_on_line else ""
            self._asked = ask(self.view, self.performer)
            self.message = Message("said", f"Dropped, and not recorded: {dropped}") if dropped else Message()
            self._offer()

    def _scroll(self, name: str) -> None:
        steps = {
            "down": 1,
            "up": -1,
            "pagedown": 10,
            "pageup": -10,
            "space": 10,
            "end": 1_000_000,
            "home": -1_000_000,
        }
        if name in {"escape", "enter", "f1", "f6"}:
            self._escape()
        else:
            self.reader_at = max(self.reader_at + steps.get(name, 0), 0)

    def hold_scroll(self, last: int) -> None:
        """The screen says how far the text goes."""
        self.reader_at = min(self.reader_at, last)

    # What becomes of an answer

    def _take(self, result: Result) -> None:
        match result:
            case Form() | Reader():
                self.stack.append(result)
                if isinstance(result, Form) and self._failed is None:
                    self.message = Message()
                self.reader_at = result.at if isinstance(result, Reader) else 0
                self._changed()
            case Leave():
                self.left = self.exit_code
            case str():
                self.message = Message("said", result)
                self._again()
            case _:
                self._send(result)

    def _again(self) -> None:
        """Offer the answers of the form at the front once more."""
        form = self.scene.form
        if form is not None and form is self._asked:
            form.restart()  # what was wrong may stand in the first field: the wrong person's name
        elif form is not None:
            form.reset()
        self._changed()

    def _send(self, action: Action) -> None:
        ready = replace(action, who=action.who or self._who, stamp=self.run.stamp(), seen=self.view.seq)
        decision = self.run.decide(ready)
        if decision.entry is not None:
            self._record(Pending(decision.entry, decision.refusal, quiet=False))
        elif decision.refusal is not None:
            self._refused(decision.refusal)
        else:
            self._again()

    @property
    def _who(self) -> str:
        return self.view.identity.performer or self.performer

    def _record(self, pending: Pending) -> None:
        self._pending = pending
        self._sent_from = self.stack[-1] if self.stack else None
        if not pending.quiet:
            self.message = Message("saving")
        self._ahead = Line()
        self.recorder.put(pending.entry)

    def _refused(self, refusal: Refused) -> None:
        self.message = Message("refused", refusal.text, refusal.lift)
        self._again()

    def told(self, outcome: Outcome) -> None:
        """The writer says what became of the entry."""
        if isinstance(outcome, Saved):
            self._saved(outcome.entry)
        else:
            self._save_failed(outcome)

    def _saved(self, entry: Entry) -> None:
        pending, self._pending = self._pending, None
        self._failed, self._unrecorded = None, False
        asked = self.view.demand
        self.run.apply(entry)
        refusal = pending.refusal if pending else None
        if pending is None or not pending.quiet:
            self.message = Message()
        fresh = refusal is None and not (pending and pending.quiet)
        if fresh:
            self.stack.clear()
            self._settle_line(asked)
        self.adopt(self.run.view, fresh=fresh)
        if refusal is not None:
            self._refused(refusal)
        if self._ahead.text and self._asked is not None and not self.stack:
            self._type_what_waited(self._asked)
        self._ahead = Line()
        self._say_later()
        self._offer()

    def _save_failed(self, outcome: SaveFailed) -> None:
        if outcome.may_retry or outcome.run_over:
            self._failed, self._unrecorded = outcome, True
            lift = "Enter tries again, Esc drops the entry" if outcome.may_retry else ""
            close = "" if outcome.may_retry else ". The run must be closed and resumed: F10."
            self.message = Message("not recorded", outcome.why + close, lift)
        else:
            self._pending = None
            self.message = Message(
                "refused", f"NOT RECORDED: {outcome.why}", "change the entry and try again"
            )
            self._again()

    def _after_failure(self, key: Key) -> None:
        failed = self._failed
        if failed is None or not failed.may_retry:
            return
        if key.name == "enter":
            self._failed = None
            self.message = Message("saving")
            self.recorder.put(failed.entry)
        elif key.name == "escape":
            self._failed, self._pending = None, None
            self.message = Message("said", "The entry was dropped. It is not recorded.")
            self._again()
            self._offer()

    def _type_ahead(self, key: Key) -> None:
        if not self._ahead.edit(key.name) and key.char is not None and key.char.isprintable():
            self._ahead.insert(key.char)

    # The picture

    def adopt(self, view: View, *, fresh: bool = False) -> None:
        """Take a new picture. What is being typed stays as long as the same thing is asked."""
        before, self.view = self.view, view
        if fresh or question(before.demand) != question(view.demand):
            if self._sent_on_line:
                self._sent.put_back()
            if self.message.kind == "refused":
                # It was said about what was asked before: beside another question it would speak of that one.
                self.message = Message()
            self._asked = ask(view, self.performer)
            self._changed()
            if self._arriving.text:
                self._before = self._keep()
            self._offer()
        new = {line.key for line in view.owed if line.ready} - {
            line.key for line in before.owed if line.ready
        }
        # What somebody has just named or put off is no cue: it is done at any time before it is due.
        new -= {line.key for line in view.owed if line.status == "passed by"}
        if new:
            self.ring = True
            self._announce(view, new)

    def _announce(self, view: View, keys: set[str]) -> None:
        if view.demand.kind in {"cue", "due"} or self.message.kind not in {"quiet", "said"}:
            return
        line = next(line for line in view.owed if line.key in keys)
        words = f"{line.where}: {line.what}" if line.where else line.what
        words = words.rstrip(".")
        self.message = Message("cue", f"{words}. It comes right after the step in hand.")

    def _changed(self) -> None:
        self.shown += 1
        top = self.stack[-1] if self.stack else None
        if isinstance(top, Form) and top.foresee is not None and self._pending is None:
            act = top.foresee(dict(top.values))
            asked = (self.view.seq, replace(act, who=act.who or self._who)) if act is not None else None
            if asked != top.answer_to:
                top.answer = self.run.foresee(asked[1]) if asked is not None else ()
                top.answer_to = asked

    def tick(self) -> None:
        """A second has passed: windows may open, waits may end."""
        if self._pending is not None or self._failed is not None or self.left is not None:
            return
        if self.view.demand.kind in {"start", "sealed"}:
            return
        now = self.run.stamp()
        decision = self.run.decide(LetTimePass(who=self._who, stamp=now))
        if decision.entry is not None:
            self._record(Pending(decision.entry, None, quiet=True))
        else:
            self.adopt(self.run.picture(now))
