"""Time: the windows of put-off steps, the shape such a step must have, and time limits."""

from runner.procedure import linked, source
from runner.procedure.link_bands import duration_text
from runner.procedure.link_frame import Draft
from runner.procedure.link_refs import declared_step, step_nodes
from runner.procedure.link_report import Report
from runner.procedure.link_tests import condition_test


def put_off(
    draft: Draft, step: source.Step, acts: tuple[linked.Act, ...], report: Report
) -> linked.PutOff | None:
    """The window of a put-off step; its shape (R3) and its references are checked."""
    if step.put_off is None:
        return None
    _shape(step, acts, report)
    no_later = None
    if step.put_off.no_later:
        time, after = step.put_off.no_later
        no_later = (time, _others(after, draft, report))
    return linked.PutOff(
        until=_until(step.put_off, draft, report),
        before=_before(step.put_off, draft, report),
        because=step.put_off.because,
        no_later=no_later,
    )


def _shape(step: source.Step, acts: tuple[linked.Act, ...], report: Report) -> None:
    """R3, as far as the reader cannot see it: one item that is at several places from here is several."""
    if len({act.item for act in acts}) > 1:
        message = "a step that is put off acts on one item at one location, and here there are several (R3)"
        expected = "the step inside a repeat over that location"
        report.at(step.acts[-1].item, "put-off", message, expected=expected)


def _until(put_off: source.PutOff, draft: Draft, report: Report) -> linked.Window:
    until = put_off.until
    if until.step:
        nodes = _others(until.step, draft, report)
        return linked.Window(kind="done", nodes=nodes, text=f"{until.step.text} is done")
    if until.at:
        nodes = _later(until.at, draft, report, "a window at an earlier step never opens")
        return linked.Window(kind="at", nodes=nodes, text=f"at {until.at.text}")
    if until.time is not None and until.after:
        nodes = _others(until.after, draft, report)
        text = f"{duration_text(until.time)} after {until.after.text}"
        return linked.Window(kind="time", nodes=nodes, time=until.time, text=text)
    found = [condition_test(t, draft.frame.unit, report, "window", "until") for t in until.tests]
    tests = tuple(test for test in found if test)
    return linked.Window(
        kind="condition", tests=tests, text=" and ".join(_said(test, "is") for test in tests)
    )


def _before(put_off: source.PutOff, draft: Draft, report: Report) -> linked.Due:
    before = put_off.before
    if before.step:
        nodes = _later(before.step, draft, report, "what is put off comes before a later step")
        return linked.Due(kind="step", nodes=nodes, text=before.step.text)
    if before.condition:
        test = condition_test(before.condition, draft.frame.unit, report, "window", "before")
        return linked.Due(kind="condition", test=test, text=_said(test, "becomes") if test else "")
    return linked.Due(kind="end", text="the end")


def _said(test: linked.Test, verb: str) -> str:
    return f"{test.name} {verb} {' or '.join(test.values)}"


def _others(name: source.Name, draft: Draft, report: Report) -> tuple[str, ...]:
    """The nodes of another step."""
    declared = declared_step(name, draft.frame, report)
    if declared is not None and declared.index == draft.index:
        report.at(name, "window", f'"{name.text}" is this step itself; it cannot wait for itself')
        return ()
    return step_nodes(name, draft.frame, report) if declared else ()


def _later(name: source.Name, draft: Draft, report: Report, why: str) -> tuple[str, ...]:
    """The nodes of a step that stands later in the text."""
    declared = declared_step(name, draft.frame, report)
    if declared is not None and declared.index < draft.index:
        report.at(name, "window", f'"{name.text}" comes earlier; {why}')
        return ()
    return _others(name, draft, report)


def in_time(draft: Draft, step: source.Step, report: Report) -> linked.InTime | None:
    """The time limit of a step, counted from an earlier one."""
    if step.in_time is None or draft.late is None:
        return None
    limit = step.in_time
    declared = declared_step(limit.start, draft.frame, report)
    nodes: tuple[str, ...] = ()
    if declared is not None and declared.index >= draft.index:
        message = f'"{limit.start.text}" does not come earlier; the time counts from an earlier step'
        report.at(limit.start, "in-time", message)
    elif declared is not None:
        nodes = step_nodes(limit.start, draft.frame, report)
    return linked.InTime(start=nodes, within=limit.within, warn_at=limit.warn_at, late=draft.late)
