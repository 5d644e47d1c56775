"""Lines that an electronic wrench sends as if it were a keyboard: blanks, a value, a unit, Enter, at machine speed.

Whether a key is a hand's can be told only from how quick it came, and only at the Enter whether the whole line was. So
its letters go where letters go, and at a quick Enter they are taken away again and the line stands here instead: it
confirms nothing by itself. Lines wait in the order in which they came; one at a time is shown for the fastener asked.

A line quicker than `gap` throughout was sent. A hand that rolls over its last two keys is as quick, so behind something
typed a sent line has LEAST letters or more. Over a link that stutters a hand's line may come as quick: then it takes
one more Enter, which is the harmless side.
"""

from dataclasses import dataclass, field

MOST = 50
"""So many lines may wait; more are turned away, and that is said."""
LEAST = 3
"""Letters that a line sent has at least, where something typed by hand stands before it."""
LONGEST = 200
"""Letters kept of a line: no wrench sends more, and a key held down sends for ever."""


@dataclass(slots=True)
class Arriving:
    """Tells lines that are sent from keys that are pressed. `gap` in seconds."""

    gap: float
    text: str = ""
    """The letters so far of what may be a line; nothing once it cannot be one."""
    quick: bool = False
    """Whether the latest key came quicker than a hand's."""
    began: bool = False
    """Whether the latest key may be the first of a line."""
    _at: float = float("-inf")
    _bare: bool = True

    def key(self, name: str, char: str | None, at: float, *, bare: bool) -> str | None:
        """Take a key; the line it ends, where it ends one. `bare`: nothing typed stands where its letters go."""
        self.quick, self._at = at - self._at < self.gap, at
        self.began = False
        if name == "enter":
            line, self.text = self.text, ""
            whole = self.quick and bool(line.strip()) and (self._bare or len(line) >= LEAST)
            return line if whole else None
        if char is None or not char.isprintable():
            self.text = ""
        elif self.quick and self.text:
            self.text = (self.text + char)[-LONGEST:]
        else:
            self.text, self.began, self._bare = char, True, bare
        return None


@dataclass(slots=True)
class Waiting:
    """The lines sent and not yet confirmed, in order; `shown` is the one on the line to type on."""

    lines: list[str] = field(default_factory=list)
    shown: str = ""

    def add(self, line: str) -> bool:
        """Put a line at the end; False where too many wait."""
        if len(self.lines) >= MOST:
            return False
        self.lines.append(line)
        return True

    def show(self) -> str:
        """The next line, now shown; nothing where none waits or one is shown already."""
        if self.shown or not self.lines:
            return ""
        self.shown = self.lines.pop(0)
        return self.shown

    def put_back(self) -> None:
        """The one shown was not confirmed: it is the next again."""
        if self.shown:
            self.lines.insert(0, self.shown)
            self.shown = ""

    def done(self) -> str:
        """The one shown is confirmed or dropped; it is given back."""
        line, self.shown = self.shown, ""
        return line
