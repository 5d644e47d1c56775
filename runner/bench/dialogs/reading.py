"""Texts to read: the explanation of what the screen shows, and the way behind and ahead. Neither changes anything."""

from runner.bench.form import Reader
from runner.bench.stripe import legend
from runner.bench.theme import Signs
from runner.view import NO_WAY, UNPROVED_MEANS, ProofLine, View

_STATE = {"done": "done", "now": "NOW", "later": "later", "waived": "waived by deviation"}


def explain(
    view: View,
    signs: Signs,
    message: tuple[str, str] = ("", ""),
    keys: tuple[tuple[str, str], ...] = (),
    answer: tuple[ProofLine, ...] = (),
) -> Reader:
    """Why the gate is shut, what would lift it, and every text of the step in full."""
    lines: list[tuple[str, str]] = []
    if message[0]:
        lines += [("Message", message[0]), ("", message[1]), ("", "")]
    if answer:
        lines += [("Proof" if not at else "", line.text) for at, line in enumerate(answer)] + [("", "")]
    lines += _asked(view)
    if view.demand.tool and (view.demand.band or view.demand.working):
        from runner.settingwords import setting_lines  # noqa: PLC0415 - the first frame does without it

        lines += setting_lines(view)
    if view.demand.order:
        from runner.settingwords import order_lines  # noqa: PLC0415 - as above

        lines += order_lines(view)
    lines += _step(view)
    lines += [("", "")]
    if view.identity.unproved:
        lines += [("Not proved", view.identity.unproved), ("So", UNPROVED_MEANS), ("", "")]
    lines += [("No way left", words) for words in view.lost]
    lines += [("Deviation", f"{point.number}: {point.text}") for point in view.open_points]
    refused = [offer for offer in view.offers if offer.why_not]
    lines += [("Not now", f"{offer.label}: {offer.why_not}") for offer in refused]
    lines += [
        ("", ""),
        *(("Keys" if not at else "", f"{key}  {text}") for at, (key, text) in enumerate(keys)),
    ]
    who = view.identity
    lines += [("", ""), ("Fits", who.fits)]
    lines += [("Source" if not at else "", source) for at, source in enumerate(who.sources)]
    lines += [("", ""), *(("Stripe" if not at else "", text) for at, text in enumerate(legend(signs)))]
    return Reader("Why, and what the screen means", tuple(lines))


def _asked(view: View) -> list[tuple[str, str]]:
    demand = view.demand
    said = view.step is not None and view.step.title == demand.prompt
    lines = [] if said else [("Asked now", demand.prompt)]
    facts = (
        ("Lifted by", demand.lift), ("To set" if demand.specified else "Value", demand.big),
        ("For", demand.specified), ("Band", demand.band), ("Correction", demand.correction),
        ("Mind", demand.warning), ("Tool", demand.tool),
        ("It is", demand.about),
        ("Known by", ", ".join(demand.methods)), ("Released by", demand.role),
    )  # fmt: skip
    lines += [(label, text) for label, text in facts if text]
    if demand.critical:
        lines.append(("Critical", "it cannot be left undone by the performer alone"))
    lines += [("Choice" if not at else "", option.label) for at, option in enumerate(demand.options)]
    return [*lines, ("", "")] if lines else []


def _step(view: View) -> list[tuple[str, str]]:
    step = view.step
    if step is None:
        return []
    lines = [("Step", f"{step.place + ': ' if step.place else ''}{step.title}")]
    for notice in step.notices:
        read = {True: "read", False: "NOT YET READ", None: "stands"}[notice.acknowledged]
        lines.append(
            (notice.level.upper(), f"{notice.hazard}: {notice.consequence}. {notice.avoid} ({read})")
        )
    texts = (
        ("Expect", step.expect),
        ("Because", step.because),
        ("Tools", ", ".join(step.tools)),
        ("Helper", step.helper),
        ("Sketch", step.sketch),
    )
    lines += [(label, text) for label, text in texts if text]
    lines += [
        ("Gate" if not at else "", f"{_STATE[line.state]}: {line.text}") for at, line in enumerate(step.gate)
    ]
    return lines


def look_around(view: View, signs: Signs) -> Reader:
    """The steps done, the step in hand, and the steps ahead as the record now stands."""
    behind = [(signs.done, _words(line.place, line.title, line.note)) for line in view.trail]
    here = [(signs.now, _words(view.step.place, view.step.title, "in hand"))] if view.step else []
    ahead = [(signs.later, _words(line.place, line.title, line.note)) for line in view.ahead]
    items = [
        (item.mark, f"{item.label}: {item.state}{' (off the plan)' if item.off_plan else ''}")
        for item in view.items
    ]
    owed = [
        ("put off", f"{_words(o.where, o.what, o.why)} - until {o.trigger}, {o.until}") for o in view.owed
    ]
    lost = [(NO_WAY, words) for words in view.lost]
    recorded = [("recorded", words) for _, words in view.recorded]
    blank = [("", "")]
    lines = [*behind, *here, *ahead, *blank, *owed, *lost, *blank, *items, *blank, *recorded]
    return Reader("Back and ahead", tuple(lines), at=max(len(behind) - 3, 0))


def _words(place: str, title: str, note: str) -> str:
    words = f"{place}: {title}" if place else title
    return f"{words} ({note})" if note else words
