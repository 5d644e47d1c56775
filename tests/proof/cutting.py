"""The demonstration cut down until a brute force can finish it: one side of the car, a few of its items.

Acts on other items go, with the steps that have nothing left and that nobody names; conditions, ways and windows stay.
"""

import copy
from collections.abc import Collection, Iterator
from typing import Any

from tests.proof.mutating import VERBS, Data, entries

KEPT = frozenset({"sets", "answers", "hold point", "in time", "put off", "use", "again", "steps"})
"""What keeps a step that acts on nothing any more."""


def cut(data: Data, *, side: str, items: Collection[str], quiet: Collection[str] = ()) -> Data:
    """The procedure for one side and some items; `quiet` are steps that ask nothing any more."""
    made = copy.deepcopy(data)
    made["items"] = {name: about for name, about in made["items"].items() if name in items}
    for about in made["items"].values():
        about.pop("part", None)
    made["locations"] = {"side": [side]}
    made["parts"] = made["documents"] = "none"
    for key in ("standing", "follow up", "counters"):
        made.pop(key, None)
    made["steps"] = _kept(made["steps"], side, items, quiet, _named(made))
    _lone(made)
    return made


def _named(data: Data) -> set[str]:
    """Every step that another names."""
    found: set[str] = set()
    for _, entry in entries(data["steps"], ("steps",)):
        found |= {entry["again"]} if "again" in entry else set()
        off = entry.get("put off") or {}
        found |= {off["before"]} if isinstance(off.get("before"), str) else set()
        found |= {v for k, v in (off.get("until") or {}).items() if k in ("step", "at", "after")}
        found |= {(entry.get("in time") or {}).get("from")} | {(off.get("no later than") or {}).get("after")}
        found |= set(entry.get("only if") or {})
    return found | set((data["conditions"]["support"].get("getting there") or {}).values())


def _kept(steps: Any, side: str, items: Collection[str], quiet: Collection[str], named: set[str]) -> Any:
    if not isinstance(steps, list):
        return steps
    return list(_each(steps, side, items, quiet, named))


def _each(
    steps: list[Any], side: str, items: Collection[str], quiet: Collection[str], named: set[str]
) -> Iterator[Any]:
    for entry in steps:
        if entry.get("step") in quiet:
            for key in ("answers", "look for", "in time"):
                entry.pop(key, None)
            if "ask" in entry:
                entry["do"] = entry.pop("ask")
        only = entry.get("only for") or {}
        if only.get("side", side) != side:
            continue
        if "side" in only:
            del only["side"]
            if not only:
                del entry["only for"]
        acting = _without(entry, items)
        if "steps" in entry:
            entry["steps"] = _kept(entry["steps"], side, items, quiet, named)
            if not entry["steps"]:
                continue
        if "answers" in entry:
            entry["answers"] = {
                k: _kept(w, side, items, quiet, named) or "go on" for k, w in entry["answers"].items()
            }
        for holder, key in (("hold point", "if refused"), ("in time", "too late")):
            if holder in entry:
                entry[holder][key] = _kept(entry[holder][key], side, items, quiet, named) or "go on"
        if acting or KEPT & set(entry) or entry.get("step") in named:
            yield entry


def _without(entry: Data, items: Collection[str]) -> bool:
    """Take everything about other items out of a step; whether it still acts."""
    acting = False
    for verb in VERBS:
        if verb in entry:
            about = entry[verb]
            left = (
                {name: stages for name, stages in about.items() if name in items}
                if isinstance(about, dict)
                else [name for name in about if name in items]
            )
            entry[verb] = left
            if left:
                acting = True
            else:
                del entry[verb]
    needs = {n: v for n, v in (entry.get("needs") or {}).items() if n in items or n == "support"}
    entry.pop("needs", None)
    if needs:
        entry["needs"] = needs
    # Readings and questions without consequences multiply nothing but the time this takes.
    for key in (
        ("read", "work out", "tools", "wait", "look for") if "answers" not in entry else ("read", "work out")
    ):
        entry.pop(key, None)
    if "put off" in entry and not acting:
        del entry["put off"]
    return acting


def _lone(data: Data) -> None:
    """Windows that wait for what is gone go too."""
    names = {entry["step"] for _, entry in entries(data["steps"], ("steps",)) if "step" in entry}
    for _, entry in entries(data["steps"], ("steps",)):
        off = entry.get("put off")
        until = off["until"] if off else {}
        waits = [v for k, v in until.items() if k in ("step", "at", "after")]
        if off and (
            not set(waits) <= names
            or (isinstance(off["before"], str) and off["before"] not in {*names, "end"})
        ):
            del entry["put off"]
