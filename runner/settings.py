"""What a user or a shop has set: few keys, each from the nearest place that sets it.

The order is: command-line option, environment (`WITNESSMARK_TORQUE_UNIT` for `torque_unit`), the
`witnessmark.toml` in the logs folder (the shop's), the `witnessmark.toml` in the user's settings folder. A
key nobody knows, or a value of the wrong type, is an error with its place: a setting is never silently
without effect.
"""

import re
import reprlib
import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, fields
from pathlib import Path
from typing import Any

from runner.places import SETTINGS_NAME, Places, default_logs
from runner.safe_text import safe

PREFIX = "WITNESSMARK_"
"""What the name of every environment variable of this program begins with."""
_LARGEST_FILE = 8_192
"""Bytes of a settings file; six keys need no more, and tomllib takes the square of the length of a dotted key."""
_MOST_PROBLEMS = 20
"""So much that is wrong in one file is told; more of it says nothing new."""
_YES = ("1", "true", "yes", "on")
_NO = ("0", "false", "no", "off")


class SettingsError(Exception):
    """One or more settings are wrong; `problems` holds one message for each, with its place."""

    def __init__(self, problems: tuple[str, ...]) -> None:
        self.problems = problems
        super().__init__("\n".join(problems))


@dataclass(frozen=True, slots=True)
class Settings:
    """The settings in force; `origin` tells for each key that was set where its value comes from."""

    logs: Path
    """The folder that logs are written to and looked for in."""
    torque_unit: str = ""
    """The unit on the wrenches of this shop (`lbf·ft`): targets are shown in it as well; may be empty."""
    performer: str = ""
    """A name offered when a run starts. It is never taken without being confirmed."""
    bench: str = ""
    """The name of this bench, kept in the header of each log. No host or login name ever is."""
    sign_key: Path | None = None
    """The file of the private key that seals are signed with; none where they are not signed."""
    ascii: bool = False
    """Draw with ASCII letters only, for poor fonts."""
    color: bool = True
    """Use colour. Nothing is told by colour alone. `NO_COLOR` in the environment turns it off."""
    origin: Mapping[str, str] = field(default_factory=dict)


KEYS = tuple(each.name for each in fields(Settings) if each.name != "origin")
"""Every key that can be set, in the order of documentation."""
_FLAGS = ("ascii", "color")


def load_settings(
    options: Mapping[str, str | bool | None], environment: Mapping[str, str], places: Places, current: Path
) -> Settings:
    """Return the settings in force; `options` has a key only where the command line gave a value (or None).

    Raises SettingsError with everything that is wrong, not only the first.
    """
    problems: list[str] = []
    given = _from_options(options, problems)
    around = _from_environment(environment, problems)
    of_user = _from_file(places.settings_file, problems)
    nearest = [given, around]
    logs = _logs_folder([*nearest, of_user], places, current, problems)
    of_shop = _from_file(logs / SETTINGS_NAME, problems)
    if "logs" in of_shop:
        where = of_shop.pop("logs")[1]
        problems.append(f"{where}: logs: a logs folder cannot say that logs are kept elsewhere")
    if problems:
        raise SettingsError(tuple(problems))
    found: dict[str, Any] = {}
    origin: dict[str, str] = {}
    for layer in (of_user, of_shop, around, given):
        for key, (value, where) in layer.items():
            found[key], origin[key] = value, where
    if environment.get("NO_COLOR") and "color" not in given and PREFIX + "COLOR" not in environment:
        found["color"], origin["color"] = False, "NO_COLOR"
    if "sign_key" in found:
        found["sign_key"] = _path(
            "sign_key", "file", found["sign_key"], origin["sign_key"], current, problems
        )
    if problems:
        raise SettingsError(tuple(problems))
    found["logs"] = logs
    return Settings(**found, origin=origin)


Layer = dict[str, tuple[Any, str]]
"""Values of one place by key, each with where it was found."""


def _from_options(options: Mapping[str, str | bool | None], problems: list[str]) -> Layer:
    layer: Layer = {}
    for key, value in options.items():
        if value is not None:
            where = "--" + key.replace("_", "-")
            _keep(layer, key, value, where, problems)
    return layer


def _from_environment(environment: Mapping[str, str], problems: list[str]) -> Layer:
    layer: Layer = {}
    for name in sorted(environment):
        if not name.startswith(PREFIX):
            continue
        key, text = name.removeprefix(PREFIX).lower(), environment[name]
        if name != name.upper() or key not in KEYS:
            problems.append(
                f"{safe(name)}: no such setting{_nearest(key, KEYS, lambda k: PREFIX + k.upper())}"
            )
            continue
        value: str | bool = text
        if key in _FLAGS:
            if text.lower() not in _YES + _NO:
                problems.append(f"{name}: yes or no is expected, not {safe(text)!r}")
                continue
            value = text.lower() in _YES
        _keep(layer, key, value, name, problems)
    return layer


def _from_file(path: Path, problems: list[str]) -> Layer:
    """Return what the file sets; nothing where there is none."""
    shown = safe(str(path))
    try:
        if path.exists() and not (path.is_file() or path.is_dir()):  # a FIFO would be waited for
            problems.append(f"{shown}: the settings cannot be read: this is no regular file")
            return {}
        with path.open("rb") as file:
            raw = file.read(_LARGEST_FILE + 1)
    except (FileNotFoundError, NotADirectoryError):
        return {}
    except (OSError, ValueError) as error:
        why = error.strerror if isinstance(error, OSError) else error
        problems.append(f"{shown}: the settings cannot be read: {why}")
        return {}
    if len(raw) > _LARGEST_FILE:
        problems.append(f"{shown}: a settings file is not longer than {_LARGEST_FILE} bytes")
        return {}
    try:
        text = raw.decode("utf-8")
        values = tomllib.loads(text)
    except UnicodeDecodeError:
        problems.append(f"{shown}: the settings are not UTF-8 text")
        return {}
    except tomllib.TOMLDecodeError as error:
        problems.append(f"{shown}{_toml_place(str(error))}: {_toml_reason(str(error))}")
        return {}
    except RecursionError:
        problems.append(f"{shown}: the settings are nested too deeply")
        return {}
    except ValueError:  # tomllib lets the error of a whole number of very many digits through
        problems.append(f"{shown}: a number in the settings is out of all proportion")
        return {}
    layer: Layer = {}
    before = len(problems)
    for key, value in values.items():
        if len(problems) - before == _MOST_PROBLEMS:
            problems.append(f"{shown}: more is wrong than can be shown")
            break
        where = f"{shown}:{_line_of(text, key)}"
        _keep(layer, key, value, where, problems)
    return layer


def _keep(layer: Layer, key: str, value: Any, where: str, problems: list[str]) -> None:
    """Check one value and keep it, or say what is wrong with it."""
    if key not in KEYS:
        problems.append(f"{where}: no such setting: {safe(key)}{_nearest(key, KEYS)}")
        return
    wanted = bool if key in _FLAGS else str
    if type(value) is not wanted:
        words = "true or false" if wanted is bool else "text in quotes"
        problems.append(f"{where}: {key}: {words} is expected, not {safe(_said(value))}")
        return
    try:
        layer[key] = (_CHECKS[key](value) if key in _CHECKS else value, where)
    except ValueError as error:
        problems.append(f"{where}: {key}: {error}")


def _said(value: Any) -> str:
    """Return a value of a wrong type for a message, however large or deep it is."""
    if isinstance(value, int) and value.bit_length() > 64:  # Python refuses to write some of these
        return "a number out of all proportion"
    return reprlib.repr(value)


def _torque_unit(text: str) -> str:
    """Return the display form of a torque unit; empty text sets none. Raises ValueError for anything else."""
    from runner.quantities import QuantityError, unit_named  # noqa: PLC0415 - only where the key is set

    try:
        return unit_named(text, "torque") if text else ""
    except QuantityError as error:
        raise ValueError(safe(str(error))) from error


def _line_of_text(text: str) -> str:
    """Return the text if it is one short line. Raises ValueError otherwise."""
    if len(text) > 100 or safe(text) != text:
        raise ValueError("one line of at most 100 letters is expected")
    return text.strip()


_CHECKS: Mapping[str, Callable[[Any], Any]] = {
    "torque_unit": _torque_unit,
    "performer": _line_of_text,
    "bench": _line_of_text,
}


def _logs_folder(layers: list[Layer], places: Places, current: Path, problems: list[str]) -> Path:
    for layer in layers:
        if "logs" in layer:
            text, where = layer["logs"]
            return _path("logs", "folder", text, where, current, problems) or places.own_logs
    return default_logs(places, current)


def _path(key: str, what: str, text: str, where: str, current: Path, problems: list[str]) -> Path | None:
    """Return the path meant: `~` is the home folder; a relative one is only clear from the command line."""
    if not text or "\0" in text:
        problems.append(f"{where}: {key}: a {what} is expected")
        return None
    try:
        path = Path(text).expanduser()
    except RuntimeError:
        problems.append(f"{where}: {key}: there is no home folder to put in place of ~")
        return None
    if path.is_absolute():
        return path
    if not where.startswith(("--", PREFIX)):
        problems.append(f"{where}: {key}: a whole path (or one from ~) is expected in a settings file")
        return None
    return current / path


def _nearest(word: str, known: tuple[str, ...], shown: Callable[[str], str] = str) -> str:
    """Return the end of a message about an unknown word: the nearest known one, or all."""
    import difflib  # noqa: PLC0415 - only an error needs it

    alike = difflib.get_close_matches(word.lower()[:60].replace("-", "_"), known, n=1, cutoff=0.6)
    if alike:
        return f". Nearest: {shown(alike[0])}"
    return f". Known: {', '.join(shown(each) for each in known)}"


def _line_of(text: str, key: str) -> int:
    """Return the line on which a top-level key stands, as well as it can be told; 1 where it cannot."""
    pattern = re.compile(rf"""^\s*\[?\s*["']?{re.escape(key)}["']?\s*[\].=]""")
    for number, line in enumerate(text.split("\n"), start=1):
        if pattern.match(line):
            return number
    return 1


_TOML_PLACE = re.compile(r" \(at (?:line (\d+), column (\d+)|end of document)\)$")


def _toml_place(message: str) -> str:
    match = _TOML_PLACE.search(message)
    return f":{match[1]}:{match[2]}" if match and match[1] else ""


def _toml_reason(message: str) -> str:
    return safe(_TOML_PLACE.sub("", message))
