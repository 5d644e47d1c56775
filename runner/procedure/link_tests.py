"""Tests on conditions, and the names that they use."""

from runner.procedure import linked, source
from runner.procedure.link_frame import Unit
from runner.procedure.link_report import Report


def known_values(condition: source.Condition) -> list[str]:
    """The values a condition can have, in the order written."""
    return [value.text for value, _ in condition.changes]


def condition_value(value: source.Name, condition: source.Condition, report: Report) -> bool:
    """Whether the value is one of the condition; if not it is reported."""
    known = known_values(condition)
    if value.text not in known:
        report.unknown(value, "unknown-value", f'value of "{condition.name.text}"', known)
        return False
    return True


def condition_test(test: source.Test, unit: Unit, report: Report, rule: str, key: str) -> linked.Test | None:
    """A test that may read conditions only; None where it names something else, reported under `rule`."""
    condition = unit.conditions.get(test.name.text)
    if condition is None:
        if what := what_is(test.name.text, unit):
            message = f'"{test.name.text}" is {what}; `{key}` reads conditions only'
            report.at(test.name, rule, message, expected=", ".join(unit.conditions))
        else:
            report.unknown(test.name, "unknown-condition", "condition", unit.conditions)
        return None
    if not all(condition_value(value, condition, report) for value in test.values):
        return None
    values = tuple(dict.fromkeys(value.text for value in test.values))
    return linked.Test(kind="condition", name=condition.name.text, values=values)


def what_is(name: str, unit: Unit) -> str | None:
    """What a name is in this file, in words with an article, or None if nothing."""
    if name in unit.conditions:
        return "a condition"
    if any(item.name.text == name for item in unit.written.items):
        return "an item"
    if name in unit.outline.steps:
        return "a step"
    if name in unit.outline.readings:
        return "a reading"
    if name in unit.locations:
        return "a location"
    if name in unit.variants:
        return "a variant"
    return None
