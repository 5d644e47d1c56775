"""A toolbox file read into its tools, with every error of the file at its place.

It is read by the same machinery as a procedure: every scalar is text, limits on size and depth hold, and each
surprise of YAML has its own message.
"""

import re
from collections.abc import Sequence
from datetime import date
from decimal import Decimal
from itertools import pairwise
from pathlib import Path
from typing import cast, get_args

from runner.frozen import Frozen
from runner.joint.tool_class import ToolClassError, parse_class, unlike
from runner.joint.wrench import Certificate, Wrench, WrenchKind
from runner.procedure.desk import Desk, Fields
from runner.procedure.finding import Finding, Findings, Mark
from runner.procedure.page import read_page
from runner.procedure.read_values import quantity_error, read_quantity
from runner.procedure.source import Name
from runner.procedure.tree import Node, Table
from runner.quantities import (
    Kind,
    QuantityError,
    convert,
    convert_difference,
    parse_band,
    parse_number,
    parse_quantity,
)
from runner.toolbox.model import Toolbox, folded

KINDS: tuple[WrenchKind, ...] = get_args(WrenchKind)

_NEEDED = ("name", "kind", "range")
KEYS = (*_NEEDED, "graduation", "length", "class", "serial", "calibrated on", "due on", "certificate")
"""Every key of a tool."""

_CERTIFICATE_NEEDED = ("uncertainty",)
_CERTIFICATE = (*_CERTIFICATE_NEEDED, "k", "number")
_DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
_A_RANGE = "the lowest and the highest marked value, such as 20 to 130 N·m"
_A_DAY = "a day as year-month-day, such as 2026-01-12"


class _Range(Frozen):
    """A marked range; the stand-in holds 0 to 0, which no tool has."""

    low: Decimal = Decimal(0)
    high: Decimal = Decimal(0)
    unit: str = ""
    kind: Kind = "torque"


def read_toolbox(source: Path | bytes | str, name: str | None = None) -> Toolbox:
    """Read a toolbox file, or the text of one. Never raises for what it holds: what is wrong is in `problems`.

    A tool with an error in its entry is left out, the others stay. `name` is what messages call the file.
    """
    given = source.encode("utf-8", "surrogatepass") if isinstance(source, str) else source
    page, found = read_page(given, name, "toolbox")
    paths = (source,) if isinstance(source, Path) else ()
    if page is None:
        return Toolbox(paths, (), tuple(found))
    desk, warnings = Desk(page, found), Findings(page.name, page.lines)
    wrenches = _tools(desk, warnings, page.root)
    problems = sorted((*desk.findings(), *warnings.in_order()), key=lambda each: (each.line, each.column))
    return Toolbox(paths, wrenches, tuple(problems))


def placed(box: Toolbox, tool: str, rule: str, message: str, *, expected: str = "") -> Finding:
    """A warning at the name of a tool in the file that a toolbox was read from, for what only shows beside others."""
    assert box.path is not None
    page, _ = read_page(box.path, None, "toolbox")
    warnings = Findings(str(box.path), page.lines if page else ())
    mark = Mark(str(box.path), 1, 1)
    length = 1
    if page and isinstance(page.root, Table):
        desk = Desk(page)
        for node in desk.row(page.root.get("tools") or page.root, "tools"):
            at = node.get("name") if isinstance(node, Table) else None
            if at is not None and folded(desk.text(at, "name")) == folded(tool):
                mark, length = at.mark, len(tool)
    warnings.add(mark, rule, message, length=length, expected=expected, grade="warning")
    return warnings.in_order()[0]


def _tools(desk: Desk, warnings: Findings, root: Node) -> tuple[Wrench, ...]:
    if not isinstance(root, Table):
        message = "this is no toolbox: the file must hold the key tools with a list"
        desk.error(root, "shape", message, expected="tools:")
        return ()
    fields = desk.fields(root, "a toolbox", ("tools",), ("tools",))
    names: dict[str, Name] = {}
    entries = desk.row(fields.node("tools"), '"tools"') if "tools" in fields else ()
    read = [_tool(desk, warnings, entry, names) for entry in entries]
    kept = [at for at, whole in enumerate(_without_errors(desk, entries)) if whole]
    serials: dict[str, str] = {}
    for at in kept:
        serial, entry = read[at].serial, entries[at]
        first = serials.setdefault(serial, read[at].name) if serial else read[at].name
        place = entry.get("serial") if isinstance(entry, Table) else None
        if first != read[at].name and place is not None:
            message = f'serial {serial} is also that of "{first}"'
            warnings.add(place.mark, "twice", message, expected="the serial of this tool", grade="warning")
    return tuple(read[at] for at in kept)


def _without_errors(desk: Desk, entries: Sequence[Node]) -> list[bool]:
    """Tell of each entry whether no error stands in its lines, also none that YAML's reading found before.

    After more findings than are kept nothing more can be told, and no entry counts as whole.
    """
    if not entries:
        return []
    errors = [finding for finding in desk.findings() if finding.grade == "error"]
    if any(finding.rule == "more-findings" for finding in errors):
        return [False] * len(entries)
    lines = {finding.line for finding in errors}
    ends = [max(entry.mark.line, after.mark.line - 1) for entry, after in pairwise(entries)]
    ends.append(max(len(desk.page.lines), 1))
    return [
        not any(entry.mark.line <= line <= end for line in lines)
        for entry, end in zip(entries, ends, strict=True)
    ]


def _tool(desk: Desk, warnings: Findings, entry: Node, names: dict[str, Name]) -> Wrench:
    fields = desk.fields(entry, "a tool", KEYS, _NEEDED)
    name = fields.must("name", desk.name)
    if name.text:
        first = names.setdefault(folded(name.text), name)
        if first is not name:
            message = f'"{name.text}" is the name of the tool on line {first.mark.line} already'
            desk.error(
                name, "twice", message, expected="a name of its own, such as one with the serial in it"
            )
    before = desk.count()
    kind = cast("WrenchKind", fields.must("kind", lambda n, w: desk.choice(n, w, KINDS)))
    # Nothing is held against a kind that could not be read.
    judged = kind if "kind" in fields and desk.count() == before else None
    marked = fields.must("range", lambda n, w: _range(desk, n, w, judged))
    type_class = fields.may("class", lambda n, w: _class(desk, warnings, n, w, judged), "")
    calibrated = fields.may("calibrated on", lambda n, w: _day(desk, n, w), "")
    due = fields.may("due on", lambda n, w: _day(desk, n, w), "")
    if calibrated and due and due <= calibrated:
        message = f"it is due on {due}, which is not after the day it was calibrated on, {calibrated}"
        desk.error(fields.key("due on"), "days", message, expected=_A_DAY)
    return Wrench(
        name=name.text,
        kind=kind,
        low=_plain(marked.low),
        high=_plain(marked.high),
        unit=marked.unit,
        graduation=fields.may("graduation", lambda n, w: _graduation(desk, n, w, marked), None),
        length=fields.may("length", lambda n, w: _length(desk, n, w), None),
        type_class=type_class,
        serial=fields.may("serial", desk.text, ""),
        calibrated_on=calibrated,
        due_on=due,
        certificate=fields.may("certificate", lambda n, w: _certificate(desk, n, w, marked), None),
    )


def _plain(number: Decimal) -> str:
    return f"{number:f}"


def _range(desk: Desk, node: Node, what: str, kind: WrenchKind | None) -> _Range:
    """Give the marked range in its own unit; a fixed tool has one value."""
    text = desk.text(node, what)
    if not text:
        return _Range()
    measured: Kind | None = (
        None if kind in (None, "gauge") else "angle" if kind == "angle gauge" else "torque"
    )
    try:
        if kind == "fixed" and " to " not in text:
            one = parse_quantity(text.removeprefix("exactly "), "torque")
            read = _Range(one.value, one.value, one.unit, one.kind)
        else:
            band = parse_band(text, measured)
            if band.low is None or band.high is None or band.target is not None:
                raise QuantityError(text, "is no marked range", _A_RANGE)
            read = _Range(band.low, band.high, band.unit, band.kind)
        negative = read.low < 0 and kind not in (None, "gauge")
        if negative or read.high <= 0 or (read.low == read.high and kind != "fixed"):
            raise QuantityError(text, "is no marked range", _A_RANGE)
        if kind == "fixed" and read.low != read.high:
            raise QuantityError(
                text, "is more than the one value of a fixed tool", "one torque such as 60 N·m"
            )
    except QuantityError as error:
        quantity_error(desk, node, what, error)
        return _Range()
    return read


def _graduation(desk: Desk, node: Node, what: str, marked: _Range) -> str | None:
    """Give the step from mark to mark in the unit of the range."""
    if not marked.unit:
        desk.text(node, what)
        return None
    before = desk.count()
    step = read_quantity(desk, node, what, marked.kind)
    if desk.count() != before:
        return None
    try:
        own = convert_difference(step.value, step.unit, marked.unit)
        span = marked.high - marked.low
        if own <= 0 or (own > span > 0):
            raise QuantityError(
                step.text(), "is no step from one mark to the next of this range", "a smaller step above 0"
            )
    except QuantityError as error:
        quantity_error(desk, node, what, error)
        return None
    return _plain(own)


def _length(desk: Desk, node: Node, what: str) -> str | None:
    before = desk.count()
    read = read_quantity(desk, node, what, "length")
    if desk.count() != before:
        return None
    try:
        mm = convert(read.value, read.unit, "mm")
        if mm <= 0:
            raise QuantityError(read.text(), "is no length", "a length such as 400 mm")
    except QuantityError as error:
        quantity_error(desk, node, what, error)
        return None
    return _plain(mm)


def _class(desk: Desk, warnings: Findings, node: Node, what: str, kind: WrenchKind | None) -> str:
    text = desk.text(node, what)
    if not text:
        return ""
    try:
        named = parse_class(text)
    except ToolClassError as error:
        message = f'{what}: "{text}" is no type and class of a torque tool'
        desk.error(node, "tool-class", message, expected=error.expected, near=error.near)
        return ""
    doubt = unlike(kind, named) if kind else ""
    if doubt:
        warnings.add(node.mark, "tool-class", doubt, length=len(text), grade="warning")
    return named


def _day(desk: Desk, node: Node, what: str) -> str:
    text = desk.text(node, what)
    if not text:
        return ""
    try:
        if not _DAY.fullmatch(text):
            raise ValueError(text)
        date.fromisoformat(text)
    except ValueError:
        desk.error(node, "day", f'{what} cannot be "{text}"', expected=_A_DAY)
        return ""
    return text


def _certificate(desk: Desk, node: Node, what: str, marked: _Range) -> Certificate | None:
    fields: Fields = desk.fields(node, "a certificate", _CERTIFICATE, _CERTIFICATE_NEEDED)
    before = desk.count()
    stated = fields.must("uncertainty", lambda n, w: _uncertainty(desk, n, w, marked))
    coverage = fields.may("k", lambda n, w: _coverage(desk, n, w), "2")
    number = fields.may("number", desk.text, "")
    if desk.count() != before or stated is None:
        return None
    return Certificate(uncertainty=stated[0], unit=stated[1], coverage=coverage, number=number)


def _uncertainty(desk: Desk, node: Node, what: str, marked: _Range) -> tuple[str, str] | None:
    """Give the expanded uncertainty as (number, unit), per cent of the reading or a unit of the range's kind."""
    text = desk.text(node, what)
    if not text:
        return None
    try:
        read = parse_quantity(text, "ratio" if text.endswith("%") else marked.kind if marked.unit else None)
        if read.value <= 0:
            raise QuantityError(text, "is no uncertainty", "an amount above 0 such as 1.2 %")
        if read.unit == "%" and read.value >= 100:
            raise QuantityError(text, "leaves nothing of the reading", "an amount such as 1.2 %")
    except QuantityError as error:
        quantity_error(desk, node, what, error)
        return None
    return _plain(read.value), read.unit


def _coverage(desk: Desk, node: Node, what: str) -> str:
    text = desk.text(node, what)
    if not text:
        return "2"
    try:
        k = parse_number(text)
        if not 1 <= k <= 10:
            raise QuantityError(text, "is no coverage factor", "the k of the certificate, mostly 2")
    except QuantityError as error:
        quantity_error(desk, node, what, error)
        return "2"
    return _plain(k)
