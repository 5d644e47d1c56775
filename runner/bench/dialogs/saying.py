"""Small things said to the log: a note, a put-off, a cue passed by, a take-back."""

from runner.bench.dialogs.reasons import ASKED, reason_fields, reason_of
from runner.bench.form import LATER, ME, Field, Form
from runner.job.actions import Note, PassBy, PutOff, TakeBack, TakeUp
from runner.job.demand import Option
from runner.view import View


def note(_: View) -> Form:
    """A remark."""
    field = Field("text", "Note", hint="kept with the step in hand")
    return Form(
        "Note", (field,), lambda v: Note(who=ME, stamp=LATER, text=v["text"]), enter="record the note"
    )


def put_off(view: View) -> Form | str:
    """Pass the cue by where one is shown; otherwise put the step in hand off."""
    return _pass_by(view) if view.demand.kind == "cue" else _put_off(view)


def _put_off(view: View) -> Form | str:
    refused = next((each.why_not for each in view.offers if each.action == "PutOff"), "")
    if refused:
        return f"Nothing can be put off here: {refused}."
    return Form(
        "Put this step off",
        reason_fields(view.reasons),
        lambda v: PutOff(who=ME, stamp=LATER, reason=reason_of(v)),
        enter="go on",
        confirm="Press Y to put this step off",
        lead=("A step put off stays in the list below until it is done.",),
        foresee=lambda _: PutOff(who=ME, stamp=LATER, reason=ASKED),
    )


def _pass_by(view: View) -> Form:
    options = view.demand.options
    which = Field(
        "key", "Which one is passed by", options, typing=False, default=options[0].key if options else ""
    )
    return Form(
        "Pass this cue by",
        (which, Field("reason", "Reason", required=False, hint="may be empty")),
        lambda v: PassBy(who=ME, stamp=LATER, key=v["key"], reason=v["reason"]),
        enter="go on",
        confirm="Press Y to pass it by: it stays owed and comes back at its last chance",
    )


def take_back(_: View) -> Form:
    """Undo the latest act in the record."""
    lead = ("Take back the latest act, confirmed too soon. Both entries stay in the log.",)
    return Form(
        "Take back",
        (Field("reason", "What happened", required=False, hint="may be empty"),),
        lambda v: TakeBack(who=ME, stamp=LATER, reason=v["reason"]),
        enter="go on",
        confirm="Press Y to take the latest act back",
        lead=lead,
    )


def take_up(view: View) -> Form | str:
    """Take up something owed whose moment is now, from the list."""
    ready = tuple(
        Option(line.key, f"{line.where}: {line.what}".lstrip(": ")) for line in view.owed if line.ready
    )
    if not ready:
        return "Nothing that is put off can be taken up now. The list says what each one waits for."
    return Form(
        "Take up",
        (Field("key", "Which one", ready, typing=False),),
        lambda v: TakeUp(who=ME, stamp=LATER, key=v["key"]),
        enter="take it up now",
    )
