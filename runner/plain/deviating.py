"""A deviation as a line: its kind, the reason, and what else is said of it behind semicolons."""

from typing import cast, get_args

from runner.job import actions as a
from runner.job.demand import Option
from runner.plain.grammar import folded, halves, picked
from runner.plain.replies import Complaint, Moment, Reply
from runner.plain.wrenches import meant
from runner.view import View


def owed_options(view: View) -> list[Option]:
    """Return what is owed as things to pick from, in the order that `:owed` numbers them."""
    return [Option(owed.key, owed.what) for owed in view.owed]


def deviate(rest: str, moment: Moment, usage: Complaint) -> Reply:
    """Return what `KIND: REASON` with its clauses means; `usage` where it is not written so."""
    kind, words = halves(rest, ":")
    kinds: tuple[str, ...] = get_args(a.DeviationKind)
    if folded(kind) not in kinds or not words:
        return Complaint(f"{usage.text}\nKIND is one of: {', '.join(kinds)}.")
    reason, authority, raw, about = deviation_clauses(words)
    if not reason:
        return usage
    chosen = cast("a.DeviationKind", folded(kind))
    subject = _subject(chosen, about, moment.view)
    offer = meant(about, moment.view) if chosen == "unfit tool" and about else None
    if isinstance(offer, Complaint):
        return offer
    if offer is not None:
        subject = f"tool:{offer.tool}"
    return a.Deviate(
        kind=chosen,
        reason=reason,
        authority=authority,
        raw=raw,
        subject=subject,
        wrench=offer.wrench if offer is not None else None,
        **moment.base(),
    )


def deviation_clauses(words: str) -> tuple[str, str, str, str]:
    """Return reason, authority, value and subject of `REASON [; by NAME] [; = VALUE] [; about WHAT]`."""
    found = {"by ": "", "=": "", "about ": ""}
    reason: list[str] = []
    for part in words.split(";"):
        clause = part.strip()
        mark = next((mark for mark in found if clause.casefold().startswith(mark)), None)
        if mark is None or not reason:
            reason.append(clause)
        else:
            found[mark] = clause[len(mark) :].strip()
    return "; ".join(reason), found["by "], found["="], found["about "]


def _subject(kind: a.DeviationKind, about: str, view: View) -> str:
    """Return the subject of a deviation: a number means a line of the list that is on the screen."""
    options = {"late": owed_options(view), "not available": list(view.demand.options)}.get(kind)
    if options is None:
        return about
    option = picked(about, options) if about else (options[0] if options else None)
    return option.key if option is not None else about
