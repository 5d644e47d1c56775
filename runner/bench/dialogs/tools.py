"""Tools of the shop: picked before step 1, changed in the middle of a round, with or without an extension, or unfit.

The shop's toolbox ranks them and says what speaks against one (`View.shop_tools`); here they are only listed, and what
speaks against one leads to the deviation that it needs.
"""

from runner.bench.dialogs.reasons import ASKED, reason_fields, reason_of
from runner.bench.form import LATER, ME, Field, Form, Result, Values
from runner.job.actions import ChangeTool, CountIn, Deviate, FitExtension
from runner.job.demand import Option
from runner.toolwords import in_hand, named, offers_for
from runner.view import ShopTool, View, WrenchLine

CHANGES = ("mine stops there", "battery flat", "dropped it")
"""Stock reasons for another tool; any other may be typed."""
UNFIT_BECAUSE = ("no fitting one here", *CHANGES)
"""The same for one that something speaks against."""

_OTHER = "other"
_TAKE_OFF = "off"


def pick(view: View, tool: str) -> Form:
    """Which one lies ready: the best that nothing speaks against is picked, and counts once it is confirmed."""
    offers = offers_for(view, tool)

    def make(values: Values) -> Result:
        if values["wrench"] == _OTHER:
            return counted(view, tool, values["identity"])
        return counted_offer(view, offers[int(values["wrench"])])

    return Form(f"Which {tool}", _which(offers), make, enter="this one lies ready")


def counted(view: View, tool: str, written: str) -> Result:
    """A tool counted in by what is written on it; one of the toolbox is known by that."""
    offer = named(offers_for(view, tool), written)
    if offer is not None:
        return counted_offer(view, offer)
    return CountIn(who=ME, stamp=LATER, tool=tool, identity=written)


def counted_offer(view: View, offer: ShopTool) -> Result:
    """A tool of the toolbox counted in, or the deviation that it needs."""
    if offer.against:
        return unfit(view, offer)
    return CountIn(who=ME, stamp=LATER, tool=offer.tool, wrench=offer.wrench)


def _which(offers: tuple[ShopTool, ...], *, now: str = "") -> tuple[Field, Field]:
    """Which of them, the best fit one offered (never the one in hand, `now`), or another by what is written on it."""
    best = next((at for at, o in enumerate(offers) if not o.against and o.wrench.label != now), None)
    options = [Option(str(at), _words(offer, now)) for at, offer in enumerate(offers)]
    options.append(Option(_OTHER, "another one: you type what is written on it"))
    return (
        Field("wrench", "Which one", tuple(options), typing=False, default="" if best is None else str(best)),
        Field("identity", "What is written on it", required=False, when=lambda v: v.get("wrench") == _OTHER),
    )


def _words(offer: ShopTool, now: str) -> str:
    held = " (in hand)" if offer.wrench.label == now else ""
    mark = " UNFIT" if offer.against else ""
    return f"{offer.wrench.label}{held}{mark}: {offer.words}"


def unfit(view: View, offer: ShopTool) -> Form:
    """The deviation that a tool needs which something speaks against."""
    wrench, subject = offer.wrench, f"tool:{offer.tool}"

    def deviation(reason: str, authority: str) -> Deviate:
        return Deviate(
            who=ME, stamp=LATER, kind="unfit tool", reason=reason, authority=authority, subject=subject,
            wrench=wrench,
        )  # fmt: skip

    return Form(
        "Deviation: unfit tool",
        (*reason_fields(UNFIT_BECAUSE), Field("authority", "On whose authority", hint=whose(view))),
        lambda v: deviation(reason_of(v), v["authority"]),
        confirm="Press Y to record this deviation: it stays in the report to the end",
        lead=(f"Against {wrench.label} as {offer.tool}: {offer.words}",),
        foresee=lambda v: deviation(ASKED, v.get("authority", "") or ASKED),
    )


def whose(view: View) -> str:
    """Whose name counts as authority here."""
    critical = view.demand.critical or (view.step is not None and view.step.critical)
    return (
        "the name of someone else: yours does not count here"
        if critical or view.demand.kind == "stop"
        else "a name; it may be yours"
    )


def change_tool(view: View) -> Form | str:
    """From here on another tool is used; which one, where several are counted in."""
    if not view.tools:
        return "No tool is counted in."
    if len(view.tools) == 1:
        return change_of(view, view.tools[0][0])
    tools = tuple(Option(name, f"{name}  {identity}".rstrip()) for name, identity in view.tools)
    which = Field("tool", "Which tool", tools, typing=False, default=in_hand(view))
    return Form("Change a tool", (which,), lambda v: change_of(view, v["tool"]))


def change_of(view: View, tool: str) -> Form:
    """Another one for a tool of the procedure; what was entered keeps the old one."""
    offers = offers_for(view, tool)
    now = dict(view.tools).get(tool, "")

    def make(values: Values) -> Result:
        if values.get("wrench", _OTHER) != _OTHER:
            offer: ShopTool | None = offers[int(values["wrench"])]
        else:
            offer = named(offers, values["identity"])
        if offer is None:
            return ChangeTool(
                who=ME, stamp=LATER, tool=tool, identity=values["identity"], reason=reason_of(values)
            )
        if offer.against:
            return unfit(view, offer)
        return ChangeTool(
            who=ME, stamp=LATER, tool=tool, identity="", reason=reason_of(values), wrench=offer.wrench
        )

    def asks_why(values: Values) -> bool:
        picked = values.get("wrench", _OTHER)  # for one that is unfit the deviation asks
        return picked == _OTHER or not offers[int(picked)].against

    which = _which(offers, now=now) if offers else (Field("identity", "What is written on the other one"),)
    return Form(
        f"Another {tool}",
        (*which, *reason_fields(CHANGES, when=asks_why)),
        make,
        enter="use this one from here on",
        lead=(f"In hand: {now}",) if now else (),
    )


def wrench_in_hand(view: View) -> Form | str:
    """What may be done about the tool of the act in hand: another one, or an extension on it."""
    tool = in_hand(view)
    if not tool:
        return change_tool(view)
    line = next((each for each in view.wrenches if each.tool == tool), None)
    if line is None:
        return change_of(view, tool)
    options = (
        Option("change", f"another {tool} from here on"),
        Option("fit", f"an extension or crowfoot on {line.wrench.label}"),
        *((Option(_TAKE_OFF, f"the {line.extension} is taken off"),) if line.extension else ()),
    )

    def make(values: Values) -> Result:
        match values["what"]:
            case "change":
                return change_of(view, tool)
            case "fit":
                return _fit(line)
            case _:
                return FitExtension(who=ME, stamp=LATER, tool=tool)

    held = f"{line.wrench.label}{f', {line.extension}' if line.extension else ''}"
    return Form(
        "Wrench in hand",
        (Field("what", "What is different", options, typing=False, default="change"),),
        make,
        lead=(f"In hand: {held}",),
    )


def fit_extension(view: View) -> Form | str:
    """An extension or crowfoot is put on a wrench of the toolbox, or taken off again."""
    if not view.wrenches:
        return "No wrench of the toolbox is in hand, so no setting can be corrected for an extension."
    by_tool = {line.tool: line for line in view.wrenches}
    if len(by_tool) == 1:
        return _fit_or_take_off(view.wrenches[0])
    tools = tuple(Option(tool, f"{tool}  {line.wrench.label}") for tool, line in by_tool.items())
    which = Field("tool", "On which one", tools, typing=False, default=in_hand(view))
    return Form("Extension", (which,), lambda v: _fit_or_take_off(by_tool[v["tool"]]))


def _fit_or_take_off(line: WrenchLine) -> Form:
    if not line.extension:
        return _fit(line)
    options = (
        Option(_TAKE_OFF, f"the {line.extension} is taken off"),
        Option("fit", "another one is fitted"),
    )

    def make(values: Values) -> Result:
        if values["what"] == _TAKE_OFF:
            return FitExtension(who=ME, stamp=LATER, tool=line.tool)
        return _fit(line)

    field = Field("what", f"On {line.wrench.label}", options, typing=False)
    return Form("Extension", (field,), make, enter="so it is")


def _fit(line: WrenchLine) -> Form:
    fields = (
        Field(
            "length", "Length, from the square drive to the fastener", number=True, check=_length_problem,
            hint="mm, or with its unit: 50, 2 in",
        ),
        Field(
            "angle", "Angle to the wrench", number=True, required=False, check=_angle_problem, unit="°",
            hint="Enter: straight on; 90 across, 180 back along the wrench",
        ),
    )  # fmt: skip

    def make(values: Values) -> Result:
        from runner.joint.wrench import Extension  # noqa: PLC0415 - made only here

        length, angle = _decimal(values["length"], "mm"), _decimal(values["angle"] or "0", "°")
        return FitExtension(
            who=ME, stamp=LATER, tool=line.tool, extension=Extension(length=length, angle=angle)
        )

    return Form(
        f"Extension on {line.wrench.label}",
        fields,
        make,
        enter="it is fitted",
        lead=("A socket extension in line with the square drive needs none.",),
    )


def _decimal(typed: str, unit: str) -> str:
    """A length or an angle as it was typed, as decimal text in `unit`. Raises QuantityError."""
    from runner.quantities import parse_entry  # noqa: PLC0415 - the first frame does without it

    return f"{parse_entry(typed, unit).value:f}"


def _length_problem(typed: str) -> str:
    return _problem(typed, "mm", "a length from 0 mm on")


def _angle_problem(typed: str) -> str:
    return _problem(typed, "°", "an angle from 0° on") if typed else ""


def _problem(typed: str, unit: str, expected: str) -> str:
    from runner.quantities import QuantityError  # noqa: PLC0415 - the first frame does without it

    try:
        value = _decimal(typed, unit)
    except QuantityError as error:
        return f"{error}."
    return f"{typed} is below 0; expected {expected}." if value.startswith("-") else ""
