"""What is declared and never used, and single-use parts that no list has: remarks, made only where all else links.

Judged on the files as written, each once, however often it is used; tools and parts are shared by name between a
caller and the files it uses.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field

from runner.procedure import source
from runner.procedure.finding import Grade, Mark
from runner.procedure.link_frame import Unit
from runner.procedure.link_names import ALWAYS
from runner.procedure.link_outline import ways
from runner.procedure.link_report import Report
from runner.procedure.link_tests import known_values

MOST_REMARKS = 100
"""So many remarks are made on one procedure; of the rest only the number is told."""

_TAKEN_NEW = ("starts", "fits")
"""The verbs before which a single-use part is asked for."""


@dataclass(frozen=True)
class _Remark:
    mark: Mark
    length: int
    grade: Grade
    rule: str
    message: str
    mend: str


@dataclass
class _Used:
    """The words that a file uses, by what they stand for."""

    items: set[str] = field(default_factory=set)
    numbered: set[str] = field(default_factory=set)
    tools: set[str] = field(default_factory=set)
    tests: set[str] = field(default_factory=set)
    sets: set[tuple[str, str]] = field(default_factory=set)
    places: set[str] = field(default_factory=set)


def check_unused(units: Sequence[Unit], report: Report) -> None:
    """Remark on everything that is declared and never used; `units` holds the main file first or anywhere."""
    files: dict[int, list[Unit]] = {}
    for unit in units:
        files.setdefault(id(unit.written), []).append(unit)
    used = {key: _used(same[0]) for key, same in files.items()}
    for unit in units:
        if unit.parent is not None:
            _agreed(unit, used[id(unit.parent[0].written)])
    tools = {name for one in used.values() for name in one.tools}
    parts = {item.part.text for unit in units for item in unit.written.items if item.part}
    sets = {pair for one in used.values() for pair in one.sets}
    made: list[_Remark] = []
    for key, same in files.items():
        written = same[0].written
        made += _items(written, used[key])
        made += _laid_out(written, tools, parts)
        made += _conditions(written, used[key])
        made += _places(written, used[key])
        if same[0].parent is None:
            made += _values(written, sets)
    for one in made[:MOST_REMARKS]:
        report.remark(one.mark, one.grade, one.rule, one.message, length=one.length, mend=one.mend)
    if len(made) > MOST_REMARKS:
        more, next_one = len(made) - MOST_REMARKS, made[MOST_REMARKS]
        message = f"{more} more remarks of this kind follow; they are not shown"
        report.remark(next_one.mark, "advice", "more-remarks", message)


def _used(unit: Unit) -> _Used:
    used, written = _Used(), unit.written
    for test in _stage_tests(written):
        used.tests.add(test.name.text)
    for item in written.items:
        used.places.update(name.text for name in item.each)
    used.places.update(part.each.text for part in written.parts if part.each)
    for entry in _entries(written.entries):
        match entry:
            case source.Step():
                _step(entry, used)
            case source.Repeat():
                used.places.add(entry.each.text)
        if isinstance(entry, source.Step | source.Repeat | source.Portion | source.Call):
            used.tests.update(test.name.text for test in entry.only_if)
            used.places.update(test.name.text for test in entry.only_for)
    contract = written.contract
    if contract is not None:
        used.items.update(name.text for name, _ in (*contract.takes_over, *contract.leaves_open))
        used.tests.update(name.text for name, _ in contract.ends_with)
    return used


def _stage_tests(written: source.Source) -> Iterator[source.Test]:
    for item in written.items:
        for stage in item.tighten:
            yield from stage.only_when


def _entries(entries: Iterable[source.Entry]) -> Iterator[source.Entry]:
    """Every entry of a file, also those that an answer leads to."""
    for entry in entries:
        yield entry
        match entry:
            case source.Step():
                for way in ways(entry):
                    yield from _along(way)
            case source.Repeat() | source.Portion():
                yield from _entries(entry.entries)
            case source.Again():
                yield from _along(entry.then)


def _along(way: source.Way) -> Iterator[source.Entry]:
    match way:
        case source.Nested():
            yield from _entries(way.entries)
        case source.Again():
            yield from _along(way.then)


def _step(step: source.Step, used: _Used) -> None:
    used.items.update(act.item.text for act in step.acts)
    if any(reading.text_kind == "part number" for reading in step.readings):
        used.numbered.update(act.item.text for act in step.acts if act.verb in _TAKEN_NEW)
    used.tools.update(tool.text for tool in step.tools)
    used.items.update(test.name.text for test in step.needs)
    used.tests.update(test.name.text for test in step.needs)
    used.sets.update((name.text, value.text) for name, value in step.sets)
    if step.put_off is not None:
        used.tests.update(test.name.text for test in step.put_off.until.tests)
        if step.put_off.before.condition:
            used.tests.add(step.put_off.before.condition.name.text)


def _agreed(unit: Unit, caller: _Used) -> None:
    """What a used file names of its caller's: the items of its contract, and the conditions it begins in."""
    contract = unit.written.contract
    if contract is not None:
        caller.items.update(name.text for name, _ in (*contract.takes_over, *contract.leaves_open))
    caller.tests.update(condition.name.text for condition in unit.written.conditions)


def _items(written: source.Source, used: _Used) -> Iterator[_Remark]:
    contract = written.contract
    shared = {name.text for name, _ in (*contract.takes_over, *contract.leaves_open)} if contract else set()
    for item in written.items:
        name = item.name.text
        if name not in used.items:
            yield _unused(item.name, f'the item "{name}" is never acted on or needed')
        elif item.new_every_time and item.part is None and name not in used.numbered | shared:
            message = f'"{name}" is new every time, and no part says what to lay out for it'
            mend = "add it under `parts` and name it with `part:`, or read its part number where it goes in"
            yield _Remark(item.name.mark, len(name), "advice", "part-unlisted", message, mend)


def _laid_out(written: source.Source, tools: set[str], parts: set[str]) -> Iterator[_Remark]:
    """Tools and parts may simply lie ready, so these are advice; a tool without a range is never missed."""
    for tool in written.tools:
        if tool.covers is not None and tool.name not in tools:
            message = f'"{tool.name}" covers {tool.covers.text()}, and no step names it under `tools`'
            mend = f"add `tools: [{tool.name}]` to the steps that set it or read it"
            yield _Remark(tool.mark, 1, "advice", "unused", message, mend)
    for part in written.parts:
        if part.name not in parts:
            message = f'no item names "{part.name}" with `part:`, so no step asks for it'
            mend = "write `part:` at the item it is for, or leave it where it is only laid out"
            yield _Remark(part.mark, 1, "advice", "unused", message, mend)


def _conditions(written: source.Source, used: _Used) -> Iterator[_Remark]:
    kept = {value.text for value, _ in written.make_safe if value.text != ALWAYS}
    for condition in written.conditions:
        read = condition.name.text in used.tests or condition.hazardous
        if not read and kept.isdisjoint(known_values(condition)):
            yield _unused(
                condition.name, f'no step, stage or window reads the condition "{condition.name.text}"'
            )


def _values(written: source.Source, sets: set[tuple[str, str]]) -> Iterator[_Remark]:
    """Values that a job can never come to by its steps; a used file is held to its caller's values instead."""
    for condition in written.conditions:
        started = {value.text for value in condition.at_start}
        for value, _ in condition.changes:
            if value.text not in started and (condition.name.text, value.text) not in sets:
                name = condition.name.text
                message = f'{name} never becomes "{value.text}": no step sets it, and no job begins there'
                yield _unused(value, message)


def _places(written: source.Source, used: _Used) -> Iterator[_Remark]:
    for location in written.locations:
        if location.name.text not in used.places:
            yield _unused(location.name, f'nothing is done or stands at the location "{location.name.text}"')
    for variant in written.variants:
        if variant.name.text not in used.places:
            message = f'"{variant.name.text}" is asked at the start, and no `only for` reads it'
            yield _unused(variant.name, message)


def _unused(name: source.Name, message: str) -> _Remark:
    return _Remark(name.mark, len(name.text), "warning", "unused", message, "take it out, or use it")
