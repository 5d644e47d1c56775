"""The outline of one file: its steps and readings by name, and the order of everything in the text."""

from collections.abc import Iterator
from dataclasses import dataclass, field

from runner.procedure.link_report import Report
from runner.procedure.source import (
    Again,
    Call,
    Entry,
    Name,
    Nested,
    Portion,
    Reading,
    Repeat,
    Sorting,
    Source,
    Step,
    Way,
    WorkOut,
)


@dataclass(frozen=True)
class Declared:
    """A step as written: its place in the text order, and the locations of the repeats around it."""

    step: Step
    index: int
    repeats: tuple[str, ...]

    @property
    def labels(self) -> tuple[str, ...]:
        """The answers that a later step may refer to: of its question, or the names of its sorted bands."""
        return tuple(a.label for a in self.step.answers) + tuple(s.label for s in sortings(self.step))


@dataclass
class Outline:
    """Steps and readings of one file by name, its calls, and the text order of entries by identity."""

    steps: dict[str, Declared] = field(default_factory=dict)
    readings: dict[str, tuple[Declared, Reading | WorkOut]] = field(default_factory=dict)
    order: dict[int, int] = field(default_factory=dict)
    calls: list[Call] = field(default_factory=list)

    def index(self, entry: Entry) -> int:
        """Where the entry stands in the text, counted from 0."""
        return self.order[id(entry)]


def entered(step: Step) -> list[Reading | WorkOut]:
    """The readings of a step and then its worked-out values."""
    return [*step.readings, *step.worked_out]


def sortings(step: Step) -> tuple[Sorting, ...]:
    """Every named band of the step's readings and worked-out values."""
    return tuple(sorting for reading in entered(step) for sorting in reading.sorting)


def ways(step: Step) -> Iterator[Way]:
    """Every way out of a step that is written, in the order of the text."""
    yield from (answer.way for answer in step.answers)
    yield from (sorting.way for sorting in sortings(step))
    if step.hold and step.hold.if_refused:
        yield step.hold.if_refused
    if step.in_time and step.in_time.too_late:
        yield step.in_time.too_late


def outline(source: Source, report: Report) -> Outline:
    """Read the outline of a file; double and reserved names are reported."""
    made = Outline()
    _entries(source.entries, (), made, report)
    for name, (_, reading) in made.readings.items():
        if numbered(name, made):
            base = name.rpartition("-")[0]
            message = f'"{name}" is also one of the readings of "{base}", which is taken several times'
            report.at(reading.name, "double-name", message)
    return made


def numbered(name: str, made: Outline) -> tuple[Declared, Reading, int] | None:
    """What `gap-2` means where the reading `gap` is taken several times: its step, itself, which time."""
    base, _, number = name.rpartition("-")
    found = made.readings.get(base)
    if found is None or not isinstance(found[1], Reading) or not (number.isascii() and number.isdecimal()):
        return None
    time = int(number) if len(number) < 7 else 0
    return (found[0], found[1], time) if found[1].times > 1 and 1 <= time <= found[1].times else None


def _entries(entries: tuple[Entry, ...], repeats: tuple[str, ...], made: Outline, report: Report) -> None:
    for entry in entries:
        made.order[id(entry)] = len(made.order)
        match entry:
            case Step():
                _step(entry, repeats, made, report)
            case Repeat():
                _entries(entry.entries, (*repeats, entry.each.text), made, report)
            case Portion():
                _entries(entry.entries, repeats, made, report)
            case Again():
                _way(entry.then, repeats, made, report)
            case Call():
                made.calls.append(entry)
            case _:
                pass


def _way(way: Way, repeats: tuple[str, ...], made: Outline, report: Report) -> None:
    if isinstance(way, Nested):
        _entries(way.entries, repeats, made, report)
    elif isinstance(way, Again):
        _way(way.then, repeats, made, report)


def _step(step: Step, repeats: tuple[str, ...], made: Outline, report: Report) -> None:
    declared = Declared(step, made.order[id(step)], repeats)
    name = step.name
    if first := made.steps.get(name.text):
        line = first.step.name.mark.line
        report.at(name, "double-name", f'the step "{name.text}" is already written in line {line}')
    made.steps.setdefault(name.text, declared)
    for reading in entered(step):
        _reading(reading, declared, made, report)
    for way in ways(step):
        _way(way, repeats, made, report)


def _reading(reading: Reading | WorkOut, declared: Declared, made: Outline, report: Report) -> None:
    name: Name = reading.name
    if first := made.readings.get(name.text):
        line = first[1].name.mark.line
        report.at(name, "double-name", f'the reading "{name.text}" is already written in line {line}')
    made.readings.setdefault(name.text, (declared, reading))
