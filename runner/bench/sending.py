"""What the desk does with a line that a wrench sends: its letters taken back, the line kept, shown and said."""

from abc import ABC, abstractmethod
from dataclasses import replace
from typing import NamedTuple

from runner.bench.engine import BenchRun, Refused
from runner.bench.entry import Entry as Line
from runner.bench.form import Form, Kept, Reader
from runner.bench.scene import Message, Scene
from runner.bench.sent import MOST, Arriving, Waiting
from runner.bench.writer import Entry
from runner.frozen import Frozen
from runner.job.demand import Demand
from runner.toolwords import is_value
from runner.view import View


class Pending(Frozen):
    """An entry on its way to the log; `quiet` where the clock made it and nobody waits for it."""

    entry: Entry
    refusal: Refused | None
    quiet: bool


class Before(NamedTuple):
    """What letters that may be a line's are typed into, as it was before the first of them."""

    form: Form | None
    kept: Kept | None
    ahead: str
    reader_at: int


class Sending(ABC):
    """The part of a `Desk` that knows of wrenches; it confirms nothing, and shows a line only where one is asked."""

    run: BenchRun
    view: View
    message: Message
    stack: list[Form | Reader]
    reader_at: int
    _asked: Form | None
    _ahead: Line
    _pending: Pending | None
    _sent_from: Form | Reader | None
    _arriving: Arriving
    _sent: Waiting
    _unsaid: Message | None
    _before: Before

    @property
    @abstractmethod
    def scene(self) -> Scene:
        """What to draw now."""

    def _waits(self, top: Form | Reader | None) -> bool:
        """Whether what is in front has been answered and waits for its entry, so that keys are not for it."""
        return top is None or top is self._sent_from

    @abstractmethod
    def _changed(self) -> None:
        """Something else is asked or stands on the line: what was painted before confirms nothing any more."""

    @property
    def _bare(self) -> bool:
        """Whether nothing typed by hand stands where a letter would go now."""
        if self._pending is not None:
            return not self._ahead.text
        form = self.scene.form
        return form is None or form.entry.text in {"", self._sent.shown if form is self._asked else ""}

    @property
    def _sent_on_line(self) -> str:
        """The line sent that stands on the line to type on, whatever letters of another one are coming behind it."""
        if self._asked is None:
            return ""
        coming = self._arriving.text and self._before.form is self._asked and self._before.kept
        text = coming.text if coming else self._asked.entry.text
        return self._sent.shown if text == self._sent.shown else ""

    def _keep(self) -> Before:
        form = self.scene.form
        return Before(form, form.kept if form else None, self._ahead.text, self.reader_at)

    def _take_line(self, line: str) -> None:
        """A whole line came quicker than a hand types: whatever its letters did is undone."""
        form, kept, ahead, self.reader_at = self._before
        if form is not None and kept is not None and form is self.scene.form:
            form.put_back(kept)
        self._ahead = Line.of(ahead)
        words, top = line.strip(), self.stack[-1] if self.stack else None
        on_its_way = self._pending is not None and not self._pending.quiet and self._waits(top)
        if on_its_way or (top is None and _measured(self._asked, self.view.demand)):
            if not self._sent.add(words):
                self._say(f"{MOST} lines of the wrench wait already: {words} was not taken.")
            self._offer()
        elif not isinstance(top, Reader) and form is not None and form.takes_line(words):
            self._say("That came quicker than a hand types, and is not confirmed: look at it, then Enter.")
        elif is_value(words):
            self._say(f"A wrench sent {words}; nothing measured is asked here. It is not recorded.")
        else:
            self._say(f"{words} came quicker than a hand types and confirmed nothing. Press it again.")
        self._changed()

    def _offer(self) -> None:
        """Put the next line sent on the line to type on, if that is what is asked and nothing stands there."""
        form = self._asked
        busy = self._pending is not None or self._ahead.text or self.stack
        if form is None or busy or form.entry.text or not _measured(form, self.view.demand):
            return
        if not self._sent_on_line:
            self._sent.done()  # it was rubbed out by hand
        line = self._sent.show()
        if line:
            form.entry = Line.of(line)
            self._changed()

    def _settle_line(self, asked: Demand) -> None:
        """An entry is recorded: the line sent that it came from is done, and one for another fastener does not stay."""
        if self._sent_from is None or not self._sent_on_line:
            self._sent.done()
        elif question(asked) != question(self.run.view.demand):
            self._say(f"Dropped: {self._sent.done()}, which a wrench sent for what was asked before.")

    def _type_what_waited(self, form: Form) -> None:
        """Type what was typed ahead; the letters of a line still coming may have to be taken away again."""
        typed, coming = self._ahead.text, self._arriving.text
        if coming and typed.endswith(coming):
            form.paste(typed.removesuffix(coming))
            self._ahead = Line()
            self._before = self._keep()
            form.paste(coming)
        else:
            form.paste(typed)

    def _say(self, text: str) -> None:
        """Say it, or later where what stands there must not be covered."""
        if self.message.kind in {"saving", "not recorded"}:
            self._unsaid = Message("said", text)
        else:
            self.message = Message("said", text)

    def _say_later(self) -> None:
        if self._unsaid is not None and self.message.kind == "quiet":
            self.message, self._unsaid = self._unsaid, None


def _measured(form: Form | None, demand: Demand) -> bool:
    """Whether a value that was read is what is typed now."""
    current = form.current if form else None
    typed = current is not None and current.typing and current.number
    return typed and demand.kind in {"tighten", "reading", "second reading", "stop"}


def question(demand: Demand) -> Demand:
    """The demand without the time that runs down in it."""
    return replace(demand, until_ms=0, prompt="" if demand.kind in {"wait", "due"} else demand.prompt)
