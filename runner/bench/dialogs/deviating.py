"""A deviation: what kind, of what, why, and on whose authority."""

from runner.bench.dialogs.reasons import ASKED, reason_fields, reason_of
from runner.bench.form import LATER, ME, Field, Form, Values
from runner.job.actions import Deviate, DeviationKind
from runner.job.demand import Demand, Option
from runner.view import View

WORDS: dict[DeviationKind, str] = {
    "out of band": "out of band: the value stays as it is, outside its band",
    "by feel": "by feel: done without the measuring tool asked for",
    "other value": "other value: set to another value, from another source",
    "substitute": "substitute: another part or tool than the one named",
    "different order": "different order: another fastener of the group comes first",
    "not done": "not done: left as it is, and open to the end of the report",
    "not available": "not available: something to lay out is not there",
    "hold point": "hold point: passed without its release",
    "late": "late: done after its window has passed",
    "go on": "go on: past a stop, by the word of someone else",
}


def deviate(view: View) -> Form | str:
    """The form of a deviation here, with the kinds that the engine takes here."""
    from runner.job.deviating import ALLOWED  # noqa: PLC0415 - loads the engine, which the first frame does without

    kinds = tuple(kind for kind in WORDS if kind in ALLOWED.get(view.demand.kind, ()))
    if not kinds:
        return "No deviation answers what is asked here. " + (view.demand.lift or view.demand.prompt)
    subjects = _subjects(view)

    def has_subject(values: Values) -> bool:
        return bool(subjects) and (values.get("kind") == "different order" or view.demand.kind != "tighten")

    def has_value(values: Values) -> bool:
        return values.get("kind") in {"out of band", "other value"} and view.demand.kind != "worked out"

    fields = (
        Field(
            "kind", "What kind of deviation", tuple(Option(kind, WORDS[kind]) for kind in kinds), typing=False
        ),
        Field("subject", "Which one", subjects, typing=False, when=has_subject),
        Field("raw", "Value, as read or set", number=True, when=has_value),
        Field(
            "number", "Number on the substitute", required=False, when=lambda v: v.get("kind") == "substitute"
        ),
        *reason_fields(view.reasons),
        Field("authority", "On whose authority", hint=_whose(view)),
    )

    def make(values: Values) -> Deviate | str:
        kind = next((each for each in WORDS if each == values["kind"]), None)
        if kind is None:
            return "Pick the kind of deviation first."
        return Deviate(
            who=ME, stamp=LATER, kind=kind, reason=reason_of(values), authority=values["authority"],
            raw=values.get("raw", "") or values.get("number", ""), subject=values.get("subject", ""),
        )  # fmt: skip

    def foresee(values: Values) -> Deviate | None:
        """The deviation as far as it is said: the value, where one belongs to it, is waited for."""
        kind = next((each for each in WORDS if each == values.get("kind")), None)
        value = values.get("raw", "") or values.get("number", "")
        if (
            kind is None
            or (has_value(values) and not value)
            or (has_subject(values) and "subject" not in values)
        ):
            return None
        return Deviate(
            who=ME, stamp=LATER, kind=kind, reason=ASKED,
            authority=values.get("authority", "") or ASKED, raw=value, subject=values.get("subject", ""),
        )  # fmt: skip

    return Form(
        "Deviation",
        fields,
        make,
        enter="go on",
        confirm="Press Y to record this deviation: it stays in the report to the end",
        lead=("The work departs from the procedure. Say how, why, and on whose authority.",),
        foresee=foresee,
    )


def _whose(view: View) -> str:
    """Whose name counts as authority here."""
    critical = view.demand.critical or (view.step is not None and view.step.critical)
    return (
        "the name of someone else: yours does not count here"
        if critical or view.demand.kind == "stop"
        else "a name; it may be yours"
    )


def _subjects(view: View) -> tuple[Option, ...]:
    demand: Demand = view.demand
    if demand.kind in {"prepare", "close out"}:
        return demand.options
    if demand.kind in {"due", "cue"}:
        known = {option.key for option in demand.options}
        return (
            *demand.options,
            *(Option(o.key, o.what) for o in view.owed if o.status == "overdue" and o.key not in known),
        )
    if demand.kind == "tighten" and len(demand.sequence) > 1:
        left = (n for n in demand.sequence if n not in demand.members_done)
        return tuple(Option(str(number), f"number {number}") for number in left)
    return ()
