"""A deviation: what kind, of what, why, and on whose authority."""

from typing import TypedDict

from runner.bench.dialogs.reasons import ASKED, reason_fields, reason_of
from runner.bench.dialogs.tools import whose
from runner.bench.form import LATER, ME, Field, Form, Values
from runner.job.actions import Deviate, DeviationKind
from runner.job.demand import Demand, Option
from runner.joint.wrench import Wrench
from runner.view import ShopTool, View

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
    "unfit tool": "unfit tool: used although something speaks against it",
}


def deviate(view: View) -> Form | str:
    """The form of a deviation here, with the kinds that the engine takes here."""
    from runner.job.deviating import ALLOWED  # noqa: PLC0415 - loads the engine, which the first frame does without

    held = view.demand.kind == "blocked" and bool(view.demand.tool)
    shop = tuple(offer for offer in view.shop_tools if offer.against)
    unfit_now = held or bool(shop)
    allowed = ALLOWED.get(view.demand.kind, ())
    kinds = tuple(kind for kind in WORDS if kind in allowed and (kind != "unfit tool" or unfit_now))
    if not kinds:
        return "No deviation answers what is asked here. " + (view.demand.lift or view.demand.prompt)
    subjects = _subjects(view)

    def has_subject(values: Values) -> bool:
        if values.get("kind") == "unfit tool":
            return False
        return bool(subjects) and (values.get("kind") == "different order" or view.demand.kind != "tighten")

    def is_unfit(values: Values) -> bool:
        return values.get("kind") == "unfit tool" and bool(shop)

    def has_value(values: Values) -> bool:
        return values.get("kind") in {"out of band", "other value"} and view.demand.kind != "worked out"

    fields = (
        Field(
            "kind", "What kind of deviation", tuple(Option(kind, WORDS[kind]) for kind in kinds), typing=False
        ),
        Field("subject", "Which one", subjects, typing=False, when=has_subject),
        Field("wrench", "Which one", _wrenches(view, shop, held=held), typing=False, when=is_unfit),
        Field("raw", "Value, as read or set", number=True, when=has_value),
        Field(
            "number", "Number on the substitute", required=False, when=lambda v: v.get("kind") == "substitute"
        ),
        *reason_fields(view.reasons),
        Field("authority", "On whose authority", hint=whose(view)),
    )

    def make(values: Values) -> Deviate | str:
        kind = next((each for each in WORDS if each == values["kind"]), None)
        if kind is None:
            return "Pick the kind of deviation first."
        return Deviate(
            who=ME, stamp=LATER, kind=kind, reason=reason_of(values), authority=values["authority"],
            raw=values.get("raw", "") or values.get("number", ""), **_meant(values, shop),
        )  # fmt: skip

    def foresee(values: Values) -> Deviate | None:
        """The deviation as far as it is said: the value, where one belongs to it, is waited for."""
        kind = next((each for each in WORDS if each == values.get("kind")), None)
        value = values.get("raw", "") or values.get("number", "")
        if (
            kind is None
            or (has_value(values) and not value)
            or (has_subject(values) and "subject" not in values)
            or (is_unfit(values) and "wrench" not in values)
        ):
            return None
        return Deviate(
            who=ME, stamp=LATER, kind=kind, reason=ASKED,
            authority=values.get("authority", "") or ASKED, raw=value, **_meant(values, shop),
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


_IN_HAND = "in hand"


def _wrenches(view: View, shop: tuple[ShopTool, ...], *, held: bool) -> tuple[Option, ...]:
    """The unfit tools that may be meant: the one in hand where it is what shuts the way, and those of the shop."""
    own = (Option(_IN_HAND, f"{view.demand.tool}, which is in hand"),) if held else ()
    listed = (Option(str(at), f"{o.wrench.label} as {o.tool}: {o.words}") for at, o in enumerate(shop))
    return (*own, *listed)


class _Meant(TypedDict, total=False):
    subject: str
    wrench: Wrench


def _meant(values: Values, shop: tuple[ShopTool, ...]) -> _Meant:
    """What the deviation is about besides what is asked."""
    picked = values.get("wrench", _IN_HAND)
    if values.get("kind") != "unfit tool" or picked == _IN_HAND:
        return {"subject": values.get("subject", "")}
    offer = shop[int(picked)]
    return {"subject": f"tool:{offer.tool}", "wrench": offer.wrench}


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
