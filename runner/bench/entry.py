"""One line of typing: text and a cursor. It judges nothing; the engine parses what was typed, letter for letter."""

from dataclasses import dataclass

LONGEST = 2000
"""More than this is no line of typing; the rest is not taken and the caller says so."""


@dataclass(slots=True)
class Entry:
    """The line; `cursor` counts characters from the left."""

    text: str = ""
    cursor: int = 0

    @classmethod
    def of(cls, text: str) -> "Entry":
        """A line with `text` on it and the cursor at its end."""
        return cls(text, len(text))

    def insert(self, text: str) -> bool:
        """Put `text` at the cursor, line breaks as spaces; False where there was no room for all of it."""
        flat = " ".join(text.splitlines()) if "\n" in text or "\r" in text else text
        taken = flat[: max(LONGEST - len(self.text), 0)]
        self.text = self.text[: self.cursor] + taken + self.text[self.cursor :]
        self.cursor += len(taken)
        return len(taken) == len(flat)

    def edit(self, key: str) -> bool:
        """Act on an editing key; False where the key is none."""
        before, after = self.text[: self.cursor], self.text[self.cursor :]
        match key:
            case "backspace":
                before = before[:-1]
            case "delete":
                after = after[1:]
            case "ctrl+u":
                before = ""
            case "ctrl+k":
                after = ""
            case "ctrl+w":
                kept = before.rstrip()
                before = kept[: kept.rfind(" ") + 1]
            case "left":
                before, after = before[:-1], before[-1:] + after
            case "right":
                before, after = before + after[:1], after[1:]
            case "home":
                before, after = "", before + after
            case "end":
                before, after = before + after, ""
            case _:
                return False
        self.text, self.cursor = before + after, len(before)
        return True
