"""The error of this package, the form it shares with others of its kind, and how it quotes what a person typed."""

_LONGEST_QUOTE = 40


def quoted(text: str) -> str:
    """Return `text` in quotes for a message: shortened, and with nothing in it that a terminal would obey."""
    short = text if len(text) <= _LONGEST_QUOTE else text[: _LONGEST_QUOTE - 1] + "…"
    return (
        '"' + "".join(ch if ch.isprintable() else ch.encode("unicode_escape").decode() for ch in short) + '"'
    )


class NotTakenError(ValueError):
    """Something given that is refused. The message is one sentence of its parts.

    found: what was given, as given. because: what is wrong with it, as a predicate. expected: what would have
    been accepted, in words. near: the nearest known word, or None.
    """

    def __init__(self, found: str, because: str, expected: str, near: str | None = None) -> None:
        self.found = found
        self.because = because
        self.expected = expected
        self.near = near
        hint = f" (did you mean {near}?)" if near else ""
        super().__init__(f"{quoted(found)} {because}; expected {expected}{hint}")


class QuantityError(NotTakenError):
    """Text (or a unit, or a value) that is no quantity here."""
