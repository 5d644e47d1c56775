"""Tools of the shop by lines: offered under what they are for, picked by number or name, unfit ones by a deviation.

A tool of the shop is numbered under the line of the list that it would do for: `1.2` is the second for line 1.
"""

import re
from collections.abc import Iterable

from runner.job import actions as a
from runner.job.demand import Option
from runner.joint.wrench import Extension
from runner.plain.grammar import halves, picked
from runner.plain.replies import Complaint, Moment, Reply
from runner.quantities import QuantityError, parse_entry
from runner.toolwords import in_hand, named, offers_for
from runner.view import ShopTool, View

_DOTTED = re.compile(r"([1-9][0-9]{0,2})\.([1-9][0-9]{0,2})", re.ASCII)


def lines_to_pick(view: View) -> list[Option]:
    """What the first number of `1.2` counts: the lines to lay out before step 1, afterwards the tools counted in."""
    if view.demand.kind == "prepare":
        return list(view.demand.options)
    return [Option(f"tool:{name}", name) for name, _ in view.tools]


def offer_lines(view: View, key: str, number: int) -> list[str]:
    """The shop's tools for the line `number` of a list, with their numbers, the best first."""
    if not key.startswith("tool:"):
        return []
    offers = offers_for(view, key.removeprefix("tool:"))
    return [
        f"     {number}.{place} {'UNFIT ' if offer.against else ''}{offer.wrench.label}: {offer.words}"
        for place, offer in enumerate(offers, start=1)
    ]


def best_for_line(view: View, key: str) -> ShopTool | None:
    """The best of the shop that nothing speaks against, for a line of a list."""
    offers = offers_for(view, key.removeprefix("tool:")) if key.startswith("tool:") else ()
    return next((offer for offer in offers if not offer.against), None)


def dotted(text: str, view: View) -> ShopTool | Complaint | None:
    """The tool of the shop that `1.2` means; None where the text is no such number, or the line has no tools."""
    match = _DOTTED.fullmatch(text.strip())
    if match is None:
        return None
    lines, line, place = lines_to_pick(view), int(match[1]), int(match[2])
    offers = offers_for(view, lines[line - 1].key.removeprefix("tool:")) if line <= len(lines) else ()
    if not offers:
        return None
    if place > len(offers):
        return Complaint(
            f"There is no {text.strip()}: line {line} has tools from {line}.1 to {line}.{len(offers)}."
        )
    return offers[place - 1]


def count_in(tool: str, written: str, moment: Moment) -> Reply:
    """A tool counted in by what is written on it; one of the shop's is known by that."""
    offer = named(offers_for(moment.view, tool), written)
    if offer is not None:
        return count_in_offer(offer, moment)
    return a.CountIn(tool=tool, identity=written, **moment.base())


def count_in_offer(offer: ShopTool, moment: Moment) -> Reply:
    """A tool of the shop counted in, or what it needs where something speaks against it."""
    if offer.against:
        return unfit(offer)
    return a.CountIn(tool=offer.tool, wrench=offer.wrench, **moment.base())


def unfit(offer: ShopTool) -> Complaint:
    """What speaks against a tool, and the deviation by which it is used all the same."""
    return Complaint(
        f"{offer.wrench.label} is unfit for {offer.tool}: {offer.words}.\n"
        f"Take another one, or write: :deviate unfit tool: REASON; about {offer.tool} = {offer.wrench.label}"
    )


def change_tool(rest: str, moment: Moment) -> Reply | None:
    """From here on another tool: `NAME = IDENTITY: REASON`, or a number of the list; None where it is neither."""
    which, reason = halves(rest, ":")
    offer = dotted(which, moment.view)
    if offer is None:
        name, words = halves(rest, "=")
        identity, reason = halves(words, ":")
        known = picked(name, [Option(tool, tool) for tool, _ in moment.view.tools])
        if not identity or known is None:
            return None
        offer = named(offers_for(moment.view, known.key), identity)
        if offer is None:
            if not reason:
                return None
            return a.ChangeTool(tool=known.key, identity=identity, reason=reason, **moment.base())
    if isinstance(offer, Complaint):
        return offer
    if offer.against:
        return unfit(offer)
    if not reason:
        return None
    return a.ChangeTool(tool=offer.tool, identity="", reason=reason, wrench=offer.wrench, **moment.base())


def meant(about: str, view: View) -> ShopTool | Complaint | None:
    """The tool of the shop that `about` of a deviation means: `1.2`, or `TOOL = NAME`; None for neither."""
    offer = dotted(about, view)
    if offer is not None:
        return offer
    name, written = halves(about, "=")
    known = picked(name, [*lines_to_pick(view), *(Option(each.tool, each.tool) for each in view.shop_tools)])
    if not written or known is None:
        return None
    tool = known.key.removeprefix("tool:")
    return named(offers_for(view, tool), written) or Complaint(
        f"The toolbox has no {written} for {tool}. :tools lists what it has."
    )


def fit_extension(rest: str, moment: Moment) -> Reply | None:
    """`LENGTH [at ANGLE] [on TOOL]`; None where there is no length."""
    words, tool = _on_tool(rest, moment.view)
    length, angle = _parted(words, " at ")
    if not length:
        return None
    try:
        made = Extension(
            length=f"{parse_entry(length, 'mm').value:f}", angle=f"{parse_entry(angle or '0', '°').value:f}"
        )
    except QuantityError as error:
        return Complaint(f"{error}.")
    return a.FitExtension(tool=tool, extension=made, **moment.base())


def take_off_extension(rest: str, moment: Moment) -> Reply:
    """`[on TOOL]`."""
    _, tool = _on_tool(f" {rest}", moment.view)
    return a.FitExtension(tool=tool, extension=None, **moment.base())


def _on_tool(text: str, view: View) -> tuple[str, str]:
    """What stands before ` on TOOL`, and the tool: the one named, else the one in hand or the only one known."""
    words, name = _parted(text, " on ")
    if name:
        known = picked(name, [Option(line.tool, line.wrench.label) for line in view.wrenches])
        return words, known.key if known is not None else name
    held = in_hand(view)
    known_tools = [line.tool for line in view.wrenches]
    return words, held if held in known_tools or len(known_tools) != 1 else known_tools[0]


def _parted(text: str, mark: str) -> tuple[str, str]:
    before, _, after = text.partition(mark)
    return before.strip(), after.strip()


def tool_lines(view: View) -> Iterable[str]:
    """The tools counted in, what is fitted to them, and what the shop has instead of each."""
    fitted = {line.tool: line.extension for line in view.wrenches if line.extension}
    for number, (name, identity) in enumerate(view.tools, start=1):
        with_it = f", with {fitted[name]}" if name in fitted else ""
        yield f"  {number}. {name}{f' ({identity})' if identity else ''}{with_it}"
        yield from offer_lines(view, f"tool:{name}", number)
