"""Values worked out from readings, once their inputs are there and again whenever one of them changes."""

from decimal import Decimal

from runner.job import events as e
from runner.job.draft import Draft
from runner.job.keys import reading_key
from runner.job.owing import owe, settle_debt
from runner.job.state import Job
from runner.procedure import formula
from runner.procedure.linked import Node, Reading


def worked_out(job: Job, node: Node, reading: Reading) -> e.WorkedOut:
    """The value of a formula from what was entered; outside its band when it cannot be computed at all."""
    given = {
        name: job.recorded[key].held for name, key in formula_inputs(job, reading) if key in job.recorded
    }
    unit = reading.unit or "ratio"
    inputs = tuple((name, f"{held.value} {held.unit}") for name, held in given.items())
    try:
        value = formula.parse(reading.formula or "").value(
            {name: (Decimal(held.value), held.unit) for name, held in given.items()}, unit
        )
    except (formula.FormulaError, KeyError, ArithmeticError) as error:
        return e.WorkedOut(
            node=node.id, name=reading.name, value="", unit=str(error)[:200], inputs=inputs, within=False
        )
    band = reading.band
    return e.WorkedOut(
        node=node.id,
        name=reading.name,
        value=format(value, "f"),
        unit=unit,
        inputs=inputs,
        low=band.low if band else None,
        high=band.high if band else None,
        within=band is None or band.holds(value),
    )


def formula_inputs(job: Job, reading: Reading) -> tuple[tuple[str, str], ...]:
    """The names a formula uses and the keys under which their values are recorded."""
    pairs = []
    for name, source, index in reading.inputs:
        times = next((r.times for r in job.procedure.by_id[source].readings if r.name == name), 1)
        pairs.append((name if times == 1 else f"{name}-{index}", reading_key(source, name, index)))
    return tuple(pairs)


def workings(job: Job, node: Node, reading: Reading) -> str:
    """How a value came about, in words: the result, the formula as written, and what went into it."""
    record = job.recorded.get(reading_key(node.id, reading.name, 1))
    result = f"{record.held.value} {record.held.unit}".strip() if record else "not known"
    given = [
        f"{name} {job.recorded[key].held.value} {job.recorded[key].held.unit}"
        for name, key in formula_inputs(job, reading)
        if key in job.recorded
    ]
    return f"{result}, as {reading.formula} from {', '.join(given) or 'nothing entered'}"


def sorted_label(reading: Reading, value: Decimal) -> str:
    """The label of the named band that a value falls into; "" where none takes it."""
    for sorting in reading.sorting:
        if sorting.band is None or sorting.band.holds(value):
            return sorting.exit.label
    return ""


def users(job: Job, key: str) -> list[tuple[Node, Reading]]:
    """Every value worked out so far that used the reading recorded under `key`."""
    return [
        (node, reading)
        for node in job.procedure.nodes
        for reading in node.readings
        if reading.kind == "worked out"
        and reading_key(node.id, reading.name, 1) in job.recorded
        and key in {source for _, source in formula_inputs(job, reading)}
    ]


def work_out_again(draft: Draft, key: str) -> None:
    """Compute anew every value that used a reading which has changed; one outside its band is owed."""
    for node, reading in users(draft.job, key):
        event = worked_out(draft.job, node, reading)
        draft.add(event)
        debt = f"correction {reading_key(node.id, reading.name, 1)}"
        current = draft.job.node
        if event.within:
            settle_debt(draft, debt)
        elif current is None or current.id != node.id:
            why = "the corrected reading brings it outside its band"
            owe(draft, debt, node, why, f"reading {reading.name}", "")
