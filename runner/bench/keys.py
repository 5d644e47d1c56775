"""The one list of what keys do. The key row, the explanation and the list of everything are drawn from it.

Function keys and Tab arrive whole through tmux and ssh; letters belong to whatever is being typed. Everything with
a function key is also in the list under Tab, so a keyboard without them reaches it too.
"""

from collections.abc import Callable
from functools import partial

from runner.bench.dialogs import different, leaving
from runner.bench.dialogs.deviating import deviate
from runner.bench.dialogs.reading import explain, look_around
from runner.bench.dialogs.saying import note, put_off, take_back, take_up
from runner.bench.dialogs.tools import wrench_in_hand
from runner.bench.form import Field, Form, Result
from runner.bench.theme import Signs
from runner.frozen import Frozen
from runner.job.demand import Option
from runner.view import ProofLine, View


class Here(Frozen):
    """What a command may look at: the picture, the signs to draw with, and the latest message."""

    view: View
    signs: Signs
    message: tuple[str, str] = ("", "")
    lost: bool = False
    """Whether an entry could not be recorded and stands on the screen."""
    typed: str = ""
    """What stands on the line to type on, not confirmed."""
    answer: tuple[ProofLine, ...] = ()
    """What the proof answered to the act that the dialog at the front is about."""


class Command(Frozen):
    """Something a key opens. `id` never changes; `always` where it opens even while an entry is not recorded."""

    id: str
    keys: tuple[str, ...]
    name: str
    label: str
    help: str
    open: Callable[[Here], Result]
    offer: str = ""
    """The name of the action in `View.offers`, where it is one."""
    always: bool = False

    @property
    def key_name(self) -> str:
        """The first key as printed on a keyboard."""
        first = self.keys[0] if self.keys else ""
        return first.upper() if first.startswith("f") else first.capitalize()


def _explain(here: Here) -> Result:
    return explain(here.view, here.signs, here.message, key_help(), here.answer)


def _everything(here: Here) -> Result:
    return everything(here)


COMMANDS: tuple[Command, ...] = (
    Command(
        "explain", ("f1",), "why", "Why", "why the gate is shut, every text in full, all keys", _explain, always=True
    ),
    Command("note", ("f2",), "note", "Note", "a remark for the log", lambda here: note(here.view), "Note"),
    Command(
        "put-off", ("f3",), "put off", "Put off", "put this step off, or pass a cue by",
        lambda here: put_off(here.view), "PutOff",
    ),
    Command(
        "deviate", ("f4",), "deviate", "Deviate", "depart from the procedure, with reason and authority",
        lambda here: deviate(here.view), "Deviate",
    ),
    Command(
        "take-back", ("f5",), "take back", "Take back", "the latest act was confirmed too soon",
        lambda here: take_back(here.view), "TakeBack",
    ),
    Command(
        "look", ("f6",), "look", "Look", "back and ahead, without changing anything",
        lambda here: look_around(here.view, here.signs), always=True,
    ),
    Command(
        "different", ("f7",), "different", "Different",
        "found condition, reopened, extra work, not applicable, correction, other tool",
        lambda here: different.different(here.view),
    ),
    Command(
        "leave", ("f8",), "pause", "Pause", "pause, hand over, take over, abandon",
        lambda here: leaving.leave_or_change(here.view),
    ),
    Command(
        "everything", ("f9", "tab"), "all", "All", "everything that may be done here, and why the rest may not",
        _everything,
    ),
    Command(
        "quit", ("f10", "ctrl+q", "ctrl+c"), "quit", "Quit", "leave the bench; it asks first, and nothing is lost",
        lambda here: leaving.quit_question(here.view, lost=here.lost, typed=here.typed), always=True,
    ),
    Command(
        "take-up", (), "take up", "Take up", "do something that is put off and ready",
        lambda here: take_up(here.view), "TakeUp",
    ),
    Command(
        "wrench", ("f12", "ctrl+t"), "wrench", "Wrench",
        "another wrench for the rest, or an extension on it", lambda here: wrench_in_hand(here.view), "ChangeTool",
    ),
)  # fmt: skip
"""Every command, in the order of the lists."""

_MENUS = {"everything", "different", "leave"}
"""These only group others, which the list of everything names one by one."""

BY_KEY = {key: command for command in COMMANDS for key in command.keys}

KEY_ROW = ("explain", "note", "put-off", "deviate", "different", "everything")
"""The six on the key row; the rest is one key further, under the last of them."""


def key_row_for(view: View) -> tuple[str, ...]:
    """The same, with the wrench in the place of the note while one is what the act is done with."""
    with_wrench = view.demand.kind in {"tighten", "blocked"} and view.demand.tool and view.tools
    return tuple("wrench" if each == "note" and with_wrench else each for each in KEY_ROW)


def key_help() -> tuple[tuple[str, str], ...]:
    """(key, what it does) of every key, for the explanation."""
    rows = [("Enter", "the one thing asked now"), ("1 to 9, arrows", "pick; Enter confirms the pick")]
    rows += [(" or ".join(_printed(key) for key in each.keys), each.help) for each in COMMANDS if each.keys]
    return (*rows, ("Shift+Tab", "one answer back"), ("Esc", "close, or empty the line"))


def _printed(key: str) -> str:
    return "+".join(part.upper() if part.startswith("f") else part.capitalize() for part in key.split("+"))


def everything(here: Here) -> Form:
    """All that may be said or done besides the answer; what the engine would not take here says why."""
    view = here.view
    refused = {offer.action: offer.why_not for offer in view.offers if offer.why_not}
    ways: list[tuple[str, str, Callable[[], Result]]] = [
        (each.offer, f"{each.label}: {each.help}", partial(each.open, here))
        for each in COMMANDS
        if each.id not in _MENUS
    ]
    families = {**different.KINDS, **leaving.KINDS}
    ways += [(action, words, partial(form, view)) for action, (words, form) in families.items()]
    options = tuple(
        Option(str(at), f"{words} (not now: {refused[action]})" if action in refused else words)
        for at, (action, words, _) in enumerate(ways)
    )
    field = Field("way", "What to do", options, typing=False)
    return Form("Everything", (field,), lambda values: ways[int(values["way"])][2](), enter="open it")
