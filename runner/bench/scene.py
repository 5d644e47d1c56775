"""Everything one drawing of the screen depends on, gathered before anything is drawn."""

from typing import Literal

from runner.bench.form import Form, Reader
from runner.bench.theme import Look
from runner.frozen import Frozen
from runner.view import View

MessageKind = Literal["quiet", "said", "refused", "not recorded", "saving", "cue"]


class Message(Frozen):
    """What stands in the message rows: the text, and what would lift it where something was refused."""

    kind: MessageKind = "quiet"
    text: str = ""
    lift: str = ""


class Scene(Frozen):
    """One drawing. `form` is what is being answered; `dialog` when it covers the step; `reader` covers all of it."""

    view: View
    look: Look
    form: Form | None = None
    dialog: bool = False
    reader: Reader | None = None
    reader_at: int = 0
    message: Message = Message()
    sent: bool = False
    """Whether what stands on the line to type on was sent by a wrench."""
    waiting: int = 0
    """How many more lines that a wrench sent wait."""
    findings: tuple[str, ...] = ()
    """Remarks of a resume, shown until the run goes on."""
    ending: tuple[str, ...] = ()
    """Lines of the end: outcome, receipt code, open points, follow-ups."""
