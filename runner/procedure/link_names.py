"""What a file declares: names that are said twice or mean two things, parts, conditions and choices."""

from collections.abc import Iterable

from runner.procedure import linked, source
from runner.procedure.link_frame import Unit
from runner.procedure.link_report import Report
from runner.procedure.link_tests import known_values

ALWAYS = "always"
"""The key of `make safe` that holds whatever the conditions are."""


def check_declared(unit: Unit, report: Report) -> None:
    """Check everything at the head of one file."""
    written = unit.written
    for things, what in ((written.tools, "tool"), (written.parts, "part"), (written.counters, "counter")):
        _once((source.Name(mark=thing.mark, text=thing.name) for thing in things), what, report)
    _two_meanings(unit, report)
    for part in written.parts:
        if part.each and part.each.text not in unit.locations:
            report.unknown(part.each, "unknown-location", "location", unit.locations)
    _make_safe(unit, report)


def _once(names: Iterable[source.Name], what: str, report: Report) -> None:
    seen: set[str] = set()
    for name in names:
        if name.text in seen:
            report.at(name, "double-name", f'the {what} "{name.text}" is already written')
        seen.add(name.text)


def _two_meanings(unit: Unit, report: Report) -> None:
    """A name in `needs` or `only for` must not mean two things."""
    for item in unit.written.items:
        if item.name.text in unit.conditions:
            message = f'"{item.name.text}" is a condition too; a name has one meaning'
            report.at(item.name, "two-meanings", message)
    for variant in unit.written.variants:
        if variant.name.text in unit.locations:
            message = f'"{variant.name.text}" is a location too; a name has one meaning'
            report.at(variant.name, "two-meanings", message)


def _make_safe(unit: Unit, report: Report) -> None:
    values = [value for condition in unit.written.conditions for value in known_values(condition)]
    for key, _ in unit.written.make_safe:
        if key.text != ALWAYS and key.text not in values:
            known = [*values, ALWAYS]
            report.unknown(key, "unknown-value", "value of a condition", known)


def condition(written: source.Condition, there: tuple[tuple[str, str], ...]) -> linked.Condition:
    """A condition with its detours, `there` being (value, first node)."""
    return linked.Condition(
        name=written.name.text,
        at_start=tuple(dict.fromkeys(value.text for value in written.at_start)),
        changes=tuple((value.text, tuple(to.text for to in tos)) for value, tos in written.changes),
        hazardous=tuple(value.text for value in written.hazardous),
        getting_there=there,
    )


def choices(unit: Unit) -> list[tuple[source.Name, linked.Choice]]:
    """Everything about this file that is chosen at the start, variants first."""
    made = [
        (variant.name, linked.Choice(name=variant.name.text, values=_texts(variant.values)))
        for variant in unit.written.variants
    ]
    chosen = [location for location in unit.written.locations if location.choose]
    return made + [
        (place.name, linked.Choice(name=place.name.text, values=_texts(place.values), location=True))
        for place in chosen
    ]


def _texts(names: Iterable[source.Name]) -> tuple[str, ...]:
    return tuple(name.text for name in names)
