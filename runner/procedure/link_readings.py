"""Readings and worked-out values: bands as text, sorted ways, inputs found and dimensions checked."""

from runner.procedure import linked, source
from runner.procedure.formula import FormulaError, check_result, parse
from runner.procedure.link_bands import interval
from runner.procedure.link_frame import Draft
from runner.procedure.link_outline import Declared, numbered
from runner.procedure.link_refs import only_draft
from runner.procedure.link_report import Report
from runner.quantities import Band, QuantityError, unit_named


def readings(draft: Draft, step: source.Step, report: Report) -> tuple[linked.Reading, ...]:
    """Everything the step asks to be entered, and then what it works out."""
    made = [_reading(reading, draft, report) for reading in step.readings]
    return (*made, *(_worked_out(work_out, draft, report) for work_out in step.worked_out))


def _reading(reading: source.Reading, draft: Draft, report: Report) -> linked.Reading:
    unit = reading.unit
    if reading.kind == "number":
        unit = _unit(reading, report)
    if reading.sorting and reading.times > 1:
        message = f'"{reading.name.text}" is sorted, so it can be taken only once'
        report.at(reading.name, "sorted", message)
    return linked.Reading(
        name=reading.name.text,
        what=reading.what,
        kind=reading.kind,
        unit=unit,
        text_kind=reading.text_kind,
        times=reading.times,
        band=_interval(reading.band, unit, reading, report),
        sorting=_sorted(reading, unit, draft, report),
        blind_second=reading.blind_second,
        critical=reading.critical,
    )


def _unit(reading: source.Reading | source.WorkOut, report: Report) -> str | None:
    if reading.unit is None:
        report.at(reading.name, "unit", f'"{reading.name.text}" is a number and needs a unit')
        return None
    try:
        return unit_named(reading.unit)
    except QuantityError as error:
        report.error(reading.mark, "unit", str(error))
        return None


def _interval(
    band: Band | None, unit: str | None, written: source.Reading | source.WorkOut, report: Report
) -> linked.Interval | None:
    if band is None or unit is None:
        return None
    try:
        return interval(band, unit)
    except QuantityError as error:
        report.error(written.mark, "quantity", str(error))
        return None


def _sorted(
    reading: source.Reading | source.WorkOut, unit: str | None, draft: Draft, report: Report
) -> tuple[linked.Sorting, ...]:
    made: list[linked.Sorting] = []
    exits = draft.sorted_ways.get(reading.name.text, ())
    for number, (sorting, way) in enumerate(zip(reading.sorting, exits, strict=True)):
        before = reading.sorting[:number]
        if before and before[-1].band is None:
            message = f'"{sorting.label}" is never reached: "{before[-1].label}" takes all the rest'
            report.error(sorting.mark, "sorted", message)
        elif sorting.band and any(_inside(sorting.band, other.band) for other in before):
            message = f'"{sorting.label}" is never reached: a band before it takes all of it'
            report.error(sorting.mark, "sorted", message)
        made.append(linked.Sorting(band=_interval(sorting.band, unit, reading, report), exit=way))
    return tuple(made)


def _inside(band: Band, other: Band | None) -> bool:
    """Whether every value of `band` is in `other`; told only where both are in one unit."""
    if other is None or other.unit != band.unit:
        return False
    low = other.low is None or (band.low is not None and (other.holds(band.low) or band.low > other.low))
    high = other.high is None or (
        band.high is not None and (other.holds(band.high) or band.high < other.high)
    )
    same_low = band.low == other.low and band.low_open
    same_high = band.high == other.high and band.high_open
    return (low or same_low) and (high or same_high)


def _worked_out(work_out: source.WorkOut, draft: Draft, report: Report) -> linked.Reading:
    unit = _unit(work_out, report)
    return linked.Reading(
        name=work_out.name.text,
        what=work_out.what,
        kind="worked out",
        unit=unit,
        band=_interval(work_out.band, unit, work_out, report),
        sorting=_sorted(work_out, unit, draft, report),
        formula=work_out.formula,
        inputs=_inputs(work_out, unit, draft, report),
    )


def _inputs(
    work_out: source.WorkOut, unit: str | None, draft: Draft, report: Report
) -> tuple[tuple[str, str, int], ...]:
    try:
        formula = parse(work_out.formula)
        units: dict[str, str] = {}
        made: list[tuple[str, str, int]] = []
        for word in formula.names:
            found = _input(word, work_out, draft, report)
            if found is None:
                return ()
            declared, reading, time = found
            node = only_draft(_named(word, work_out, declared), draft.frame, report, "read")
            units[word] = reading.unit or "count"
            made.append((reading.name.text, node.id if node else "", time))
        kind = formula.dimension(units)
        if unit is not None:
            check_result(kind, unit)
    except FormulaError as error:
        report.error(work_out.mark, "formula", f"`is: {work_out.formula}`: {error}")
        return ()
    return tuple(made)


def _named(word: str, work_out: source.WorkOut, declared: Declared) -> source.Name:
    """The step of an input, as a name that messages can point at."""
    return source.Name(mark=work_out.mark, text=declared.step.name.text)


def _input(
    word: str, work_out: source.WorkOut, draft: Draft, report: Report
) -> tuple[Declared, source.Reading | source.WorkOut, int] | None:
    """The reading a formula names: its step, itself, which time."""
    made = draft.frame.unit.outline
    found = made.readings.get(word)
    several = numbered(word, made)
    if found is None and several is None:
        report.unknown(
            source.Name(mark=work_out.mark, text=word), "unknown-reading", "reading", made.readings
        )
        return None
    declared, reading, time = several if several else (*found, 1) if found else (None, None, 1)
    assert declared is not None
    assert reading is not None
    if isinstance(reading, source.Reading) and reading.times > 1 and several is None:
        message = f'"{word}" is taken {reading.times} times; name {word}-1 to {word}-{reading.times}'
        report.error(work_out.mark, "formula", message)
        return None
    if isinstance(reading, source.Reading) and reading.kind != "number":
        report.error(work_out.mark, "formula", f'"{word}" is a {reading.kind}, not a number')
        return None
    if not _earlier(declared, reading, work_out, draft):
        report.error(work_out.mark, "formula", f'"{word}" comes later; only earlier readings can be used')
        return None
    return declared, reading, time


def _earlier(
    declared: Declared, reading: source.Reading | source.WorkOut, work_out: source.WorkOut, draft: Draft
) -> bool:
    if declared.index != draft.index:
        return declared.index < draft.index
    own = declared.step.worked_out
    return isinstance(reading, source.Reading) or own.index(reading) < own.index(work_out)
