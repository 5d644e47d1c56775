"""Hazard notices, on a step or standing over a range of steps, read from a page."""

from typing import cast, get_args

from runner.procedure.desk import Desk, Fields
from runner.procedure.source import Level, Notice, StandingNotice
from runner.procedure.tree import Node

LEVELS = get_args(Level)
_PARTS = ("hazard", "consequence", "avoid")
LONGEST_NOTICE = 400
"""Characters of all three parts together: so much stands beside its step on a screen of 80x24, none of it cut off."""


def read_notices(desk: Desk, fields: Fields) -> tuple[Notice, ...]:
    """Give the notices among the keys of a step, in the order written."""
    return tuple(
        _notice(desk, item, level)
        for level in fields
        if level in LEVELS
        for item in desk.row(fields.node(level), f'"{level}"')
    )


def _notice(desk: Desk, node: Node, level: str) -> Notice:
    fields = desk.fields(node, f"a {level}", _PARTS, _PARTS)
    hazard, consequence, avoid = (fields.must(part, desk.text) for part in _PARTS)
    length = len(hazard) + len(consequence) + len(avoid)
    if length > LONGEST_NOTICE:
        message = f"this {level} has {length} characters; it would not be read at the bench"
        desk.error(
            fields.mark, "notice-long", message, expected=f"at most {LONGEST_NOTICE}, in short sentences"
        )
    return Notice(
        mark=fields.mark, level=cast("Level", level), hazard=hazard, consequence=consequence, avoid=avoid
    )


def read_standing(desk: Desk, node: Node, what: str) -> tuple[StandingNotice, ...]:
    """Give the notices that stand over a range of steps."""
    return tuple(_standing(desk, item) for item in desk.row(node, what))


def _standing(desk: Desk, node: Node) -> StandingNotice:
    fields = desk.fields(node, "a standing notice", (*LEVELS, "from", "to"), ("from", "to"))
    level = fields.only_one(LEVELS, "a standing notice", needed=bool(list(fields))) or LEVELS[0]
    return StandingNotice(
        mark=fields.mark,
        notice=_notice(desk, fields.node(level), level),
        first=fields.must("from", desk.name),
        last=fields.must("to", desk.name),
    )
