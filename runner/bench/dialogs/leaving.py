"""Ways to leave: pause, hand over, take over alone, abandon, and the plain way out that loses nothing."""

from collections.abc import Callable

from runner.bench.form import LATER, ME, Field, Form, Leave, Result, Values
from runner.job.actions import HandOver, Pause, Seal, TakeOverAlone
from runner.job.demand import Option
from runner.view import View

_ENDED = {"sealed", "start"}


def leave_or_change(view: View) -> Form:
    """Pause, hand over, take over or abandon: which one."""

    def make(values: Values) -> Result:
        return KINDS[values["what"]][1](view)

    options = tuple(Option(key, words) for key, (words, _) in KINDS.items())
    return Form(
        "Pause, hand over, abandon", (Field("what", "What is to happen", options, typing=False),), make
    )


def pause(_: View) -> Form:
    """Leave the bench with a line on what was about to happen."""
    field = Field("note", "What you were about to do", hint="one line, for whoever comes back")
    return Form(
        "Pause", (field,), lambda v: Pause(who=ME, stamp=LATER, note=v["note"]), enter="record the pause"
    )


def hand_over(_: View) -> Form:
    """The outgoing person names the incoming one."""
    fields = (
        Field("to", "Who takes over", hint="that person types the same name next"),
        Field("note", "What to know", required=False, hint="may be empty"),
    )
    return Form(
        "Hand over",
        fields,
        lambda v: HandOver(who=ME, stamp=LATER, to=v["to"], note=v["note"]),
        confirm="Press Y to hand over",
    )


def take_over(_: View) -> Form:
    """The outgoing person is gone."""
    fields = (Field("who", "Your name, who takes over"), Field("reason", "Why nobody hands over"))
    return Form(
        "Take over alone",
        fields,
        lambda v: TakeOverAlone(who=v["who"], stamp=LATER, reason=v["reason"]),
        confirm="Press Y to take over alone",
    )


def abandon(view: View) -> Form:
    """End the run unfinished, through the author's make-safe lines."""
    open_items = sum(item.mark in {"open", "part"} for item in view.items)
    return Form(
        "Abandon this run",
        (Field("reason", "Reason"),),
        lambda v: Seal(who=ME, stamp=LATER, outcome="abandoned", reason=v["reason"]),
        confirm="Press Y to abandon this run; it cannot be taken up again",
        lead=(
            f"Open items: {open_items}. Put off: {len(view.owed)}. The lines that make it safe come next.",
        ),
    )


def quit_question(view: View, *, lost: bool = False, typed: str = "") -> Form:
    """Whether to leave, and whether to leave a line for whoever comes back.

    `lost` where an entry is not recorded, `typed` what stands on the line to type on and was never confirmed.
    """
    if lost or view.demand.kind in _ENDED:
        field = Field("press", "", required=False, typing=False)
        words = "The run is sealed." if view.demand.kind == "sealed" else "Nothing is recorded yet."
        if lost:
            words = "The latest entry is NOT RECORDED. Everything before it is in the log; resume the run to go on."
        return Form("Leave", (field,), lambda _: Leave(), enter="leave", lead=(words,))
    options = (
        Option("pause", "pause, with a line on what you were about to do"),
        Option("leave", "leave as it is; everything shown as recorded is in the log"),
    )

    def make(values: Values) -> Result:
        return pause(view) if values["how"] == "pause" else Leave()

    lead = (f"Typed and NOT RECORDED: {typed}",) if typed.strip() else ()
    field = Field("how", "How", options, typing=False)
    return Form("Leave the bench", (field,), make, enter="do this", lead=lead)


KINDS: dict[str, tuple[str, Callable[[View], Form]]] = {
    "Pause": ("pause: leave the bench, with a line for the return", pause),
    "HandOver": ("hand over to someone else who is here", hand_over),
    "TakeOverAlone": ("take over alone: the other person is gone", take_over),
    "Abandon": ("abandon this run, and make the work safe", abandon),
}
"""By the name of the action: what it is in words, and its form."""
