"""The shape of a page of `check --explain`."""

from runner.frozen import Frozen


class Page(Frozen):
    """What is said of one rule beyond its sentence.

    `why` is what happens at the bench without it. `wrong` is a procedure that breaks this rule and no other,
    `right` the same mended; both leave out the keys that every file needs. `files` are the files they use, by
    path. Both are empty where no short procedure can show it.
    """

    why: str
    wrong: str
    right: str
    files: tuple[tuple[str, str], ...] = ()
