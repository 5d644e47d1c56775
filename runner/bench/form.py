"""What the bench asks of a person: fields, one at a time, and what becomes of the answers.

A demand of the gate and a dialog are the same thing here. A field is a line to type on, options to pick from, or
both (a list whose picked line takes a word as well). Digits pick options and Enter confirms the pick, so that no
single key answers anything; where the options are of the kind that has a right answer, none is picked beforehand.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Literal, NamedTuple

from runner.bench.entry import Entry
from runner.frozen import Frozen
from runner.job.actions import Action
from runner.job.demand import Option
from runner.stamp import Stamp
from runner.toolwords import is_value
from runner.view import ProofLine

ME = ""
"""As `who` of an action: the performer named in the view, filled in when it is sent."""
LATER = Stamp(0, 0, 0, "")
"""As `stamp` of an action: the moment it is sent, filled in then."""

Values = Mapping[str, str]


class Reader(Frozen):
    """A text to read, longer than the screen if need be; nothing can be confirmed in it."""

    title: str
    lines: tuple[tuple[str, str], ...]
    """(label, text): a label stands before its text, the text is wrapped. An empty label continues."""
    at: int = 0
    """The line to show first."""


class Leave(Frozen):
    """Leave the bench without recording more."""


Make = Callable[[Values], "Result"]


class Field(Frozen):
    """One thing asked."""

    key: str
    label: str
    options: tuple[Option, ...] = ()
    typing: bool = True
    """Whether letters are typed here; with options, the typed word belongs to the picked one."""
    required: bool = True
    default: str = ""
    """Offered on the line (or as the picked option's key); it counts only when confirmed."""
    hint: str = ""
    unit: str = ""
    """Written behind the line to type on."""
    aside: str = ""
    """A word behind what Enter does, while nothing is typed."""
    when: Callable[[Values], bool] | None = None
    """Whether it is asked at all, given the earlier answers."""
    check: Callable[[str], str] | None = None
    """What is wrong with what was typed; nothing where it will do."""
    number: bool = False
    """A quantity: `?` is then no letter of it and explains instead."""


class Kept(NamedTuple):
    """What stands in a form at one moment: the place, the line, and what is picked."""

    place: int
    text: str
    cursor: int
    digits: str
    picked: int | None
    problem: str


Outcome = Literal["ignored", "handled", "asked more", "finished", "back"]


@dataclass(slots=True)
class Form:
    """Fields being answered. `confirm` is a sentence that needs the letter Y after the last field, not Enter."""

    title: str
    fields: tuple[Field, ...]
    make: Make
    enter: str = "go on"
    """What Enter does at the last field, in words."""
    confirm: str = ""
    lead: tuple[str, ...] = ()
    foresee: "Foresee | None" = None
    """The act that the answers so far come to, about which the proof is asked before it is recorded."""
    answer: tuple[ProofLine, ...] = ()
    """What the proof answered."""
    answer_to: tuple[int, Action] | None = None
    """The picture and the act to which it answered."""
    values: dict[str, str] = field(default_factory=dict)
    place: int = 0
    entry: Entry = field(default_factory=Entry)
    digits: str = ""
    picked: int | None = None
    problem: str = ""

    def __post_init__(self) -> None:
        self._settle(0, 1)

    @property
    def current(self) -> Field | None:
        """The field being answered; None when only the confirming letter is left."""
        return self.fields[self.place] if self.place < len(self.fields) else None

    @property
    def unconfirmed(self) -> str:
        """What was typed on the line and not yet confirmed; nothing where only what was offered stands there."""
        offered = self.values.get(self.current.key, self.current.default) if self.current else ""
        return "" if self.entry.text == offered else self.entry.text

    @property
    def spent(self) -> bool:
        """Whether every field is answered and nothing is left to confirm."""
        return self.current is None and not self.confirm

    @property
    def kept(self) -> Kept:
        """What stands here now."""
        entry = self.entry
        return Kept(self.place, entry.text, entry.cursor, self.digits, self.picked, self.problem)

    def put_back(self, kept: Kept) -> None:
        """Stand as it stood; only where the same field is still asked."""
        if kept.place == self.place:
            self.entry = Entry(kept.text, kept.cursor)
            self.digits, self.picked, self.problem = kept.digits, kept.picked, kept.problem

    def takes_line(self, line: str) -> bool:
        """Put a line that came quicker than a hand types on an empty line to type on, unconfirmed, where it may belong.

        A scanned number does anywhere; a value with its unit does only where a value is asked.
        """
        at = self.current
        if at is None or not at.typing or self.entry.text or (not at.number and is_value(line)):
            return False
        return self.entry.insert(line)

    @property
    def answered(self) -> list[tuple[Field, str]]:
        """The fields answered so far, with their answers in words."""
        return [(each, self._words(each)) for each in self.fields[: self.place] if self._asked(each)]

    def key(self, key: str, char: str | None) -> Outcome:
        """Take a key. Finishing only says so; the caller then uses `result`."""
        self.problem = ""
        if self.current is None:
            return self._confirming(key, char)
        if key == "enter":
            return self._enter(self.current)
        if key == "shift+tab":
            return "handled" if self._back() else "back"
        if self.current.options and self._pick(self.current, key, char):
            return "handled"
        if not self.current.typing and not self.current.options and char is not None and char.isprintable():
            return self._nowhere(char)
        return "handled" if self.current.typing and self._type(key, char) else "ignored"

    def _nowhere(self, char: str) -> Outcome:
        """A letter where nothing is typed: whoever types a value means it, and Enter must not say something else."""
        self.digits = (self.digits + char)[-12:]
        self.problem = f"Nothing is typed here: {self.digits} is not taken. Enter says: {self.enter}."
        return "handled"

    def paste(self, text: str) -> bool:
        """Take pasted text where there is a line to type on."""
        if self.current is None or not self.current.typing:
            return False
        if not self.entry.insert(text):
            self.problem = "That is longer than a line here may be; the rest was not taken."
        return True

    def choose(self, option: int) -> None:
        """Pick option number `option` (from 0), as a mouse does; it still has to be confirmed."""
        if self.current and 0 <= option < len(self.current.options):
            self.picked, self.digits = option, ""

    @property
    def result(self) -> "Result":
        """What the answers give."""
        return self.make(dict(self.values))

    def _confirming(self, key: str, char: str | None) -> Outcome:
        if key in {"y", "Y"} or char in {"y", "Y"}:
            return "finished"
        if key == "shift+tab":
            return "handled" if self._back() else "back"
        if key == "enter":
            self.problem = "Enter does not confirm this: press Y, or Esc to leave it."
            return "handled"
        return "ignored"

    def _enter(self, at: Field) -> Outcome:
        typed = self.entry.text.strip()
        if at.options:
            if self.picked is None:
                self.problem = "Pick one first: its number, or the arrow keys."
                return "handled"
            self.values[at.key] = at.options[self.picked].key
            if at.typing:
                self.values[f"{at.key} word"] = typed
        elif not at.typing and self.digits:
            self.digits = ""
            self.problem = f"What was typed is not taken. Enter once more says: {self.enter}."
            return "handled"
        elif at.required and not typed:
            self.problem = f"{at.label}: nothing is typed yet." if at.label else "Nothing is typed yet."
            return "handled"
        elif at.check is not None and (wrong := at.check(typed)):
            self.problem = wrong
            return "handled"
        else:
            self.values[at.key] = typed
        self._settle(self.place + 1, 1)
        return "finished" if self.current is None and not self.confirm else "asked more"

    def reset(self) -> None:
        """Go back to the last field with its answer offered again, after a refusal."""
        self._settle(max(len(self.fields) - 1, 0) if self.place >= len(self.fields) else self.place, -1)

    def restart(self) -> None:
        """Go back to the first field, every answer offered again."""
        self._settle(0, 1)

    def _back(self) -> bool:
        if not any(self._asked(each) for each in self.fields[: self.place]):
            return False
        self._settle(self.place - 1, -1)
        return True

    def _asked(self, each: Field) -> bool:
        return each.when is None or each.when(self.values)

    def _settle(self, place: int, step: int) -> None:
        """Stand at the next field that is asked, with its earlier answer or its default offered."""
        while 0 <= place < len(self.fields) and not self._asked(self.fields[place]):
            place += step
        self.place = min(max(place, 0), len(self.fields))
        self.digits, self.picked, self.entry = "", None, Entry()
        at = self.current
        if at is None:
            return
        offered = self.values.get(at.key, at.default)
        if at.options:
            keys = [option.key for option in at.options]
            self.picked = keys.index(offered) if offered in keys else None
        else:
            self.entry = Entry.of(offered)

    def _pick(self, at: Field, key: str, char: str | None) -> bool:
        last = len(at.options) - 1
        if key in {"down", "up"}:
            step = 1 if key == "down" else -1
            start = -1 if step == 1 else last + 1
            self.picked = min(max((start if self.picked is None else self.picked) + step, 0), last)
        elif key in {"pagedown", "pageup"}:
            step = 5 if key == "pagedown" else -5
            self.picked = min(max((self.picked or 0) + step, 0), last)
        elif at.typing:
            return False
        elif key in {"home", "end"}:
            self.picked = 0 if key == "home" else last
        elif key == "backspace":
            self.digits = self.digits[:-1]
            self._pick_number(last)
            return True
        elif char is not None and char in "0123456789":
            longer = self.digits + char
            self.digits = longer if 1 <= int(longer) <= last + 1 else char
            self._pick_number(last)
            return True
        elif char is not None and char.isprintable():
            # A word with a digit in it, typed or scanned in the wrong place, must not leave an answer picked.
            self.problem = "Nothing is typed here: pick by number or with the arrow keys."
            self.digits, self.picked = "", None
            return True
        else:
            return False
        self.digits = ""
        return True

    def _pick_number(self, last: int) -> None:
        number = int(self.digits) if self.digits else 0
        if 1 <= number <= last + 1:
            self.picked = number - 1
        else:
            self.digits, self.picked = "", None

    def _type(self, key: str, char: str | None) -> bool:
        if self.entry.edit(key):
            return True
        if char is not None and char.isprintable():
            return self.entry.insert(char)
        return False

    @property
    def free_of_question_marks(self) -> bool:
        """Whether a question mark is no letter of what is being typed."""
        return self.current is None or not self.current.typing or self.current.number

    def _words(self, each: Field) -> str:
        value = self.values.get(each.key, "")
        label = next((option.label for option in each.options if option.key == value), value)
        word = self.values.get(f"{each.key} word", "")
        return f"{label}: {word}" if word else label


Foresee = Callable[[Values], Action | None]
"""None where the answers so far do not come to an act yet."""

Result = Action | Form | Reader | Leave | str
"""What a finished form gives: something to send, something to show next, the way out, or a message."""
