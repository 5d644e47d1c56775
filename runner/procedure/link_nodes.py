"""Drafts made into nodes: everything that a step refers to is found and checked here."""

from runner.procedure import linked, source
from runner.procedure.link_acts import acts, tools
from runner.procedure.link_frame import Draft, place_of
from runner.procedure.link_readings import readings
from runner.procedure.link_refs import guard_tests, need_tests
from runner.procedure.link_report import Report
from runner.procedure.link_tests import condition_value
from runner.procedure.link_windows import in_time, put_off

_PERFORMER = "performer"


def notice(written: source.Notice) -> linked.Notice:
    """A notice without its place in the file."""
    return linked.Notice(
        level=written.level, hazard=written.hazard, consequence=written.consequence, avoid=written.avoid
    )


def node(draft: Draft, report: Report) -> linked.Node:
    """The node that a draft becomes; what is wrong in it is reported."""
    guard = draft.guard + guard_tests(draft.only_if, draft.frame, draft.index, report)
    step = draft.step
    if step is None:
        return linked.Node(
            id=draft.id,
            step=draft.id.rpartition("/")[2].partition("@")[0],
            place=place_of(draft.frame.bounds),
            mark=draft.mark,
            guard=tuple(dict.fromkeys(guard)),
            skip=draft.skip,
            next=draft.next,
            joint=draft.joint,
            standing=draft.standing(),
            needs=draft.needs,
            answers=draft.answers,
        )
    touched = acts(step, draft.frame, report)
    return linked.Node(
        id=draft.id,
        step=step.name.text,
        place=place_of(draft.frame.bounds),
        mark=step.name.mark,
        guard=tuple(dict.fromkeys(guard)),
        skip=draft.skip,
        next=draft.next,
        do=step.do or "",
        ask=step.ask,
        notices=tuple(notice(written) for written in step.notices),
        standing=draft.standing(),
        needs=need_tests(step.needs, draft.frame, report),
        acts=touched,
        tools=tools(step, draft.frame, report),
        wait=step.wait,
        readings=readings(draft, step, report),
        look_for=step.look_for,
        answers=draft.answers,
        hold=_hold(draft, step, report),
        sets=_sets(draft, step, report),
        in_time=in_time(draft, step, report),
        put_off=put_off(draft, step, touched, report),
        expect=step.expect,
        because=step.because,
        sketch=step.sketch,
        helper=step.helper,
        omission_likely=step.omission_likely,
        critical=step.critical,
        takes=step.takes,
    )


def _hold(draft: Draft, step: source.Step, report: Report) -> linked.Hold | None:
    if step.hold is None or draft.refused is None:
        return None
    role = step.hold.released_by
    others = [name for name in draft.frame.unit.roles if name != _PERFORMER]
    if role.text == _PERFORMER:
        expected = ", ".join(others) or "another role in `people`"
        report.at(
            role, "hold-role", "a hold point is released by somebody who does not perform", expected=expected
        )
    elif role.text not in others:
        report.unknown(role, "hold-role", "role in `people`", others)
    return linked.Hold(role=role.text, asks=step.hold.asks, refused=draft.refused)


def _sets(draft: Draft, step: source.Step, report: Report) -> tuple[tuple[str, str], ...]:
    made: dict[str, str] = {}
    for name, value in step.sets:
        condition = draft.frame.unit.conditions.get(name.text)
        if condition is None:
            report.unknown(name, "unknown-condition", "condition", draft.frame.unit.conditions)
        elif condition_value(value, condition, report):
            leads = any(value.text == to.text for _, tos in condition.changes for to in tos)
            if not leads and value.text not in [start.text for start in condition.at_start]:
                message = f'no change of "{name.text}" leads to "{value.text}"'
                report.at(value, "sets", message, expected="an allowed change in `changes`")
            made[name.text] = value.text
    return tuple(made.items())
