"""From the demand of the gate to the form that answers it: which fields, and which action they make.

The bench adds nothing to a demand and decides nothing about the answer; an empty line is never read as a value.
"""

from collections.abc import Callable
from typing import Literal

from runner.bench.form import LATER, ME, Field, Form, Make, Result, Values
from runner.job.actions import (
    AcceptHandover,
    Acknowledge,
    Action,
    Answer,
    ChooseLocation,
    CloseOut,
    ConfirmPart,
    CountOut,
    Do,
    LetTimePass,
    Look,
    MakeSafe,
    MeetPrerequisite,
    Read,
    Reconfirm,
    Release,
    Resume,
    Seal,
    Start,
    TakeUp,
    Tighten,
)  # fmt: skip
from runner.job.demand import Demand, Option
from runner.toolwords import offers_for
from runner.view import View


def ask(view: View, performer: str = "") -> Form | None:
    """The form for the present demand; None where nothing can be answered. `performer` is a name to offer."""
    make = _FORMS.get(view.demand.kind)
    return make(view, performer) if make else None


def _press(title: str, enter: str, action: Action) -> Form:
    """A form without fields: Enter alone."""
    hidden = Field("press", "", required=False, typing=False)
    return Form(title, (hidden,), lambda _: action, enter=enter)


def _start(view: View, performer: str) -> Form:
    counters = view.demand.options
    fields = (
        Field(
            "performer", "Your name", default=view.identity.performer or performer, hint="stated, not proved"
        ),
        Field("work piece", "Work piece", hint="number plate, serial or order number"),
        *(Field(f"counter {each.key}", each.label, number=True) for each in counters),
    )

    def make(values: Values) -> Action:
        return Start(
            who=values["performer"],
            stamp=LATER,
            work_piece=values["work piece"],
            counters=tuple((each.key, values[f"counter {each.key}"]) for each in counters),
        )

    return Form("Start", fields, make, enter="start the run")


def _choose(view: View, _: str) -> Form:
    demand = view.demand
    field = Field("choice", demand.prompt, demand.options, typing=False)
    return Form(
        "Choose",
        (field,),
        lambda v: ChooseLocation(who=ME, stamp=LATER, name=demand.subject, value=v["choice"]),
        enter="take the picked one",
    )


def _listed(title: str, demand: Demand, hint: str, enter: str, make: Make, *, typing: bool = True) -> Form:
    """A list worked down one by one; the first line that is still open is at hand."""
    first = demand.options[0].key if demand.options else ""
    field = Field("line", demand.prompt, demand.options, typing=typing, default=first, hint=hint)
    return Form(title, (field,), make, enter=enter)


def _prepare(view: View, _: str) -> Form:
    def make(values: Values) -> Result:
        key, word = values["line"], values["line word"]
        if key.startswith("tool:"):
            from runner.bench.dialogs.tools import counted, pick  # noqa: PLC0415 - asked only here

            tool = key.removeprefix("tool:")
            return counted(view, tool, word) if word or not offers_for(view, tool) else pick(view, tool)
        return MeetPrerequisite(who=ME, stamp=LATER, key=key, value=word)

    hint = "number on the tool, name of the person, or what you found"
    return _listed("Prepare", view.demand, hint, "it is here", make)


def _acknowledge(view: View, _: str) -> Form:
    return _press(
        "Notice", "I have read this notice", Acknowledge(who=ME, stamp=LATER, notice=view.demand.index)
    )


def _new_part(view: View, _: str) -> Form:
    item = view.demand.subject
    field = Field(
        "number", "Number on the new part", required=False, hint="as on its bag or head; may be empty"
    )
    return Form(
        "New part",
        (field,),
        lambda v: ConfirmPart(who=ME, stamp=LATER, item=item, number=v["number"]),
        enter="a new one is at hand",
    )


def _act(view: View, _: str) -> Form:
    return _press("Act", "done", Do(who=ME, stamp=LATER, act=view.demand.index))


def _confirm(view: View, _: str) -> Form:
    return _press("Act", "done", Do(who=ME, stamp=LATER))


def _tighten(view: View, _: str) -> Form:
    demand = view.demand
    unnumbered = next((m for m in ("snug", "click", "by mark") if m in demand.methods), "")
    words = {"snug": "it is snug", "click": "it clicked at the setting", "by mark": "turned to the mark"}
    enter = words.get(unnumbered, "the value you read")

    def make(values: Values) -> "Action | str":
        raw = values["value"]
        if not raw and not unnumbered:
            return f"Type the value you read on the {demand.tool or 'tool'}, then Enter."
        return Tighten(
            who=ME, stamp=LATER, item=demand.subject, stage=demand.stage, member=demand.member, raw=raw,
            method="measured" if raw else _unnumbered(unnumbered),
        )  # fmt: skip

    typing = "measured" in demand.methods
    aside = "or type what you read" if unnumbered and "measured" in demand.methods else ""
    field = Field("value", "", typing=typing, required=False, number=True, unit=demand.unit, aside=aside)
    return Form("Tighten", (field,), make, enter=enter)


def _unnumbered(method: str) -> Literal["snug", "click", "by mark"]:
    if method == "snug":
        return "snug"
    return "click" if method == "click" else "by mark"


_WORDED = {"text", "part number", "batch number", "lock number", "photo"}
"""What a reading may ask for besides a quantity; it then stands in the place of the unit."""


def _reading(view: View, _: str) -> Form:
    demand = view.demand
    words = {"photo": "Path of the picture and its SHA-256", "text": "In words"}
    label = words.get(demand.unit, demand.unit.capitalize() if demand.unit in _WORDED else "")
    field = Field("value", label, number=not label, unit="" if label else demand.unit)
    return Form(
        "Reading",
        (field,),
        lambda v: Read(who=ME, stamp=LATER, name=demand.subject, raw=v["value"]),
        enter="record the value",
    )


def _second_reading(view: View, _: str) -> Form:
    demand = view.demand
    fields = (
        Field(
            "who", "Name of the second person", hint="not who took the first; the first value stays hidden"
        ),
        Field("value", "Value", number=demand.unit not in _WORDED, unit=demand.unit),
    )
    return Form(
        "Second reading",
        fields,
        lambda v: Read(who=v["who"], stamp=LATER, name=demand.subject, raw=v["value"]),
        enter="record the second value",
    )


def _look(view: View, _: str) -> Form:
    field = Field("seen", view.demand.prompt, view.demand.options, typing=False)
    return Form(
        "Look", (field,), lambda v: Look(who=ME, stamp=LATER, label=v["seen"]), enter="this is what I see"
    )


def _question(view: View, _: str) -> Form:
    field = Field("answer", view.demand.prompt, view.demand.options, typing=False)
    return Form(
        "Question", (field,), lambda v: Answer(who=ME, stamp=LATER, label=v["answer"]), enter="this is so"
    )


def _hold(view: View, _: str) -> Form:
    role = view.demand.role
    word = Field(
        "word",
        view.demand.prompt,
        (
            Option("released", f"released: the {role} has checked it"),
            Option("refused", "refused: not as it should be"),
        ),
        typing=False,
    )
    fields = (
        Field("who", f"Name of the {role}", hint="never who did the step"),
        word,
        Field("said", "What was seen or said", required=False, hint="may be empty"),
    )
    return Form(
        "Hold point",
        fields,
        lambda v: Release(who=v["who"], stamp=LATER, released=v["word"] == "released", said=v["said"]),
        enter="go on",
        confirm=f"The {role} presses Y: this is my word, under the name above",
    )


def _stop(view: View, performer: str) -> Form | None:
    """What may be given once more at a stop: the answer, the reading, or the word of the one who refused."""
    demand = view.demand
    if demand.role:
        return _hold(view.but(demand=demand.but(prompt=f"The word of the {demand.role}")), performer)
    if demand.options:
        again = view.but(demand=demand.but(prompt="Look again"))
        return _look(again, performer) if demand.subject == "look" else _question(again, performer)
    return _reading(view, performer) if demand.subject else None


def _owed(view: View, _: str) -> Form | None:
    demand = view.demand
    if not demand.options:
        return None
    if len(demand.options) == 1:
        return _press("Take up", "take it up now", TakeUp(who=ME, stamp=LATER, key=demand.options[0].key))
    field = Field("owed", demand.prompt, demand.options, typing=False, default=demand.options[0].key)
    return Form(
        "Take up", (field,), lambda v: TakeUp(who=ME, stamp=LATER, key=v["owed"]), enter="take it up now"
    )


def _doubt(view: View, _: str) -> Form:
    field = Field("says", view.demand.prompt, view.demand.options, typing=False)

    def make(values: Values) -> Action:
        return LetTimePass(who=ME, stamp=LATER, says="passed" if values["says"] == "passed" else "not yet")

    return Form("Clock", (field,), make, enter="so it is")


def _resume(view: View, _: str) -> Form:
    return _press("Resume", "come back to this run", Resume(who=ME, stamp=LATER))


def _reconfirm(view: View, _: str) -> Form | None:
    if not view.demand.options:
        return None
    line = view.demand.options[0]
    options = (Option("yes", "as recorded"), Option("no", "not as recorded"))
    field = Field("as", line.label, options, typing=False)
    return Form(
        "Look again",
        (field,),
        lambda v: Reconfirm(who=ME, stamp=LATER, key=line.key, as_recorded=v["as"] == "yes"),
        enter="this is so",
    )


def _handover(view: View, _: str) -> Form:
    field = Field("who", "Your name, who takes over", hint=f"{view.demand.role} is expected")
    return Form(
        "Handover",
        (field,),
        lambda v: AcceptHandover(who=v["who"], stamp=LATER),
        enter="I know the state and take over",
    )


def _close_out(view: View, _: str) -> Form:
    def make(values: Values) -> Action:
        kind, _, rest = values["line"].partition(":")
        if kind == "tool":
            return CountOut(who=ME, stamp=LATER, tool=rest)
        return CloseOut(who=ME, stamp=LATER, line=int(rest), text=values["line word"])

    return _listed("Close-out", view.demand, "anything abnormal: what, or none", "this holds", make)


def _make_safe(view: View, _: str) -> Form:
    def make(values: Values) -> Action:
        return MakeSafe(who=ME, stamp=LATER, line=int(values["line"].partition(":")[2]))

    return _listed("Make safe", view.demand, "", "done", make, typing=False)


def _seal(view: View, _: str) -> Form | None:
    if not view.demand.options:
        return None
    field = Field("outcome", view.demand.prompt, view.demand.options, typing=False)

    def make(values: Values) -> Action:
        match values["outcome"]:
            case "finished":
                return Seal(who=ME, stamp=LATER, outcome="finished")
            case "abandoned":
                return Seal(who=ME, stamp=LATER, outcome="abandoned")
            case _:
                return Seal(who=ME, stamp=LATER, outcome="finished with open points")

    return Form(
        "Seal", (field,), make, enter="go on", confirm="Press Y to seal the log: nothing can follow a seal"
    )


_FORMS: dict[str, Callable[[View, str], Form | None]] = {
    "start": _start,
    "choose": _choose,
    "prepare": _prepare,
    "acknowledge": _acknowledge,
    "new part": _new_part,
    "act": _act,
    "confirm": _confirm,
    "tighten": _tighten,
    "reading": _reading,
    "second reading": _second_reading,
    "look": _look,
    "question": _question,
    "hold": _hold,
    "stop": _stop,
    "cue": _owed,
    "due": _owed,
    "doubt": _doubt,
    "resume": _resume,
    "reconfirm": _reconfirm,
    "handover": _handover,
    "close out": _close_out,
    "make safe": _make_safe,
    "seal": _seal,
}
