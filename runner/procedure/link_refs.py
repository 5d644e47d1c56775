"""References: what a name in a guard, a need or a window means at the place where it stands."""

from collections.abc import Sequence

from runner.procedure import linked, source
from runner.procedure.kinds import FINAL, final_states, states_of, with_article
from runner.procedure.link_frame import Draft, Family, Frame, labels
from runner.procedure.link_outline import Declared
from runner.procedure.link_report import Report
from runner.procedure.link_tests import condition_test, what_is
from runner.procedure.stages import counted


def guard_tests(
    tests: Sequence[source.Test], frame: Frame, index: int, report: Report
) -> tuple[linked.Test, ...]:
    """What `only if` asks: conditions and earlier answers, nothing else (R1)."""
    made: list[linked.Test | None] = []
    for test in tests:
        name = test.name.text
        is_step = name in frame.unit.outline.steps
        if name in frame.unit.conditions and is_step:
            report.at(test.name, "two-meanings", f'"{name}" is both a condition and a step; rename one')
        elif is_step:
            made.append(_answer_test(test, frame, index, report))
        elif name in frame.unit.conditions:
            made.append(condition_test(test, frame.unit, report, "only-if-source", "only if"))
        else:
            _not_a_guard(test.name, frame, report)
    return tuple(test for test in made if test is not None)


def _not_a_guard(name: source.Name, frame: Frame, report: Report) -> None:
    what = what_is(name.text, frame.unit)
    if what in ("an item", "a reading"):
        better = (
            "ask or look, and use the answer" if what == "an item" else "sort the reading into named bands"
        )
        message = f'"{name.text}" is {what}; `only if` reads conditions and earlier answers only (R1)'
        report.at(name, "only-if-source", message, expected=better)
    elif what:
        report.at(name, "only-if-source", f'"{name.text}" is {what}; use `only for` for a choice')
    else:
        known = [*frame.unit.conditions, *frame.unit.outline.steps]
        report.unknown(name, "unknown-guard", "condition or step", known)


def _answer_test(test: source.Test, frame: Frame, index: int, report: Report) -> linked.Test | None:
    name = test.name
    declared = frame.unit.outline.steps[name.text]
    if not declared.labels:
        report.at(name, "answer", f'the step "{name.text}" asks nothing, so it has no answer to use')
        return None
    if declared.index >= index:
        report.at(name, "answer", f'"{name.text}" comes later; only an earlier answer can be used')
        return None
    if declared.step.put_off is not None:
        message = f'"{name.text}" is put off, so its answer may come after this; it chooses no way (R3)'
        report.at(name, "answer", message, expected="the answer of a step that is done where it stands")
        return None
    unknown = [value for value in test.values if value.text not in declared.labels]
    for value in unknown:
        report.unknown(value, "unknown-answer", f'answer of "{name.text}"', declared.labels)
    node = only_draft(name, frame, report, "asked")
    if node is None or unknown:
        return None
    values = tuple(dict.fromkeys(value.text for value in test.values))
    return linked.Test(kind="answer", name=node.id, values=values)


def only_draft(name: source.Name, frame: Frame, report: Report, done: str) -> Draft | None:
    """The one node of a step that is meant here; reported where there is none or several."""
    found = frame.drafts(name.text)
    report.touch(len(found), name.mark)
    if len(found) == 1:
        return found[0]
    if found:
        message = (
            f'"{name.text}" is {done} at several places ({labels(found[:6])}); from here it is not clear'
        )
        report.at(
            name, "several-places", message, expected="the reference inside a repeat over that location"
        )
    else:
        report.at(name, "no-place", f'"{name.text}" is not {done} at this place')
    return None


def declared_step(name: source.Name, frame: Frame, report: Report) -> Declared | None:
    """The step of this file with that name; None where there is none, which is reported."""
    declared = frame.unit.outline.steps.get(name.text)
    if declared is None:
        report.unknown(name, "unknown-step", "step", frame.unit.outline.steps)
    return declared


def step_nodes(name: source.Name, frame: Frame, report: Report) -> tuple[str, ...]:
    """The nodes of a step that are meant here; at the same place where there is one, else at every place."""
    if declared_step(name, frame, report) is None:
        return ()
    found = frame.drafts(name.text)
    if not found:
        report.at(name, "no-place", f'"{name.text}" is not done at this place')
    report.touch(len(found), name.mark)
    return tuple(draft.id for draft in found)


def need_tests(tests: Sequence[source.Test], frame: Frame, report: Report) -> tuple[linked.Test, ...]:
    """What `needs` asks: conditions and items, as assertions (R4)."""
    made: list[linked.Test] = []
    for test in tests:
        family = frame.unit.families.get(test.name.text)
        if family is not None:
            made += item_tests(family, test, frame, report)
        elif test.name.text in frame.unit.conditions:
            found = condition_test(test, frame.unit, report, "needs-source", "needs")
            made += [found] if found else []
        elif what := what_is(test.name.text, frame.unit):
            message = f'"{test.name.text}" is {what}; `needs` reads conditions and items only (R4)'
            report.at(test.name, "needs-source", message)
        else:
            known = [*frame.unit.conditions, *frame.unit.families]
            report.unknown(test.name, "unknown-need", "condition or item", known)
    return tuple(made)


def item_tests(family: Family, test: source.Test, frame: Frame, report: Report) -> list[linked.Test]:
    """A test on the states of an item, one for each member meant here."""
    kind, stages = family.written.kind, len(counted(family.written))
    known = (*states_of(kind, stages), FINAL)
    states: list[str] = []
    for value in test.values:
        if value.text not in known:
            report.unknown(value, "unknown-state", f"state of {with_article(kind)}", known)
        states += final_states(kind, stages) if value.text == FINAL else (value.text,)
    members = family.at(frame.bounds)
    report.touch(len(members), test.mark)
    values = tuple(dict.fromkeys(states))
    return [linked.Test(kind="item", name=item.key, values=values) for item in members]
