"""Everything one drawing of the screen depends on, gathered before anything is drawn."""

from dataclasses import dataclass
from typing import Literal

from runner.bench.form import Form, Reader
from runner.bench.theme import Look
from runner.view import View

MessageKind = Literal["quiet", "said", "refused", "not recorded", "saving", "cue"]


@dataclass(frozen=True, slots=True)
class Message:
    """What stands in the message rows: the text, and what would lift it where something was refused."""

    kind: MessageKind = "quiet"
    text: str = ""
    lift: str = ""


@dataclass(frozen=True, slots=True)
class Scene:
    """One drawing. `form` is what is being answered; `dialog` when it covers the step; `reader` covers all of it."""

    view: View
    look: Look
    form: Form | None = None
    dialog: bool = False
    reader: Reader | None = None
    reader_at: int = 0
    message: Message = Message()
    findings: tuple[str, ...] = ()
    """Remarks of a resume, shown until the run goes on."""
    ending: tuple[str, ...] = ()
    """Lines of the end: outcome, receipt code, open points, follow-ups."""
