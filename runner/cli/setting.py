"""`setting`: what to set on a wrench so that a torque reaches the fastener, and the inverse."""

import argparse
from decimal import Decimal
from pathlib import Path
from typing import Any

from runner.cli.counter import joined, print_document, refused, working_json, working_lines
from runner.cli.exits import Exit
from runner.cli.folders import settings_of
from runner.joint.setting import (
    NoTorqueError,
    Scale,
    Setting,
    SettingError,
    applied_on,
    percent,
    scale_of,
    setting_on,
    worked_applied,
)
from runner.joint.wrench import Extension, Wrench
from runner.places import user_places
from runner.procedure.finding import nearest
from runner.quantities import (
    Quantity,
    QuantityError,
    convert,
    convert_difference,
    parse_band,
    parse_entry,
    parse_quantity,
    show,
    unit_named,
)
from runner.safe_text import safe
from runner.toolbox.choosing import fit_for
from runner.toolbox.finding import TOOLBOX_NAME, find_toolbox
from runner.toolbox.model import Toolbox
from runner.toolbox.reader import read_toolbox


class NoToolError(Exception):
    """The words of the command line do not go together, or name no tool of the toolbox."""


def setting(parsed: argparse.Namespace) -> int:
    """Print the number to set, or with `--set` what reaches the fastener, with formula, inputs and sources."""
    try:
        return _answer(parsed)
    except (NoToolError, QuantityError, NoTorqueError) as error:  # no wrench could answer these words
        return refused("setting", error, Exit.USAGE)
    except SettingError as error:
        return refused("setting", error, Exit.PROBLEM)


def _answer(parsed: argparse.Namespace) -> Exit:
    torque = _torque(joined(parsed.torque))
    stated = _torque(joined(parsed.set))
    if torque is None and stated is None:
        raise NoToolError("say the torque that is wanted, such as 60 N·m, or with --set what is set")
    wrench = _wrench(parsed)
    extension = _extension(parsed)
    if stated is not None:
        return _inverse(parsed, stated, torque, wrench, extension)
    assert torque is not None
    scale = _scale(parsed, wrench, torque.unit)
    made = setting_on(torque.value, torque.unit, scale, extension)
    against = _against(wrench, torque, extension)
    if parsed.json:
        print_document(
            {**_document(made, torque), "wrench": wrench.name if wrench else None, "against": against}
        )
        return Exit.OK
    reads = wrench is not None and not wrench.sets
    print(
        safe(f"Pull until {wrench.name if wrench else ''} reads {made.text}" if reads else f"Set {made.text}")
    )
    print()
    print("\n".join(working_lines(made.working)))
    for each in (made.warning, *against):
        if each:
            print(safe(f"Warning: {each}"))
    return Exit.OK


def _torque(text: str | None) -> Quantity | None:
    return None if text is None else parse_quantity(text, "torque")


def _against(wrench: Wrench | None, torque: Quantity, extension: Extension | None) -> list[str]:
    """What speaks against the wrench of the toolbox besides its range: the calibration."""
    if wrench is None:
        return []
    return [
        f"{wrench.name}: {each}" for each in fit_for(wrench, torque.value, torque.unit, today(), extension)
    ]


def today() -> str:
    """Today where this is run, as ISO 8601 text."""
    from runner.outside import Outside  # noqa: PLC0415 - only a tool of the toolbox has a day

    return Outside().now().date_text()


def toolbox_of(parsed: argparse.Namespace) -> Toolbox:
    """The toolbox named on the command line, or what stands in the folders in force. Raises SettingsError."""
    if parsed.toolbox is not None:
        return read_toolbox(Path(parsed.toolbox))
    return find_toolbox(user_places().settings, settings_of(parsed).logs)


def _wrench(parsed: argparse.Namespace) -> Wrench | None:
    name = joined(parsed.wrench)
    if name is None:
        return None
    given = [word for word in ("graduation", "range") if getattr(parsed, word)]
    if parsed.unit and not parsed.set:
        given.append("unit")
    if given:
        raise NoToolError(f"--{given[0]} is not for a wrench of the toolbox, which has its own")
    return named_tool(parsed, name)


def named_tool(parsed: argparse.Namespace, name: str) -> Wrench:
    """The tool of the toolbox that is called so. Raises NoToolError: the nearest name, or where one is looked for."""
    box = toolbox_of(parsed)
    wrench = box.named(name)
    if wrench is not None:
        return wrench
    if not box.paths:
        places = " or ".join(str(folder) for folder in (settings_of(parsed).logs, user_places().settings))
        raise NoToolError(
            f'no tool named "{name}": there is no toolbox. {TOOLBOX_NAME} is looked for in {places}; see '
            "witnessmark tools"
        )
    names = [each.name for each in box.wrenches]
    near = nearest(name, names)
    hint = f" Nearest: {near}." if near else f" Known: {', '.join(names)}." if names else ""
    wrong = " It has errors: see witnessmark tools." if box.errors else ""
    raise NoToolError(f'no tool named "{name}" in the toolbox.{hint}{wrong}')


def _extension(parsed: argparse.Namespace) -> Extension | None:
    text, angle = joined(parsed.extension), joined(parsed.angle)
    if text is None:
        if angle is not None:
            raise NoToolError("--angle is that of an extension: say its length with --extension")
        return None
    degrees = Decimal(0) if angle is None else parse_entry(angle, "°").value
    return Extension(length=f"{_mm(text)}", angle=f"{degrees}")


def _mm(text: str) -> Decimal:
    read = parse_quantity(text, "length")
    return convert(read.value, read.unit, "mm")


def _scale(parsed: argparse.Namespace, wrench: Wrench | None, asked: str) -> Scale:
    """The scale of the tool named, or of the options; its unit is the torque's where none is said."""
    length = joined(parsed.length)
    if wrench is not None:
        scale = scale_of(wrench)
        return scale if length is None else scale.but(length=_mm(length))
    unit = unit_named(parsed.unit, "torque") if parsed.unit else None
    low = high = graduation = None
    text = joined(parsed.range)
    if text is not None:
        band = parse_band(text.replace("..", " to "), "torque", unit)
        low, high, unit = band.low, band.high, band.unit
    unit = unit or asked
    text = joined(parsed.graduation)
    if text is not None:
        entry = parse_entry(text, unit)
        graduation = convert_difference(entry.typed_value, entry.typed_unit, unit)
    return Scale(unit, low, high, graduation, None if length is None else _mm(length))


def _document(made: Setting, torque: Quantity) -> dict[str, Any]:
    return {
        "torque": {"value": f"{torque.value:f}", "unit": torque.unit},
        "set_to": {"value": f"{made.set_to:f}", "unit": made.unit},
        "exact": {"value": f"{made.exact:f}", "unit": made.unit},
        "applied": {"value": f"{made.applied:f}", "unit": torque.unit},
        "error_percent": f"{made.error_percent:f}",
        "corrected": made.corrected,
        "warning": made.warning or None,
        "working": working_json(made.working),
    }


def _inverse(
    parsed: argparse.Namespace,
    stated: Quantity,
    torque: Quantity | None,
    wrench: Wrench | None,
    extension: Extension | None,
) -> Exit:
    """Print what reaches the fastener when `stated` is set, and how far that is from a torque that is wanted."""
    out = unit_named(parsed.unit, "torque") if parsed.unit else torque.unit if torque else stated.unit
    scale = _scale_of_set(parsed, wrench, stated)
    own = convert(stated.value, stated.unit, scale.unit)
    applied = applied_on(own, scale, extension, out)
    working = worked_applied(own, scale, extension, out)
    error = None
    if torque is not None:
        wanted = convert(torque.value, torque.unit, out)
        if wanted <= 0:
            raise NoTorqueError(torque.text(), "is no torque to set", "a torque above 0")
        error = ((applied - wanted) * 100 / wanted).quantize(Decimal("0.01"))
    if parsed.json:
        print_document(
            {
                "set_to": {"value": f"{stated.value:f}", "unit": stated.unit},
                "applied": {"value": f"{applied:f}", "unit": out},
                "error_percent": None if error is None else f"{error:f}",
                "working": working_json(working),
            }
        )
        return Exit.OK
    print(f"{show(applied, out, 6)} reaches the fastener")
    print()
    print("\n".join(working_lines(working)))
    if error is not None and torque is not None:
        print(f"{percent(error)} from the {torque.text()} that is wanted")
    return Exit.OK


def _scale_of_set(parsed: argparse.Namespace, wrench: Wrench | None, stated: Quantity) -> Scale:
    """The scale for the inverse: `--unit` is then the unit of the answer, and only the length counts."""
    for word in ("graduation", "range"):
        if getattr(parsed, word):
            raise NoToolError(f"--{word} says nothing about what reaches the fastener")
    length = joined(parsed.length)
    if wrench is not None:
        scale = scale_of(wrench)
        return scale if length is None else scale.but(length=_mm(length))
    return Scale(stated.unit, length=None if length is None else _mm(length))
