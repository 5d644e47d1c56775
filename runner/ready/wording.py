"""A ready sheet as sections of lines, the same for the terminal and for paper: what is ticked, said and set apart."""

from collections.abc import Iterable, Iterator

from runner.frozen import Frozen
from runner.job.words import duration_words
from runner.joint.sourced import FROM_MEMORY
from runner.ready.estimate import Estimate, Span
from runner.ready.facts import Offer, PartLine, SettingLine, Sheet, StageLine, StartLine, TighteningLine, Use

CAUTIONS = (
    "This sheet says what the procedure says; it is not a source of repair data. The vehicle maker's information, local"
    " codes and licensed practice come before anything it says.",
    "Never work under a car on a jack alone. If in doubt, stop, make the work safe and fetch help.",
)


class Line(Frozen):
    """One line and what belongs under it. `tick`: a box to tick goes before it; `strong`: it must not be overlooked."""

    text: str
    under: tuple["Line", ...] = ()
    tick: bool = False
    strong: bool = False


class Section(Frozen):
    """A part of the sheet."""

    title: str
    lines: tuple[Line, ...]


def heading(sheet: Sheet) -> tuple[str, ...]:
    """What sheet it is: for which procedure and day."""
    return (
        f"Ready sheet: {sheet.title} ({sheet.procedure}, revision {sheet.revision})",
        f"For: {sheet.fits}",
        f"Sources: {'; '.join(sheet.sources)}",
        f"Made on {sheet.day}. Toolbox: {' and '.join(sheet.toolbox) or 'none'}",
    )


def warnings(sheet: Sheet) -> tuple[str, ...]:
    """What stands on top because the rest can only be trusted so far."""
    found = []
    if not sheet.proved:
        errors = f"{sheet.errors} error{'' if sheet.errors == 1 else 's'}"
        found.append(
            f"NOT PROVED: the proof finds {errors} in this procedure (witnessmark check says which). This sheet may"
            " lack something, and what it says may not hold on every way."
        )
    if sheet.toolbox_errors:
        found.append(
            "The toolbox file has errors (witnessmark tools shows them); a tool whose entry is wrong is not on this"
            " sheet."
        )
    return tuple(found)


def sections(sheet: Sheet) -> Iterator[Section]:
    """Every section that has something to say, in the order in which a job is made ready."""
    made = (
        ("People", _people(sheet)),
        ("The work piece before the start", _start(sheet)),
        ("Tools", _tools(sheet)),
        ("Aids and locks that stay in the work for a time", _aids(sheet)),
        ("Parts", _parts(sheet)),
        ("Supplies", (Line(each, tick=True) for each in sheet.supplies)),
        ("Documents", (Line(each, tick=True) for each in sheet.documents)),
        ("Tightening", _tightenings(sheet)),
        ("Time", _time(sheet.estimate)),
        ("Work that must wait", _put_off(sheet)),
        ("Afterwards", (Line(f"{what}: {text}") for what, text in sheet.follow_up)),
    )
    for title, lines in made:
        kept = tuple(lines)
        if kept:
            yield Section(title, kept)


def use_words(use: Use, *, when: bool = True) -> str:
    """`wheel-tight (left, right)`, with when it is done where that is not always."""
    places = _places(use.places, one=use.one_place)
    said = f", {use.when}" if when and use.when else ""
    return f"{use.step}{f' ({places})' if places else ''}{said}"


def _places(places: tuple[str, ...], *, one: bool) -> str:
    """Places in words; those of a choice made at the start are listed once, with that choice."""
    if not one:
        return ", ".join(places)
    return f"{places[0]}, if chosen" if len(places) == 1 else "the place chosen" if places else ""


def _for(uses: Iterable[Use]) -> tuple[Line, ...]:
    """The steps that need something: those of every way in one line, each of the others in its own."""
    uses = tuple(uses)
    always = ", ".join(use_words(use) for use in uses if not use.when)
    lines = [Line(f"for {always}")] if always else []
    return (*lines, *(Line(f"for {use_words(use)}") for use in uses if use.when))


def _people(sheet: Sheet) -> Iterator[Line]:
    for role, number in sheet.people:
        yield Line(f"{number} × {role}" if number > 1 else role, tick=True)
    for helper in sheet.helpers:
        yield Line(f"a helper at {use_words(helper.use)}: {helper.words}", tick=True)
    second = [
        *(f"{role} releases the hold point {use_words(use)}" for use, role in sheet.holds),
        *(f"a second person reads at {use_words(use)}: {what}" for use, what in sheet.seconds),
    ]
    if second:
        yield Line(
            "Nobody releases or reads a second time what was done by the same person. One person alone needs a "
            "deviation with a reason for each of these, and each stays an open point of the report:",
            under=tuple(Line(each) for each in second),
            strong=True,
        )


def _start(sheet: Sheet) -> Iterator[Line]:
    for each in sheet.conditions:
        asked = " (which one is asked at the start)" if len(each.values) > 1 else ""
        yield Line(f"{each.name}: {' or '.join(each.values)}{asked}", tick=True)
    for each in sheet.states:
        yield Line(f"{each.name} is {' or '.join(each.values)}", tick=True)
    for each in sheet.choices:
        yield Line(_choice(each), tick=True)
    for name, unit in sheet.counters:
        yield Line(f"read the {name}, in {unit}", tick=True)


def _choice(choice: StartLine) -> str:
    return f"choose the {choice.name}: {', '.join(choice.values)}"


def _tools(sheet: Sheet) -> Iterator[Line]:
    for tool in sheet.tools:
        covers = f", covers {tool.covers}" if tool.covers else ""
        uses = _for(tool.uses) or (Line("no step names it"),)
        best = next((each for each in tool.offers if each.fits), None)
        offered = tuple(
            Line(f"{_mark(each, best)}{each.tool}: {each.words}", tick=each.fits) for each in tool.offers
        )
        if not offered and tool.covers and sheet.tools_in_box:
            offered = (Line("none of the toolbox"),)
        yield Line(f"{tool.name}{covers}", (*uses, *offered), tick=True)


def _mark(offer: Offer, best: Offer | None) -> str:
    """What stands before a tool of the shop. Of a gauge only the range is known, not that it is the one meant."""
    if not offer.fits:
        return "UNFIT: "
    if offer.by_range:
        return "by its range: "
    return "best: " if offer is best else ""


def _aids(sheet: Sheet) -> Iterator[Line]:
    for aid in sheet.aids:
        yield Line(aid.name, _for(aid.uses), tick=True)


def _parts(sheet: Sheet) -> Iterator[Line]:
    for part in sheet.parts:
        number = f", number {part.number}" if part.number else ""
        yield Line(f"{part.quantity} × {part.name}{number}", tuple(_about_part(part)), tick=True)


def _about_part(part: PartLine) -> Iterator[Line]:
    if part.single_use:
        most = f"; the longest way uses up {part.most}" if part.most else ""
        yield Line(
            f"SINGLE USE: a new one each time for {', '.join(part.single_use)}{most}",
            strong=part.most is not None and part.most > part.quantity,
        )
    yield from _for(part.uses) or (Line("no step names it"),)


def _tightenings(sheet: Sheet) -> Iterator[Line]:
    alone = not sheet.tools_in_box
    if alone and sheet.tightenings:
        yield Line("No toolbox: torques as they are asked, and no settings of a wrench.")
    memory = False
    for each in sheet.tightenings:
        yield Line(_fastener(each), tuple(_stage(stage, each) for stage in each.stages))
        memory = memory or any(line.from_memory for stage in each.stages for line in stage.settings)
    orders = dict.fromkeys(
        (stage.order, each.count, source)
        for each in sheet.tightenings
        for stage in each.stages
        for source in stage.order_sources
    )
    for order, count, source in orders:
        note = f"; {source.note}" if source.note else ""
        yield Line(f"Order {order} of {count}: {source.text()}{note}", strong=source.from_memory)
    if memory:
        yield Line(f"Some of these settings rest on a value {FROM_MEMORY}.", strong=True)


def _fastener(each: TighteningLine) -> str:
    places = _places(each.places, one=each.one_place)
    many = f", {each.count}{' each' if len(each.places) > 1 else ''}" if each.count > 1 else ""
    critical = ", CRITICAL" if each.critical else ""
    return f"{each.item}{f' ({places})' if places else ''}{many}{f', {each.about}' if each.about else ''}{critical}"


def _stage(stage: StageLine, of: TighteningLine) -> Line:
    words = [stage.target or "snug"]
    words[0] += f" (about {stage.other})" if stage.other else ""
    words += [stage.band] if stage.band and stage.band != stage.target else []
    if stage.share and stage.share != "100":
        words.append(f"{stage.share} % of the whole")
    if stage.final_pass:
        words.append("until none turns any more")
    words += [stage.order] if stage.order else []
    words += [" or ".join(stage.methods)] if stage.methods else []
    words += [f"only when {stage.only_when}"] if stage.only_when else []
    name = "round" if of.count > 1 else "stage"
    text = f"{name} {stage.number}: {', '.join(words)}"
    uses = "; ".join(use_words(use, when=bool(use.when)) for use in stage.uses)
    best = next((line for line in stage.settings if line.fits), None)
    under = [Line(f"at {uses}")]
    under += [Line(setting_words(line, best=line is best), tick=line.fits) for line in stage.settings]
    if stage.settings and best is None:
        under.append(Line("None of the toolbox gives it: another wrench, or a deviation.", strong=True))
    return Line(text, tuple(under))


def setting_words(line: SettingLine, *, best: bool = False) -> str:
    """`best: Click wrench 130: set 44 lbf·ft, gives 59.66 N·m (−0.57 %)`, or why it does not go."""
    given = f"{'read' if line.reads else 'set'} {line.text}" if line.text else ""
    if given and line.error:
        given += f", gives {line.applied} ({line.error})"
    if not line.fits:
        return f"UNFIT: {line.wrench}: {'; '.join(line.against)}{f' (else {given})' if given else ''}"
    low = "; WARNING: under 20 % of its maximum, where it is least accurate" if line.warning else ""
    return f"{'best: ' if best else ''}{line.wrench}: {given}{low}"


def _time(estimate: Estimate) -> Iterator[Line]:
    if estimate.said:
        least, most = ("", "") if estimate.exact else ("at least ", "at most ")
        if estimate.shortest is not None:
            yield Line(f"shortest way: {least}{_span(estimate.shortest)}")
        if estimate.longest is not None:
            again = " (every way back as often as it may be)" if estimate.exact else ""
            yield Line(f"longest way{again}: {most}{_span(estimate.longest)}")
        elif estimate.shortest is not None:
            yield Line("longest way: not bounded, so none is told")
        yield Line("These are the author's estimates. Waiting for put-off work is not in them.")
    elif estimate.shortest is not None and estimate.shortest.wait:
        yield Line(f"waits on every way: {duration_words(estimate.shortest.wait)} at least")
    if estimate.unsaid:
        count = len(estimate.unsaid)
        of = f"{count} of {count + estimate.said} steps have" if estimate.said else "No step has"
        names = f": {', '.join(estimate.unsaid)}" if estimate.said else ""
        yield Line(f"{of} no estimate, and none is guessed{names}" if estimate.said else f"{of} an estimate.")


def _span(span: Span) -> str:
    total = duration_words(span.work + span.wait)
    wait = f", {duration_words(span.wait)} of it waiting" if span.wait else ""
    unsaid = f"; {span.unsaid} of its {span.steps} steps not reckoned in" if span.unsaid else ""
    return f"{total}{wait}{unsaid}"


def _put_off(sheet: Sheet) -> Iterator[Line]:
    for each in sheet.put_off:
        under = [Line(f"waits until {each.until}; due before {each.before}"), Line(f"because {each.because}")]
        if each.no_later is not None:
            latest, after = each.no_later
            under.append(Line(f"no later than {duration_words(latest)} after {' or '.join(after)}"))
        yield Line(f"{use_words(each.use)}: {each.title}", tuple(under))
