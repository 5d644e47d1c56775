"""Which tool of the shop is meant, and which is in hand: what both front ends ask of a picture. Loads nothing heavy."""

from runner.view import ShopTool, View, WrenchLine


def offers_for(view: View, tool: str) -> tuple[ShopTool, ...]:
    """What the shop has for a tool of the procedure, the best first."""
    return tuple(offer for offer in view.shop_tools if offer.tool == tool)


def named(offers: tuple[ShopTool, ...], written: str) -> ShopTool | None:
    """The one whose name, serial number or both are `written`."""
    sought = " ".join(written.split()).casefold()
    names = (
        {o.wrench.label.casefold(), o.wrench.serial.casefold(), o.wrench.name.casefold()} for o in offers
    )
    found = [offer for offer, known in zip(offers, names, strict=True) if sought and sought in known]
    return found[0] if len(found) == 1 else None


def in_hand(view: View) -> str:
    """The tool that the act asked for is done with, by its name in the procedure; nothing where none is counted in."""
    for name, identity in view.tools:
        if view.demand.tool and view.demand.tool in {f"{name} {identity}".rstrip(), identity, name}:
            return name
    return view.tools[0][0] if len(view.tools) == 1 else ""


def wrench_of(view: View) -> WrenchLine | None:
    """The tool of the toolbox that the value asked for is set or read on."""
    held = view.demand.tool
    return next((w for w in view.wrenches if held in {f"{w.tool} {w.wrench.label}", w.wrench.label}), None)


def is_value(line: str) -> bool:
    """Whether a line is a number with a unit, as a measuring tool sends it."""
    from runner.quantities import QuantityError, parse_quantity  # noqa: PLC0415 - the first frame does without it

    try:
        return parse_quantity(line).kind not in ("count", "ratio")
    except QuantityError:
        return False
