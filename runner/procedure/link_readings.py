"""Readings and worked-out values: bands as text, sorted ways, inputs found and dimensions checked."""

from runner.procedure import linked, source
from runner.procedure.formula import FormulaError, check_result, parse
from runner.procedure.link_bands import interval
from runner.procedure.link_frame import Draft
from runner.procedure.link_outline import Declared, numbered
from runner.procedure.link_refs import only_draft
from runner.procedure.link_report import Report


def readings(draft: Draft, step: source.Step, report: Report) -> tuple[linked.Reading, ...]:
    """Everything the step asks to be entered, and then what it works out."""
    made = [_reading(reading, draft) for reading in step.readings]
    return (*made, *(_worked_out(work_out, draft, report) for work_out in step.worked_out))


def _reading(reading: source.Reading, draft: Draft) -> linked.Reading:
    return linked.Reading(
        name=reading.name.text,
        what=reading.what,
        kind=reading.kind,
        unit=reading.unit,
        text_kind=reading.text_kind,
        times=reading.times,
        band=interval(reading.band) if reading.band else None,
        sorting=_sorted(reading, draft),
        blind_second=reading.blind_second,
        critical=reading.critical,
    )


def _sorted(reading: source.Reading | source.WorkOut, draft: Draft) -> tuple[linked.Sorting, ...]:
    exits = draft.sorted_ways.get(reading.name.text, ())
    return tuple(
        linked.Sorting(band=interval(sorting.band) if sorting.band else None, exit=way)
        for sorting, way in zip(reading.sorting, exits, strict=True)
    )


def _worked_out(work_out: source.WorkOut, draft: Draft, report: Report) -> linked.Reading:
    return linked.Reading(
        name=work_out.name.text,
        what=work_out.what,
        kind="worked out",
        unit=work_out.unit,
        band=interval(work_out.band) if work_out.band else None,
        sorting=_sorted(work_out, draft),
        formula=work_out.formula,
        inputs=_inputs(work_out, draft, report),
    )


def _inputs(work_out: source.WorkOut, draft: Draft, report: Report) -> tuple[tuple[str, str, int], ...]:
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
        check_result(formula.dimension(units), work_out.unit)
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
