"""`tools`: the shop's toolbox, what is overdue in it, and what is wrong in its files."""

import argparse
import sys
from decimal import Decimal
from typing import Any

from runner.cli.counter import joined, print_document, refused, working_json, working_lines
from runner.cli.exits import Exit
from runner.cli.folders import settings_of, shown
from runner.cli.setting import NoToolError, named_tool, today, toolbox_of
from runner.joint.sourced import FROM_MEMORY
from runner.joint.tool_class import Permissible, deviation, permissible, worked_deviation
from runner.joint.wrench import Wrench
from runner.places import user_places
from runner.procedure.finding import Finding
from runner.quantities import convert, kind_of, parse_quantity, show
from runner.safe_text import safe
from runner.settings import Settings
from runner.toolbox.finding import EXAMPLE, TOOLBOX_NAME
from runner.toolbox.model import Toolbox, range_text


def tools(parsed: argparse.Namespace) -> int:
    """List the tools, PROBLEM where a toolbox file has an error; with `--deviation` judge one against a reference."""
    if any(word is not None for word in (parsed.deviation, parsed.set, parsed.reference)):
        return _deviation(parsed)
    box, settings, day = toolbox_of(parsed), settings_of(parsed), today()
    if parsed.json:
        print_document(document(box, day))
    elif not box.paths:
        for line in missing_lines(settings):
            print(shown(line, settings))
    else:
        for finding in box.problems:
            print(finding.text(), file=sys.stderr)
        for line in tools_lines(box, day):
            print(shown(line, settings))
    return Exit.PROBLEM if box.errors else Exit.OK


def _deviation(parsed: argparse.Namespace) -> int:
    """Print by how much a tool deviates from the reference reading, and whether its class may."""
    try:
        name, stated, read = (joined(each) for each in (parsed.deviation, parsed.set, parsed.reference))
        if name is None or stated is None or read is None:
            raise NoToolError("a deviation needs --deviation NAME, --set TORQUE and --reference TORQUE")
        tool = named_tool(parsed, name)
        shown_on, reference = parse_quantity(stated, "torque"), parse_quantity(read, "torque")
        on_tool = convert(shown_on.value, shown_on.unit, reference.unit)
        limit = allowed(tool)
        working = worked_deviation(on_tool, reference.value, reference.unit, limit)
        found = deviation(on_tool, reference.value)
    except (NoToolError, ValueError) as error:  # each says what is expected
        return refused("tools", error, Exit.USAGE)
    if parsed.json:
        print_document(
            {
                "tool": tool.name,
                "deviation_percent": f"{found:f}",
                "permissible_percent": f"{limit.percent:f}" if limit else None,
                "within": limit.passes(found) if limit else None,
                "working": working_json(working),
            }
        )
    else:
        print(safe(f"{tool.name}: {working.result}"))
        print()
        print("\n".join(working_lines(working)))
    return Exit.OK


def missing_lines(settings: Settings) -> list[str]:
    """Where a toolbox may be put, with an example."""
    places = (settings.logs, user_places().settings)
    return [
        "There is no toolbox. It may stand in one of these places; the first comes before the second:",
        *(f"  {safe(str(folder / TOOLBOX_NAME))}" for folder in places),
        "For example:",
        "",
        *(f"  {line}" for line in EXAMPLE.splitlines()),
    ]


def tools_lines(box: Toolbox, day: str) -> list[str]:
    """The tools, then what is overdue on `day`, then which have no certificate; safe for a terminal."""
    lines = [f"Toolbox: {box.path}", *(f"     and {path}" for path in box.paths[1:])]
    wide = min(max((len(each.name) for each in box.wrenches), default=0), 32)
    memory = False
    for wrench in box.wrenches:
        limit = allowed(wrench)
        memory = memory or (limit is not None and _from_memory(limit))
        lines.append(f"  {wrench.name:<{wide}}  {wrench.kind:<11}  {range_text(wrench)}")
        details = ", ".join(_details(wrench, limit, day))
        if details:
            lines.append(f"      {details}")
    if not box.wrenches:
        lines.append("  no tool that can be picked")
    lines += [
        f"OVERDUE: {each.label}, since {each.due_on}; used all the same, that is a deviation"
        for each in box.overdue(day)
    ]
    bare = [each.name for each in box.wrenches if each.certificate is None]
    if bare:
        lines.append(f"Without certificate, so the bare band decides: {', '.join(bare)}")
    if memory:
        lines.append(f"* permissible deviation {FROM_MEMORY}")
    return [safe(line) for line in lines]


def allowed(wrench: Wrench) -> Permissible | None:
    """The permissible deviation of the tool's class; None where it has none or shows no torque."""
    if not wrench.type_class or kind_of(wrench.unit) != "torque":
        return None
    return permissible(wrench.type_class, Decimal(wrench.high), wrench.unit)


def _from_memory(limit: Permissible) -> bool:
    return any(source.from_memory for source in limit.sources)


def _details(wrench: Wrench, limit: Permissible | None, day: str) -> list[str]:
    found = []
    if wrench.graduation:
        found.append(f"a mark every {show(Decimal(wrench.graduation), wrench.unit)}")
    if wrench.length:
        found.append(f"length {show(Decimal(wrench.length), 'mm')}")
    if wrench.type_class:
        of = f" (±{show(limit.percent, '%')}{'*' if _from_memory(limit) else ''})" if limit else ""
        found.append(f"class {wrench.type_class}{of}")
    if wrench.serial:
        found.append(f"serial {wrench.serial}")
    if wrench.calibrated_on:
        found.append(f"calibrated {wrench.calibrated_on}")
    if wrench.due_on:
        found.append(f"{'OVERDUE since' if wrench.overdue(day) else 'due'} {wrench.due_on}")
    if known := wrench.certificate:
        number = f" (certificate {known.number})" if known.number else ""
        given = show(Decimal(known.uncertainty), known.unit)
        found.append(f"uncertainty {given} at k = {show(Decimal(known.coverage), 'ratio')}{number}")
    return found


def document(box: Toolbox, day: str) -> dict[str, Any]:
    """The toolbox as data, all text as the files have it."""
    return {
        "files": [str(path) for path in box.paths],
        "day": day,
        "tools": [_tool(each, day) for each in box.wrenches],
        "findings": [_finding(each) for each in box.problems],
    }


def _tool(wrench: Wrench, day: str) -> dict[str, Any]:
    limit = allowed(wrench)
    return {
        **wrench.model_dump(),
        "overdue": wrench.overdue(day),
        "permissible_percent": f"{limit.percent:f}" if limit else None,
        "from_memory": FROM_MEMORY if limit and _from_memory(limit) else None,
    }


def _finding(finding: Finding) -> dict[str, Any]:
    names = ("file", "line", "column", "length", "grade", "rule", "message", "excerpt", "expected", "near")
    return {name: getattr(finding, name) for name in names}
