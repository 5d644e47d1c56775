"""Procedures spoiled at one place each: an act, window, condition change, answer or need taken out or swapped.

A procedure is worked on as the plain data of its file (everything is text), as its author would: every mutant goes
through the reader and the linker again.
"""

import copy
import json
from collections.abc import Callable, Iterator, Mapping
from itertools import pairwise
from typing import Any, NamedTuple

import yaml

from runner.procedure.link_whole import link
from runner.procedure.linked import Procedure
from runner.procedure.reader import read_procedure

OPPOSITE = {
    "disconnects": "connects", "puts in": "takes out", "takes off": "puts back", "drains": "fills", "opens": "shuts",
    "puts on": "takes off", "loosens": "starts", "starts": "loosens", "connects": "disconnects",
    "puts back": "takes off", "fits": "takes out", "fills": "drains", "shuts": "opens", "takes out": "puts in",
}  # fmt: skip
VERBS = (*dict.fromkeys([*OPPOSITE, *OPPOSITE.values()]), "tightens", "re-tightens")
Data = dict[str, Any]
Change = Callable[[Data], None]


class Base(NamedTuple):
    """A procedure to spoil: its data, and the texts of the files it uses."""

    name: str
    data: Data
    files: Mapping[str, str]


class Mutant(NamedTuple):
    """One spoiled procedure; None where the linker, or the reader, refuses it."""

    base: str
    kind: str
    what: str
    procedure: Procedure | None


def plain(text: str | bytes) -> Data:
    """The data of a file, every scalar as text."""
    data = yaml.load(text, yaml.BaseLoader)
    assert isinstance(data, dict)
    return data


def linked(data: Data, files: Mapping[str, str]) -> Procedure | None:
    """The linked form, or None where anything is refused."""
    source, found = read_procedure(json.dumps(data, ensure_ascii=False).encode(), "mutant.yaml")
    if source is None or any(finding.grade == "error" for finding in found):
        return None
    read = {name: read_procedure(text.encode(), name)[0] for name, text in files.items()}
    procedure, linking = link(source, lambda path, mark: read.get(path))
    return None if any(finding.grade == "error" for finding in linking) else procedure


def mutant(base: Base, found: "Found") -> Mutant:
    """The mutant of one change."""
    kind, what, change = found
    spoiled = copy.deepcopy(base.data)
    change(spoiled)
    return Mutant(base.name, kind, what, linked(spoiled, base.files))


Found = tuple[str, str, Change]


def changes(data: Data) -> Iterator[Found]:
    """(kind, what in words, the change) of every mutant."""
    for path, entry in entries(data["steps"], ("steps",)):
        yield from _on_entry(data, path, entry)
    for name, about in (data.get("conditions") or {}).items():
        yield from _on_condition(name, about)
    for name, about in (data.get("items") or {}).items():
        yield from _on_stages(name, about)
    for number, part in enumerate(data["parts"] if isinstance(data["parts"], list) else ()):
        if "quantity" in part:
            yield "part", f"{part['name']}: no quantity", _deleted(("parts", number, "quantity"))


# Where things are

Path = tuple[str | int, ...]


def entries(steps: Any, path: Path) -> Iterator[tuple[Path, Data]]:
    """Every step, use, block and way back, outer ones first, with its path in the data."""
    for number, entry in enumerate(steps if isinstance(steps, list) else ()):
        here = (*path, number)
        if not isinstance(entry, dict):
            continue
        yield here, entry
        yield from entries(entry.get("steps"), (*here, "steps"))
        for nested, ways in _ways(entry):
            yield from entries(ways, (*here, *nested))


def _ways(entry: Data) -> Iterator[tuple[Path, Any]]:
    """Everything in a step that is a way: answers, sorted bands, refused, too late, then."""
    for label, way in (entry.get("answers") or {}).items():
        yield ("answers", label), way
    readings = entry.get("read")
    for number, reading in enumerate(readings if isinstance(readings, list) else []):
        for label, way in (reading.get("sorted") or {}).items():
            yield ("read", number, "sorted", label), way
    if isinstance(readings, dict):
        for label, way in (readings.get("sorted") or {}).items():
            yield ("read", "sorted", label), way
    for holder, key in (("hold point", "if refused"), ("in time", "too late")):
        if isinstance(entry.get(holder), dict) and key in entry[holder]:
            yield (holder, key), entry[holder][key]


def at(data: Any, path: Path) -> Any:
    for key in path:
        data = data[key]
    return data


def _deleted(path: Path) -> Change:
    def change(data: Data) -> None:
        holder = at(data, path[:-1])
        del holder[path[-1]]
        if holder in ({}, []) and len(path) > 2 and path[-2] != "steps":
            del at(data, path[:-2])[path[-2]]

    return change


def _put(path: Path, value: Any) -> Change:
    def change(data: Data) -> None:
        at(data, path[:-1])[path[-1]] = copy.deepcopy(value)

    return change


def _words(path: Path, data: Data) -> str:
    """The step that a path is about."""
    named = [at(data, path[: end + 1]) for end in range(len(path))]
    steps = [each["step"] for each in named if isinstance(each, dict) and "step" in each]
    return str(steps[-1]) if steps else "/".join(map(str, path))


# What is changed


def _on_entry(data: Data, path: Path, entry: Data) -> Iterator[Found]:
    step = _words(path, data)
    if "step" in entry or "use" in entry:
        yield "step", f"{step}: left out", _deleted(path)
        follow = at(data, path[:-1])[path[-1] + 1 :][:1] if isinstance(path[-1], int) else []
        if follow and isinstance(path[-1], int):
            yield "order", f"{step}: after the next", _swapped(path)
    if "again" in entry:
        yield "answer", f"{step}: no way back", _deleted(path)
    for verb in VERBS:
        if verb in entry:
            yield from _on_acts(path, entry, verb, step)
    if "sets" in entry:
        yield from _on_sets(data, path, entry, step)
    for name, values in (entry.get("needs") or {}).items():
        yield "need", f"{step}: no need of {name}", _deleted((*path, "needs", name))
        known = (data.get("conditions") or {}).get(name)
        for other in known["changes"] if known else ():
            if other != values:
                yield "need", f"{step}: {name} {other}", _put((*path, "needs", name), other)
    if "put off" in entry:
        yield from _on_window(data, path, entry["put off"], step)
    yield from _on_answers(path, entry, step)
    for key in ("only if", "only for"):
        if key in entry:
            yield "answer", f"{step}: without {key}", _deleted((*path, key))
    for key in ("danger", "warning", "caution"):
        if key in entry:
            yield "notice", f"{step}: no {key}", _deleted((*path, key))


def _swapped(path: Path) -> Change:
    def change(data: Data) -> None:
        steps, place = at(data, path[:-1]), path[-1]
        steps[place], steps[place + 1] = steps[place + 1], steps[place]

    return change


def _on_acts(path: Path, entry: Data, verb: str, step: str) -> Iterator[Found]:
    items = entry[verb]
    if isinstance(items, str):
        items = [items]
    if isinstance(items, dict):
        for name, stages in items.items():
            yield "act", f"{step}: {verb} {name} left out", _deleted((*path, verb, name))
            for other in ("stage 1", "the rest", "stage 2"):
                if other != stages:
                    yield "act", f"{step}: {name} {other}", _put((*path, verb, name), other)
        return
    for name in items:
        rest = [each for each in items if each != name]
        yield (
            "act",
            f"{step}: {verb} {name} left out",
            _put((*path, verb), rest) if rest else _deleted((*path, verb)),
        )
        other = OPPOSITE.get(verb)
        if other and other not in entry:
            yield "act", f"{step}: {other} {name} in place of {verb}", _turned(path, verb, other, name)


def _turned(path: Path, verb: str, other: str, name: str) -> Change:
    def change(data: Data) -> None:
        entry = at(data, path)
        items = entry[verb] if isinstance(entry[verb], list) else [entry[verb]]
        entry[verb] = [each for each in items if each != name]
        if not entry[verb]:
            del entry[verb]
        entry[other] = [name]

    return change


def _on_sets(data: Data, path: Path, entry: Data, step: str) -> Iterator[Found]:
    for name, value in entry["sets"].items():
        yield "change", f"{step}: {name} stays", _deleted((*path, "sets", name))
        for other in data["conditions"][name]["changes"]:
            if other != value:
                yield "change", f"{step}: {name} becomes {other}", _put((*path, "sets", name), other)


def _on_window(data: Data, path: Path, put_off: Data, step: str) -> Iterator[Found]:
    yield "window", f"{step}: not put off", _deleted((*path, "put off"))
    names = [entry["step"] for _, entry in entries(data["steps"], ("steps",)) if "step" in entry]
    until, before = put_off["until"], put_off["before"]
    for key, value in until.items():
        known = (data.get("conditions") or {}).get(key)
        for other in known["changes"] if known else names if key in ("step", "at") else ():
            if other not in (value, step):
                yield "window", f"{step}: until {key} {other}", _put((*path, "put off", "until", key), other)
    for other in ("end", *names):
        if other not in (before, step):
            yield "window", f"{step}: before {other}", _put((*path, "put off", "before"), other)
    if isinstance(before, dict):
        for key, value in before.items():
            for other in data["conditions"][key]["changes"]:
                if other != value:
                    yield "window", f"{step}: before {other}", _put((*path, "put off", "before", key), other)


def _on_answers(path: Path, entry: Data, step: str) -> Iterator[Found]:
    ways = list(_ways(entry))
    for nested, way in ways:
        if nested[0] != "in time" and nested[0] != "hold point":
            yield "answer", f"{step}: no answer {nested[-1]}", _deleted((*path, *nested))
        for other in ("go on", "stop"):
            if way != other:
                yield "answer", f"{step}: {nested[-1]}: {other}", _put((*path, *nested), other)
    for (one, first), (other, second) in pairwise(ways):
        if first != second:
            yield "answer", f"{step}: {one[-1]} and {other[-1]} swapped", _both(path, one, other)


def _both(path: Path, one: Path, other: Path) -> Change:
    def change(data: Data) -> None:
        first, second = at(data, (*path, *one)), at(data, (*path, *other))
        _put((*path, *one), second)(data)
        _put((*path, *other), first)(data)

    return change


def _on_condition(name: str, about: Data) -> Iterator[Found]:
    for value, after in about["changes"].items():
        for other in after if isinstance(after, list) else [after]:
            rest = [each for each in (after if isinstance(after, list) else [after]) if each != other]
            path = ("conditions", name, "changes", value)
            yield "change", f"{name}: {value} never becomes {other}", _put(path, rest)
    for value in about["changes"]:
        if value != about["at start"]:
            yield "change", f"{name}: {value} at start", _put(("conditions", name, "at start"), value)


def _on_stages(name: str, about: Data) -> Iterator[Found]:
    for number, stage in enumerate(about.get("tighten") or ()):
        path: Path = ("items", name, "tighten", number)
        yield "act", f"{name}: no stage {number + 1}", _deleted(path)
        if isinstance(stage, dict) and "only when" in stage:
            yield "need", f"{name}: stage {number + 1} at any moment", _deleted((*path, "only when"))
