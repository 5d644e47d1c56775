"""Steps: what is done, asked, read and set, and when, read from a page."""

import re
from typing import Protocol, get_args

from runner.procedure.desk import Desk, Fields
from runner.procedure.kinds import KINDS
from runner.procedure.read_notices import read_notices
from runner.procedure.read_readings import read_readings, read_work_out
from runner.procedure.read_values import read_assignments, read_duration, read_tests
from runner.procedure.read_windows import read_put_off
from runner.procedure.source import (
    Act,
    Answer,
    GoOn,
    HoldPoint,
    InTime,
    Level,
    Name,
    Reading,
    Step,
    Stop,
    Way,
    WorkOut,
)
from runner.procedure.tree import Node, Table

VERBS = tuple(dict.fromkeys(verb for kind in KINDS.values() for verb in kind.verbs))
_LEVELS = get_args(Level)
_TEXTS = ("expect", "because", "sketch", "helper")
STEP_KEYS = (
    "step", "do", "ask", *_LEVELS, "needs", *VERBS, "tools", "read", "work out", "look for", "answers",
    "hold point", "sets", "wait", "in time", "put off", "only if", "only for", *_TEXTS, "omission",
    "critical", "takes",
)  # fmt: skip
"""Every key of a step."""

KEPT_NAMES = {"end": "the end of the job", "stop": "a way", "back": "a way"}
"""Words that mean something else where a step could be named."""

_STAGES = re.compile(r"stages? ([1-9][0-9]{0,2})(?: to ([1-9][0-9]{0,2}))?")


class Ways(Protocol):
    """Reads where something leads."""

    def way(self, node: Node, what: str) -> Way:
        """Give one way."""

    def answers(self, node: Node, what: str) -> tuple[Answer, ...]:
        """Give the answers and their ways."""


def read_step(desk: Desk, node: Table, ways: Ways) -> Step:
    """Give one step."""
    fields = desk.fields(node, "a step", STEP_KEYS, ("step",))
    step = Step(
        mark=fields.mark,
        name=fields.must("step", lambda n, w: _step_name(desk, n)),
        do=fields.may("do", desk.text, None),
        ask=fields.may("ask", desk.text, None),
        notices=read_notices(desk, fields),
        needs=fields.may("needs", lambda n, w: read_tests(desk, n, w), ()),
        acts=_acts(desk, fields),
        tools=fields.may("tools", desk.names, ()),
        wait=fields.may("wait", lambda n, w: read_duration(desk, n, w), None),
        readings=fields.may("read", lambda n, w: read_readings(desk, n, w, ways.way), ()),
        worked_out=fields.may("work out", lambda n, w: read_work_out(desk, n, w, ways.way), ()),
        look_for=fields.may("look for", desk.text, None),
        answers=fields.may("answers", ways.answers, ()),
        hold=fields.may("hold point", lambda n, w: _hold(desk, n, ways), None),
        sets=fields.may("sets", lambda n, w: read_assignments(desk, n, w), ()),
        in_time=fields.may("in time", lambda n, w: _in_time(desk, n, ways), None),
        put_off=fields.may("put off", lambda n, w: read_put_off(desk, n), None),
        only_if=fields.may("only if", lambda n, w: read_tests(desk, n, w), ()),
        only_for=fields.may("only for", lambda n, w: read_tests(desk, n, w), ()),
        expect=fields.may("expect", desk.text, None),
        because=fields.may("because", desk.text, None),
        sketch=fields.may("sketch", desk.drawing, None),
        helper=fields.may("helper", desk.text, None),
        omission_likely=fields.may("omission", lambda n, w: bool(desk.choice(n, w, ("likely",))), False),
        critical=fields.may("critical", desk.true, False),
        takes=fields.may("takes", lambda n, w: read_duration(desk, n, w), None),
    )
    _check_question(desk, fields)
    _check_one_way(desk, fields, step)
    if step.put_off is not None:
        _check_put_off(desk, fields, step)
    return step


def _step_name(desk: Desk, node: Node) -> Name:
    name = desk.identifier(node, "the name of a step")
    if name.text in KEPT_NAMES:
        message = f'a step cannot be named "{name.text}": the word means {KEPT_NAMES[name.text]}'
        desk.error(node, "kept-word", message, expected="another name")
    return name


def _acts(desk: Desk, fields: Fields) -> tuple[Act, ...]:
    """Give the acts in the order written."""
    return tuple(act for verb in fields if verb in VERBS for act in _acts_of(desk, verb, fields.node(verb)))


def _acts_of(desk: Desk, verb: str, node: Node) -> list[Act]:
    if verb == "tightens" and isinstance(node, Table):
        pairs = desk.pairs(node, '"tightens"', lambda n, w: _stages(desk, n))
        return [Act(mark=name.mark, verb=verb, item=name, stages=stages) for name, stages in pairs]
    if isinstance(node, Table):
        message = f'"{verb}" must name items in a list; only "tightens" says stages'
        desk.error(node, "shape", message, expected=f"{verb}: [item]")
        return []
    return [Act(mark=name.mark, verb=verb, item=name) for name in desk.names(node, f'"{verb}"')]


def _stages(desk: Desk, node: Node) -> tuple[int, int] | None:
    text = desk.text(node, "the stages to tighten")
    if text in ("", "the rest"):
        return None
    match = _STAGES.fullmatch(text)
    first, last = (int(match[1]), int(match[2] or match[1])) if match else (1, 0)
    if first > last:
        expected = "stage 1, stages 1 to 2, or the rest"
        desk.error(node, "stages", f'"{text}" names no stages', expected=expected)
        return None
    return first, last


def _hold(desk: Desk, node: Node, ways: Ways) -> HoldPoint:
    fields = desk.fields(node, "a hold point", ("released by", "asks", "if refused"), ("released by", "asks"))
    return HoldPoint(
        mark=fields.mark,
        released_by=fields.must("released by", desk.name),
        asks=fields.must("asks", desk.text),
        if_refused=fields.may("if refused", ways.way, None),
    )


def _in_time(desk: Desk, node: Node, ways: Ways) -> InTime:
    known = ("from", "within", "warn at", "too late")
    fields = desk.fields(node, '"in time"', known, ("from", "within"))
    within = fields.must("within", lambda n, w: read_duration(desk, n, w))
    before = desk.count()
    warn_at = fields.may("warn at", lambda n, w: read_duration(desk, n, w), None)
    if "within" in fields and warn_at is not None and warn_at >= within and desk.count() == before:
        message = '"warn at" is not before the time is over'
        desk.error(fields.node("warn at"), "time", message, expected='a shorter time than "within"')
    return InTime(
        mark=fields.mark,
        start=fields.must("from", desk.name),
        within=within,
        warn_at=warn_at,
        too_late=fields.may("too late", ways.way, None),
    )


def _check_question(desk: Desk, fields: Fields) -> None:
    """Find a step that says nothing to do, a question without answers, and answers without a question."""
    sentence = fields.only_one(("do", "ask"), "a step")
    question = fields.only_one(("ask", "look for"), "a step")
    if question and "answers" not in fields:
        message = f'"{question}" needs "answers"'
        desk.error(
            fields.key(question), "missing-key", message, expected="answers: {LABEL: go on, LABEL: stop}"
        )
    if "answers" in fields and not question:
        message = '"answers" answer nothing: there is no "ask" or "look for"'
        desk.error(fields.key("answers"), "missing-key", message)
    says_itself = any(key in (*VERBS, "read", "work out", "look for", "hold point", "wait") for key in fields)
    if sentence is None and not says_itself and "step" in fields:
        desk.error(fields.mark, "missing-key", 'a step needs "do" or "ask", or an act', expected="do: …")


def _values(step: Step) -> tuple[Reading | WorkOut, ...]:
    return (*step.readings, *step.worked_out)


def _check_one_way(desk: Desk, fields: Fields, step: Step) -> None:
    """Find a second thing that decides the way on."""
    deciding = [value for value in _values(step) if value.sorting]
    allowed = 0 if step.answers else 1
    for extra in deciding[allowed:]:
        message = "the way on is decided twice in this step: by answers or one sorted value, not more"
        desk.error(extra.mark, "one-of", message, expected="a step of its own")


def _check_put_off(desk: Desk, fields: Fields, step: Step) -> None:
    """Find what a put-off step cannot do (R3): it acts on one item at most, sets nothing, chooses no way."""
    fields.not_with(("sets",), "cannot stand in a step that is put off: it sets no condition")
    fields.not_with(("in time",), 'cannot stand in a step that is put off: its limit is "no later than"')
    items = list(dict.fromkeys(act.item.text for act in step.acts))
    for act in step.acts:
        if len(items) > 1 and act.item.text == items[1]:
            message = f'a step that is put off acts on one item; "{items[0]}" is acted on already'
            desk.error(act.item, "put-off", message, expected="a step for each item")
            break
    ways: list[Way | None] = [answer.way for answer in step.answers]
    ways += [entry.way for value in _values(step) for entry in value.sorting]
    for way in ways:
        if not isinstance(way, GoOn | Stop | None):
            message = "a step that is put off chooses no way"
            desk.error(way.mark, "put-off", message, expected="go on or stop")
    refused = step.hold.if_refused if step.hold else None
    if refused is not None and not isinstance(refused, Stop):
        message = "a refused hold point of a step that is put off can only stop"
        desk.error(refused.mark, "put-off", message, expected="stop")
