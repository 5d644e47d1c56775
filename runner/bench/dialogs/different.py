"""Something is different from the record or the plan: what it is decides which form comes next."""

from collections.abc import Callable

from runner.bench.dialogs.reasons import ASKED
from runner.bench.dialogs.tools import change_tool, fit_extension
from runner.bench.form import LATER, ME, Field, Form, Result, Values
from runner.job.actions import (
    Correct,
    ExtraWork,
    ExtraWorkDone,
    FoundCondition,
    NotApplicable,
    Reopen,
)  # fmt: skip
from runner.job.demand import Option
from runner.view import ConditionLine, ItemLine, View


def different(view: View) -> Form:
    """Which kind of difference it is; what the engine would not take now says why."""
    refused = {offer.action: offer.why_not for offer in view.offers if offer.why_not}

    def make(values: Values) -> Result:
        return KINDS[values["what"]][1](view)

    options = tuple(
        Option(key, f"{words} (not now: {refused[key]})" if key in refused else words)
        for key, (words, _) in KINDS.items()
    )
    return Form("Something is different", (Field("what", "What is it", options, typing=False),), make)


def found_condition(view: View) -> Form | str:
    """A condition is not what the record says."""
    if not view.conditions:
        return "This procedure keeps no conditions."
    by_name = {line.name: line for line in view.conditions}
    names = tuple(Option(line.name, f"{line.name}, recorded as {line.value}") for line in view.conditions)

    def value_of(line: ConditionLine) -> Form:
        values = tuple(Option(value, value) for value in line.others)
        return Form(
            "Found condition",
            (Field("value", f"{line.name} is now", values, typing=False),),
            lambda v: FoundCondition(who=ME, stamp=LATER, name=line.name, value=v["value"]),
            confirm="Press Y to record what was found; the work waits until it is restored",
        )

    return Form(
        "Found condition",
        (Field("name", "Which condition", names, typing=False),),
        lambda v: value_of(by_name[v["name"]]),
    )


def reopen(view: View) -> Form | str:
    """An item was opened again outside the plan."""
    if not view.items:
        return "This procedure keeps no items."
    by_key = {item.key: item for item in view.items}
    items = tuple(Option(item.key, f"{item.label}: {item.state}") for item in view.items if item.reopens)
    if not items:
        return "Every item is as open as it can be."

    def state_of(item: ItemLine) -> Form:
        fields = (
            Field("state", f"{item.label} is now", tuple(Option(s, s) for s in item.reopens), typing=False),
            Field("reason", "Reason"),
        )
        return Form(
            "Reopen",
            fields,
            lambda v: Reopen(who=ME, stamp=LATER, item=item.key, state=v["state"], reason=v["reason"]),
            confirm=f"Press Y to reopen {item.label}: its later steps are owed again",
            foresee=lambda v: (
                Reopen(who=ME, stamp=LATER, item=item.key, state=v["state"], reason=ASKED)
                if "state" in v
                else None
            ),
        )

    return Form(
        "Reopen", (Field("item", "Which item", items, typing=False),), lambda v: state_of(by_key[v["item"]])
    )


def extra_work(_: View) -> Form:
    """Something opened or broken that the procedure does not name."""
    field = Field("text", "What was opened or broken", hint="it is owed before the end")
    return Form(
        "Extra work",
        (field,),
        lambda v: ExtraWork(who=ME, stamp=LATER, text=v["text"]),
        enter="record it as owed",
    )


def extra_work_done(view: View) -> Form | str:
    """Extra work is closed again."""
    extra = tuple(Option(line.key, line.what) for line in view.owed if line.key.startswith("extra"))
    if not extra:
        return "No extra work is owed."
    fields = (
        Field("key", "Which extra work", extra, typing=False),
        Field("said", "How it was closed", required=False, hint="may be empty"),
    )
    return Form(
        "Extra work done",
        fields,
        lambda v: ExtraWorkDone(who=ME, stamp=LATER, key=v["key"], said=v["said"]),
        confirm="Press Y: the extra work is closed again",
    )


def not_applicable(view: View) -> Form:
    """This work piece does not have an item, or has no use for the step in hand."""
    step = (Option("", f"the step in hand: {view.step.title}"),) if view.step else ()
    items = tuple(Option(item.key, f"{item.label}: {item.state}") for item in view.items)
    fields = (
        Field("subject", "What does this work piece not have", (*step, *items), typing=False),
        Field("reason", "Reason"),
    )
    return Form(
        "Not applicable",
        fields,
        lambda v: NotApplicable(who=ME, stamp=LATER, subject=v["subject"], reason=v["reason"]),
        confirm="Press Y: this work piece does not have it",
        foresee=lambda v: (
            NotApplicable(who=ME, stamp=LATER, subject=v["subject"], reason=ASKED) if "subject" in v else None
        ),
        lead=("Only what nothing was done to yet. Not done, put off and not applicable are three things.",),
    )


def correct(view: View) -> Form | str:
    """A later entry replaces an earlier one; both stay."""
    if not view.recorded:
        return "Nothing is recorded yet that could be corrected."
    recorded = tuple(Option(key, words) for key, words in view.recorded)
    fields = (
        Field("key", "Which entry was wrong", recorded, typing=False),
        Field("raw", "What it should be", number=True),
        Field("reason", "Reason"),
    )
    return Form(
        "Correct an entry",
        fields,
        lambda v: Correct(who=ME, stamp=LATER, key=v["key"], raw=v["raw"], reason=v["reason"]),
        confirm="Press Y to correct the entry; both stay in the log",
        foresee=lambda v: (
            Correct(who=ME, stamp=LATER, key=v["key"], raw=v["raw"], reason=ASKED) if "raw" in v else None
        ),
    )


KINDS: dict[str, tuple[str, Callable[[View], Form | str]]] = {
    "FoundCondition": ("a condition is not as recorded (it was let down this morning)", found_condition),
    "Reopen": ("an item was opened again", reopen),
    "ExtraWork": ("extra work: something opened or broken that the procedure does not name", extra_work),
    "ExtraWorkDone": ("extra work is closed again", extra_work_done),
    "NotApplicable": ("not applicable: this work piece does not have it", not_applicable),
    "Correct": ("an entry was wrong", correct),
    "ChangeTool": ("another tool is used from here on", change_tool),
    "FitExtension": ("an extension or crowfoot is fitted to a wrench, or taken off", fit_extension),
}
"""By the name of the action: what it is in words, and its form."""
